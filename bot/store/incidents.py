"""What went wrong in running the service and was told to a clinic's administrator, once each."""

import datetime as dt
import uuid
from dataclasses import dataclass

from sqlalchemy import func, select, update

from bot.domain.alerts import Alert
from bot.domain.delivery import State
from bot.domain.levels import Level
from bot.store import alerts, tables
from bot.store.base import Tx
from bot.store.ids import new_id

_INCIDENT = tables.incident.c
_ALERT = tables.alert.c
_CLIENT = tables.client.c
_OUTBOX = tables.outbox.c
_CHAT = tables.chat.c


@dataclass(frozen=True, slots=True)
class Incident:
    """One incident. ended_at: None while it lasts."""

    id: uuid.UUID
    ended_at: dt.datetime | None


def begin(tx: Tx, clinic_id: uuid.UUID, kind: str, about: str, now: dt.datetime) -> bool:
    """Keep that something began; False when the same was kept before."""
    values = {"id": new_id(now), "clinic_id": clinic_id, "kind": kind, "about": about, "began_at": now}
    return tx.put_once(tables.incident, values, "clinic_id", "kind", "about")


def newest(tx: Tx, clinic_id: uuid.UUID, kind: str) -> Incident | None:
    """A clinic's newest incident of a kind."""
    query = (
        select(_INCIDENT.id, _INCIDENT.ended_at)
        .where(_INCIDENT.clinic_id == clinic_id, _INCIDENT.kind == kind)
        .order_by(_INCIDENT.began_at.desc())
        .limit(1)
    )
    row = tx.connection.execute(query).first()
    return None if row is None else Incident(row.id, row.ended_at)


def set_ended(tx: Tx, incident_id: uuid.UUID, ended_at: dt.datetime | None) -> None:
    """Write down that an incident is over, or that it has come back."""
    tx.connection.execute(
        update(tables.incident).where(_INCIDENT.id == incident_id).values(ended_at=ended_at)
    )


def unseen_emergencies(tx: Tx, kind: str, raised_before: dt.datetime) -> list[tuple[uuid.UUID, Alert]]:
    """Open emergency alerts nobody has marked as seen and that are no incident yet: clinic and alert."""
    known = select(_INCIDENT.about).where(_INCIDENT.kind == kind)
    query = (
        select(_ALERT.id, _CLIENT.clinic_id)
        .join(tables.client, _CLIENT.id == _ALERT.client_id)
        .where(
            _ALERT.level == Level.EMERGENCY.value,
            _ALERT.closed_at.is_(None),
            _ALERT.seen_at.is_(None),
            _ALERT.raised_at <= raised_before,
        )
        .order_by(_ALERT.raised_at, _ALERT.id)
    )
    rows = tx.connection.execute(query).all()
    if not rows:
        return []
    told = set(tx.connection.scalars(known.where(_INCIDENT.about.in_([row.id.hex for row in rows]))))
    found = [(row.clinic_id, alerts.by_id(tx, row.id)) for row in rows if row.id.hex not in told]
    return [(clinic_id, alert) for clinic_id, alert in found if alert is not None]


def oldest_queued(tx: Tx, bot: str) -> dt.datetime | None:
    """Since when the longest waiting message could have been sent, of those whose chat can be reached."""
    query = (
        select(func.min(_OUTBOX.not_before))
        .join(tables.chat, _CHAT.id == _OUTBOX.chat_id)
        .where(_OUTBOX.state == State.QUEUED.value, _CHAT.gone_at.is_(None), _CHAT.bot == bot)
    )
    oldest: dt.datetime | None = tx.connection.scalar(query)
    return oldest
