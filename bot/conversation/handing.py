"""Handing clients over to a colleague: what a therapist types, and what both of them read."""

import datetime as dt
import re
from collections.abc import Sequence
from dataclasses import dataclass

from bot.conversation.speech import Button, Say, Values
from bot.conversation.view import date_text

PREFIX = "ho"
LONGEST_LIST = 1500  # characters of codes in one message
MOST_LINES = 30
_UNTIL = re.compile(r"(?:^|\s+)(?:until|till|til)\s+", re.IGNORECASE)


@dataclass(frozen=True, slots=True)
class Wanted:
    """What was typed. codes: of the clients, None for all of them. until: as typed, "" for good."""

    colleague: str
    codes: tuple[str, ...] | None
    until: str


def parse(text: str) -> Wanted | None:
    """Such as "T2 K1, K2 until 14 March" or "T2 all"; None where a colleague or the clients are missing."""
    who, *day = _UNTIL.split(text.strip(), maxsplit=1)
    colleague, *codes = who.replace(",", " ").split() or [""]
    if not colleague or not codes:
        return None
    everyone = [code.casefold() for code in codes] == ["all"]
    return Wanted(colleague, None if everyone else tuple(codes), day[0] if day else "")


def codes_text(codes: Sequence[str]) -> str:
    """Codes in a line, as many as a message takes."""
    text = ", ".join(codes)
    return text if len(text) <= LONGEST_LIST else f"{text[:LONGEST_LIST].rpartition(',')[0]} …"


def until_text(until_on: dt.date | None) -> Say:
    """For good, or until when."""
    if until_on is None:
        return Say("handover.for_good")
    return Say("handover.until", {"day": date_text(until_on)})


def confirm(mark: str, values: Values) -> Say:
    """The one question before clients get another therapist."""
    rows = (
        (
            Button("handover.button.yes", f"{PREFIX}:yes:{mark}", {"code": values["code"]}),
            Button("handover.button.no", f"{PREFIX}:no:{mark}"),
        ),
    )
    return Say("handover.sure", values, rows)
