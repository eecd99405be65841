"""The prescription file: one client's programme in TOML, checked before anything is stored."""

import datetime as dt
import tomllib
from collections.abc import Mapping
from itertools import pairwise
from pathlib import Path
from typing import Annotated, Any, Literal

from pydantic import BaseModel, ConfigDict, Field, ValidationError, field_validator, model_validator

from bot.domain import local_time
from bot.domain.check_in import MOST_QUESTIONS, QUESTIONS
from bot.domain.prescription import Contractions, Position, Prescription
from bot.errors import RefusedError

LARGEST_FILE_BYTES = 256 * 1024
DAYS: tuple["DayName", ...] = ("mon", "tue", "wed", "thu", "fri", "sat", "sun")
DayName = Literal["mon", "tue", "wed", "thu", "fri", "sat", "sun"]
NUDGE_SPACING_MIN = 60
CODE_SHAPE = r"^[A-Za-z0-9][A-Za-z0-9-]{0,15}$"
MOST_SETS_A_DAY = 8  # common practice, no source
EXERCISE_SHAPE = r"^[a-z0-9][a-z0-9-]{1,47}$"


class _Strict(BaseModel):
    model_config = ConfigDict(extra="forbid", frozen=True, hide_input_in_errors=True)


class ContractionsEntry(_Strict):
    """One exercise of a set. Ten seconds of hold is a ceiling, not a target (common practice, no source)."""

    exercise: str = Field(pattern=EXERCISE_SHAPE)
    repetitions: int = Field(ge=1, le=30)
    hold_s: int = Field(ge=1, le=10)
    rest_s: int = Field(ge=0, le=60)
    position: Position


class Programme(_Strict):
    """What is done, how often and when."""

    starts_on: dt.date
    review_on: dt.date
    sets_a_day: int = Field(ge=1, le=MOST_SETS_A_DAY)
    days: Annotated[tuple[DayName, ...], Field(min_length=1, max_length=7)] = DAYS
    nudge_times: Annotated[tuple[dt.time, ...], Field(min_length=1, max_length=MOST_SETS_A_DAY)]
    quiet_from: dt.time = dt.time(21)
    quiet_to: dt.time = dt.time(7, 30)
    round_up_at: dt.time = dt.time(20)
    contractions: Annotated[tuple[ContractionsEntry, ...], Field(min_length=1, max_length=8)]

    @field_validator("nudge_times", "quiet_from", "quiet_to", "round_up_at", mode="before")
    @classmethod
    def _times(cls, value: object) -> object:
        """A time is written "08:30" or as a TOML local time."""
        if isinstance(value, list):
            return [_time(item) for item in value]
        return _time(value)

    @model_validator(mode="after")
    def _fits_together(self) -> "Programme":
        if self.review_on <= self.starts_on:
            raise ValueError("review_on: expected a day after starts_on")
        if len(self.nudge_times) != self.sets_a_day:
            raise ValueError(
                f"nudge_times: {len(self.nudge_times)} given, expected one for each of {self.sets_a_day} sets"
            )
        minutes = [at.hour * 60 + at.minute for at in self.nudge_times]
        if any(later - earlier < NUDGE_SPACING_MIN for earlier, later in pairwise(minutes)):
            raise ValueError("nudge_times: expected in order of the day, at least 60 minutes apart")
        for at in (*self.nudge_times, self.round_up_at):
            if local_time.is_quiet(at, self.quiet_from, self.quiet_to):
                raise ValueError(
                    f"nudge_times: {at:%H:%M} lies in the quiet hours "
                    f"{self.quiet_from:%H:%M} to {self.quiet_to:%H:%M}"
                )
        return self


def _time(value: object) -> object:
    if isinstance(value, str):
        try:
            value = dt.time.fromisoformat(value)
        except ValueError:
            raise ValueError('expected a time such as "08:30"') from None
    if not isinstance(value, dt.time) or value.tzinfo is not None:
        raise ValueError('expected a time such as "08:30"')
    return value


class CheckIn(_Strict):
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


class PrescriptionFile(_Strict):
    """One client and her programme, as the therapist wrote it down."""

    client: str = Field(pattern=CODE_SHAPE)
    initials: str | None = Field(default=None, max_length=8)
    zone: str
    language: Literal["en"] = "en"
    baby_at_home: bool = False
    most_messages_a_day: int = Field(default=3, ge=1, le=3)
    programme: Programme
    check_in: CheckIn = CheckIn()

    @field_validator("zone")
    @classmethod
    def _known_zone(cls, value: str) -> str:
        try:
            return local_time.zone(value).key
        except RefusedError as error:
            raise ValueError(str(error)) from None


def read(path: Path) -> PrescriptionFile:
    """The prescription in a file.

    Raises RefusedError with one line for each fault: the file, the field, what is wrong and was expected.
    """
    try:
        size = path.stat().st_size
        if size > LARGEST_FILE_BYTES:
            raise RefusedError(
                f"{path}: {size} bytes, expected a prescription of at most {LARGEST_FILE_BYTES}"
            )
        text = path.read_bytes().decode("utf-8-sig")
    except OSError as error:
        raise RefusedError(f"{path}: cannot be read ({error.strerror})") from None
    except UnicodeDecodeError:
        raise RefusedError(f"{path}: not a text file in UTF-8; expected a prescription in TOML") from None
    return parse(text, str(path))


def parse(text: str, name: str) -> PrescriptionFile:
    """The prescription in a text; `name` stands in front of every fault."""
    if not text.strip():
        raise RefusedError(f"{name}: empty; expected a prescription in TOML")
    try:
        document = tomllib.loads(text.replace("\r\n", "\n"))
    except tomllib.TOMLDecodeError as error:
        raise RefusedError(f"{name}: not TOML ({error}); expected a prescription in TOML") from None
    return from_document(document, name)


def from_document(document: Mapping[str, Any], name: str) -> PrescriptionFile:
    """The prescription in a parsed document."""
    try:
        return PrescriptionFile.model_validate(document)
    except ValidationError as error:
        raise RefusedError(*(f"{name}: {_fault(e)}" for e in error.errors())) from None


def _fault(error: Any) -> str:  # noqa: ANN401 - pydantic's own shape
    place = ".".join(str(part) for part in error["loc"])
    message = str(error["msg"]).removeprefix("Value error, ")
    if error["type"] == "missing":
        message = "missing; expected a value"
    elif error["type"] == "extra_forbidden":
        message = "not a field of a prescription"
    elif error["type"] == "string_pattern_mismatch":
        message = "expected letters, digits and hyphens only"
    return f"{place}: {message}" if place else message


def to_document(file: PrescriptionFile) -> dict[str, Any]:
    """The prescription as JSON, the way it is kept."""
    return file.model_dump(mode="json")


def prescription(file: PrescriptionFile) -> Prescription:
    """The programme as the rest of the program sees it."""
    plan = file.programme
    return Prescription(
        contractions=tuple(
            Contractions(c.exercise, c.repetitions, c.hold_s, c.rest_s, c.position) for c in plan.contractions
        ),
        sets_a_day=plan.sets_a_day,
        days=frozenset(DAYS.index(day) for day in plan.days),
        nudge_times=plan.nudge_times,
        quiet_from=plan.quiet_from,
        quiet_to=plan.quiet_to,
        round_up_at=plan.round_up_at,
        check_in_day=DAYS.index(file.check_in.day),
        check_in_questions=file.check_in.questions,
        starts_on=plan.starts_on,
        review_on=plan.review_on,
    )
