"""List what was not delivered or could not be handled, and send it once more."""

import argparse
import uuid

from bot.errors import RefusedError


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """What to do with them."""
    parser.add_argument(
        "--send-again", nargs="+", metavar="ID", default=(), help="queue these once more (no nudges)"
    )
    parser.add_argument("--most", type=int, default=50, metavar="N", help="so many of the newest (50)")
    parser.add_argument("--json", action="store_true", help="the list as one JSON object")


def run(args: argparse.Namespace) -> int:
    """List, or send again."""
    import json  # noqa: PLC0415 - see the package

    from bot.commands import house  # noqa: PLC0415 - the same
    from bot.service import dead_letters  # noqa: PLC0415 - the same

    with house.database() as (begin, clock):
        if args.send_again:
            dead_letters.send_again(begin, clock, [_read_id(text) for text in args.send_again])
        found = dead_letters.listed(begin, args.most)
    if args.json:
        rows = [
            {
                "id": str(one.id),
                "kind": one.kind,
                "whose": one.whose,
                "state": one.state,
                "reason": one.reason,
                "attempts": one.attempts,
                "at": one.at.isoformat(),
                "chat_gone": one.gone,
            }
            for one in found
        ]
        print(json.dumps({"queued_again": len(args.send_again), "dead_letters": rows}))
        return 0
    if args.send_again:
        print(f"queued again: {len(args.send_again)}")
    for one in found:
        gone = "  (chat cannot be reached)" if one.gone else ""
        whose = one.whose or "-"
        print(
            f"{one.id}  {one.at:%Y-%m-%d %H:%M} UTC  {one.kind:7} {whose:8} {one.state:9} {one.reason}{gone}"
        )
    if not found:
        print("no dead letters")
    return 0


def _read_id(text: str) -> uuid.UUID:
    try:
        return uuid.UUID(text)
    except ValueError:
        raise RefusedError(f"--send-again {text}: not an id; see `programme-bot dead-letters`") from None
