"""The whole caseload in the order of attention, in pages of one screen, and who stands on each."""

from collections.abc import Sequence
from dataclasses import dataclass

from bot.conversation.copy.en_caseload import PHRASES
from bot.domain.attention import Line
from bot.reports.digest import ONE_SCREEN, Digest, client_line, counts_text, length
from bot.reports.words import Words, words

MOST_ON_A_PAGE = 8


@dataclass(frozen=True, slots=True)
class Page:
    """One page: its text, the codes it shows, in order, its number from 0, and whether more follow."""

    text: str
    codes: tuple[str, ...]
    number: int
    more: bool


def page(data: Digest, number: int, language: str = "en") -> Page:
    """A page of the caseload; a number beyond the last page gives the last one."""
    say = words(language)
    parts = [_line(line, say) for line in data.lines]
    starts = _starts(parts)
    number = max(0, min(number, len(starts) - 1))
    first = starts[number]
    end = starts[number + 1] if number + 1 < len(starts) else len(parts)
    if not parts:
        return Page(say.say("nobody"), (), 0, more=False)
    head = PHRASES["page.head"].format(first=first + 1, last=end, all=len(parts))
    codes = tuple(line.code for line in data.lines[first:end])
    return Page("\n".join((head, "", *parts[first:end])), codes, number, end < len(parts))


def _line(line: Line, say: Words) -> str:
    """A client in one line; one whom nobody has to look at has her counts alone."""
    if any(say.reason(why) for why in line.reasons):
        return client_line(line, say)
    return PHRASES["page.line"].format(client=line.code, why=f"{counts_text(line, say)}.")


def _starts(parts: Sequence[str]) -> list[int]:
    """Where each page begins: so many lines as fit on a screen, at least one."""
    starts, room = [0], ONE_SCREEN
    for place, part in enumerate(parts):
        full = place - starts[-1] >= MOST_ON_A_PAGE or length(part) + 1 > room - length(PHRASES["page.head"])
        if full and place > starts[-1]:
            starts.append(place)
            room = ONE_SCREEN
        room -= length(part) + 1
    return starts
