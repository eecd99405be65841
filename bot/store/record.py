"""What is kept about one client, whole: alerts with their history, notes, calls, prescriptions."""

import datetime as dt
import uuid

from sqlalchemy import select

from bot.domain.client_record import AlertRecord, CallAsked, Note, Step
from bot.store import alerts, tables
from bot.store.base import Tx
from bot.store.vault import Place

_ALERT = tables.alert.c
_EVENT = tables.alert_event.c
_NOTE = tables.unread_note.c
_CALL = tables.call_request.c
_PRESCRIPTION = tables.prescription.c


def alerts_of(tx: Tx, client_id: uuid.UUID) -> tuple[AlertRecord, ...]:
    """Every alert about a client with its history, oldest first."""
    steps: dict[uuid.UUID, list[Step]] = {}
    history = (
        select(tables.alert_event)
        .join(tables.alert, _ALERT.id == _EVENT.alert_id)
        .where(_ALERT.client_id == client_id)
        .order_by(_EVENT.at, _EVENT.id)
    )
    for row in tx.connection.execute(history):
        place = Place("alert_event", row.id, "note")
        note = None if row.note is None else tx.open_text(place, row.note)
        steps.setdefault(row.alert_id, []).append(Step(row.kind, row.at, note))
    return tuple(AlertRecord(alert, tuple(steps.get(alert.id, ()))) for alert in alerts.all_of(tx, client_id))


def notes_of(tx: Tx, client_id: uuid.UUID) -> tuple[Note, ...]:
    """Everything a client wrote that the bot could not read, oldest first, opened or not."""
    query = select(tables.unread_note).where(_NOTE.client_id == client_id).order_by(_NOTE.said_at, _NOTE.id)
    return tuple(
        Note(row.id, tx.open_text(Place("unread_note", row.id, "text"), row.text), row.said_at, row.read_at)
        for row in tx.connection.execute(query)
    )


def calls_of(tx: Tx, client_id: uuid.UUID) -> tuple[CallAsked, ...]:
    """Every request of a client to be rung up, oldest first."""
    query = (
        select(_CALL.asked_at, _CALL.answered_at)
        .where(_CALL.client_id == client_id)
        .order_by(_CALL.asked_at, _CALL.id)
    )
    return tuple(CallAsked(row.asked_at, row.answered_at) for row in tx.connection.execute(query))


def signatures_of(tx: Tx, client_id: uuid.UUID) -> dict[int, tuple[dt.datetime, str]]:
    """When each version of a client's prescription was put in force, and the code of who signed it."""
    query = (
        select(_PRESCRIPTION.version, _PRESCRIPTION.put_in_force_at, tables.staff.c.code)
        .join(tables.staff, tables.staff.c.id == _PRESCRIPTION.put_in_force_by)
        .where(_PRESCRIPTION.client_id == client_id)
    )
    return {row.version: (row.put_in_force_at, row.code) for row in tx.connection.execute(query)}
