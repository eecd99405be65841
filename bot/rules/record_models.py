"""What a prescription file holds of the client herself: birth, clearance, findings, signs, releases."""

import datetime as dt
from collections.abc import Mapping
from typing import Annotated, Any, Literal

from pydantic import ConfigDict, Field, StrictBool, ValidationInfo, field_validator

from bot.domain.exercises import Load
from bot.domain.findings import (
    HIGHEST,
    Assessed,
    BirthMode,
    Leakage,
    Method,
    State,
    Tone,
    Unit,
    parse_perfect,
)
from bot.domain.gating import NEVER_SET_ASIDE, Condition
from bot.errors import RefusedError
from bot.rules import faults
from bot.rules.faults import Strict
from bot.rules.prescription_fields import ExerciseId, RecordedDay, context_of

OLDEST_BIRTH_YEARS = 60
WIDEST = {Unit.FINGERS: 10.0, Unit.MM: 150.0}
SHORT, LONG = 200, 2000
PERFECT_AS_WRITTEN = r"^[PERFperf\d\s/|,;:.-]+$"  # as wide as `parse_perfect`, which looks more closely

OutOfTen = Annotated[int, Field(ge=0, le=10, strict=True)]
Width = Annotated[float, Field(ge=0, allow_inf_nan=False, strict=True)]
Short = Annotated[str, Field(min_length=2, max_length=SHORT)]


class BirthEntry(Strict):
    """A birth. tear: its grade."""

    on: RecordedDay
    mode: BirthMode | None = None
    tear: Literal["0", "1", "2", "3a", "3b", "3c", "4"] | None = None

    @field_validator("on")
    @classmethod
    def _within_a_lifetime(cls, value: dt.date, info: ValidationInfo) -> dt.date:
        context = context_of(info)
        if context and context.today and value.year < context.today.year - OLDEST_BIRTH_YEARS:
            raise ValueError(f"{value} is more than {OLDEST_BIRTH_YEARS} years ago; expected a birth since")
        return value


class ClearanceEntry(Strict):
    """Somebody said on a day that she may load again; for which loads."""

    by: Short
    on: RecordedDay
    loads: Annotated[tuple[Load, ...], Field(min_length=1)]


class PerfectEntry(Strict):
    """PERFECT values; the scale's name stands with the grade, as there are others."""

    power: int = Field(ge=0, le=HIGHEST["power"], strict=True)
    endurance_s: int = Field(ge=0, le=HIGHEST["endurance_s"], strict=True)
    repetitions: int = Field(ge=0, le=HIGHEST["repetitions"], strict=True)
    fast: int = Field(ge=0, le=HIGHEST["fast"], strict=True)
    scale: Literal["modified Oxford"] = "modified Oxford"


class DistancesEntry(Strict):
    """Inter-recti distances taken in one go, by site. Fingers and millimetres are never converted."""

    state: State
    method: Method
    unit: Unit
    above: Width | None = None
    at: Width | None = None
    below: Width | None = Field(None, validate_default=True)

    @field_validator("unit")
    @classmethod
    def _of_the_method(cls, value: Unit, info: ValidationInfo) -> Unit:
        method = info.data.get("method")
        if method and method.unit is not value:
            raise ValueError(
                f"{value.value} do not go with {method.value}; expected {method.unit.value}, never converted"
            )
        return value

    @field_validator("above", "at", "below")
    @classmethod
    def _possible(cls, value: float | None, info: ValidationInfo) -> float | None:
        unit = info.data.get("unit")
        if value is not None and unit and value > WIDEST[unit]:
            raise ValueError(f"{value:g} {unit.value} is not possible; expected at most {WIDEST[unit]:g}")
        rest = (info.data.get("above"), info.data.get("at"), value)
        if info.field_name == "below" and {"above", "at"} <= info.data.keys() and rest == (None,) * 3:
            raise ValueError("no distance given; expected one at least of above, at, below")
        return value


