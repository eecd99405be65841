"""Put a new version of a client's prescription in force."""

import argparse
from pathlib import Path

from bot.commands import prescriptions


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """The file, and who signs."""
    parser.add_argument("file", type=Path, help="prescription in TOML, of a client who is enrolled")
    parser.add_argument("--therapist", help="code of the therapist who signs (default: the client's own)")
    parser.add_argument("--clinic", help="code of the clinic, where there are several")
    prescriptions.add_own(parser)


def run(args: argparse.Namespace) -> int:
    """Put it in force; refused, with nothing stored, when it is at fault or a gate stands against it."""
    from bot.commands import house  # noqa: PLC0415 - see the package
    from bot.service import prescribing  # noqa: PLC0415 - the same

    with house.database() as (begin, clock):
        made = prescribing.prescribe(
            begin, clock, args.clinic, args.therapist, args.file, house.rules(args.own)
        )
    print(f"client {made.client}: version {made.version} is in force from {made.starts_on}")
    for line in made.changes:
        print(line)
    return 0
