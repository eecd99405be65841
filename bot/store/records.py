"""A client's record as every turn of hers opens it: who she is, and which drawers hold anything.

One question in place of fifteen. Most of what a turn may look at is empty for most clients most of the time;
what is empty is not asked for.
"""

import datetime as dt
import uuid
from dataclasses import dataclass

from sqlalchemy import ColumnElement, Date, bindparam, exists, select

from bot.domain.people import Client, Clinic
from bot.store import diary, people, tables
from bot.store.base import Tx
from bot.store.diary import TrackRow
from bot.store.types import Instant

_CLIENT = tables.client.c
_SINCE_ON = bindparam("since_on", type_=Date)
_SINCE = bindparam("since", type_=Instant)


@dataclass(frozen=True, slots=True)
class Filled:
    """Which drawers hold anything.

    clinic_duty, own_hours: of her clinic. extra, unasked: of late.
    """

    choice: bool
    symptom: bool
    unread_note: bool
    unasked: bool
    review: bool
    talk: bool
    open_alert: bool
    ending: bool
    extra: bool
    pause: bool
    clinic_duty: bool
    own_hours: bool


@dataclass(frozen=True, slots=True)
class Record:
    """A client, her clinic, her place in the agenda (None before it begins), and what else there is."""

    client: Client
    clinic: Clinic
    track: TrackRow | None
    filled: Filled


def _questions() -> dict[str, ColumnElement[bool]]:
    note, unasked, alert = tables.unread_note.c, tables.unasked.c, tables.alert.c
    extra, duty, staff = tables.extra_report.c, tables.duty.c, tables.staff.c
    return {
        "choice": exists().where(tables.client_choice.c.client_id == _CLIENT.id),
        "symptom": exists().where(tables.symptom_report.c.client_id == _CLIENT.id),
        "unread_note": exists().where(note.client_id == _CLIENT.id, note.read_at.is_(None)),
        "unasked": exists().where(unasked.client_id == _CLIENT.id, unasked.put_at >= _SINCE),
        "review": exists().where(tables.review.c.client_id == _CLIENT.id),
        "talk": exists().where(tables.talk.c.owner_id == _CLIENT.id),
        "open_alert": exists().where(alert.client_id == _CLIENT.id, alert.closed_at.is_(None)),
        "ending": exists().where(tables.ending.c.client_id == _CLIENT.id),
        "extra": exists().where(extra.client_id == _CLIENT.id, extra.on_date >= _SINCE_ON),
        "pause": exists().where(tables.pause_event.c.client_id == _CLIENT.id),
        "clinic_duty": exists().where(duty.clinic_id == _CLIENT.clinic_id, duty.ended_at.is_(None)),
        "own_hours": exists().where(staff.clinic_id == _CLIENT.clinic_id, staff.hours.is_not(None)),
    }


_DRAWERS = [question.label(name) for name, question in _questions().items()]
_CLINIC = [column.label(f"clinic_{column.name}_") for column in tables.clinic.c]
_RECORD = (
    select(*_CLINIC, *_DRAWERS, tables.client, tables.track)
    .join(tables.clinic, tables.clinic.c.id == _CLIENT.clinic_id)
    .outerjoin(tables.track, tables.track.c.client_id == _CLIENT.id)
    .where(_CLIENT.id == bindparam("client"))
)


def of_client(tx: Tx, client_id: uuid.UUID, since_on: dt.date, since: dt.datetime) -> Record:
    """The record of a client who is known to be there.

    since_on bounds the extras, `since` the unasked messages that count as there.
    """
    row = tx.connection.execute(_RECORD, {"client": client_id, "since_on": since_on, "since": since}).one()
    drawers = len(_CLINIC) + len(_DRAWERS)
    return Record(
        people.read_client(tx, row),
        people.read_clinic(tx, tuple(row[: len(_CLINIC)])),
        None if row.last_heard_at is None else diary.read_track(row),
        Filled(*row[len(_CLINIC) : drawers]),
    )
