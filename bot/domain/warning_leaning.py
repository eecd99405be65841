"""A second ear, for wordings that no phrase foresees: clues that add up.

A clue is a word, a pair of words or the beginning of a word; each weighs a number of points for or against.
Where the clues of one sentence reach the floor, the sign that most of them speak of is heard, and always as
unsure: it leads to a question and is never taken for certain. What a denial or a figure of speech covers
counts for nothing. The phrases of the rules come first; this ear only adds.
"""

from collections import defaultdict
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import Final

from bot.domain.warning_match import Message

BEGINNING: Final = 4  # letters of a longer word that make a clue of their own
NUMBER: Final = "0"  # stands for any number


@dataclass(frozen=True, slots=True)
class Leaning:
    """Points by clue, the sign each clue speaks for, where the count begins and the floor it must reach."""

    base: int
    floor: int
    points: Mapping[str, int]
    speaks_for: Mapping[str, str]


def clues(message: Message, silent: frozenset[int]) -> Iterator[dict[str, int]]:
    """The clues of each sentence, each with a place; silent: places that do not count."""
    by_sentence: defaultdict[int, list[int]] = defaultdict(list)
    for place, sentence in enumerate(message.sentence):
        by_sentence[sentence].append(place)
    for places in by_sentence.values():
        found: dict[str, int] = {}
        heavy = None  # the last place that was neither a filler nor silent
        for place in places:
            if place in silent:
                continue
            word = _word(message, place)
            found.setdefault(word, place)
            if len(word) > BEGINNING:
                found.setdefault(f"{word[:BEGINNING]}*", place)
            if place - 1 in places and place - 1 not in silent:
                found.setdefault(f"{_word(message, place - 1)} {word}", place)
            if message.counts(place):
                if heavy is not None:
                    found.setdefault(f"{_word(message, heavy)} {word}", place)
                heavy = place
        yield found


def _word(message: Message, place: int) -> str:
    word = message.words[place]
    return NUMBER if word[0].isdigit() else word


def lean(message: Message, silent: frozenset[int], leaning: Leaning) -> tuple[str, tuple[int, ...]] | None:
    """The sign that a sentence leans towards, with the places of its clues; None below the floor."""
    best: tuple[int, str, tuple[int, ...]] | None = None
    for found in clues(message, silent):
        known = [clue for clue in found if clue in leaning.points]
        total = leaning.base + sum(leaning.points[clue] for clue in known)
        if total < leaning.floor or (best is not None and total <= best[0]):
            continue
        by_sign: defaultdict[str, int] = defaultdict(int)
        for clue in known:
            if clue in leaning.speaks_for:
                by_sign[leaning.speaks_for[clue]] += leaning.points[clue]
        if not by_sign:
            continue
        sign = max(by_sign, key=lambda each: (by_sign[each], each))
        own = {found[clue] for clue in known if leaning.speaks_for.get(clue) == sign}
        best = (total, sign, tuple(sorted(own)))
    return None if best is None else best[1:]
