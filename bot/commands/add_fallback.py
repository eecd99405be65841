"""Add the clinic's fallback contact and print the invite."""

import argparse


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Who it is."""
    parser.add_argument("code", help="a short code, such as F1")
    parser.add_argument("--name", required=True)
    parser.add_argument("--clinic", help="code of the clinic, where there are several")


def run(args: argparse.Namespace) -> int:
    """Add the person who gets the alerts that nobody has seen."""
    from bot.commands import house  # noqa: PLC0415 - see the package
    from bot.domain.people import Role  # noqa: PLC0415 - the same

    return house.add_staff(args, Role.FALLBACK, f"fallback contact {args.code} is added")
