"""What is different between two versions of a prescription."""

import datetime as dt
from collections import defaultdict
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from enum import StrEnum

from bot.domain.prescription import Adjunct, Contractions, Position, Prescription


class Changed(StrEnum):
    """What changed. The first group belongs to an exercise, the second to the programme."""

    ADDED = "added"
    LEFT_OUT = "left-out"
    REPETITIONS = "repetitions"
    HOLD = "hold"
    REST = "rest"
    POSITION = "position"
    EASIER_POSITION = "easier-position"
    MINUTES = "minutes"
    TIMES_A_DAY = "times-a-day"
    EXERCISE_DAYS = "exercise-days"

    SETS_A_DAY = "sets-a-day"
    DAYS = "days"
    PAUSE = "pause"
    NUDGE_TIMES = "nudge-times"
    QUIET_HOURS = "quiet-hours"
    ROUND_UP = "round-up"
    CHECK_IN_DAY = "check-in-day"
    CHECK_IN_QUESTIONS = "check-in-questions"
    REVIEW = "review"


Days = frozenset[int]
Of = int | Position | Days | dt.date | tuple[dt.time, ...] | tuple[str, ...] | Contractions | Adjunct | None


@dataclass(frozen=True, slots=True)
class Change:
    """One difference: what was and what is, None for nothing. `exercise` is an id, None for the programme."""

    changed: Changed
    before: Of
    after: Of
    exercise: str | None = None


_OF_CONTRACTIONS = {
    "repetitions": Changed.REPETITIONS,
    "hold_s": Changed.HOLD,
    "rest_s": Changed.REST,
    "position": Changed.POSITION,
    "easier_position": Changed.EASIER_POSITION,
    "days": Changed.EXERCISE_DAYS,
}
_OF_ADJUNCT = {
    "times_a_day": Changed.TIMES_A_DAY,
    "repetitions": Changed.REPETITIONS,
    "hold_s": Changed.HOLD,
    "minutes": Changed.MINUTES,
    "position": Changed.POSITION,
    "days": Changed.EXERCISE_DAYS,
}
_OF_PROGRAMME = {
    "sets_a_day": Changed.SETS_A_DAY,
    "days": Changed.DAYS,
    "pause_s": Changed.PAUSE,
    "nudge_times": Changed.NUDGE_TIMES,
    "check_in_day": Changed.CHECK_IN_DAY,
    "check_in_questions": Changed.CHECK_IN_QUESTIONS,
    "review_on": Changed.REVIEW,
}


def changes(before: Prescription, after: Prescription) -> tuple[Change, ...]:
    """Every difference between two versions but the start: exercises first, then the programme.

    An exercise that stands several times is compared in its order.
    """
    return (
        *_of_exercises(before.contractions, after.contractions, _OF_CONTRACTIONS),
        *_of_exercises(before.adjuncts, after.adjuncts, _OF_ADJUNCT),
        *_fields(before, after, _OF_PROGRAMME, None),
        *_pairs(before, after),
    )


def _pairs(before: Prescription, after: Prescription) -> Iterator[Change]:
    """What is told together though it is kept apart, or as one time like the others."""
    for changed, was, now in (
        (
            Changed.QUIET_HOURS,
            (before.quiet_from, before.quiet_to),
            (after.quiet_from, after.quiet_to),
        ),
        (Changed.ROUND_UP, (before.round_up_at,), (after.round_up_at,)),
    ):
        if was != now:
            yield Change(changed, was, now)


def _of_exercises(
    before: Sequence[Contractions] | Sequence[Adjunct],
    after: Sequence[Contractions] | Sequence[Adjunct],
    named: dict[str, Changed],
) -> Iterator[Change]:
    was, now = _by_exercise(before), _by_exercise(after)
    for exercise in dict.fromkeys((*was, *now)):
        old, new = was.get(exercise, []), now.get(exercise, [])
        for one, other in zip(old, new, strict=False):
            yield from _fields(one, other, named, exercise)
        for one in old[len(new) :]:
            yield Change(Changed.LEFT_OUT, one, None, exercise)
        for other in new[len(old) :]:
            yield Change(Changed.ADDED, None, other, exercise)


def _by_exercise(
    parts: Iterable[Contractions | Adjunct],
) -> dict[str, list[Contractions | Adjunct]]:
    found: dict[str, list[Contractions | Adjunct]] = defaultdict(list)
    for part in parts:
        found[part.exercise].append(part)
    return found


def _fields(
    before: object, after: object, named: dict[str, Changed], exercise: str | None
) -> Iterator[Change]:
    for field, changed in named.items():
        was, now = getattr(before, field), getattr(after, field)
        if was != now:
            yield Change(changed, was, now, exercise)
