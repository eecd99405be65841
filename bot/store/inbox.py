"""What the platform handed us: stored before it is acknowledged, handled in order for each person."""

import datetime as dt
import uuid
from collections.abc import Sequence
from dataclasses import dataclass

from sqlalchemy import ColumnElement, FromClause, and_, exists, func, or_, select, update

from bot.store import tables
from bot.store.base import INSTALLATION, Tx
from bot.store.chats import user_hash
from bot.store.ids import new_id
from bot.store.vault import Place

LEASE = dt.timedelta(seconds=10)
TRIES = 3
KEY_KEPT = dt.timedelta(days=3)  # the platform may number anew after a silent week

_INBOX = tables.inbox.c


@dataclass(frozen=True, slots=True)
class Received:
    """One update as it came: the platform's number, its sender where one is known, its bytes."""

    update_id: int
    sender: int | None
    raw: bytes


@dataclass(frozen=True, slots=True)
class Stored:
    """An update taken from the inbox to be handled."""

    id: uuid.UUID
    raw: bytes
    received_at: dt.datetime
    tries: int


def accept(tx: Tx, bot: str, batch: Sequence[Received], now: dt.datetime) -> None:
    """Store a batch; an update that is there already is left as it is."""
    hashes = {r.sender: user_hash(tx, r.sender) for r in batch if r.sender is not None}
    chat = tables.chat.c
    owners = {
        row.user_hash: row.owner_id
        for row in tx.connection.execute(
            select(chat.user_hash, chat.owner_id).where(
                chat.bot == bot,
                chat.user_hash.in_(list(hashes.values())),
                chat.owner_id.is_not(None),
            ),
        )
    }
    rows = []
    for received in batch:
        row_id = new_id(now)
        hashed = None if received.sender is None else hashes[received.sender]
        owner = INSTALLATION if hashed is None else owners.get(hashed, INSTALLATION)
        rows.append(
            {
                "id": row_id,
                "bot": bot,
                "update_id": received.update_id,
                "received_at": now,
                "sender_hash": hashed,
                "raw": tx.seal(owner, Place("inbox", row_id, "raw"), received.raw),
                "state": "new",
                "tries": 0,
            },
        )
    tx.put_many_once(tables.inbox, rows, "bot", "update_id")


def claim(tx: Tx, worker: uuid.UUID, now: dt.datetime) -> Stored | None:
    """Take the next update: the lowest number whose sender has no earlier one unsettled.

    A claim ends with its lease and then counts as a try; an update that has used up its tries is not handed
    out again (`overdue` finds it).
    """
    earlier = tables.inbox.alias("earlier")
    waits = exists().where(
        earlier.c.sender_hash == _INBOX.sender_hash,
        earlier.c.bot == _INBOX.bot,
        earlier.c.state == "new",
        or_(earlier.c.lease_until > now, _order(earlier) < _order(tables.inbox)),
        earlier.c.id != _INBOX.id,
    )
    free = (
        select(_INBOX.id)
        .where(
            _INBOX.state == "new",
            or_(_INBOX.lease_until.is_(None), _INBOX.lease_until <= now),
            or_(_INBOX.sender_hash.is_(None), ~waits),
        )
        .order_by(_order(tables.inbox), _INBOX.id)
        .limit(1)
        .with_for_update(skip_locked=True)
        .cte("free")
        .prefix_with("MATERIALIZED", dialect="postgresql")
    )
    statement = (
        update(tables.inbox)
        .where(_INBOX.id.in_(select(free.c.id)))
        .values(worker=worker, lease_until=now + LEASE, tries=_INBOX.tries + 1)
        .returning(_INBOX.id, _INBOX.raw, _INBOX.received_at, _INBOX.tries)
    )
    row = tx.connection.execute(statement).first()
    if row is None:
        return None
    raw = tx.open(Place("inbox", row.id, "raw"), row.raw)
    return Stored(row.id, raw, row.received_at, row.tries)


def _order(table: FromClause) -> ColumnElement[int]:
    return func.coalesce(table.c.update_id, 0)


def settle(tx: Tx, inbox_id: uuid.UUID, worker: uuid.UUID, state: str, now: dt.datetime) -> bool:
    """Mark an update `handled` or `set_aside`; False when the lease went to somebody else meanwhile."""
    statement = (
        update(tables.inbox)
        .where(_INBOX.id == inbox_id, _INBOX.worker == worker, _INBOX.state == "new")
        .values(state=state, settled_at=now, worker=None, lease_until=None)
    )
    return tx.connection.execute(statement).rowcount == 1


def push_back(tx: Tx, inbox_id: uuid.UUID, worker: uuid.UUID, until: dt.datetime) -> None:
    """Try an update again later: its handling failed."""
    tx.connection.execute(
        update(tables.inbox)
        .where(and_(_INBOX.id == inbox_id, _INBOX.worker == worker))
        .values(worker=None, lease_until=until),
    )


def waiting(tx: Tx) -> int:
    """How many updates are not handled yet."""
    return tx.connection.scalar(select(func.count()).where(_INBOX.state == "new")) or 0


def next_at(tx: Tx) -> dt.datetime | None:
    """When the next unsettled update may be tried, None when there is none or one is free now."""
    soonest: dt.datetime | None = tx.connection.scalar(
        select(func.min(_INBOX.lease_until)).where(_INBOX.state == "new"),
    )
    return soonest


def release_keys(tx: Tx, now: dt.datetime) -> None:
    """Free the platform's numbers of settled updates after three days; the rows stay."""
    tx.connection.execute(
        update(tables.inbox)
        .where(
            _INBOX.state != "new",
            _INBOX.update_id.is_not(None),
            _INBOX.received_at <= now - KEY_KEPT,
        )
        .values(update_id=None),
    )


def oldest_waiting(tx: Tx) -> dt.datetime | None:
    """When the oldest unsettled update came in."""
    oldest: dt.datetime | None = tx.connection.scalar(
        select(func.min(_INBOX.received_at)).where(_INBOX.state == "new"),
    )
    return oldest
