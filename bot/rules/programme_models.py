"""The programme of a prescription file: sets, adjuncts, times, and the weekly questions."""

import datetime as dt
from collections.abc import Sequence
from itertools import pairwise
from typing import Annotated

from pydantic import Field, ValidationInfo, field_validator

from bot.domain import local_time
from bot.domain.check_in import MOST_QUESTIONS, QUESTIONS
from bot.domain.exercises import Counted
from bot.domain.prescription import Position
from bot.rules.faults import Day, Strict, Time
from bot.rules.prescription_fields import (
    DAYS,
    DayName,
    DayNames,
    ExerciseId,
    PossiblePosition,
    context_of,
    exercise_of,
)

NUDGE_SPACING_MIN = 60
MOST_SETS_A_DAY = 8  # common practice, no source
LONGEST_HOLD_S = 10  # a ceiling, not a target; common practice, no source
FARTHEST_REVIEW_DAYS = 366


class ContractionsEntry(Strict):
    """One exercise of a set. Ten seconds of hold is a ceiling, not a target (common practice, no source).

    easier_position: where she may do it instead when a set is caught up late.
    """

    exercise: ExerciseId
    repetitions: int = Field(ge=1, le=30, strict=True)
    hold_s: int = Field(ge=1, le=LONGEST_HOLD_S, strict=True)
    rest_s: int = Field(ge=0, le=60, strict=True)
    position: PossiblePosition
    days: DayNames | None = None
    easier_position: PossiblePosition | None = None

    @field_validator("exercise")
    @classmethod
    def _of_a_set(cls, value: str, info: ValidationInfo) -> str:
        context = context_of(info)
        exercise = context.catalogue.exercises.get(value) if context else None
        if exercise and not exercise.in_a_set:
            raise ValueError(f"{value} does not belong in a set; expected it under programme.adjuncts")
        return value

    @field_validator("hold_s", "rest_s")
    @classmethod
    def _not_held(cls, value: int, info: ValidationInfo) -> int:
        exercise = exercise_of(info)
        expected = 1 if info.field_name == "hold_s" else 0
        if exercise and exercise.counted is Counted.QUICK_IN_10_S and value != expected:
            raise ValueError(f"as many as fit in 10 s have no hold and no rest; expected {expected}")
        return value

    @field_validator("easier_position")
    @classmethod
    def _easier(cls, value: Position | None, info: ValidationInfo) -> Position | None:
        position = info.data.get("position")
        if value and position and value.step >= position.step:
            raise ValueError(f"{value.value} is not easier than {position.value}")
        return value


_COUNTED_IN = {
    Counted.HOLDS: ("repetitions", "hold_s"),
    Counted.QUICK_IN_10_S: ("repetitions",),
    Counted.REPETITIONS: ("repetitions",),
    Counted.MINUTES: ("minutes",),
    Counted.DONE: (),
}


class AdjunctEntry(Strict):
    """An exercise beside the sets, counted by a *done* tap of its own."""

    exercise: ExerciseId
    position: PossiblePosition
    times_a_day: int = Field(default=1, ge=1, le=8, strict=True)
    days: DayNames | None = None
    repetitions: Annotated[int, Field(ge=1, le=50, strict=True)] | None = Field(None, validate_default=True)
    hold_s: Annotated[int, Field(ge=1, le=60, strict=True)] | None = Field(None, validate_default=True)
    minutes: Annotated[int, Field(ge=1, le=90, strict=True)] | None = Field(None, validate_default=True)

    @field_validator("exercise")
    @classmethod
    def _beside_a_set(cls, value: str, info: ValidationInfo) -> str:
        context = context_of(info)
        exercise = context.catalogue.exercises.get(value) if context else None
        if exercise and not exercise.is_adjunct:
            raise ValueError(f"{value} belongs in a set; expected it under programme.contractions")
        return value

    @field_validator("repetitions", "hold_s", "minutes")
    @classmethod
    def _as_it_is_counted(cls, value: int | None, info: ValidationInfo) -> int | None:
        exercise = exercise_of(info)
        if exercise is None:
            return value
        counted = _COUNTED_IN[exercise.counted]
        if value is None and info.field_name in counted:
            raise ValueError(f"missing; {exercise.id} is counted in {exercise.counted.value}")
        may_hold = info.field_name == "hold_s" and "repetitions" in counted
        if value is not None and info.field_name not in counted and not may_hold:
            raise ValueError(f"{exercise.id} is counted in {exercise.counted.value}; expected nothing here")
        return value


