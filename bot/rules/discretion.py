"""What may stand on a lock screen: the list of words that may not."""

import re
import tomllib
from functools import cache
from importlib import resources


@cache
def _list() -> tuple[int, re.Pattern[str], frozenset[str]]:
    text = resources.files("bot.rules").joinpath("discreet.toml").read_text(encoding="utf-8")
    table = tomllib.loads(text)
    starts = "|".join(re.escape(word) for word in table["words"])
    return (
        table["first_characters"],
        re.compile(rf"\b(?:{starts})\w*", re.IGNORECASE),
        frozenset(table["allowed"]),
    )


def indiscreet(text: str) -> tuple[str, ...]:
    """The words in the part of a text that a notification may show which may not stand there."""
    first, pattern, allowed = _list()
    return tuple(word for word in pattern.findall(text[:first]) if word.lower() not in allowed)


def is_sensitive(text: str) -> bool:
    """Whether one of those words stands anywhere in a text, however far down."""
    _, pattern, allowed = _list()
    return any(found[0].lower() not in allowed for found in pattern.finditer(text))
