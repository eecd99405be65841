"""Show the discharge summary of a client, with what she keeps going with."""

import argparse
from pathlib import Path

from bot.commands import prescriptions, reporting


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Whose, her maintenance plan, and in what form."""
    parser.add_argument("client", help="code of the client")
    parser.add_argument(
        "--maintenance",
        type=Path,
        metavar="FILE",
        help="her maintenance plan as a prescription file (default: the prescription in force)",
    )
    prescriptions.add_day(parser, "the last day of the maintenance plan", name="--until")
    parser.add_argument("--owner", help="who decides what comes after it (default: her therapist)")
    prescriptions.add_day(parser, "how it stood at the end of this day (default: now)")
    reporting.add_clinic(parser)
    prescriptions.add_json(parser)
    reporting.add_files(parser, pdf="one page, to print", csv="a row for each week")


def run(args: argparse.Namespace) -> int:
    """Work it out and print it; nothing is changed, and her channel stays as it is."""
    return reporting.show(args, discharge=True)
