"""Enrol many clients from one table and print their invites."""

import argparse
from pathlib import Path


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """The table, and whose clients they are."""
    parser.add_argument("table", type=Path, help="table of clients in CSV, a row for each")
    parser.add_argument("--therapist", help="code of their therapist, where there are several")
    parser.add_argument("--clinic", help="code of the clinic, where there are several")


def run(args: argparse.Namespace) -> int:
    """Enrol all of them, or none: every fault of every row is told in one go."""
    from bot.commands import house  # noqa: PLC0415 - see the package
    from bot.service import setup  # noqa: PLC0415 - the same
    from bot.service.approval import SignedOff  # noqa: PLC0415 - the same

    approval, rules = SignedOff(house.contents()), house.rules()
    with house.database() as (begin, clock):
        made = setup.add_clients(begin, clock, approval, args.clinic, args.therapist, args.table, rules)
    house.print_invites(made)
    return 0
