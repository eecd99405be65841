"""Finding compiled phrases in a message, and what its own words say about each place in it."""

from collections import defaultdict
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from enum import Enum
from typing import Final

from bot.domain import warning_text
from bot.domain.warning_notation import Element, Part, Phrase
from bot.domain.warning_words import Lexicon

AFTER_WORDS: Final = 7  # how far the second part of "a & b" may follow the first, fillers not counted
BEFORE_WORDS: Final = 5  # and how far it may stand before it, in the same clause
MATCHES_TRIED: Final = 24  # bounds the work on a message that repeats one word for ever
LIST_WORDS: Final = 10  # how far "no a, b or c" looks for its "or"

Places = tuple[int, ...]


class Denial(Enum):
    """Why words that name a sign may not mean that she has it now.

    NEGATED "no bleeding"; OVER "gone now"; PAST "last year"; OTHER "my sister"; ASKED "how much is normal?".
    """

    NEGATED = "negated"
    OVER = "over"
    PAST = "past"
    OTHER = "other"
    ASKED = "asked"


class Reach(Enum):
    """Where a cue works: the words after it, those before it in its clause, its clause, its sentence."""

    AFTER = "after"
    BEFORE = "before"
    CLAUSE = "clause"
    SENTENCE = "sentence"


@dataclass(frozen=True, slots=True)
class Cue:
    """Words that deny. `words`: reach in words. `past_subject`: goes on behind "my" or "i"."""

    denial: Denial
    reach: Reach
    words: int
    past_subject: bool
    phrases: tuple[Phrase, ...]


@dataclass(frozen=True, slots=True)
class Scope:
    """A stretch of the message from `start` up to `end` under a denial; `cue` are the cue's own places."""

    denial: Denial
    cue: frozenset[int]
    start: int
    end: int


@dataclass(frozen=True, slots=True)
class Grammar:
    """The words that shape sentences, for one language.

    fillers may stand anywhere; stops end the reach of a cue; ors carry a "no" along a list; lead_ins keep
    "in my chest" inside a negation; symptoms let "no pain and swelling" deny both; thieves are body parts
    that take a description away from an earlier one. The last two are atom numbers.
    """

    clauses: warning_text.Clauses
    fillers: frozenset[str]
    stops: frozenset[str]
    ands: frozenset[str]
    ors: frozenset[str]
    lead_ins: frozenset[str]
    symptoms: int
    thieves: int


@dataclass(slots=True)
class Message:
    """A message cut into words, with the atoms found at each place. Lives for one reading."""

    words: list[str]
    clause: list[int]
    sentence: list[int]
    weight: list[int]  # words that count, summed up to each place
    breaks: list[int]  # clause boundaries, summed up to each place
    where: Mapping[int, list[tuple[int, int]]]

    def cost(self, start: int, end: int) -> int:
        """How many counting words and boundaries lie between two places."""
        return self.weight[end] - self.weight[start] + self.breaks[end] - self.breaks[start]


def read(text: str, lexicon: Lexicon, grammar: Grammar) -> Message:
    """Cut a text into known words and mark what each place may mean."""
    words: list[str] = []
    clause: list[int] = []
    sentence: list[int] = []
    numbers: set[int] = set()
    at_clause = at_sentence = 0
    fresh = True
    pieces = warning_text.words(warning_text.fold(text))
    clauses = grammar.clauses
    for place, (kind, piece) in enumerate(pieces):
        if kind in ("hard", "soft"):
            if not fresh:
                at_clause += 1
                at_sentence += kind == "hard"
                fresh = True
            elif kind == "hard":
                at_sentence += 1
            continue
        if kind == "word":
            meant = lexicon.meant(piece)
        else:
            meant = (piece,)
            numbers.add(len(words))
        for word in meant:
            if not fresh:
                if word in clauses.hard:
                    at_clause, at_sentence = at_clause + 1, at_sentence + 1
                elif word in clauses.soft or (
                    word in clauses.joins
                    and place + 1 < len(pieces)
                    and pieces[place + 1][1] in clauses.subjects
                ):
                    at_clause += 1
            words.append(word)
            clause.append(at_clause)
            sentence.append(at_sentence)
            fresh = False
    return Message(words, clause, sentence, *_sums(words, clause, grammar), _where(words, numbers, lexicon))


