"""What a client is told when a version of her prescription changes, and whether she has looked."""

import datetime as dt
import uuid
from dataclasses import dataclass
from typing import Any

from sqlalchemy import Row, insert, select, update

from bot.store import tables
from bot.store.base import Tx
from bot.store.ids import new_id
from bot.store.vault import Place

_NOTICE = tables.change_notice.c


@dataclass(frozen=True, slots=True)
class Notice:
    """A change: the version it is about, why in a line, when she was told and looked (None: not yet)."""

    id: uuid.UUID
    client_id: uuid.UUID
    version: int
    why: str
    told_at: dt.datetime | None
    seen_at: dt.datetime | None


def add(tx: Tx, client_id: uuid.UUID, version: int, why: str, now: dt.datetime) -> None:
    """Keep that a client is to be told of a version."""
    row_id = new_id(now)
    tx.connection.execute(
        insert(tables.change_notice).values(
            id=row_id,
            client_id=client_id,
            version=version,
            why=tx.seal(client_id, Place("change_notice", row_id, "why"), why),
            made_at=now,
        )
    )


def _notice(tx: Tx, row: Row[Any]) -> Notice:
    why = tx.open_text(Place("change_notice", row.id, "why"), row.why)
    return Notice(row.id, row.client_id, row.version, why, row.told_at, row.seen_at)


def untold(tx: Tx, client_id: uuid.UUID) -> Notice | None:
    """The newest change a client has not been told of yet; an earlier one is told with it or not at all."""
    query = (
        select(tables.change_notice)
        .where(_NOTICE.client_id == client_id, _NOTICE.told_at.is_(None), _NOTICE.seen_at.is_(None))
        .order_by(_NOTICE.version.desc())
        .limit(1)
    )
    row = tx.connection.execute(query).first()
    return None if row is None else _notice(tx, row)


def told(tx: Tx, notice: Notice, at: dt.datetime) -> None:
    """She is told at an instant; whatever was before it and is untold needs no message any more."""
    here = (_NOTICE.client_id == notice.client_id, _NOTICE.told_at.is_(None))
    tx.connection.execute(
        update(tables.change_notice).where(*here, _NOTICE.version < notice.version).values(seen_at=at)
    )
    tx.connection.execute(update(tables.change_notice).where(_NOTICE.id == notice.id).values(told_at=at))


def seen(tx: Tx, client_id: uuid.UUID, now: dt.datetime) -> None:
    """She has looked: at the newest change, and so at all that went before."""
    tx.connection.execute(
        update(tables.change_notice)
        .where(_NOTICE.client_id == client_id, _NOTICE.told_at.is_not(None), _NOTICE.seen_at.is_(None))
        .values(seen_at=now)
    )
