"""Show which exercises are allowed, not yet, or ready for review on a day, and why."""

import argparse
from pathlib import Path

from bot.commands import prescriptions


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """The file and the day."""
    parser.add_argument("file", type=Path, help="prescription in TOML")
    prescriptions.add_day(parser, "the day to look at (default: her today)")
    prescriptions.add_own(parser)
    prescriptions.add_json(parser)


def run(args: argparse.Namespace) -> int:
    """Look at every exercise of the catalogue."""
    from bot.conversation import prescribing_words as words  # noqa: PLC0415 - see the package
    from bot.domain import gating, local_time  # noqa: PLC0415 - the same
    from bot.reports import prescription as report  # noqa: PLC0415 - the same
    from bot.rules import prescription_file, rulebook  # noqa: PLC0415 - the same

    rules = rulebook.with_own(args.own)
    file = prescription_file.read_any(args.file, rules)
    record = prescription_file.record(file)
    on = args.on or prescriptions.today(local_time.zone(file.zone))
    decisions = gating.gates(rules.catalogue, record, on, rules.limits)
    if args.json:
        found = report.gates(record, on, decisions, rules.catalogue)
        prescriptions.print_json({"client": file.client, **found})
    else:
        print("\n".join((*words.standing(decisions, rules.catalogue), *words.record_notes(record, on))))
    return 0
