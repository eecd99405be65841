"""Prescription files that therapists sent and that wait to be fetched from the platform."""

import datetime as dt
import uuid
from dataclasses import dataclass

from sqlalchemy import delete, func, insert, select, update

from bot.store import tables
from bot.store.base import Tx
from bot.store.vault import Place

_FILE = tables.sent_file.c
AGAIN = dt.timedelta(seconds=30)  # a fetch that was cut off is tried again after this
TRIES = 4


@dataclass(frozen=True, slots=True)
class SentFile:
    """A file to fetch: its id on the platform, its name as it was sent, how often it was tried."""

    id: uuid.UUID
    staff_id: uuid.UUID
    file_id: str
    name: str
    tries: int


def add(tx: Tx, file: SentFile, now: dt.datetime) -> None:
    """Keep that a file is to be fetched."""
    detail = {"file_id": file.file_id, "name": file.name}
    tx.connection.execute(
        insert(tables.sent_file).values(
            id=file.id,
            staff_id=file.staff_id,
            detail=tx.seal_json(file.staff_id, Place("sent_file", file.id, "detail"), detail),
            next_at=now,
            tries=file.tries,
        )
    )


def claim(tx: Tx, now: dt.datetime) -> SentFile | None:
    """The next file to fetch, taken for half a minute; None when none is due or somebody else took it."""
    due = select(tables.sent_file).where(_FILE.next_at <= now).order_by(_FILE.next_at, _FILE.id).limit(1)
    row = tx.connection.execute(due).first()
    if row is None:
        return None
    taken = tx.connection.execute(
        update(tables.sent_file)
        .where(_FILE.id == row.id, _FILE.next_at == row.next_at)
        .values(next_at=now + AGAIN, tries=row.tries + 1)
    )
    if taken.rowcount != 1:
        return None
    detail = tx.open_json(Place("sent_file", row.id, "detail"), row.detail)
    return SentFile(row.id, row.staff_id, detail["file_id"], detail["name"], row.tries + 1)


def drop(tx: Tx, file_id: uuid.UUID) -> bool:
    """Done with a file; False when somebody else was first."""
    return tx.connection.execute(delete(tables.sent_file).where(_FILE.id == file_id)).rowcount == 1


def next_at(tx: Tx) -> dt.datetime | None:
    """When the next file is to be fetched."""
    soonest: dt.datetime | None = tx.connection.scalar(select(func.min(_FILE.next_at)))
    return soonest
