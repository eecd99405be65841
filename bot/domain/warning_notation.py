"""The small notation in which the phrases of the warning rules are written, and its compiled form.

    soaked ~3 pad|pads          words in order, up to three other words between
    @leg & @swollen|hot         both near each other in one sentence, in either order
    @headache && @vision        both anywhere in the message
    heart & racing ! finish     not when the part after "!" stands in the same sentence
    ^ gone $                    from the start, to the end of a clause
    stiff_neck  bleed*  @leg  sore?      two words as one; any ending; a word family; may be left out
    <38:43.9>  <38:43.9!>  <160:250/40:160>     a number in a range; one with a decimal point; a pair

Filler words ("really", "is", "so") may always stand between two elements.
"""

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Final

_NUMBER: Final = re.compile(r"<([\d.]+):([\d.]+)(!?)>")
_PAIR: Final = re.compile(r"<(\d+):(\d+)/(\d+):(\d+)>")
_WORD: Final = re.compile(r"[a-z]+\*?|[a-z0-9]+(?:_[a-z0-9]+)+|\d+(?:\.\d+)?")
_GAP: Final = re.compile(r"~(\d*)")
DEFAULT_GAP: Final = 3
_SHORT: Final = 5


class BadNotation(ValueError):  # noqa: N818 - named for what happened, as the other faults here
    """A phrase that does not follow the notation; the message names the piece."""


@dataclass(frozen=True, slots=True)
class NumberRange:
    """Numbers from `low` to `high`; `decimal` asks for a decimal point. With `under`, a pair like 150/95."""

    low: float
    high: float
    decimal: bool = False
    under: tuple[float, float] | None = None

    def holds(self, text: str) -> bool:
        """Whether a number or pair, as typed, lies in the range."""
        upper, _, lower = text.partition("/")
        if self.under is None:
            return not lower and self.low <= float(upper) <= self.high and (not self.decimal or "." in upper)
        if not lower or "/" in lower:
            return False
        # The lower figure of a blood pressure is the smaller one; only a score ("8/10") ends in the larger.
        score = self.under[0] >= self.high
        return (
            self.low <= float(upper) <= self.high
            and self.under[0] <= float(lower) <= self.under[1]
            and (score or float(lower) < float(upper))
        )


@dataclass(frozen=True, slots=True)
class Atom:
    """What one element accepts: whole words, beginnings of words, several words as one, number ranges."""

    words: frozenset[str]
    beginnings: frozenset[str]
    compounds: frozenset[tuple[str, ...]]
    numbers: frozenset[NumberRange]

    @property
    def breadth(self) -> int:
        """A rough count of how much it accepts; narrow atoms make good signposts to their phrases."""
        short = sum(len(word) < _SHORT for word in self.words)  # short words are common words
        return (
            len(self.words)
            + 5 * short
            + 3 * len(self.beginnings)
            + len(self.compounds)
            + 5 * len(self.numbers)
        )


@dataclass(frozen=True, slots=True)
class Element:
    """An atom by number, how many other words may stand before it, and whether it may be missing."""

    atom: int
    gap: int
    optional: bool


@dataclass(frozen=True, slots=True)
class Part:
    """Elements in order, perhaps tied to the start or the end of a clause."""

    elements: tuple[Element, ...]
    starts_clause: bool
    ends_clause: bool


@dataclass(frozen=True, slots=True)
class Phrase:
    """A compiled phrase: groups of parts (near each other), groups anywhere, and what must be absent.

    `needs` are the atoms without which it cannot match, as bits; `signpost` is the narrowest of them.
    """

    source: str
    groups: tuple[tuple[Part, ...], ...]
    absent: tuple[Part, ...]
    needs: int
    signpost: int


