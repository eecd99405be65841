"""Show how messages would be read: counts, warning signs, what would be left unread."""

import argparse
import datetime as dt
import os
import sys
from collections.abc import Iterator
from typing import TYPE_CHECKING

from bot.errors import RefusedError

if TYPE_CHECKING:
    from bot.domain.reading import Sets

MOST = 100  # sets a day; more is a slip
FIRST_DAY, LAST_DAY = dt.date(1970, 1, 2), dt.date(2999, 1, 1)


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """The messages, and the client they are read for."""
    parser.add_argument("messages", nargs="*", help="one each; none: lines of standard input")
    parser.add_argument("--sets", type=int, default=3, help="sets prescribed a day (default 3)")
    parser.add_argument("--done", type=int, default=0, help="sets booked today so far (default 0)")
    parser.add_argument("--language", default="en", help="her language (default en)")
    parser.add_argument("--on", metavar="DATE", help="her day, as 2026-03-04 (default today)")
    parser.add_argument("--explain", action="store_true", help="say which words fired and which denied")
    parser.add_argument("--json", action="store_true", help="one JSON object a line, and nothing else")


def run(args: argparse.Namespace) -> int:
    """Read every message; needs no setting, database or network."""
    import json  # noqa: PLC0415 - see the package

    from bot import clock  # noqa: PLC0415 - the same
    from bot.conversation import rehearsal  # noqa: PLC0415 - the same
    from bot.domain import other_language, reading, warning_signs  # noqa: PLC0415 - the same
    from bot.rules import signs  # noqa: PLC0415 - the same

    today = _day(args.on) if args.on else clock.SystemClock().now().date()
    _check(args)
    rules = signs.load()
    view = rehearsal.view(args.sets, args.done, today, args.language, rules)
    sys.stdout.reconfigure(encoding="utf-8")  # type: ignore[union-attr] # the real standard output
    for text in map(_decoded, map(os.fsencode, args.messages)) if args.messages else _lines():
        read = reading.read(text, sets=args.sets, done=args.done, today=today, language=args.language)
        heard = warning_signs.hear(text, rules)
        counted = None if other_language.is_foreign(text, args.language) else read.sets
        shown: dict[str, object] = {
            "text": text,
            "sets": None if counted is None else _sets(counted, today),
            "warning": None
            if heard.level is None
            else {
                "level": heard.level.value,
                "signs": list(dict.fromkeys(sign.sign for sign in heard.heard)),
                "sure": heard.sure,
            },
            "understood": not rehearsal.becomes_a_note(view, text),
        }
        if args.explain:
            shown["explanation"] = heard.explanation
        print(json.dumps(shown, ensure_ascii=False) if args.json else _plain(shown))
    return 0


def _day(text: str) -> dt.date:
    try:
        day = dt.date.fromisoformat(text)
    except ValueError:
        raise RefusedError(f"--on: {text!r} is not a date such as 2026-03-04") from None
    if not FIRST_DAY <= day <= LAST_DAY:
        raise RefusedError(f"--on: {text} is not between {FIRST_DAY} and {LAST_DAY}")
    return day


def _check(args: argparse.Namespace) -> None:
    """Refuse what no client can have."""
    from bot.domain.reading_tables import LANGUAGES  # noqa: PLC0415 - see the package

    faults = [
        f"--{name}: {number} is not between 0 and {MOST}"
        for name, number in (("sets", args.sets), ("done", args.done))
        if not 0 <= number <= MOST
    ]
    if args.language not in LANGUAGES:
        faults.append(f"--language: no words for {args.language!r}, only for {', '.join(LANGUAGES)}")
    if faults:
        raise RefusedError(*faults)


def _decoded(raw: bytes) -> str:
    """UTF-8 whatever the locale says; what is none becomes a replacement character."""
    return raw.decode("utf-8", "replace")


def _lines() -> Iterator[str]:
    for line in sys.stdin.buffer:
        yield _decoded(line).rstrip("\r\n")


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
