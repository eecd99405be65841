"""From a word as typed to the words the rules know: spelling slips, stretched letters, missing spaces."""

from collections import defaultdict
from collections.abc import Iterable, Iterator, Mapping, Sequence
from functools import lru_cache
from typing import Final

from rapidfuzz import process
from rapidfuzz.distance import OSA

from bot.domain.warning_notation import Atom, NumberRange

# A slip is looked for only in words this long; short words have too many honest neighbours. In a word one
# shorter only a letter left out is looked for ("fevr").
SHORTEST_FUZZY: Final = 5
TWO_SLIPS_FROM: Final = 8
SHORTEST_RUN_TOGETHER: Final = 7
LONGEST_WORD: Final = 400
REMEMBERED: Final = 20_000
LETTERS_A_PIECE: Final = 3  # a stretch that falls into smaller bits is one word we do not know
SHORTEST_STEM: Final = 3
_ENDINGS: Final = (("s", ""), ("es", ""), ("in", "ing"), ("ed", "e"), ("ed", ""), ("ing", "e"), ("ing", ""))
_LONGEST_PIECE: Final = 16


class Lexicon:
    """Which atoms a word satisfies, as bits. Does not change, but for a bounded memory of past look-ups."""

    def __init__(
        self,
        atoms: tuple[Atom, ...],
        same: Mapping[str, str],
        slips: Iterable[str],
        ordinary: Iterable[str],
    ) -> None:
        """Build it from the atoms of a rule set.

        same: other spellings. slips: words whose misspellings are looked for. ordinary: words that are right
        as they stand.
        """
        exact: defaultdict[str, int] = defaultdict(int)
        beginnings: defaultdict[str, int] = defaultdict(int)
        compounds: defaultdict[str, dict[tuple[str, ...], list[int]]] = defaultdict(dict)
        numbers: list[tuple[NumberRange, int]] = []
        parts: set[str] = set()
        for number, atom in enumerate(atoms):
            for word in atom.words:
                if word[0].isdigit():
                    numbers.append((NumberRange(float(word), float(word)), number))
                exact[word] |= 1 << number
            for beginning in atom.beginnings:
                beginnings[beginning] |= 1 << number
            for compound in atom.compounds:
                compounds[compound[0]].setdefault(compound, []).append(number)
                parts.update(compound)
            numbers.extend((spread, number) for spread in atom.numbers)
        self._exact = dict(exact)
        self._beginnings = dict(beginnings)
        self._compounds = {
            word: (tuple(sorted({len(each) for each in found})), found) for word, found in compounds.items()
        }
        self._numbers = tuple(numbers)
        self._same = {word: tuple(meant.split()) for word, meant in same.items() if " " not in word}
        self._joined: dict[str, dict[str, str]] = {}
        for pair, meant in same.items():
            first, _, second = pair.partition(" ")
            if second:
                self._joined.setdefault(first, {})[second] = meant
        self._known = frozenset(self._exact) | parts | frozenset(ordinary)
        self._known |= frozenset(self._same) | frozenset(self._joined)
        neighbours: defaultdict[tuple[str, int], list[str]] = defaultdict(list)
        for word in sorted(slips):
            neighbours[word[0], len(word)].append(word)
        self._neighbours = dict(neighbours)
        self.meant = lru_cache(REMEMBERED)(self._meant)
        self.atoms = lru_cache(REMEMBERED)(self._atoms)

    def joined(self, first: str, second: str) -> str | None:
        """The one word that two stand for, as "can not" for "cant"; None for most."""
        seconds = self._joined.get(first)
        return seconds.get(second) if seconds else None

    def compounds(self, words: Sequence[str]) -> dict[int, list[tuple[int, int]]]:
        """By atom, the stretches of a message that one of its several-word entries covers."""
        found: dict[int, list[tuple[int, int]]] = {}
        for place, word in enumerate(words):
            entry = self._compounds.get(word)
            if entry is None:
                continue
            lengths, atoms_of = entry
            for length in lengths:
                covered = tuple(
                    words[place : place + length]
                )  # shorter than `length` at the end of a message
                for atom in atoms_of.get(covered, ()) if len(covered) == length else ():
                    found.setdefault(atom, []).append((place, place + length))
        return found

    def _atoms(self, word: str) -> int:
        if word[0].isdigit():
            return self._number_atoms(word)
        bits = self._exact.get(word, 0)
        for end in range(2, len(word) + 1):
            bits |= self._beginnings.get(word[:end], 0)
        return bits

    def _number_atoms(self, text: str) -> int:
        try:
            return sum({1 << number for spread, number in self._numbers if spread.holds(text)})
        except ValueError:  # digits of other scripts with a stray separator
            return 0

    def _meant(self, word: str) -> tuple[str, ...]:
        """The known word or words that a typed word stands for; itself if none is near."""
        word = word[:LONGEST_WORD]
        if word in self._same:
            return self._same[word]
        if word in self._known or self._starts_known(word):
            return (word,)
        short = _squeezed(word)
        if short != word and (short in self._known or self._starts_known(short)):
            return self._same.get(short, (short,))
        for form in _other_forms(word):
            if form in self._known:
                return (form,)
        near = self._nearest(word) or self._nearest(short)
        if near:
            return (near,)
        return self._split(word) or (word,)

    def _starts_known(self, word: str) -> bool:
        return any(word[:end] in self._beginnings for end in range(2, len(word) + 1))

    def _nearest(self, word: str) -> str | None:
        if len(word) < SHORTEST_FUZZY - 1:
            return None
        slips = 2 if len(word) >= TWO_SLIPS_FROM else 1
        shortest = max(len(word) - slips, SHORTEST_FUZZY)
        firsts = (word[0], word[1]) if word[0] != word[1] else (word[0],)
        pool = [
            near
            for first in firsts
            for length in range(shortest, len(word) + slips + 1)
            for near in self._neighbours.get((first, length), ())
        ]
        best = process.extractOne(word, pool, scorer=OSA.distance, score_cutoff=slips)
        if best is None:
            return None
        near, distance = best[0], best[1]
        # Two slips need a long word on both sides, or "thought" and "throat" would meet.
        return near if distance <= 1 or len(near) >= TWO_SLIPS_FROM else None

    def _split(self, word: str) -> tuple[str, ...]:
        """A run-together stretch cut into known words, fewest pieces first; empty if it cannot be cut."""
        if len(word) < SHORTEST_RUN_TOGETHER:
            return ()
        most = len(word) // LETTERS_A_PIECE + 1
        best: list[tuple[str, ...] | None] = [()] + [None] * len(word)
        for end in range(1, len(word) + 1):
            for start in range(max(0, end - _LONGEST_PIECE), end):
                before = best[start]
                piece = word[start:end]
                if before is None or not (piece in self._known if len(piece) > 1 else piece in "ai"):
                    continue
                known = best[end]
                if known is None or _cost((*before, piece)) < _cost(known):
                    best[end] = (*before, piece)
        whole = best[len(word)] or ()
        if len(whole) > most:
            return ()
        return tuple(meant for piece in whole for meant in self._same.get(piece, (piece,)))


def _cost(pieces: tuple[str, ...]) -> tuple[int, int]:
    """Fewer pieces are better; among equals the one without tiny words."""
    return len(pieces), -sum(len(piece) ** 2 for piece in pieces)


def _other_forms(word: str) -> Iterator[str]:
    """The word with another ending: "livers" to "liver", "seein" to "seeing"."""
    for ending, other in _ENDINGS:
        if word.endswith(ending) and len(word) - len(ending) >= SHORTEST_STEM:
            yield word.removesuffix(ending) + other


def _squeezed(word: str) -> str:
    """Doubled letters made single: "paain" to "pain"."""
    return "".join(letter for place, letter in enumerate(word) if not place or letter != word[place - 1])
