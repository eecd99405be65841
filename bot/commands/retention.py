"""Show or record for how many years a clinic keeps the clinical records of those who were erased."""

import argparse


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """The years, which only the clinic can know."""
    parser.add_argument("--clinic", help="code of the clinic, where there are several")
    parser.add_argument(
        "--record-years", type=int, help="1 to 40, as the rules that bind the clinic say; there is no default"
    )


def run(args: argparse.Namespace) -> int:
    """Show it, or record it."""
    from bot.commands import house  # noqa: PLC0415 - see the package
    from bot.service import setup  # noqa: PLC0415 - the same

    with house.database() as (begin, clock):
        code, years = setup.retention(begin, clock, args.clinic, args.record_years)
    kept = "not recorded yet; nothing that is locked is dropped" if years is None else f"{years} years"
    print(f"{code}: records are kept {kept}")
    return 0
