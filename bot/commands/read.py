"""Show how messages would be read: counts, warning signs, what would be left unread."""

import argparse
import datetime as dt
import sys
from collections.abc import Iterator
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from bot.domain.reading import Sets


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """The messages, and the client they are read for."""
    parser.add_argument("messages", nargs="*", help="one each; none: lines of standard input")
    parser.add_argument("--sets", type=int, default=3, help="sets prescribed a day (default 3)")
    parser.add_argument("--done", type=int, default=0, help="sets booked today so far (default 0)")
    parser.add_argument("--language", default="en", help="her language (default en)")
    parser.add_argument("--on", type=dt.date.fromisoformat, metavar="DATE", help="her day (default today)")
    parser.add_argument("--explain", action="store_true", help="say which words fired and which denied")
    parser.add_argument("--json", action="store_true", help="one JSON object a line, and nothing else")


def run(args: argparse.Namespace) -> int:
    """Read every message; needs no setting, database or network."""
    import json  # noqa: PLC0415 - see the package

    from bot import clock  # noqa: PLC0415 - the same
    from bot.conversation import safety  # noqa: PLC0415 - the same
    from bot.domain import reading, warning_signs  # noqa: PLC0415 - the same
    from bot.rules import signs  # noqa: PLC0415 - the same

    rules = signs.load()
    today = args.on or clock.SystemClock().now().date()
    sys.stdout.reconfigure(encoding="utf-8")  # type: ignore[union-attr] # the real standard output
    for text in args.messages or _lines():
        read = reading.read(text, sets=args.sets, done=args.done, today=today, language=args.language)
        heard = warning_signs.hear(text, rules)
        warned = heard.level is not None and len(text) <= safety.ALERT_WORDS
        shown = {
            "text": text,
            "sets": None if read.sets is None else _sets(read.sets, today),
            "warning": None
            if heard.level is None
            else {
                "level": heard.level.value,
                "signs": list(dict.fromkeys(sign.sign for sign in heard.heard)),
                "sure": heard.sure,
            },
            "understood": read.understood or warned,
        }
        if args.explain:
            shown["explanation"] = heard.explanation
        print(json.dumps(shown, ensure_ascii=False) if args.json else _plain(shown))
    return 0


def _lines() -> Iterator[str]:
    for line in sys.stdin.buffer:
        yield line.decode("utf-8", "replace").rstrip("\r\n")


def _sets(sets: "Sets", today: dt.date) -> dict[str, object]:
    days = {today: "today", today - dt.timedelta(days=1): "yesterday"}
    return {
        "meaning": sets.meaning.value,
        "value": sets.value,
        "day": days.get(sets.on, sets.on.isoformat()),
    }


def _plain(shown: dict[str, object]) -> str:
    parts = [f"{name}: {value}" for name, value in shown.items() if name != "text" and value is not None]
    return f"{shown['text']}\n    " + "; ".join(parts)
