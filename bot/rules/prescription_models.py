"""The shape of a prescription file: one client and her programme."""

import datetime as dt
from collections.abc import Iterator
from typing import Annotated, Literal, TypeVar

from pydantic import Field, StrictBool, ValidationInfo, field_validator

from bot.domain import local_time
from bot.errors import RefusedError
from bot.rules import faults
from bot.rules.faults import Strict
from bot.rules.prescription_fields import RecordedDay, context_of
from bot.rules.programme_models import CheckIn, Programme
from bot.rules.record_models import BirthEntry, ClearanceEntry, FindingEntry, ReleaseEntry, SignEntry

CODE_SHAPE = r"^[A-Za-z0-9][A-Za-z0-9-]{0,15}$"

Entries = TypeVar("Entries", tuple[ClearanceEntry, ...], tuple[FindingEntry, ...], tuple[ReleaseEntry, ...])


class PrescriptionFile(Strict):
    """One client and her programme, as the therapist wrote it down.

    goal: in her own words. pregnant_since_on: the day a new pregnancy was told, which closes all gates.
    """

    client: str = Field(pattern=CODE_SHAPE)
    initials: Annotated[str, Field(max_length=8)] | None = None
    zone: str
    language: Literal["en"] = "en"
    baby_at_home: StrictBool = False
    most_messages_a_day: int = Field(default=3, ge=1, le=3, strict=True)
    goal: Annotated[str, Field(max_length=300)] | None = None
    birth: BirthEntry | None = None
    pregnant_since_on: RecordedDay | None = None
    clearances: Annotated[tuple[ClearanceEntry, ...], Field(max_length=12)] = ()
    findings: Annotated[tuple[FindingEntry, ...], Field(max_length=60)] = ()
    signs: Annotated[tuple[SignEntry, ...], Field(max_length=60)] = ()
    releases: Annotated[tuple[ReleaseEntry, ...], Field(max_length=60)] = ()
    programme: Programme
    check_in: CheckIn = CheckIn()

    @field_validator("zone")
    @classmethod
    def _known_zone(cls, value: str, info: ValidationInfo) -> str:
        if context_of(info) is None:
            return value  # stored: a zone may go out of the time zone data later, her programme may not
        try:
            return local_time.zone(value).key
        except RefusedError as error:
            raise faults.plain(error) from None

    @field_validator("clearances", "findings", "releases")
    @classmethod
    def _since_the_birth(cls, value: Entries, info: ValidationInfo) -> Entries:
        """What was found before the birth says nothing about now; it stays in the earlier version."""
        wrong = list(_before(value, info.data.get("birth")))
        if info.field_name == "findings":
            wrong += _twice([entry.on for entry in value])
        if wrong:
            raise ValueError("\n".join(wrong))
        return value


def _before(entries: Entries, birth: BirthEntry | None) -> Iterator[str]:
    for index, entry in enumerate(entries):
        if birth and entry.on < birth.on:
            yield f"{index}.on: {entry.on} lies before the birth on {birth.on}; expected a day since"


def _twice(days: list[dt.date]) -> Iterator[str]:
    for index, day in enumerate(days):
        if day in days[:index]:
            yield f"{index}.on: {day} stands twice; expected all findings of a day in one place"