class Programme(Strict):
    """What is done, how often and when. pause_s: the rest between two exercises of a set."""

    starts_on: Day
    review_on: Day
    sets_a_day: int = Field(ge=1, le=MOST_SETS_A_DAY, strict=True)
    days: DayNames = DAYS
    quiet_from: Time = dt.time(21)
    quiet_to: Time = dt.time(7, 30)
    nudge_times: Annotated[tuple[Time, ...], Field(min_length=1, max_length=MOST_SETS_A_DAY)]
    round_up_at: Time = Field(dt.time(20), validate_default=True)
    pause_s: int = Field(default=0, ge=0, le=300, strict=True)
    contractions: Annotated[tuple[ContractionsEntry, ...], Field(min_length=1, max_length=8)]
    adjuncts: Annotated[tuple[AdjunctEntry, ...], Field(max_length=12)] = ()

    @field_validator("review_on")
    @classmethod
    def _after_the_start(cls, value: dt.date, info: ValidationInfo) -> dt.date:
        starts_on = info.data.get("starts_on")
        if starts_on and value <= starts_on:
            raise ValueError("expected a day after starts_on")
        if starts_on and (value - starts_on).days > FARTHEST_REVIEW_DAYS:
            raise ValueError("more than a year after starts_on; expected a day within it")
        return value

    @field_validator("nudge_times")
    @classmethod
    def _one_for_each_set(cls, value: tuple[dt.time, ...], info: ValidationInfo) -> tuple[dt.time, ...]:
        wrong = []
        sets = info.data.get("sets_a_day")
        if sets is not None and len(value) != sets:
            wrong.append(f"{len(value)} given, expected one for each of {sets} sets")
        minutes = [at.hour * 60 + at.minute for at in value]
        if any(later - earlier < NUDGE_SPACING_MIN for earlier, later in pairwise(minutes)):
            wrong.append("expected in order of the day, at least 60 minutes apart")
        wrong += (said for at in value if (said := _quiet(at, info)))
        if wrong:
            raise ValueError("\n".join(wrong))
        return value

    @field_validator("round_up_at")
    @classmethod
    def _outside_quiet_hours(cls, value: dt.time, info: ValidationInfo) -> dt.time:
        said = _quiet(value, info)
        if said:
            raise ValueError(said)
        return value

    @field_validator("contractions", "adjuncts")
    @classmethod
    def _on_days_of_the_programme(
        cls, value: Sequence[ContractionsEntry | AdjunctEntry], info: ValidationInfo
    ) -> Sequence[ContractionsEntry | AdjunctEntry]:
        days = info.data.get("days", DAYS)
        wrong = [
            f"{index}.days: {', '.join(off)} is no day of the programme; expected some of {', '.join(days)}"
            for index, entry in enumerate(value)
            if entry.days and (off := [day for day in entry.days if day not in days])
        ]
        bare = [day for day in days if not any(entry.days is None or day in entry.days for entry in value)]
        if info.field_name == "contractions" and bare:
            wrong.append(f"nothing to do on {', '.join(bare)}; expected that day left out of programme.days")
        if wrong:
            raise ValueError("\n".join(wrong))
        return value


def _quiet(at: dt.time, info: ValidationInfo) -> str | None:
    quiet_from, quiet_to = info.data.get("quiet_from"), info.data.get("quiet_to")
    if quiet_from is None or quiet_to is None or not local_time.is_quiet(at, quiet_from, quiet_to):
        return None
    quiet = f"{quiet_from:%H:%M} to {quiet_to:%H:%M}"
    return f"{at:%H:%M} lies in the quiet hours {quiet}; expected a time outside them"


class CheckIn(Strict):
    """The weekly questions."""

    day: DayName = "sun"
    questions: Annotated[tuple[str, ...], Field(max_length=MOST_QUESTIONS)] = ("leaks", "heaviness", "pain")

    @field_validator("questions")
    @classmethod
    def _known(cls, value: tuple[str, ...]) -> tuple[str, ...]:
        for key in value:
            if key not in QUESTIONS:
                raise ValueError(f"{key!r} is not a question; expected some of {', '.join(QUESTIONS)}")
        return value
