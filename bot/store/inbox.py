"""What the platform handed us: stored before it is acknowledged, handled in order for each person."""

import datetime as dt
import functools
import uuid
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import takewhile
from typing import Any

from sqlalchemy import Integer, Row, bindparam, exists, func, or_, select, update
from sqlalchemy.sql.dml import ReturningUpdate

from bot.logs import get
from bot.store import tables, wake
from bot.store.base import INSTALLATION, Tx
from bot.store.chats import user_hash
from bot.store.ids import new_id
from bot.store.types import Instant
from bot.store.vault import Place, SealError, WrongKeysError, owner_of

LEASE = dt.timedelta(seconds=10)
TRIES = 3
WITHOUT_KEY = dt.timedelta(minutes=1)  # before an update is tried again that DATA_KEYS do not open
KEY_KEPT = dt.timedelta(days=3)  # the platform may number anew after a silent week
SETTLED = ("handled", "set_aside")
ONE_CLAIM = 2861946504173390581  # the advisory lock of whoever claims; any fixed number

_INBOX = tables.inbox.c
_CHAT = tables.chat.c
# Built once, as they are asked all the time.
_WAITING = select(func.count()).where(_INBOX.state == "new")
_OWNERS = select(_CHAT.user_hash, _CHAT.owner_id).where(
    _CHAT.bot == bindparam("of_bot"),
    _CHAT.user_hash.in_(bindparam("hashes", expanding=True)),
    _CHAT.owner_id.is_not(None),
)
_SETTLE = (
    update(tables.inbox)
    .where(_INBOX.id == bindparam("row"), _INBOX.worker == bindparam("of_worker"), _INBOX.state == "new")
    .values(
        state=bindparam("ended"), settled_at=bindparam("at", type_=Instant), worker=None, lease_until=None
    )
)
log = get()


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
    found = tx.connection.execute(_OWNERS, {"of_bot": bot, "hashes": list(hashes.values())})
    owners = {row.user_hash: row.owner_id for row in found}
    tx.fetch_keys(owners.values())
    rows = []
    for received in batch:
        row_id = new_id(now)
        hashed = None if received.sender is None else hashes[received.sender]
        owner = INSTALLATION if hashed is None else _sealer(tx, owners.get(hashed, INSTALLATION))
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
    tx.wake(wake.INBOX)


def _sealer(tx: Tx, owner: uuid.UUID) -> uuid.UUID:
    """Whose key seals an update: its sender's, or the installation's where hers cannot be had."""
    try:
        tx.key_of(owner)
    except SealError:
        return INSTALLATION
    return owner


@functools.cache
def _claiming() -> ReturningUpdate[Any]:
    """Built once, since building it costs more than running it."""
    at, latest = bindparam("at", type_=Instant), bindparam("latest", type_=Instant)
    earlier = tables.inbox.alias("earlier")
    waits = exists().where(
        earlier.c.sender_hash == _INBOX.sender_hash,
        earlier.c.bot == _INBOX.bot,
        earlier.c.state == "new",
        or_(earlier.c.lease_until.between(at, latest), earlier.c.update_id < _INBOX.update_id),
        earlier.c.id != _INBOX.id,
    )
    free = (
        select(_INBOX.id)
        .where(
            _INBOX.state == "new",
            _INBOX.bot == bindparam("of_bot"),
            # No lease ends so late: the clock was set back.
            or_(_INBOX.lease_until.is_(None), _INBOX.lease_until <= at, _INBOX.lease_until > latest),
            or_(_INBOX.sender_hash.is_(None), ~waits),
        )
        .order_by(_INBOX.update_id)
        .limit(bindparam("most", type_=Integer))
        .with_for_update(skip_locked=True)
        .cte("free")
        .prefix_with("MATERIALIZED", dialect="postgresql")
    )
    return (
        update(tables.inbox)
        .where(_INBOX.id.in_(select(free.c.id)))
        .values(worker=bindparam("claimed_by"), lease_until=bindparam("lease_end"), tries=_INBOX.tries + 1)
        .returning(_INBOX.id, _INBOX.update_id, _INBOX.raw, _INBOX.received_at, _INBOX.tries)
    )


def wait_turn(tx: Tx) -> None:
    """One claim at a time, until the end of the transaction.

    Two at once would not see each other, so that a number which arrives while a later one of the same sender
    is being claimed could be handled beside it. The clock is to be read after the wait: by an instant of
    before it, a lease that another worker took meanwhile would look like one of a clock set back.
    """
    if not tx.on_sqlite:
        tx.connection.execute(select(func.pg_advisory_xact_lock(ONE_CLAIM)))


