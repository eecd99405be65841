"""Print a fresh invite for somebody who is enrolled; an earlier one stops working."""

import argparse


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """For whom."""
    parser.add_argument("code", help="code of a client or of somebody of the clinic")
    parser.add_argument(
        "--cut-off",
        action="store_true",
        help="the phone is lost: the chat used so far is cut off now, not only when the invite is opened",
    )
    parser.add_argument("--clinic", help="code of the clinic, where there are several")


def run(args: argparse.Namespace) -> int:
    """Make the invite."""
    from bot.commands import house  # noqa: PLC0415 - see the package
    from bot.service import setup  # noqa: PLC0415 - the same

    with house.database() as (begin, clock):
        made = setup.invite(begin, clock, args.clinic, args.code, cut_off=args.cut_off)
    house.print_invite(made)
    return 0
