"""Alerts and every step of their history."""

import datetime as dt
import uuid
from collections.abc import Iterable
from dataclasses import dataclass
from typing import Any

from sqlalchemy import Row, bindparam, func, insert, select, update

from bot.domain.alerts import Alert, Outcome
from bot.domain.levels import Level
from bot.store import tables
from bot.store.base import Tx
from bot.store.ids import new_id
from bot.store.vault import Place

_ALERT = tables.alert.c
_EVENT = tables.alert_event.c
# Built once, as they are asked all the time.
_OPEN_OF = (
    select(tables.alert)
    .where(_ALERT.client_id.in_(bindparam("clients", expanding=True)), _ALERT.closed_at.is_(None))
    .order_by(_ALERT.raised_at, _ALERT.id)
)
_NEXT_STEP_AT = select(func.min(_ALERT.next_step_at), func.min(_ALERT.client_at)).where(
    _ALERT.closed_at.is_(None),
)


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
            client_at=alert.client_at,
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
        client_at=row.client_at,
    )


def by_id(tx: Tx, alert_id: uuid.UUID) -> Alert | None:
    """One alert."""
    row = tx.connection.execute(select(tables.alert).where(_ALERT.id == alert_id)).first()
    return None if row is None else _alert(tx, row)


def open_of(tx: Tx, client_ids: Iterable[uuid.UUID]) -> list[Alert]:
    """The alerts of some clients that are not closed, oldest first."""
    return [_alert(tx, row) for row in tx.connection.execute(_OPEN_OF, {"clients": list(client_ids)})]


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
    """When somebody is to be told of an alert next, or a client to be written to about hers."""
    found = tx.connection.execute(_NEXT_STEP_AT).one()
    return min((at for at in found if at is not None), default=None)


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
    staff_id: uuid.UUID | None = None


def history(tx: Tx, alert_id: uuid.UUID) -> list[Event]:
    """Every step of an alert, oldest first."""
    query = select(tables.alert_event).where(_EVENT.alert_id == alert_id).order_by(_EVENT.at, _EVENT.id)
    return [
        Event(
            row.kind,
            row.at,
            None if row.note is None else tx.open_text(Place("alert_event", row.id, "note"), row.note),
            row.staff_id,
        )
        for row in tx.connection.execute(query)
    ]


def latest_stopping(tx: Tx, client_id: uuid.UUID) -> Alert | None:
    """A client's latest emergency or same-day alert: of those that are open, else of the closed ones."""
    stopping = (Level.EMERGENCY.value, Level.SAME_DAY.value)
    query = (
        select(tables.alert)
        .where(_ALERT.client_id == client_id, _ALERT.level.in_(stopping))
        .order_by(_ALERT.closed_at.is_not(None), _ALERT.raised_at.desc(), _ALERT.id.desc())
        .limit(1)
    )
    row = tx.connection.execute(query).first()
    return None if row is None else _alert(tx, row)


def undelivered(tx: Tx) -> int:
    """How many open alerts have reached nobody."""
    query = (
        select(func.count())
        .select_from(tables.alert)
        .where(_ALERT.closed_at.is_(None), _ALERT.undelivered_at.is_not(None))
    )
    return tx.connection.scalar(query) or 0


def told(tx: Tx, alert_id: uuid.UUID) -> list[uuid.UUID]:
    """Who has been told of an alert."""
    query = select(_EVENT.staff_id).where(
        _EVENT.alert_id == alert_id, _EVENT.kind == "told", _EVENT.staff_id.is_not(None)
    )
    return list(dict.fromkeys(tx.connection.scalars(query.order_by(_EVENT.at, _EVENT.id)).all()))


def unreachable(tx: Tx, alert_id: uuid.UUID) -> frozenset[uuid.UUID]:
    """Whose chats did not take an alert."""
    query = select(_EVENT.staff_id).where(_EVENT.alert_id == alert_id, _EVENT.kind == "unreachable")
    return frozenset(each for each in tx.connection.scalars(query).all() if each is not None)


def mark_undelivered(tx: Tx, alert_id: uuid.UUID, now: dt.datetime) -> bool:
    """Mark that an alert has reached nobody; tells whether that was news."""
    statement = update(tables.alert).where(_ALERT.id == alert_id, _ALERT.undelivered_at.is_(None))
    return tx.connection.execute(statement.values(undelivered_at=now)).rowcount == 1


def mark_delivered(tx: Tx, alert_id: uuid.UUID) -> bool:
    """Mark that it has reached somebody after all; tells whether that was news."""
    statement = update(tables.alert).where(_ALERT.id == alert_id, _ALERT.undelivered_at.is_not(None))
    return tx.connection.execute(statement.values(undelivered_at=None)).rowcount == 1


def told_to(tx: Tx, staff_id: uuid.UUID) -> list[Alert]:
    """The open alerts a person has been told of, oldest first."""
    hers = select(_EVENT.alert_id).where(_EVENT.kind == "told", _EVENT.staff_id == staff_id)
    query = (
        select(tables.alert)
        .where(_ALERT.id.in_(hers), _ALERT.closed_at.is_(None))
        .order_by(_ALERT.raised_at, _ALERT.id)
    )
    return [_alert(tx, row) for row in tx.connection.execute(query)]


def client_due(tx: Tx, now: dt.datetime, limit: int) -> list[Alert]:
    """The open alerts about which a client is to be written to, locked until the end of the transaction."""
    query = (
        select(tables.alert)
        .where(_ALERT.client_at <= now, _ALERT.closed_at.is_(None))
        .order_by(_ALERT.client_at, _ALERT.id)
        .limit(limit)
        .with_for_update(skip_locked=True)
    )
    return [_alert(tx, row) for row in tx.connection.execute(query)]
