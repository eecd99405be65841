"""Exercises beside the sets: a *done* tap each, and a figure of their own that no set count knows of."""

import datetime as dt
from collections import Counter
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from bot.domain.adherence import Day, DayState
from bot.domain.prescription import Adjunct, InForce, Prescription, in_force


@dataclass(frozen=True, slots=True)
class Extra:
    """One tap.

    on: the day it is for. exercise: the id of what was done. key: what makes it one of a kind for its client.
    undoes: the key of the tap that this one takes back, "" for a tap of its own.
    """

    on: dt.date
    exercise: str
    said_at: dt.datetime
    key: str
    undoes: str = ""


@dataclass(frozen=True, slots=True)
class Beside:
    """One exercise beside the sets over some days.

    due: times prescribed on days the programme ran. done: times told of, each day at most what was due.
    extra: times beyond that. Nobody asks about these exercises, so what was not told of is unknown, not left
    out: `done` is the least it can have been, and no share is worked out.
    """

    exercise: str
    due: int
    done: int
    extra: int


def done_on(extras: Iterable[Extra], on: dt.date, exercise: str) -> int:
    """How often an exercise was done on a day."""
    return told(extras)[on, exercise]


def told(extras: Iterable[Extra]) -> Counter[tuple[dt.date, str]]:
    """How often each exercise was done on each day, without the taps that were taken back."""
    extras = list(extras)
    gone = {extra.undoes for extra in extras if extra.undoes}
    return Counter((one.on, one.exercise) for one in extras if not one.undoes and one.key not in gone)


def beside(extras: Iterable[Extra], versions: tuple[InForce, ...], days: Sequence[Day]) -> tuple[Beside, ...]:
    """Each exercise that was due or done beside the sets on some days; by the version of each day."""
    taps = told(extras)
    sums: dict[str, Counter[str]] = {}
    for day in days:
        held = in_force(versions, day.on)
        due: Counter[str] = Counter()
        if held is not None and day.state is DayState.ACTIVE:
            for one in adjuncts_on(held.prescription, day.on):
                due[one.exercise] += one.times_a_day
        done = Counter({exercise: times for (on, exercise), times in taps.items() if on == day.on})
        for exercise in (*due, *(done.keys() - due.keys())):
            counted = min(done[exercise], due[exercise])
            sums.setdefault(exercise, Counter()).update(
                due=due[exercise], done=counted, extra=done[exercise] - counted
            )
    return tuple(Beside(exercise, one["due"], one["done"], one["extra"]) for exercise, one in sums.items())


def adjuncts_on(plan: Prescription, on: dt.date) -> tuple[Adjunct, ...]:
    """The exercises beside the sets that are due on a day, in plan order."""
    if on < plan.starts_on or on.weekday() not in plan.days:
        return ()
    return tuple(one for one in plan.adjuncts if one.days is None or on.weekday() in one.days)


def due_on(plan: Prescription, on: dt.date, marks: str) -> tuple[tuple[str, Adjunct], ...]:
    """The exercises beside the sets that are due on a day, each with its mark from `marks` in plan order."""
    due = adjuncts_on(plan, on)
    return tuple((mark, one) for mark, one in zip(marks, plan.adjuncts, strict=False) if one in due)
