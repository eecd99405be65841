"""What the fields of a prescription file may hold, where several tables share it.

A shape is checked the same for ever: what was stored under it must be readable later. What depends on the day
and on the exercises there are (`Context`) is checked only where a file comes in. Every check belongs to one
field, so that all faults are told in one go.
"""

import datetime as dt
from dataclasses import dataclass
from typing import Annotated, Literal

from pydantic import AfterValidator, Field, ValidationInfo

from bot.domain.exercises import Catalogue, Exercise
from bot.domain.prescription import Position
from bot.rules.exercises import ID_SHAPE
from bot.rules.faults import Day

DayName = Literal["mon", "tue", "wed", "thu", "fri", "sat", "sun"]
DAYS: tuple[DayName, ...] = ("mon", "tue", "wed", "thu", "fri", "sat", "sun")


@dataclass(frozen=True, slots=True)
class Context:
    """What a file is checked against besides its shape. today: the day that no record may lie after."""

    catalogue: Catalogue
    today: dt.date | None


def context_of(info: ValidationInfo) -> Context | None:
    """What the file is checked against, None for its shape alone."""
    return info.context if isinstance(info.context, Context) else None


def _recorded(value: dt.date, info: ValidationInfo) -> dt.date:
    context = context_of(info)
    if context and context.today and value > context.today:
        raise ValueError(f"{value} lies in the future; expected a day up to {context.today}")
    return value


def _known_exercise(value: str, info: ValidationInfo) -> str:
    context = context_of(info)
    if context and value not in context.catalogue.exercises:
        near = context.catalogue.nearest(value)
        hint = f"did you mean {near}?" if near else "see `programme-bot catalogue`"
        raise ValueError(f"{value!r} is not an exercise we know; {hint}")
    return value


def _once_each(value: tuple[DayName, ...]) -> tuple[DayName, ...]:
    if len(set(value)) != len(value):
        raise ValueError("a day stands twice; expected each once")
    return value


RecordedDay = Annotated[Day, AfterValidator(_recorded)]
ExerciseId = Annotated[str, Field(pattern=ID_SHAPE), AfterValidator(_known_exercise)]
DayNames = Annotated[tuple[DayName, ...], Field(min_length=1, max_length=7), AfterValidator(_once_each)]


def exercise_of(info: ValidationInfo) -> Exercise | None:
    """The exercise of the entry that is being checked, where it is known."""
    context = context_of(info)
    return context.catalogue.exercises.get(info.data.get("exercise", "")) if context else None


def _possible(value: Position | None, info: ValidationInfo) -> Position | None:
    exercise = exercise_of(info)
    if exercise and value and value not in exercise.positions:
        raise ValueError(
            f"{exercise.id} is not done {value.value}; expected {' or '.join(exercise.positions)}"
        )
    return value


PossiblePosition = Annotated[Position, AfterValidator(_possible)]
