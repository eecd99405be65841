"""Add a clinic's administrator and print the invite."""

import argparse


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Who it is."""
    parser.add_argument("code", help="a short code, such as A1")
    parser.add_argument("--name", required=True)
    parser.add_argument("--clinic", help="code of the clinic, where there are several")


def run(args: argparse.Namespace) -> int:
    """Add who looks after the clinic's people and facts; she sees no findings and no words of clients."""
    from bot.commands import house  # noqa: PLC0415 - see the package
    from bot.domain.people import Role  # noqa: PLC0415 - the same

    return house.add_staff(args, Role.ADMINISTRATOR, f"administrator {args.code} is added")
