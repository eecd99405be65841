"""Work out adherence from a plain table of days, so that anybody can check the figures."""

import argparse
from pathlib import Path

from bot.commands import prescriptions


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """The table."""
    parser.add_argument(
        "file",
        type=Path,
        help="CSV with the headings date,prescribed,reported (empty: nobody answered) and, if wanted, state "
        "(active, paused, stopped, travel)",
    )
    prescriptions.add_json(parser)


def run(args: argparse.Namespace) -> int:
    """Work it out; needs no setting, database or network."""
    from bot.domain.adherence import adherence  # noqa: PLC0415 - see the package
    from bot.reports import figures  # noqa: PLC0415 - the same
    from bot.reports.digest import figures_text  # noqa: PLC0415 - the same
    from bot.reports.words import words  # noqa: PLC0415 - the same
    from bot.rules import adherence_table  # noqa: PLC0415 - the same

    days = adherence_table.read(args.file)
    if args.json:
        prescriptions.print_json(figures.adherence(days))
        return 0
    print(figures_text(adherence(days), words("en")))
    return 0
