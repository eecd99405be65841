"""Show the review-visit summary of a client: programme, figures, alerts, what she asked, what was changed."""

import argparse

from bot.commands import prescriptions, reporting


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Whose, and in what form."""
    parser.add_argument("client", help="code of the client")
    prescriptions.add_day(parser, "how it stood at the end of this day (default: now)")
    reporting.add_clinic(parser)
    prescriptions.add_json(parser)
    reporting.add_files(parser, pdf="one page, to print", csv="a row for each week")


def run(args: argparse.Namespace) -> int:
    """Work it out and print it; files are written beside that."""
    return reporting.show(args, discharge=False)