def _sums(words: list[str], clause: list[int], grammar: Grammar) -> tuple[list[int], list[int]]:
    weight, breaks = [0], [0]
    for place, word in enumerate(words):
        weight.append(weight[-1] + (word not in grammar.fillers))
        following = place + 1
        breaks.append(breaks[-1] + (following < len(words) and clause[following] != clause[place]))
    return weight, breaks


def _where(words: list[str], numbers: set[int], lexicon: Lexicon) -> Mapping[int, list[tuple[int, int]]]:
    where: defaultdict[int, list[tuple[int, int]]] = defaultdict(list)
    for place, word in enumerate(words):
        here = (place, place + 1)
        for atom in lexicon.number_atoms(word) if place in numbers else lexicon.atoms(word):
            where[atom].append(here)
        for compound, atom in lexicon.compounds(word):
            if tuple(words[place : place + len(compound)]) == compound:
                where[atom].append((place, place + len(compound)))
    return dict(where)


class Index:
    """Phrases by signpost, so that a message meets only those it can match."""

    def __init__(self, phrases: Sequence[tuple[Phrase, int]]) -> None:
        """phrases: each with the number of whatever it belongs to."""
        by_signpost: defaultdict[int, list[tuple[Phrase, int]]] = defaultdict(list)
        for phrase, owner in phrases:
            by_signpost[phrase.signpost].append((phrase, owner))
        self._by_signpost = dict(by_signpost)

    def candidates(self, message: Message) -> Iterator[tuple[Phrase, int]]:
        """The phrases whose every needed atom occurs in the message."""
        where = message.where
        for atom in where:
            for phrase, owner in self._by_signpost.get(atom, ()):
                if all(needed in where for needed in phrase.needed):
                    yield phrase, owner


def matches(phrase: Phrase, message: Message, masked: frozenset[int], thieves: int) -> Iterator[Places]:
    """The places a phrase covers, one tuple for each way it fits."""
    for tried, places in enumerate(_groups(phrase.groups, message, masked, thieves)):
        if tried == MATCHES_TRIED:
            return
        if not phrase.absent or not _present(phrase.absent, message, places):
            yield places


def _present(absent: tuple[Part, ...], message: Message, places: Places) -> bool:
    sentences = {message.sentence[place] for place in places}
    return any(
        message.sentence[found[0]] in sentences
        for part in absent
        for found in _runs(part, message, frozenset())
    )


def _groups(
    groups: tuple[tuple[Part, ...], ...], message: Message, masked: frozenset[int], thieves: int
) -> Iterator[Places]:
    first, *rest = groups
    for places in _near(first, message, masked, thieves):
        if not rest:
            yield places
            continue
        for others in _groups(tuple(rest), message, masked, thieves):
            if not set(places) & set(others):
                yield (*places, *others)


def _near(
    parts: tuple[Part, ...], message: Message, masked: frozenset[int], thieves: int
) -> Iterator[Places]:
    for places in _runs(parts[0], message, masked):
        yield from _joined(parts, 1, places, places, message, masked, thieves)


def _joined(  # noqa: PLR0917 - the state of one search, passed down
    parts: tuple[Part, ...],
    at: int,
    previous: Places,
    so_far: Places,
    message: Message,
    masked: frozenset[int],
    thieves: int,
) -> Iterator[Places]:
    if at == len(parts):
        yield so_far
        return
    for places in _runs(parts[at], message, masked):
        if set(places) & set(so_far) or not _close(previous, places, message):
            continue
        if _stolen(previous, places, parts[at - 1 : at + 1], message, thieves):
            continue
        yield from _joined(parts, at + 1, places, (*so_far, *places), message, masked, thieves)


def _close(first: Places, second: Places, message: Message) -> bool:
    if message.sentence[first[0]] != message.sentence[second[0]]:
        return False
    if second[0] > first[0]:
        gap_start, gap_end, limit = first[-1] + 1, second[0], AFTER_WORDS
    elif message.clause[first[0]] == message.clause[second[-1]]:
        gap_start, gap_end, limit = second[-1] + 1, first[0], BEFORE_WORDS
    else:
        return False
    return gap_start >= gap_end or message.cost(gap_start, gap_end) <= limit


def _stolen(first: Places, second: Places, parts: tuple[Part, ...], message: Message, thieves: int) -> bool:
    """Whether another body part stands between, as in "leg fine, scar red"."""
    low, high = sorted((first, second))
    own = {e.atom for part in parts for e in part.elements}
    for start, _ in message.where.get(thieves, ()):
        if low[-1] < start < high[0] and not any(
            (start, start + 1) in message.where[a] for a in own if a in message.where
        ):
            return True
    return False


