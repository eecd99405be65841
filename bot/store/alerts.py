"""Alerts and every step of their history."""

import datetime as dt
import uuid
from collections.abc import Iterable
from dataclasses import dataclass
from typing import Any

from sqlalchemy import Row, exists, func, insert, select, update

from bot.domain.alerts import Alert, Outcome
from bot.domain.levels import Level
from bot.store import tables
from bot.store.base import Tx
from bot.store.ids import new_id
from bot.store.vault import Place

_ALERT = tables.alert.c
_EVENT = tables.alert_event.c
# Built once, as it is asked all the time.
_NEXT_STEP_AT = select(func.min(_ALERT.next_step_at)).where(_ALERT.closed_at.is_(None))


def add(tx: Tx, alert: Alert) -> None:
    """Keep a new alert."""
    detail = {"signs": list(alert.signs), "words": alert.words}
    tx.connection.execute(
        insert(tables.alert).values(
            id=alert.id,
            client_id=alert.client_id,
            level=alert.level.value,
            handling=alert.handling,
            detail=tx.seal_json(alert.client_id, Place("alert", alert.id, "detail"), detail),
            raised_at=alert.raised_at,
            step=alert.step,
        ),
    )


def add_signs(tx: Tx, alert: Alert, signs: tuple[str, ...]) -> None:
    """Put further signs to an alert that was joined by another message."""
    detail = {"signs": list(signs), "words": alert.words}
    sealed = tx.seal_json(alert.client_id, Place("alert", alert.id, "detail"), detail)
    tx.connection.execute(update(tables.alert).where(_ALERT.id == alert.id).values(detail=sealed))


def _alert(tx: Tx, row: Row[Any]) -> Alert:
    detail = tx.open_json(Place("alert", row.id, "detail"), row.detail)
    return Alert(
        id=row.id,
        client_id=row.client_id,
        level=Level(row.level),
        handling=row.handling,
        signs=tuple(detail["signs"]),
        words=detail["words"],
        raised_at=row.raised_at,
        step=row.step,
        seen_at=row.seen_at,
        closed_at=row.closed_at,
        outcome=None if row.outcome is None else Outcome(row.outcome),
        told_at=row.told_at,
    )


def by_id(tx: Tx, alert_id: uuid.UUID) -> Alert | None:
    """One alert."""
    row = tx.connection.execute(select(tables.alert).where(_ALERT.id == alert_id)).first()
    return None if row is None else _alert(tx, row)


def open_of(tx: Tx, client_ids: Iterable[uuid.UUID]) -> list[Alert]:
    """The alerts of some clients that are not closed, oldest first."""
    query = (
        select(tables.alert)
        .where(_ALERT.client_id.in_(list(client_ids)), _ALERT.closed_at.is_(None))
        .order_by(_ALERT.raised_at, _ALERT.id)
    )
    return [_alert(tx, row) for row in tx.connection.execute(query)]


def all_of(tx: Tx, client_id: uuid.UUID) -> list[Alert]:
    """Every alert about a client, open or closed, oldest first."""
    query = select(tables.alert).where(_ALERT.client_id == client_id).order_by(_ALERT.raised_at, _ALERT.id)
    return [_alert(tx, row) for row in tx.connection.execute(query)]


def due(tx: Tx, now: dt.datetime, limit: int) -> list[Alert]:
    """The alerts whose next telling is due, locked until the end of the transaction."""
    query = (
        select(tables.alert)
        .where(_ALERT.next_step_at <= now, _ALERT.closed_at.is_(None))
        .order_by(_ALERT.next_step_at, _ALERT.id)
        .limit(limit)
        .with_for_update(skip_locked=True)
    )
    return [_alert(tx, row) for row in tx.connection.execute(query)]


def change(tx: Tx, alert_id: uuid.UUID, **values: object) -> None:
    """Change columns of an alert."""
    tx.connection.execute(update(tables.alert).where(_ALERT.id == alert_id).values(**values))


def next_step_at(tx: Tx) -> dt.datetime | None:
    """When the next telling is due."""
    soonest: dt.datetime | None = tx.connection.scalar(_NEXT_STEP_AT)
    return soonest


def add_event(
    tx: Tx,
    alert: Alert,
    kind: str,
    at: dt.datetime,
    staff_id: uuid.UUID | None = None,
    note: str | None = None,
) -> None:
    """Add a step to an alert's history; notes are sealed with the client's key."""
    event_id = new_id(at)
    place = Place("alert_event", event_id, "note")
    tx.connection.execute(
        insert(tables.alert_event).values(
            id=event_id,
            alert_id=alert.id,
            kind=kind,
            at=at,
            staff_id=staff_id,
            note=None if note is None else tx.seal(alert.client_id, place, note),
        ),
    )


@dataclass(frozen=True, slots=True)
class Event:
    """One step of an alert's history."""

    kind: str
    at: dt.datetime
    note: str | None


def history(tx: Tx, alert_id: uuid.UUID) -> list[Event]:
    """Every step of an alert, oldest first."""
    query = select(tables.alert_event).where(_EVENT.alert_id == alert_id).order_by(_EVENT.at, _EVENT.id)
    return [
        Event(
            row.kind,
            row.at,
            None if row.note is None else tx.open_text(Place("alert_event", row.id, "note"), row.note),
        )
        for row in tx.connection.execute(query)
    ]


def latest_stopping(tx: Tx, client_id: uuid.UUID) -> Alert | None:
    """A client's latest emergency or same-day alert, open or closed."""
    stopping = (Level.EMERGENCY.value, Level.SAME_DAY.value)
    query = (
        select(tables.alert)
        .where(_ALERT.client_id == client_id, _ALERT.level.in_(stopping))
        .order_by(_ALERT.raised_at.desc(), _ALERT.id.desc())
        .limit(1)
    )
    row = tx.connection.execute(query).first()
    return None if row is None else _alert(tx, row)


def undelivered(tx: Tx, now: dt.datetime) -> int:
    """How many open alerts nobody has been told of, though they were due a minute ago."""
    told = exists().where(_EVENT.alert_id == _ALERT.id, _EVENT.kind == "told")
    query = (
        select(func.count())
        .select_from(tables.alert)
        .where(
            _ALERT.closed_at.is_(None),
            _ALERT.step > 0,
            _ALERT.raised_at <= now - dt.timedelta(minutes=1),
            ~told,
        )
    )
    return tx.connection.scalar(query) or 0
