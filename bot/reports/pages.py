"""A caseload or a part of it, in pages of one screen, and who stands on each."""

from collections.abc import Sequence
from dataclasses import dataclass

from bot.conversation.copy.en_caseload import PHRASES
from bot.domain.attention import Line
from bot.reports.digest import ONE_SCREEN, client_line, counts_text, length
from bot.reports.words import Words, words

MOST_ON_A_PAGE = 8


@dataclass(frozen=True, slots=True)
class Entry:
    """A client on a list: how she is shown, and her line."""

    label: str
    text: str


@dataclass(frozen=True, slots=True)
class Page:
    """One page: its text, the labels it shows, in order, its number from 0, and whether more follow."""

    text: str
    labels: tuple[str, ...]
    number: int
    more: bool


def entries(lines: Sequence[Line], language: str = "en") -> list[Entry]:
    """The clients of a digest's order, a line each."""
    say = words(language)
    return [Entry(line.code, _line(line, say)) for line in lines]


def page(listed: Sequence[Entry], number: int, head: str) -> Page:
    """A page of a list; a number beyond the last page gives the last one.

    head: the phrase above the lines, which says how many there are.
    """
    starts = _starts(listed)
    number = max(0, min(number, len(starts) - 1))
    first = starts[number]
    end = starts[number + 1] if number + 1 < len(starts) else len(listed)
    if not listed:
        return Page(PHRASES["page.nobody"], (), 0, more=False)
    shown = listed[first:end]
    opening = PHRASES[head].format(first=first + 1, last=end, all=len(listed))
    text = "\n".join((opening, "", *(one.text for one in shown)))
    return Page(text, tuple(one.label for one in shown), number, end < len(listed))


def _line(line: Line, say: Words) -> str:
    """A client in one line; one whom nobody has to look at has her counts alone."""
    if any(say.reason(why) for why in line.reasons):
        return client_line(line, say)
    return PHRASES["page.line"].format(client=line.code, why=f"{counts_text(line, say)}.")


def _starts(listed: Sequence[Entry]) -> list[int]:
    """Where each page begins: so many lines as fit on a screen, at least one."""
    starts, room = [0], ONE_SCREEN
    for place, one in enumerate(listed):
        full = place - starts[-1] >= MOST_ON_A_PAGE
        full = full or length(one.text) + 1 > room - length(PHRASES["page.head.all"])
        if full and place > starts[-1]:
            starts.append(place)
            room = ONE_SCREEN
        room -= length(one.text) + 1
    return starts
