"""Exercises beside the sets: a *done* tap each, and a figure of their own that no set count knows of."""

import datetime as dt
from collections.abc import Iterable
from dataclasses import dataclass

from bot.domain.prescription import Adjunct, Prescription


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


def done_on(extras: Iterable[Extra], on: dt.date, exercise: str) -> int:
    """How often an exercise was done on a day."""
    extras = list(extras)
    gone = {extra.undoes for extra in extras if extra.undoes}
    return sum(
        extra.on == on and extra.exercise == exercise and not extra.undoes and extra.key not in gone
        for extra in extras
    )


def due_on(plan: Prescription, on: dt.date, marks: str) -> tuple[tuple[str, Adjunct], ...]:
    """The exercises beside the sets that are due on a day, each with its mark from `marks` in plan order."""
    if on < plan.starts_on or on.weekday() not in plan.days:
        return ()
    return tuple(
        (mark, one)
        for mark, one in zip(marks, plan.adjuncts, strict=False)
        if one.days is None or on.weekday() in one.days
    )