def claim_some(tx: Tx, bot: str, worker: uuid.UUID, now: dt.datetime, most: int) -> list[Stored]:
    """Take up to `most` updates of as many senders, lowest numbers first, to be handled one after the other.

    Every claim counts as a try, whether it ends by being settled, pushed back or with its lease. What is
    tried again is taken by itself, so that one which ends the process counts no tries against others. An
    update that does not open holds nobody up: it is set aside, or left for later where the right DATA_KEYS
    help.
    """
    wait_turn(tx)
    statement = _claiming()
    values = {
        "of_bot": bot,
        "at": now,
        "latest": now + WITHOUT_KEY,
        "claimed_by": worker,
        "lease_end": now + LEASE,
        "most": most,
    }
    while rows := sorted(tx.connection.execute(statement, values).all(), key=lambda row: row.update_id):
        together = 1 if rows[0].tries > 1 else sum(1 for _ in takewhile(lambda row: row.tries == 1, rows))
        for row in rows[together:]:
            push_back(tx, row.id, worker, None, counts=False)
        tx.fetch_keys(owner_of(row.raw) for row in rows[:together])
        if opened := [stored for row in rows[:together] if (stored := _open(tx, row, worker, now))]:
            return opened
    return []


def _open(tx: Tx, row: Row[Any], worker: uuid.UUID, now: dt.datetime) -> Stored | None:
    try:
        raw = tx.open(Place("inbox", row.id, "raw"), row.raw)
    except WrongKeysError:
        push_back(tx, row.id, worker, now + WITHOUT_KEY, counts=False)
        log.error("update_stays_sealed", update=str(row.id))  # noqa: TRY400 - no traceback needed
    except SealError:
        settle(tx, row.id, worker, "set_aside", now)
        log.error("update_does_not_open", update=str(row.id))  # noqa: TRY400 - the same
    else:
        return Stored(row.id, raw, row.received_at, row.tries)
    return None


def settle(tx: Tx, inbox_id: uuid.UUID, worker: uuid.UUID, state: str, now: dt.datetime) -> bool:
    """Mark an update `handled` or `set_aside`; False when the lease went to somebody else meanwhile."""
    values = {"row": inbox_id, "of_worker": worker, "ended": state, "at": now}
    return tx.connection.execute(_SETTLE, values).rowcount == 1


def push_back(
    tx: Tx, inbox_id: uuid.UUID, worker: uuid.UUID, until: dt.datetime | None, *, counts: bool = True
) -> None:
    """Give an update back: to be tried again later, with None at once. `counts`: the claim was a try."""
    tries = _INBOX.tries if counts else _INBOX.tries - 1
    tx.connection.execute(
        update(tables.inbox)
        .where(_INBOX.id == inbox_id, _INBOX.worker == worker)
        .values(worker=None, lease_until=until, tries=tries),
    )


def release_others(tx: Tx, worker: uuid.UUID) -> int:
    """Free what other workers have in hand; tells how many.

    For a database with one writer: whoever else had claimed something is dead.
    """
    statement = (
        update(tables.inbox)
        .where(_INBOX.state == "new", _INBOX.worker.is_not(None), _INBOX.worker != worker)
        .values(worker=None, lease_until=None)
    )
    return tx.connection.execute(statement).rowcount


def waiting(tx: Tx) -> int:
    """How many updates are not handled yet."""
    return tx.connection.scalar(_WAITING) or 0


def next_at(tx: Tx) -> dt.datetime | None:
    """When the next unsettled update may be tried, None when there is none or one is free now."""
    leased = tables.inbox.alias("leased")
    behind = exists().where(
        leased.c.sender_hash == _INBOX.sender_hash,
        leased.c.bot == _INBOX.bot,
        leased.c.state == "new",
        leased.c.lease_until.is_not(None),
    )
    free = select(_INBOX.id).where(_INBOX.state == "new", _INBOX.lease_until.is_(None), ~behind).limit(1)
    if tx.connection.scalar(free) is not None:
        return None
    soonest: dt.datetime | None = tx.connection.scalar(
        select(func.min(_INBOX.lease_until)).where(_INBOX.state == "new"),
    )
    return soonest


def release_keys(tx: Tx, now: dt.datetime) -> None:
    """Free the platform's numbers of settled updates after three days; the rows stay."""
    tx.connection.execute(
        update(tables.inbox)
        .where(
            _INBOX.state.in_(SETTLED),
            _INBOX.update_id >= 0,  # the numbers not yet freed, as a range that the index can look up
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
