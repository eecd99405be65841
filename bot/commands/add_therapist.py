"""Add a therapist and print her invite."""

import argparse


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Who she is."""
    parser.add_argument("code", help="a short code, such as T1")
    parser.add_argument("--name", required=True)
    parser.add_argument("--registration", required=True, help="her registration number as a physiotherapist")
    parser.add_argument("--clinic", help="code of the clinic, where there are several")


def run(args: argparse.Namespace) -> int:
    """Add her; only a registered therapist puts a prescription in force."""
    from bot.commands import house  # noqa: PLC0415 - see the package
    from bot.domain.people import Role  # noqa: PLC0415 - the same
    from bot.service import setup  # noqa: PLC0415 - the same

    new = setup.NewStaff(args.code, args.name, Role.THERAPIST, args.registration)
    with house.database() as (begin, clock):
        made = setup.add_staff(begin, clock, args.clinic, new)
    print(f"therapist {args.code} is added")
    house.print_invite(made)
    return 0
