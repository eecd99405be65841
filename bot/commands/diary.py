"""Show a client's diary: every whole day with what was prescribed and what she reported."""

import argparse

from bot.commands import prescriptions, reporting


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Whose, and in what form."""
    parser.add_argument("client", help="code of the client")
    reporting.add_clinic(parser)
    form = parser.add_mutually_exclusive_group()
    form.add_argument("--csv", action="store_true", help="a row for each day (the usual form)")
    prescriptions.add_json(form)


def run(args: argparse.Namespace) -> int:
    """Read and print it."""
    import sys  # noqa: PLC0415 - see the package

    from bot.commands import house  # noqa: PLC0415 - the same
    from bot.reports import documents  # noqa: PLC0415 - the same
    from bot.service import reporting as reports  # noqa: PLC0415 - the same

    with house.database() as (begin, clock):
        record = reports.about(begin, clock, args.clinic, args.client).record
    if args.json:
        prescriptions.print_json({"client": record.client.code, "days": documents.diary(record)})
        return 0
    sys.stdout.reconfigure(encoding="utf-8", newline="")  # type: ignore[union-attr] # the real standard output
    print(documents.diary_csv(record), end="")
    return 0
