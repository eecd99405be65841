"""The exercises a therapist may prescribe: what each loads, where and how it is done, how it is counted.

Plain data. The contents travel as files beside `bot/rules/exercises.py`, which also checks them.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from enum import StrEnum

from rapidfuzz import process

from bot.domain.prescription import Position

NEAR_ENOUGH = 60.0  # of 100, rapidfuzz's default scorer; found by trying slips of the finger on our own names


class Load(StrEnum):
    """What an exercise puts load on. One that puts load on none of these needs no gate.

    STRONG_RECTUS is the load of a curl-up or a plank, RECTUS that of lighter work such as a heel lift.
    """

    PRESSURE = "pressure"
    RECTUS = "rectus"
    STRONG_RECTUS = "strong-rectus"
    IMPACT = "impact"


class Group(StrEnum):
    """Where an exercise belongs.

    CONTRACTIONS and RELAXATION stand inside a set and are counted with it; the others are adjuncts, each with
    a *done* tap of its own. A relaxation may also be an adjunct.
    """

    CONTRACTIONS = "contractions"
    RELAXATION = "relaxation"
    DAILY_LIFE = "daily-life"
    ADJUNCT = "adjunct"
    LATER = "later"


class Counted(StrEnum):
    """What is counted.

    QUICK_IN_10_S is as many as fit in ten seconds; one-second squeezes counted one by one are REPETITIONS.
    The two give different figures for one person and are never compared.
    """

    HOLDS = "holds"
    QUICK_IN_10_S = "quick-in-10-s"
    REPETITIONS = "repetitions"
    MINUTES = "minutes"
    DONE = "done"


@dataclass(frozen=True, slots=True)
class Equipment:
    """A thing that is used, and what stands in for it at home."""

    thing: str
    stand_in: str


@dataclass(frozen=True, slots=True)
class Exercise:
    """One exercise.

    positions: where it can be done, easiest first. getting_up: how to come out of the position, None where
    nothing needs saying. pelvic_floor: whether its contractions count towards the published floor. strength:
    whether it may be made harder with time; a relaxation may not. easier: the id of an easier version.
    """

    id: str
    title: str
    group: Group
    counted: Counted
    strength: bool
    pelvic_floor: bool
    loads: frozenset[Load]
    positions: tuple[Position, ...]
    equipment: tuple[Equipment, ...]
    cues: tuple[str, ...]
    stop_if: tuple[str, ...]
    getting_up: str | None
    easier: str | None = None

    @property
    def in_a_set(self) -> bool:
        """Whether it may stand inside a set of contractions."""
        return self.group in {Group.CONTRACTIONS, Group.RELAXATION}

    @property
    def is_adjunct(self) -> bool:
        """Whether it may be prescribed beside the sets."""
        return self.group is not Group.CONTRACTIONS


@dataclass(frozen=True, slots=True)
class Catalogue:
    """All exercises there are to choose from, by id, in the order they are shown."""

    exercises: Mapping[str, Exercise]

    def title(self, exercise: str) -> str:
        """What an exercise is called; its id where the catalogue lacks it, as after a clinic dropped it."""
        known = self.exercises.get(exercise)
        return known.title if known else exercise

    def nearest(self, typed: str) -> str | None:
        """The id that somebody may have meant, None when none is near."""
        found = process.extractOne(typed.casefold(), list(self.exercises), score_cutoff=NEAR_ENOUGH)
        return found[0] if found else None
