"""Which drawers of a client's record hold anything: one question in place of ten.

Most of what a turn may look at is empty for most clients most of the time. What is empty is not asked for.
"""

import datetime as dt
import uuid
from dataclasses import dataclass

from sqlalchemy import BindParameter, ColumnElement, Date, bindparam, exists, select

from bot.store import tables
from bot.store.base import Tx
from bot.store.types import Instant

_CLIENT: BindParameter[uuid.UUID] = bindparam("client")
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


def _questions() -> dict[str, ColumnElement[bool]]:
    note, unasked, alert = tables.unread_note.c, tables.unasked.c, tables.alert.c
    extra, duty, staff = tables.extra_report.c, tables.duty.c, tables.staff.c
    return {
        "choice": exists().where(tables.client_choice.c.client_id == _CLIENT),
        "symptom": exists().where(tables.symptom_report.c.client_id == _CLIENT),
        "unread_note": exists().where(note.client_id == _CLIENT, note.read_at.is_(None)),
        "unasked": exists().where(unasked.client_id == _CLIENT, unasked.put_at >= _SINCE),
        "review": exists().where(tables.review.c.client_id == _CLIENT),
        "talk": exists().where(tables.talk.c.owner_id == _CLIENT),
        "open_alert": exists().where(alert.client_id == _CLIENT, alert.closed_at.is_(None)),
        "ending": exists().where(tables.ending.c.client_id == _CLIENT),
        "extra": exists().where(extra.client_id == _CLIENT, extra.on_date >= _SINCE_ON),
        "pause": exists().where(tables.pause_event.c.client_id == _CLIENT),
        "clinic_duty": exists().where(duty.clinic_id == bindparam("clinic"), duty.ended_at.is_(None)),
        "own_hours": exists().where(staff.clinic_id == bindparam("clinic"), staff.hours.is_not(None)),
    }


_FILLED = select(*(question.label(name) for name, question in _questions().items()))


def filled(
    tx: Tx, client_id: uuid.UUID, clinic_id: uuid.UUID, since_on: dt.date, since: dt.datetime
) -> Filled:
    """Which drawers of a client hold anything; `since_on` bounds the extras, `since` the unasked messages."""
    values = {"client": client_id, "clinic": clinic_id, "since_on": since_on, "since": since}
    return Filled(**tx.connection.execute(_FILLED, values).one()._asdict())
