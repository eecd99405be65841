"""Enrol a client from a prescription file and print her invite."""

import argparse
from pathlib import Path


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Her file, and whose client she is."""
    parser.add_argument("file", type=Path, help="prescription in TOML")
    parser.add_argument("--therapist", help="code of her therapist, where there are several")
    parser.add_argument("--clinic", help="code of the clinic, where there are several")


def run(args: argparse.Namespace) -> int:
    """Enrol her; nothing is stored when anything is wrong."""
    from bot.commands import house  # noqa: PLC0415 - see the package
    from bot.service import setup  # noqa: PLC0415 - the same
    from bot.service.approval import SignedOff  # noqa: PLC0415 - the same

    approval, rules = SignedOff(house.contents()), house.rules()
    with house.database() as (begin, clock):
        code, made = setup.add_client(begin, clock, approval, args.clinic, args.therapist, args.file, rules)
    print(f"client {code} is enrolled")
    house.print_invite(made)
    return 0
