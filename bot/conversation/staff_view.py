"""What a turn with a therapist or another of the clinic's people may look at, and how it is shown."""

import datetime as dt
import uuid
from collections.abc import Mapping
from dataclasses import dataclass

from bot.conversation import copy
from bot.conversation.speech import Button
from bot.conversation.view import DAY_NAMES
from bot.domain import local_time
from bot.domain.alerts import ORDINARY, Alert, Outcome
from bot.domain.contacts import zone_of
from bot.domain.people import Client, Clinic, Staff

OUTCOMES = (Outcome.SPOKE, Outcome.NOT_REACHED, Outcome.PASSED_ON, Outcome.FALSE_ALARM)


@dataclass(frozen=True, slots=True)
class ClientLine:
    """One client, and whether her reminders stand still. until: the end of a break she took herself."""

    client: Client
    paused: bool
    until: dt.date | None = None


@dataclass(frozen=True, slots=True)
class AlertView:
    """An alert with whose it is, its signs' titles, and its history as (when, sentence id, note).

    may_resume: whether who looks at it may start the client's programme again; who was only told of the
    alert may not.
    """

    alert: Alert
    client: Client
    titles: tuple[str, ...]
    history: tuple[tuple[dt.datetime, str, str], ...]
    client_paused: bool
    may_resume: bool = True


@dataclass(frozen=True, slots=True)
class NoteView:
    """An unread note."""

    id: uuid.UUID
    client: Client
    text: str
    said_at: dt.datetime


@dataclass(frozen=True, slots=True)
class StaffView:
    """A therapist or fallback contact as she stands at `now`.

    alert: the alert her button or pending answer is about, only if it is hers to see. clients, notes, open
    (alerts without an outcome): her own; filled where a command asks for them.
    """

    staff: Staff
    clinic: Clinic
    now: dt.datetime
    waiting: Mapping[str, str | int] | None
    alert: AlertView | None = None
    clients: tuple[ClientLine, ...] = ()
    notes: tuple[NoteView, ...] = ()
    open: tuple[AlertView, ...] = ()
    language: str = "en"

    def label(self, client: Client) -> str:
        """What stands for a client here."""
        return client.label(self.clinic.labels)

    def when(self, at: dt.datetime) -> str:
        """An instant in the clinic's time."""
        local = local_time.local(at, zone_of(self.clinic.card))
        return f"{DAY_NAMES[local.weekday()][:3]} {local.day} {local:%b %H:%M}"


def alert_values(view: StaffView, alert: Alert, client: Client) -> dict[str, str | int]:
    """What an alert's notification may say: the client's code and the level."""
    sensitive = copy.text(view.language, "alert.sensitive", {}) if alert.handling != ORDINARY else ""
    return {
        "level": copy.text(view.language, f"alert.level.{alert.level.value}", {}),
        "client": view.label(client),
        "when": view.when(alert.raised_at),
        "sensitive": sensitive,
    }


def alert_rows(alert: Alert) -> tuple[tuple[Button, ...], ...]:
    """*Seen* and *Her words*."""
    return (
        (
            Button("alert.button.seen", f"seen:{alert.id.hex}"),
            Button("alert.button.words", f"words:{alert.id.hex}"),
        ),
    )


def outcome_rows(alert: Alert) -> tuple[tuple[Button, ...], ...]:
    """What may have come of an alert."""
    buttons = [
        Button(f"alert.button.{outcome.value}", f"out:{outcome.value}:{alert.id.hex}") for outcome in OUTCOMES
    ]
    return (
        tuple(buttons[:2]),
        tuple(buttons[2:]),
        (Button("alert.button.words", f"words:{alert.id.hex}"),),
    )
