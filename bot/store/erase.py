"""Erasing a client: every row of hers, her chat, and the key that opened what was sealed for her.

What stays is a row with her code, her consents (that she gave and took them back), and what the clinic has to
keep, sealed with the clinic's key.
"""

import datetime as dt
import uuid
from collections.abc import Iterator
from typing import Any

from sqlalchemy import ColumnElement, Row, Select, Table, delete, exists, func, insert, select, update

from bot.domain.people import Stage
from bot.store import tables
from bot.store.base import INSTALLATION, Tx
from bot.store.vault import Place

_ERASURE = tables.erasure.c
STAYS = {"client", "consent", "erasure"}


def ask(tx: Tx, client_id: uuid.UUID, now: dt.datetime) -> bool:
    """Keep that a client asked to be erased; False when she had asked before."""
    return tx.put_once(tables.erasure, {"client_id": client_id, "asked_at": now}, "client_id")


def _can_be() -> tuple[ColumnElement[bool], ...]:
    """Who is to be erased and can be: no open alert, and nothing on its way to her or from her."""
    alert, chat, outbox, inbox = tables.alert.c, tables.chat.c, tables.outbox.c, tables.inbox.c
    return (
        _ERASURE.done_at.is_(None),
        ~exists().where(alert.client_id == _ERASURE.client_id, alert.closed_at.is_(None)),
        ~exists().where(
            chat.owner_id == _ERASURE.client_id,
            outbox.chat_id == chat.id,
            outbox.state == "sending",
        ),
        ~exists().where(
            chat.owner_id == _ERASURE.client_id,
            inbox.sender_hash == chat.user_hash,
            inbox.state == "new",
        ),
    )


_NEXT_ASKED_AT = select(func.min(_ERASURE.asked_at)).where(
    *_can_be()
)  # built once, as it is asked all the time


def next_asked_at(tx: Tx) -> dt.datetime | None:
    """When the first of those asked who can be erased; None when there is nobody."""
    soonest: dt.datetime | None = tx.connection.scalar(_NEXT_ASKED_AT)
    return soonest


def ready(tx: Tx, asked_before: dt.datetime, limit: int) -> list[uuid.UUID]:
    """Who asked before an instant and can be erased, the first first."""
    query = (
        select(_ERASURE.client_id)
        .where(_ERASURE.asked_at <= asked_before, *_can_be())
        .order_by(_ERASURE.asked_at)
        .limit(limit)
    )
    return list(tx.connection.scalars(query))


def erase(tx: Tx, client_id: uuid.UUID, clinic_id: uuid.UUID, record: object, now: dt.datetime) -> None:
    """Erase a client for good; `record` is what the clinic must keep of her, as JSON."""
    if tx.on_sqlite:
        # What is deleted is overwritten in the file, not only let go of.
        tx.connection.exec_driver_sql("PRAGMA secure_delete=ON")
    chats = list(tx.connection.execute(select(tables.chat).where(tables.chat.c.owner_id == client_id)))
    for table, mine in _hers(client_id):
        tx.connection.execute(delete(table).where(mine))
    for chat in chats:
        _forget_chat(tx, chat)
    code = select(tables.client.c.code).where(tables.client.c.id == client_id).scalar_subquery()
    colleagues = select(tables.staff.c.id).where(tables.staff.c.clinic_id == clinic_id)
    drafted = tables.draft.c
    tx.connection.execute(delete(tables.draft).where(drafted.code == code, drafted.staff_id.in_(colleagues)))
    for owned in (tables.talk.c.owner_id, tables.invite.c.subject_id):
        tx.connection.execute(delete(owned.table).where(owned == client_id))
    tx.destroy_key(client_id)
    tx.connection.execute(
        update(tables.client)
        .where(tables.client.c.id == client_id)
        .values(initials=None, stage=Stage.ERASED.value, zone="UTC", baby_at_home=False)
    )
    tx.connection.execute(delete(tables.erasure).where(_ERASURE.client_id == client_id))
    sealed = tx.seal_json(clinic_id, Place("erasure", client_id, "record"), record)
    tx.connection.execute(
        insert(tables.erasure).values(client_id=client_id, asked_at=now, done_at=now, record=sealed)
    )


