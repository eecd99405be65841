"""Notes that therapists wrote to clients: rows are only added; what became of each is written down once."""

import datetime as dt
import uuid

from sqlalchemy import insert, select, update

from bot.domain.client_notes import Fate, SentNote
from bot.domain.delivery import State
from bot.store import tables
from bot.store.base import Tx
from bot.store.ids import new_id
from bot.store.vault import Place

_NOTE = tables.client_note.c
_OUTBOX = tables.outbox.c
_LOST = {State.REFUSED.value, State.UNKNOWN.value, State.EXPIRED.value}
AT_ONCE = 50


def key(note_id: uuid.UUID) -> str:
    """The key of a note's message in the outbox."""
    return f"note:{note_id.hex}"


def add(
    tx: Tx, client_id: uuid.UUID, staff_id: uuid.UUID, text: str, at: dt.datetime, now: dt.datetime
) -> uuid.UUID:
    """Keep a note that is to reach a client at an instant; sealed with her key."""
    row_id = new_id(now)
    tx.connection.execute(
        insert(tables.client_note).values(
            id=row_id,
            client_id=client_id,
            staff_id=staff_id,
            text=tx.seal(client_id, Place("client_note", row_id, "text"), text),
            written_at=now,
            for_at=at,
        )
    )
    return row_id


def of_client(tx: Tx, client_id: uuid.UUID) -> tuple[SentNote, ...]:
    """A client's notes, oldest first."""
    query = (
        select(tables.client_note, tables.staff.c.code)
        .join(tables.staff, tables.staff.c.id == _NOTE.staff_id)
        .where(_NOTE.client_id == client_id)
        .order_by(_NOTE.for_at, _NOTE.id)
    )
    return tuple(
        SentNote(
            row.id,
            tx.open_text(Place("client_note", row.id, "text"), row.text),
            row.code,
            row.written_at,
            row.for_at,
            Fate(row.fate) if row.fate else Fate.WAITING,
        )
        for row in tx.connection.execute(query)
    )


def landed(tx: Tx) -> list[tuple[uuid.UUID, uuid.UUID, Fate]]:
    """Notes whose message has come to an end that is not written down yet: id, client, and which end."""
    pending = (
        select(_NOTE.id, _NOTE.client_id)
        .where(_NOTE.fate.is_(None))
        .order_by(_NOTE.for_at, _NOTE.id)
        .limit(AT_ONCE)
    )
    waiting = {key(row.id): row for row in tx.connection.execute(pending)}
    if not waiting:
        return []
    query = select(_OUTBOX.key, _OUTBOX.state).where(_OUTBOX.key.in_(list(waiting)))
    found = []
    for row in tx.connection.execute(query):
        if row.state == State.SENT.value or row.state in _LOST:
            fate = Fate.LOST if row.state in _LOST else Fate.SENT
            found.append((waiting[row.key].id, waiting[row.key].client_id, fate))
    return found


def settle(tx: Tx, note_id: uuid.UUID, fate: Fate) -> bool:
    """Write down what became of a note; tells whether nobody had yet."""
    statement = update(tables.client_note).where(_NOTE.id == note_id, _NOTE.fate.is_(None))
    return tx.connection.execute(statement.values(fate=fate.value)).rowcount == 1
