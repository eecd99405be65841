"""Print the JSON Schema of a file, for an editor to complete and check it by."""

import argparse

from bot.commands import prescriptions

KINDS = ("prescription", "own", "own-signs")


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Which file."""
    parser.add_argument(
        "kind",
        nargs="?",
        choices=KINDS,
        default="prescription",
        help="a prescription (default), a clinic's own exercises and limits, or its own warning signs",
    )


def run(args: argparse.Namespace) -> int:
    """Print it."""
    from bot.rules import own_signs, prescription_file, rulebook  # noqa: PLC0415 - see the package

    made = {
        "prescription": prescription_file.schema,
        "own": rulebook.own_schema,
        "own-signs": own_signs.schema,
    }
    prescriptions.print_json(made[args.kind](), indent=2)
    return 0