def _hers(client_id: uuid.UUID) -> Iterator[tuple[Table, Any]]:
    """Tables with rows of hers, children first, and which those are: found by what refers to what.

    A table that a later version brings is erased as well, as long as it refers to the client or to something
    of hers.
    """
    hers: dict[str, Any] = {}
    found: list[tuple[Table, Any]] = []
    for table in tables.metadata.sorted_tables:
        if table.name in STAYS or table is tables.inbox:
            continue
        for key in table.foreign_keys:
            parent = key.column.table
            if parent is tables.client:
                condition = key.parent == client_id
            elif parent.name in hers:
                condition = key.parent.in_(select(key.column).where(hers[parent.name]))
            else:
                continue
            hers[table.name] = condition
            found.append((table, condition))
            break
    yield from reversed(found)


def _forget_chat(tx: Tx, chat: Row[Any]) -> None:
    """A chat with all that went through it; the numbers of updates stay, so that none is taken twice."""
    mine: Select[Any] = select(tables.inbox.c.id).where(tables.inbox.c.sender_hash == chat.user_hash)
    for row_id in tx.connection.scalars(mine).all():
        empty = tx.seal(INSTALLATION, Place("inbox", row_id, "raw"), b"")
        tx.connection.execute(
            update(tables.inbox).where(tables.inbox.c.id == row_id).values(sender_hash=None, raw=empty)
        )
    tx.connection.execute(delete(tables.outbox).where(tables.outbox.c.chat_id == chat.id))
    tx.connection.execute(delete(tables.wrong_code).where(tables.wrong_code.c.chat_id == chat.id))
    tx.connection.execute(delete(tables.chat).where(tables.chat.c.id == chat.id))


def not_erased(tx: Tx) -> dict[uuid.UUID, uuid.UUID]:
    """Every client who is not erased, with her clinic."""
    client = tables.client.c
    query = select(client.id, client.clinic_id).where(client.stage != Stage.ERASED.value)
    return {row.id: row.clinic_id for row in tx.connection.execute(query)}


def consents_of(tx: Tx, client_id: uuid.UUID) -> list[tuple[str, bool, dt.datetime]]:
    """To which text she agreed, or took it back, and when; oldest first."""
    row = tables.consent.c
    query = select(row.text_version, row.given, row.at).where(row.client_id == client_id).order_by(row.at)
    return [(one.text_version, one.given, one.at) for one in tx.connection.execute(query)]


def record_of(tx: Tx, client_id: uuid.UUID) -> Any:  # noqa: ANN401 - JSON is what it is
    """What is kept locked of an erased client; None when nothing is."""
    sealed = tx.connection.scalar(select(_ERASURE.record).where(_ERASURE.client_id == client_id))
    return None if sealed is None else tx.open_json(Place("erasure", client_id, "record"), sealed)


def set_retention(tx: Tx, clinic_id: uuid.UUID, years: int, now: dt.datetime) -> None:
    """Keep how long a clinic has to keep its records."""
    tx.connection.execute(delete(tables.retention).where(tables.retention.c.clinic_id == clinic_id))
    tx.connection.execute(
        insert(tables.retention).values(clinic_id=clinic_id, record_years=years, decided_at=now)
    )


def retention(tx: Tx) -> dict[uuid.UUID, int]:
    """For how many years each clinic keeps its records, for those that have said so."""
    rows = tx.connection.execute(select(tables.retention.c.clinic_id, tables.retention.c.record_years))
    return {row.clinic_id: row.record_years for row in rows}


def drop_records(tx: Tx, clinic_id: uuid.UUID, erased_before: dt.datetime) -> int:
    """Drop what was locked of a clinic's clients erased before an instant; tells how many."""
    client = tables.client.c
    of_clinic = select(client.id).where(client.clinic_id == clinic_id)
    return tx.connection.execute(
        update(tables.erasure)
        .where(
            _ERASURE.client_id.in_(of_clinic),
            _ERASURE.done_at < erased_before,
            _ERASURE.record.is_not(None),
        )
        .values(record=None)
    ).rowcount
