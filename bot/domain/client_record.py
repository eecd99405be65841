"""What is on record about one client, from her first day on: what a review visit and an export start from."""

import datetime as dt
import uuid
from dataclasses import dataclass
from zoneinfo import ZoneInfo

from bot.domain import adherence as adh
from bot.domain import local_time
from bot.domain.alerts import Alert
from bot.domain.client_notes import SentNote
from bot.domain.day_book import SetReport
from bot.domain.extras import Extra
from bot.domain.people import Client
from bot.domain.prescription import InForce, Prescription, in_force
from bot.domain.visits import Review, Visit


@dataclass(frozen=True, slots=True)
class Version:
    """A prescription version, and who put it in force when. by: the code of the therapist who signed."""

    number: int
    prescription: Prescription
    put_in_force_at: dt.datetime
    by: str


@dataclass(frozen=True, slots=True)
class Told:
    """An answer of a check-in or a figure from a message; value None for a skipped question."""

    on: dt.date
    question: str
    value: int | None
    said_at: dt.datetime


@dataclass(frozen=True, slots=True)
class Step:
    """A step of an alert's history. note: what was written with it, such as to whom it was passed."""

    kind: str
    at: dt.datetime
    note: str | None


CLOSING = frozenset({"closed", "resumed"})


@dataclass(frozen=True, slots=True)
class AlertRecord:
    """An alert with every step of its history, oldest first."""

    alert: Alert
    steps: tuple[Step, ...]

    @property
    def closing_notes(self) -> tuple[str, ...]:
        """What was written when it was closed and when the programme went on; none while it is open."""
        if self.alert.closed_at is None:
            return ()
        return tuple(step.note for step in self.steps if step.note and step.kind in CLOSING)

    @property
    def closing_note(self) -> str | None:
        """The same in one text, None where nothing was written."""
        return "; ".join(self.closing_notes) or None


@dataclass(frozen=True, slots=True)
class Note:
    """Something she wrote that the bot could not read; read_at: when the therapist opened it."""

    id: uuid.UUID
    text: str
    said_at: dt.datetime
    read_at: dt.datetime | None


@dataclass(frozen=True, slots=True)
class CallAsked:
    """She asked to be rung up, not urgently; answered_at None while it is open."""

    asked_at: dt.datetime
    answered_at: dt.datetime | None


@dataclass(frozen=True, slots=True)
class PauseSpan:
    """A step of her pauses: one that began on a local day (until None: until resumed), or the end of one."""

    kind: str
    reason: str
    on: dt.date
    until: dt.date | None


@dataclass(frozen=True, slots=True)
class ClientRecord:
    """One client's whole programme.

    label: how she is shown, by the clinic's choice. zone: hers, or the clinic's while hers is not known.
    today: her local day at `at`. joined_on: the local day she agreed, None before. versions: in the order
    they were put in force. days: every whole local day from the day she joined to yesterday, oldest first.
    today_sets: sets reported today so far, None for no report. reports: every report of sets, as it was
    said, oldest first; symptoms, alerts, notes, calls, visits and reviews the same. to_her: her therapist's
    notes, oldest first. extras: what she told of exercises beside her sets.
    """

    client: Client
    label: str
    zone: ZoneInfo
    at: dt.datetime
    today: dt.date
    joined_on: dt.date | None
    versions: tuple[Version, ...]
    days: tuple[adh.Day, ...]
    today_sets: int | None
    reports: tuple[SetReport, ...]
    symptoms: tuple[Told, ...]
    alerts: tuple[AlertRecord, ...]
    notes: tuple[Note, ...]
    calls: tuple[CallAsked, ...]
    pauses: tuple[PauseSpan, ...]
    visits: tuple[Visit, ...]
    reviews: tuple[Review, ...]
    to_her: tuple[SentNote, ...] = ()
    extras: tuple[Extra, ...] = ()

    @property
    def in_force(self) -> tuple[InForce, ...]:
        """The versions as the calendar reads them."""
        return tuple(InForce(version.number, version.prescription) for version in self.versions)

    @property
    def current(self) -> Version | None:
        """The version that holds today, None before the first one starts."""
        held = in_force(self.in_force, self.today)
        return next((version for version in self.versions if held and version.number == held.version), None)

    def local_day(self, at: dt.datetime) -> dt.date:
        """The day it was where she lives."""
        return local_time.local_date(at, self.zone)

    def since(self, on: dt.date) -> tuple[adh.Day, ...]:
        """Her whole days from a day on."""
        return tuple(day for day in self.days if day.on >= on)
