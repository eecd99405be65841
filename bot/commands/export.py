"""Export a client for the record system: a FHIR R4B bundle, or her nudges as a calendar."""

import argparse
from pathlib import Path

from bot.commands import prescriptions, reporting


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Whose, and which form."""
    parser.add_argument("client", help="code of the client")
    form = parser.add_mutually_exclusive_group(required=True)
    form.add_argument("--fhir", action="store_true", help="a bundle of HL7 FHIR R4B (4.3.0) as JSON")
    form.add_argument("--ics", action="store_true", help="her nudges up to the review as an iCalendar file")
    parser.add_argument("--out", type=Path, metavar="FILE", help="default: standard output")
    prescriptions.add_day(parser, "how it stood at the end of this day (default: now)")
    reporting.add_clinic(parser)


def run(args: argparse.Namespace) -> int:
    """Make it and write it."""
    import json  # noqa: PLC0415 - see the package
    import sys  # noqa: PLC0415 - the same

    from bot.commands import house  # noqa: PLC0415 - the same
    from bot.reports import fhir, ics  # noqa: PLC0415 - the same
    from bot.reports.words import words  # noqa: PLC0415 - the same
    from bot.service import reporting as reports  # noqa: PLC0415 - the same

    with house.database() as (begin, clock):
        about = reports.about(begin, clock, args.clinic, args.client, args.on)
    if args.ics:
        made = ics.calendar(about.record, words("en"))
    else:
        made = json.dumps(fhir.bundle(about), ensure_ascii=False).encode() + b"\n"
    if args.out:
        reporting.write(args.out, made)
    else:
        sys.stdout.buffer.write(made)
        sys.stdout.flush()
    return 0
