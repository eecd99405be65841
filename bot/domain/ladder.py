"""The next step of a prescription, harder or easier: one thing changes at a time.

What may change, in which order and how far is data (`LadderStep`); an exercise itself says in which positions
it can be done. Exercises that load something are not on the ladder: they have gates of their own.
"""

import datetime as dt
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from enum import StrEnum
from itertools import pairwise

from bot.domain.exercises import Catalogue, Counted, Exercise
from bot.domain.local_time import is_quiet
from bot.domain.prescription import Contractions, Position, Prescription

SPACING_MIN = 60
"""Minutes between two nudges, at least."""
ROUND_TO_MIN = 15


class Rung(StrEnum):
    """What a step changes."""

    HOLD = "hold"
    REPETITIONS = "repetitions"
    POSITION = "position"
    SETS = "sets"


@dataclass(frozen=True, slots=True)
class LadderStep:
    """How far one thing goes, and by how much at a time; `source` says where that comes from.

    counted: the kinds of exercise it applies to, none for the whole programme. by, least, most: seconds,
    repetitions or sets; a position moves by one of the exercise's own and knows no bounds.
    """

    rung: Rung
    source: str
    by: int = 1
    least: int = 1
    most: int = 1
    counted: frozenset[Counted] = frozenset()


@dataclass(frozen=True, slots=True)
class Step:
    """One change. place: which of the prescription's contractions, None for the whole programme."""

    rung: Rung
    before: int | Position
    after: int | Position
    place: int | None = None

    @property
    def name(self) -> str:
        """What makes it another step than any other of the same version; short enough for a button."""
        return f"{self.rung.value[:3]}{'' if self.place is None else self.place}.{self.after}"

    @property
    def is_harder(self) -> bool:
        """Whether it asks for more."""
        return _rank(self.after) > _rank(self.before)


def _rank(value: int | Position) -> int:
    return value.step if isinstance(value, Position) else value


def steps(
    plan: Prescription, ladder: Sequence[LadderStep], catalogue: Catalogue, *, harder: bool
) -> Iterator[Step]:
    """Every step there is from a prescription, in the ladder's order, then in the order of the exercises."""
    for rung in ladder:
        if rung.rung is Rung.SETS:
            yield from _whole(plan, rung, harder=harder)
            continue
        for place, part in enumerate(plan.contractions):
            exercise = catalogue.exercises.get(part.exercise)
            # An exercise the catalogue lacks, or one that is not about strength, is never made harder.
            if exercise is None or (harder and not exercise.strength) or exercise.counted not in rung.counted:
                continue
            yield from _of_part(part, place, rung, exercise, harder=harder)


def _whole(plan: Prescription, rung: LadderStep, *, harder: bool) -> Iterator[Step]:
    after = _moved(plan.sets_a_day, rung, harder=harder)
    if after is not None and (not harder or _further_time(plan) is not None):
        yield Step(Rung.SETS, plan.sets_a_day, after)


def _of_part(
    part: Contractions, place: int, rung: LadderStep, exercise: Exercise, *, harder: bool
) -> Iterator[Step]:
    if rung.rung is Rung.POSITION:
        ladder = [position for position in Position if position in exercise.positions]
        at = ladder.index(part.position) + (1 if harder else -1) if part.position in ladder else -1
        if 0 <= at < len(ladder):
            yield Step(Rung.POSITION, part.position, ladder[at], place)
        return
    before = part.hold_s if rung.rung is Rung.HOLD else part.repetitions
    after = _moved(before, rung, harder=harder)
    if after is not None:
        yield Step(rung.rung, before, after, place)


def _moved(before: int, rung: LadderStep, *, harder: bool) -> int | None:
    """The next value within the bounds, None where there is none; a value outside them is left alone."""
    after = min(before + rung.by, rung.most) if harder else max(before - rung.by, rung.least)
    return after if (after > before if harder else after < before) else None


def taken(plan: Prescription, step: Step) -> Prescription:
    """The prescription with one step taken; nothing else of it changes but what the step entails.

    A further set brings a further nudge time, in the widest gap of the day; a set less takes away the one
    that stands closest to its neighbours.
    """
    if step.place is None:
        sets = int(step.after)
        times = _with_one_more(plan) if sets > plan.sets_a_day else _without_one(plan.nudge_times)
        return replace(plan, sets_a_day=sets, nudge_times=times)
    part = plan.contractions[step.place]
    match step.rung, step.after:
        case Rung.POSITION, Position() as position:
            easier = part.easier_position
            kept = easier if easier is not None and easier.step < position.step else None
            part = replace(part, position=position, easier_position=kept)
        case Rung.HOLD, seconds:
            part = replace(part, hold_s=int(seconds))
        case _, repetitions:
            part = replace(part, repetitions=int(repetitions))
    parts = list(plan.contractions)
    parts[step.place] = part
    return replace(plan, contractions=tuple(parts))


def _minutes(at: dt.time) -> int:
    return at.hour * 60 + at.minute


def _time(minutes: int) -> dt.time:
    return dt.time(minutes // 60, minutes % 60)


def _further_time(plan: Prescription) -> dt.time | None:
    """A time for one more set: the middle of the widest gap, else off an end of the day; None for none."""
    minutes = [_minutes(at) for at in plan.nudge_times]
    gaps = sorted(pairwise(minutes), key=lambda gap: gap[0] - gap[1])
    found = [(first + last) // 2 // ROUND_TO_MIN * ROUND_TO_MIN for first, last in gaps]
    found += [minutes[-1] + 2 * SPACING_MIN, minutes[-1] + SPACING_MIN, minutes[0] - SPACING_MIN]
    for at in found:
        free = all(abs(at - other) >= SPACING_MIN for other in minutes)
        if 0 <= at < 24 * 60 and free and not is_quiet(_time(at), plan.quiet_from, plan.quiet_to):
            return _time(at)
    return None


def _with_one_more(plan: Prescription) -> tuple[dt.time, ...]:
    further = _further_time(plan)
    return plan.nudge_times if further is None else tuple(sorted((*plan.nudge_times, further)))


def _without_one(times: tuple[dt.time, ...]) -> tuple[dt.time, ...]:
    """The first and the last stay where there are others: the day keeps its span."""
    inner = range(1, len(times) - 1) if len(times) > 2 else range(len(times) - 1, len(times))  # noqa: PLR2004 - two ends
    minutes = [_minutes(at) for at in times]
    least = min(inner, key=lambda n: minutes[min(n + 1, len(times) - 1)] - minutes[n - 1])
    return times[:least] + times[least + 1 :]
