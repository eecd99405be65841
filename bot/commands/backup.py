"""Write a backup of the database to a file, while the service runs; it holds no master key."""

import argparse
from pathlib import Path


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Where to."""
    parser.add_argument("file", type=Path, help="the file to write; an earlier one of this name is replaced")
    parser.add_argument("--json", action="store_true", help="print one JSON object")


def run(args: argparse.Namespace) -> int:
    """Back up, with progress on standard error."""
    import json  # noqa: PLC0415 - see the package
    import sys  # noqa: PLC0415 - the same

    from bot.commands import house  # noqa: PLC0415 - the same
    from bot.errors import RefusedError  # noqa: PLC0415 - the same
    from bot.service import backup  # noqa: PLC0415 - the same

    if not args.file.absolute().parent.is_dir():
        raise RefusedError(f"{args.file}: its folder does not exist; expected one to write to")
    with house.snapshot(args.file.absolute().parent) as (tx, revision, clock):
        manifest = backup.write(
            tx,
            args.file,
            revision,
            clock.now(),
            lambda name, rows: print(f"{name}: {rows} rows", file=sys.stderr),
        )
    rows = sum(count for count, _ in manifest.tables.values())
    if args.json:
        tables = {name: count for name, (count, _) in manifest.tables.items()}
        print(json.dumps({"file": str(args.file), "revision": manifest.revision, "rows": tables}))
    else:
        print(f"{args.file}: {rows} rows, schema {manifest.revision}, {args.file.stat().st_size} bytes")
        print("keep DATA_KEYS elsewhere: the file cannot be read without them, nor by whoever has only it")
    return 0
