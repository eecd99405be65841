"""Print the JSON Schema of a file, for an editor to complete and check it by."""

import argparse

from bot.commands import prescriptions

KINDS = ("prescription", "own")


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Which file."""
    parser.add_argument(
        "kind",
        nargs="?",
        choices=KINDS,
        default="prescription",
        help="a prescription (default), or a clinic's own file of exercises and limits",
    )


def run(args: argparse.Namespace) -> int:
    """Print it."""
    from bot.rules import prescription_file, rulebook  # noqa: PLC0415 - see the package

    made = {"prescription": prescription_file.schema, "own": rulebook.own_schema}
    prescriptions.print_json(made[args.kind](), indent=2)
    return 0
