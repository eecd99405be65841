"""What in a message speaks against a sign that it names, and how far: "no ...", "gone now", "my sister"."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from enum import Enum
from typing import Final

from bot.domain import warning_match
from bot.domain.warning_match import Grammar, Message
from bot.domain.warning_notation import Phrase

LIST_WORDS: Final = 10  # how far "no a, b or c" looks for its "or"


class Denial(Enum):
    """Why words that name a sign may not mean that she has it now.

    NEGATED "no bleeding"; OVER "gone now"; PAST "last year"; OTHER "my sister"; ASKED "how much is normal?";
    TOLD "a film about a stroke".
    """

    NEGATED = "negated"
    OVER = "over"
    PAST = "past"
    OTHER = "other"
    ASKED = "asked"
    TOLD = "told"


class Reach(Enum):
    """Where a cue works: the words after it, those before it in its clause, its clause, its sentence."""

    AFTER = "after"
    BEFORE = "before"
    CLAUSE = "clause"
    SENTENCE = "sentence"


@dataclass(frozen=True, slots=True)
class Cue:
    """What kind of denial, and its reach. `words`: how far; `past_subject`: goes on behind "my" or "i"."""

    denial: Denial
    reach: Reach
    words: int
    past_subject: bool


@dataclass(frozen=True, slots=True)
class Scope:
    """A stretch of the message from `start` up to `end` under a denial; `cue` are the cue's own places."""

    denial: Denial
    cue: frozenset[int]
    start: int
    end: int


def scopes(
    found: Iterable[tuple[Phrase, int]],
    cues: Sequence[Cue],
    message: Message,
    grammar: Grammar,
    shams: frozenset[int],
) -> list[Scope]:
    """What denies what. found: phrases of cues, with the cue's number; shams: places that look like a cue."""
    out: list[Scope] = []
    for phrase, number in found:
        cue = cues[number]
        for places in warning_match.matches(phrase, message, shams, grammar.thieves):
            own = frozenset(places)
            first, last = min(places), max(places)
            if cue.reach is Reach.AFTER:
                out.append(Scope(cue.denial, own, last + 1, _after(cue, last + 1, message, grammar)))
                continue
            if cue.reach is Reach.BEFORE:
                start, end = _before(cue, first, message, grammar), first
            else:
                start, end = _stretch(
                    message.clause if cue.reach is Reach.CLAUSE else message.sentence, first, last
                )
            out.append(Scope(cue.denial, own, start, end))
            if cue.denial in (Denial.OVER, Denial.PAST, Denial.NEGATED):
                echo = _echo(own, first, last, message)
                if echo is not None:
                    out.append(Scope(cue.denial, own, *echo))
    return out


def _stretch(marks: Sequence[int], first: int, last: int) -> tuple[int, int]:
    """The whole clause or sentence around two places."""
    low, high = first, last + 1
    while low and marks[low - 1] == marks[first]:
        low -= 1
    while high < len(marks) and marks[high] == marks[last]:
        high += 1
    return low, high


def _echo(own: frozenset[int], first: int, last: int, message: Message) -> tuple[int, int] | None:
    """The clause before, when a clause says nothing but "gone now": it speaks of what came before."""
    low, high = _stretch(message.clause, first, last)
    if not low or any(message.counts(place) for place in range(low, high) if place not in own):
        return None
    return _stretch(message.clause, low - 1, low - 1)


def _before(cue: Cue, first: int, message: Message, grammar: Grammar) -> int:
    start, reached = first, 0
    while start and message.clause[start - 1] == message.clause[first] and reached < cue.words:
        if message.words[start - 1] in grammar.ands:
            break
        start -= 1
        reached += message.counts(start)
    return start


def _after(cue: Cue, place: int, message: Message, grammar: Grammar) -> int:
    """How far a cue that works forwards reaches."""
    words, end, reached = message.words, place, 0
    while end < len(words) and message.sentence[end] == message.sentence[place - 1] and reached < cue.words:
        word = words[end]
        if message.clause[end] != message.clause[end - 1] and not _list_goes_on(end, message, grammar):
            break
        if word in grammar.stops or (word in grammar.ands and not _pair_ends(place, end, message, grammar)):
            break
        if (
            not cue.past_subject
            and end > place
            and word in grammar.clauses.subjects
            and words[end - 1] not in grammar.lead_ins
        ):
            break
        reached += message.counts(end)
        end += 1
    return end


def _list_goes_on(place: int, message: Message, grammar: Grammar) -> bool:
    """Whether "no a, b or c" is still being listed at a comma."""
    for ahead in range(place, min(place + LIST_WORDS, len(message.words))):
        word = message.words[ahead]
        if message.sentence[ahead] != message.sentence[place] or word in grammar.stops:
            return False
        if word in grammar.ors:
            return True
        if word in grammar.clauses.subjects or word in grammar.ands:
            return False
    return False


def _pair_ends(place: int, joint: int, message: Message, grammar: Grammar) -> bool:
    """Whether "no pain and swelling" ends right after its second word."""
    after = joint + 1
    while after < len(message.words) and not message.counts(after):
        after += 1
    if not place < joint or after >= len(message.words):
        return False
    symptoms = {start for start, _ in message.where(grammar.symptoms)}
    return (
        joint - 1 in symptoms
        and after in symptoms
        and message.closes(after + 1)
        and message.clause[after] == message.clause[place]
    )
