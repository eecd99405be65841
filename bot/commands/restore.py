"""Restore a backup into an empty database, check it, and erase again who was erased since."""

import argparse
from pathlib import Path


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """From where."""
    parser.add_argument("file", type=Path, help="a file that `programme-bot backup` made")
    parser.add_argument("--json", action="store_true", help="print one JSON object")


def run(args: argparse.Namespace) -> int:
    """Restore all of it or nothing, with progress on standard error."""
    import json  # noqa: PLC0415 - see the package
    import sys  # noqa: PLC0415 - the same

    from bot.commands import house  # noqa: PLC0415 - the same
    from bot.service import backup, erasing  # noqa: PLC0415 - the same

    manifest = backup.read(args.file)
    with house.new_database(manifest.revision) as (begin, erasures_file, clock), begin() as tx:
        backup.load(
            tx,
            args.file,
            manifest,
            lambda name, rows: print(f"{name}: {rows} rows, as in the backup", file=sys.stderr),
        )
        tx.check_keys()
        again = erasing.replay(tx, erasures_file, clock.now())
    rows = sum(count for count, _ in manifest.tables.values())
    if args.json:
        print(json.dumps({"rows": rows, "made_at": manifest.made_at.isoformat(), "erased_again": again}))
    else:
        print(f"{rows} rows restored, as of {manifest.made_at:%Y-%m-%d %H:%M} UTC; erased again: {again}")
    return 0