def _runs(part: Part, message: Message, masked: frozenset[int]) -> Iterator[Places]:
    elements = part.elements
    for start, end in message.where.get(elements[0].atom, ()):
        if start in masked or (part.starts_clause and not _opens(message, start)):
            continue
        rest = _rest(part, 1, end, message, masked)
        if rest is not None:
            yield (*range(start, end), *rest)


def _rest(part: Part, at: int, place: int, message: Message, masked: frozenset[int]) -> Places | None:
    if at == len(part.elements):
        return None if part.ends_clause and not _closes(message, place) else ()
    element: Element = part.elements[at]
    for start, end in message.where.get(element.atom, ()):
        if start < place or start in masked or message.sentence[start] != message.sentence[place - 1]:
            continue
        # Counted from the word before, so that a boundary right at the join weighs as well.
        if message.cost(place - 1, start) - _counts(message, place - 1) > element.gap:
            break
        rest = _rest(part, at + 1, end, message, masked)
        if rest is not None:
            return (*range(start, end), *rest)
    return _rest(part, at + 1, place, message, masked) if element.optional else None


def _counts(message: Message, place: int) -> int:
    return message.weight[place + 1] - message.weight[place]


def _opens(message: Message, place: int) -> bool:
    """Whether only fillers stand before this place in its clause."""
    while place and message.clause[place - 1] == message.clause[place]:
        if _counts(message, place - 1):
            return False
        place -= 1
    return True


def _closes(message: Message, place: int) -> bool:
    """Whether only fillers stand from this place to the end of the clause of the word before it."""
    clause = message.clause[place - 1]
    while place < len(message.words) and message.clause[place] == clause:
        if _counts(message, place):
            return False
        place += 1
    return True


def scopes(
    cues: Sequence[Cue], index: Index, message: Message, grammar: Grammar, shams: frozenset[int]
) -> list[Scope]:
    """What denies what in this message. `shams` are places that look like a cue and are none."""
    found: list[Scope] = []
    for phrase, owner in index.candidates(message):
        cue = cues[owner]
        for places in matches(phrase, message, shams, grammar.thieves):
            own = frozenset(places)
            first, last = min(places), max(places)
            if cue.reach is Reach.AFTER:
                found.append(Scope(cue.denial, own, last + 1, _after(cue, last + 1, message, grammar)))
                continue
            if cue.reach is Reach.BEFORE:
                start = _before(cue, first, message, grammar)
                found.append(Scope(cue.denial, own, start, first))
            else:
                marks = message.clause if cue.reach is Reach.CLAUSE else message.sentence
                low, high = first, last + 1
                while low and marks[low - 1] == marks[first]:
                    low -= 1
                while high < len(marks) and marks[high] == marks[last]:
                    high += 1
                found.append(Scope(cue.denial, own, low, high))
            if cue.denial in (Denial.OVER, Denial.PAST, Denial.NEGATED):
                echo = _echo(own, first, last, message)
                if echo is not None:
                    found.append(Scope(cue.denial, own, *echo))
    return found


def _echo(own: frozenset[int], first: int, last: int, message: Message) -> tuple[int, int] | None:
    """The clause before, when a clause says nothing but "gone now": it speaks of what came before."""
    clause = message.clause[first]
    low, high = first, last + 1
    while low and message.clause[low - 1] == clause:
        low -= 1
    while high < len(message.words) and message.clause[high] == clause:
        high += 1
    if not low or any(_counts(message, place) for place in range(low, high) if place not in own):
        return None
    start = low - 1
    while start and message.clause[start - 1] == message.clause[low - 1]:
        start -= 1
    return start, low


def _before(cue: Cue, first: int, message: Message, grammar: Grammar) -> int:
    start = first
    reached = 0
    while start and message.clause[start - 1] == message.clause[first] and reached < cue.words:
        if message.words[start - 1] in grammar.ands:
            break
        start -= 1
        reached += _counts(message, start)
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
        reached += _counts(message, end)
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
    symptoms = {start for start, _ in message.where.get(grammar.symptoms, ())}
    after = joint + 1
    while after < len(message.words) and not _counts(message, after):
        after += 1
    return (
        joint - 1 in symptoms
        and joint > place
        and after in symptoms
        and _closes(message, after + 1)
        and message.clause[after] == message.clause[place]
    )
