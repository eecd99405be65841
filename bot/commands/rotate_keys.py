"""Wrap all data keys with the first key of DATA_KEYS, so that the others can go; may be run again."""

import argparse


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """How the result is printed."""
    parser.add_argument("--json", action="store_true", help="print one JSON object")


def run(args: argparse.Namespace) -> int:
    """Rotate, with progress on standard error."""
    import json  # noqa: PLC0415 - see the package
    import sys  # noqa: PLC0415 - the same

    from bot.commands import house  # noqa: PLC0415 - the same
    from bot.service import keys  # noqa: PLC0415 - the same

    done = 0
    with house.database() as (begin, _):
        with begin() as tx:
            key_id = tx.wraps_with
        for done, left in keys.rotate(begin):
            print(f"wrapped with {key_id}: {done}, left: {left}", file=sys.stderr)
    if args.json:
        print(json.dumps({"key": key_id, "wrapped": done, "left": 0}))
    else:
        print(f"{done} data keys are now wrapped with {key_id}; the other keys of DATA_KEYS are not needed")
    return 0
