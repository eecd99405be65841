"""A message cut into known words, and the compiled phrases found in it."""

from collections import defaultdict
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from functools import lru_cache
from typing import Final

from bot.domain import warning_text
from bot.domain.warning_notation import Element, Part, Phrase
from bot.domain.warning_words import REMEMBERED, Lexicon

AFTER_WORDS: Final = 7  # how far the second part of "a & b" may follow the first, fillers not counted
BEFORE_WORDS: Final = 5  # and how far it may stand before it
MATCHES_TRIED: Final = 24  # bounds the work on a message that repeats one word for ever

Span = tuple[int, int]
Places = tuple[int, ...]


@dataclass(frozen=True, slots=True)
class Grammar:
    """The words that shape sentences, for one language.

    fillers may stand anywhere; stops end the reach of a denial; ors carry a "no" along a list; lead_ins keep
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
    """A message cut into words, with the atoms found at each place. Lives for one reading.

    atoms: the set of atoms of each word, as bits; compounds: atoms of several words; has: all of both.
    """

    words: list[str]
    clause: list[int]
    sentence: list[int]
    weight: list[int]  # words that count, summed up to each place
    breaks: list[int]  # clause boundaries, summed up to each place
    atoms: list[int]
    compounds: Mapping[int, list[Span]]
    has: int
    _where: dict[int, list[Span]]

    def cost(self, start: int, end: int) -> int:
        """How many counting words and boundaries lie between two places."""
        return self.weight[end] - self.weight[start] + self.breaks[end] - self.breaks[start]

    def counts(self, place: int) -> int:
        """1 for a word that counts, 0 for a filler."""
        return self.weight[place + 1] - self.weight[place]

    def where(self, atom: int) -> list[Span]:
        """The places where an atom is found, in order."""
        found = self._where.get(atom)
        if found is None:
            found = [(place, place + 1) for place, bits in enumerate(self.atoms) if bits >> atom & 1]
            if atom in self.compounds:
                found = sorted(found + self.compounds[atom])
            self._where[atom] = found
        return found

    def opens(self, place: int) -> bool:
        """Whether only fillers stand before this place in its clause."""
        while place and self.clause[place - 1] == self.clause[place]:
            if self.counts(place - 1):
                return False
            place -= 1
        return True

    def closes(self, place: int) -> bool:
        """Whether only fillers stand from this place to the end of the clause of the word before it."""
        clause = self.clause[place - 1]
        while place < len(self.words) and self.clause[place] == clause:
            if self.counts(place):
                return False
            place += 1
        return True


def read(text: str, lexicon: Lexicon, grammar: Grammar) -> Message:
    """Cut a text into known words and mark what each place may mean."""
    words: list[str] = []
    clause: list[int] = []
    sentence: list[int] = []
    at_clause = at_sentence = 0
    fresh = True
    for piece, mark, following in _pieces(text, lexicon):
        if mark:
            at_clause += not fresh
            at_sentence += mark == "hard"
            fresh = True
            continue
        if not fresh:
            joins = piece in grammar.clauses.joins and following in grammar.clauses.subjects
            at_clause += joins or piece in grammar.clauses.breaks
        words.append(piece)
        clause.append(at_clause)
        sentence.append(at_sentence)
        fresh = False
    weight, breaks = [0], [0]
    for place, word in enumerate(words):
        weight.append(weight[-1] + (word not in grammar.fillers and word not in grammar.clauses.breaks))
        following_place = place + 1
        breaks.append(
            breaks[-1] + (following_place < len(words) and clause[following_place] != clause[place])
        )
    atoms = [lexicon.atoms(word) for word in words]
    compounds = lexicon.compounds(words)
    has = 0
    for bits in atoms:
        has |= bits
    for atom in compounds:
        has |= 1 << atom
    return Message(words, clause, sentence, weight, breaks, atoms, compounds, has, {})


def _pieces(text: str, lexicon: Lexicon) -> Iterator[tuple[str, str, str]]:
    """Known words one by one, each with "" and the word that follows; or "" with the kind of a mark."""
    known: list[tuple[str, str]] = []
    for kind, piece in warning_text.words(warning_text.fold(text)):
        if kind in ("hard", "soft"):
            known.append(("", kind))
        elif kind == "word":
            known.extend((word, "") for word in lexicon.meant(piece))
        else:
            known.append((piece, ""))
    place = 0
    while place < len(known):
        word, mark = known[place]
        following = known[place + 1][0] if place + 1 < len(known) else ""
        joined = lexicon.joined(word, following)
        if joined:
            place += 1
            word, following = joined, known[place + 1][0] if place + 1 < len(known) else ""
        yield word, mark, following
        place += 1


class Index:
    """Phrases by signpost, so that a message meets only those it can match."""

    def __init__(self, phrases: Sequence[tuple[Phrase, str, int]], lexicon: Lexicon) -> None:
        """phrases: each with its role and the number of whatever it belongs to."""
        by_signpost: defaultdict[int, list[int]] = defaultdict(list)
        for number, (phrase, _, _) in enumerate(phrases):
            by_signpost[phrase.signpost].append(number)
        self._phrases = tuple(phrases)
        self._by_signpost = dict(by_signpost)
        self._signposts = sum(1 << atom for atom in by_signpost)
        self._lexicon = lexicon
        self._led_to = lru_cache(REMEMBERED)(self._leads)

    def _leads(self, word: str) -> tuple[int, ...]:
        bits = self._lexicon.atoms(word) & self._signposts
        found: list[int] = []
        while bits:
            lowest = bits & -bits
            found.extend(self._by_signpost[lowest.bit_length() - 1])
            bits ^= lowest
        return tuple(found)

    def candidates(self, message: Message) -> Mapping[str, list[tuple[Phrase, int]]]:
        """By role, the phrases whose every needed atom occurs in the message, in the order of the rules."""
        numbers: set[int] = set()
        for word in message.words:
            numbers.update(self._led_to(word))
        for atom in message.compounds:
            numbers.update(self._by_signpost.get(atom, ()))
        has = message.has
        out: defaultdict[str, list[tuple[Phrase, int]]] = defaultdict(list)
        for number in sorted(numbers):
            phrase, role, owner = self._phrases[number]
            if phrase.needs & has == phrase.needs:
                out[role].append((phrase, owner))
        return out


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


def _joined(
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
    else:
        gap_start, gap_end, limit = second[-1] + 1, first[0], BEFORE_WORDS
    return gap_start >= gap_end or message.cost(gap_start, gap_end) <= limit


def _stolen(first: Places, second: Places, parts: tuple[Part, ...], message: Message, thieves: int) -> bool:
    """Whether another body part opens a new thought between, as in "leg fine, scar red"."""
    low, high = sorted((first, second))
    if message.clause[low[-1]] == message.clause[high[0]]:
        return False
    own = 0
    for part in parts:
        for element in part.elements:
            own |= 1 << element.atom
    return any(
        low[-1] < start < high[0] and not message.atoms[start] & own for start, _ in message.where(thieves)
    )


def _runs(part: Part, message: Message, masked: frozenset[int]) -> Iterator[Places]:
    for start, end in message.where(part.elements[0].atom):
        if start in masked or (part.starts_clause and not message.opens(start)):
            continue
        rest = _rest(part, 1, end, message, masked)
        if rest is not None:
            yield (*range(start, end), *rest)


def _rest(part: Part, at: int, place: int, message: Message, masked: frozenset[int]) -> Places | None:
    if at == len(part.elements):
        return None if part.ends_clause and not message.closes(place) else ()
    element: Element = part.elements[at]
    for start, end in message.where(element.atom):
        if start < place or start in masked or message.sentence[start] != message.sentence[place - 1]:
            continue
        # Counted from the word before, so that a boundary right at the join weighs as well.
        if message.cost(place - 1, start) - message.counts(place - 1) > element.gap:
            break
        rest = _rest(part, at + 1, end, message, masked)
        if rest is not None:
            return (*range(start, end), *rest)
    return _rest(part, at + 1, place, message, masked) if element.optional else None