class Atoms:
    """Numbers the atoms of a rule set while it is compiled."""

    def __init__(self, families: Mapping[str, Sequence[str]]) -> None:
        self._families = families
        self._known: dict[Atom, int] = {}
        self._numbers: dict[str, int] = {}
        self._breadths: list[int] = []
        self._open: list[str] = []
        self._done: dict[str, Atom] = {}

    @property
    def all(self) -> tuple[Atom, ...]:
        """Every atom met so far; its number is its place."""
        return tuple(self._known)

    def number(self, text: str) -> int:
        """The number of the atom written as `text`. Raises BadNotation."""
        if text not in self._numbers:
            atom = self._atom(text)
            if atom not in self._known:
                self._known[atom] = len(self._known)
                self._breadths.append(atom.breadth)
            self._numbers[text] = self._known[atom]
        return self._numbers[text]

    def breadth(self, number: int) -> int:
        """How much the atom of a number accepts; see `Atom.breadth`."""
        return self._breadths[number]

    def _atom(self, text: str) -> Atom:
        words: set[str] = set()
        beginnings: set[str] = set()
        compounds: set[tuple[str, ...]] = set()
        numbers: set[NumberRange] = set()
        for choice in text.split("|"):
            if choice.startswith("@"):
                family = self._family(choice[1:])
                words |= family.words
                beginnings |= family.beginnings
                compounds |= family.compounds
                numbers |= family.numbers
            elif found := _NUMBER.fullmatch(choice):
                numbers.add(NumberRange(float(found[1]), float(found[2]), bool(found[3])))
            elif found := _PAIR.fullmatch(choice):
                low, high, *under = (float(figure) for figure in found.groups())
                numbers.add(NumberRange(low, high, under=(under[0], under[1])))
            elif not _WORD.fullmatch(choice):
                raise BadNotation(f"cannot read {choice!r}")
            elif choice.endswith("*"):
                beginnings.add(choice[:-1])
            elif "_" in choice:
                compounds.add(tuple(choice.split("_")))
            else:
                words.add(choice)
        return Atom(frozenset(words), frozenset(beginnings), frozenset(compounds), frozenset(numbers))

    def _family(self, name: str) -> Atom:
        if name in self._done:
            return self._done[name]
        if name not in self._families:
            raise BadNotation(f"there is no word family {name!r}")
        if name in self._open:
            raise BadNotation(f"the word family {name!r} contains itself")
        self._open.append(name)
        try:
            atom = self._atom("|".join(choice.replace(" ", "_") for choice in self._families[name]))
        finally:
            self._open.pop()
        self._done[name] = atom
        return atom


def phrase(text: str, atoms: Atoms) -> Phrase:
    """One phrase compiled. Raises BadNotation."""
    whole, *excluded = text.split(" ! ")
    groups = [tuple(_part(piece, atoms) for piece in group.split(" & ")) for group in whole.split(" && ")]
    absent = [_part(piece, atoms) for piece in excluded]
    needed = tuple(
        {e.atom: None for group in groups for part in group for e in part.elements if not e.optional}
    )
    if not needed:
        raise BadNotation(f"nothing is required in {text!r}")
    signpost = min(needed, key=lambda atom: (atoms.breadth(atom), atom))
    needs = sum(1 << atom for atom in needed)
    return Phrase(text, tuple(groups), tuple(absent), needs, signpost)


def _part(text: str, atoms: Atoms) -> Part:
    pieces = text.split()
    starts = bool(pieces) and pieces[0] == "^"
    ends = bool(pieces) and pieces[-1] == "$"
    gap = 0
    elements: list[Element] = []
    for piece in pieces[starts : len(pieces) - ends]:
        if found := _GAP.fullmatch(piece):
            gap = int(found[1]) if found[1] else DEFAULT_GAP
            continue
        optional = piece.endswith("?")
        elements.append(Element(atoms.number(piece.removesuffix("?")), gap, optional))
        gap = 0
    if not elements or all(element.optional for element in elements):
        raise BadNotation(f"no word in {text!r}")
    if elements[0].optional:
        raise BadNotation(f"the first word may not be left out in {text!r}")
    return Part(tuple(elements), starts, ends)