def _also_as_written(schema: dict[str, Any]) -> None:
    """PERFECT values may be written as one text, which an editor should not find fault with."""
    schema["properties"]["perfect"]["anyOf"].append({"type": "string", "pattern": PERFECT_AS_WRITTEN})


class FindingEntry(Strict):
    """What was found on one day; what each field means stands at `bot.domain.findings.Finding`."""

    model_config = ConfigDict(json_schema_extra=_also_as_written)

    on: RecordedDay
    contraction: Assessed | None = None
    full_release: Assessed | None = None
    how: Short | None = Field(None, validate_default=True)
    tone: Tone | None = None
    pain_on_contraction: StrictBool | None = None
    perfect: PerfectEntry | None = None
    distances: Annotated[tuple[DistancesEntry, ...], Field(max_length=6)] = ()
    doming: StrictBool | None = None
    heaviness: OutOfTen | None = None
    pain: OutOfTen | None = None
    bleeding: StrictBool | None = None
    leaks_a_week: Annotated[int, Field(ge=0, le=500, strict=True)] | None = None
    leakage: Leakage | None = None
    prolapse_stage: Annotated[int, Field(ge=0, le=4, strict=True)] | None = None
    pessary: StrictBool | None = None
    red_flags_screened: StrictBool | None = None
    impact_screen: StrictBool | None = None
    scores: Mapping[
        Annotated[str, Field(max_length=40)],
        Annotated[float, Field(ge=-1000, le=1000, allow_inf_nan=False, strict=True)],
    ] = {}
    note: Annotated[str, Field(max_length=LONG)] | None = None

    @field_validator("how")
    @classmethod
    def _said(cls, value: str | None, info: ValidationInfo) -> str | None:
        if value is None and (info.data.get("contraction") or info.data.get("full_release")):
            raise ValueError("missing; expected how it was confirmed, or why it was not")
        return value

    @field_validator("perfect", mode="before")
    @classmethod
    def _as_written(cls, value: Any) -> Any:  # noqa: ANN401 - whatever the file holds
        """Also as therapists write it: "3/5/4//7"."""
        if not isinstance(value, str):
            return value
        try:
            perfect = parse_perfect(value)
        except RefusedError as error:
            raise faults.plain(error) from None
        return {name: getattr(perfect, name) for name in HIGHEST}

    @field_validator("distances")
    @classmethod
    def _one_unit(cls, value: tuple[DistancesEntry, ...]) -> tuple[DistancesEntry, ...]:
        for state in State:
            units = {entry.unit for entry in value if entry.state is state}
            if len(units) > 1:
                raise ValueError(f"fingers and mm on one day at {state.value}; expected one unit")
        return value


class SignEntry(Strict):
    """A warning sign from the day it was told until its alert was closed."""

    sign: str = Field(pattern=r"^[a-z][a-z_]{1,39}$")
    opened_on: RecordedDay
    closed_on: RecordedDay | None = None

    @field_validator("closed_on")
    @classmethod
    def _in_order(cls, value: dt.date | None, info: ValidationInfo) -> dt.date | None:
        opened_on = info.data.get("opened_on")
        if value and opened_on and value < opened_on:
            raise ValueError(f"{value} lies before opened_on {opened_on}")
        return value


class ReleaseEntry(Strict):
    """The therapist opens an exercise. sets_aside: the conditions an override does not ask for."""

    exercise: ExerciseId
    on: RecordedDay
    by: Short
    reason: Annotated[str, Field(min_length=5, max_length=SHORT)]
    sets_aside: tuple[Condition, ...] = ()

    @field_validator("sets_aside")
    @classmethod
    def _may_be(cls, value: tuple[Condition, ...]) -> tuple[Condition, ...]:
        never = NEVER_SET_ASIDE.intersection(value)
        if never:
            raise ValueError(f"{', '.join(sorted(never))} cannot be set aside")
        return value
