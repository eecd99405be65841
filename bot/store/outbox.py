"""What is to be sent: put in the transaction that caused it, claimed by priority, settled once."""

import datetime as dt
import uuid
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from sqlalchemy import func, or_, select, update

from bot.domain.delivery import CHAT_SPACING, POLICIES, Fate, Kind, State
from bot.domain.people import Role
from bot.store import tables
from bot.store.base import INSTALLATION, Tx
from bot.store.ids import new_id
from bot.store.vault import Place

LEASE = dt.timedelta(seconds=60)  # longer than the longest wait for the platform's answer

_OUTBOX = tables.outbox.c
_CHAT = tables.chat.c
_BUDGET = tables.send_budget.c


@dataclass(frozen=True, slots=True)
class Letter:
    """A message to be put: to which chat, under which unique key, and what it holds.

    content: what the sender needs, as JSON (method, sentence id, values, buttons). picture: PNG bytes.
    """

    key: str
    chat_id: uuid.UUID
    owner_id: uuid.UUID | None
    kind: Kind
    content: dict[str, Any]
    picture: bytes | None = None
    not_before: dt.datetime | None = None
    expires_at: dt.datetime | None = None


@dataclass(frozen=True, slots=True)
class Taken:
    """A message that was marked `sending` and is ours to send."""

    id: uuid.UUID
    kind: Kind
    attempt: int
    chat_id: uuid.UUID
    user_id: int
    content: dict[str, Any]
    picture: bytes | None


def put(tx: Tx, letter: Letter, now: dt.datetime) -> bool:
    """Put a message in the outbox; False when one with the same key is there already."""
    policy = POLICIES[letter.kind]
    row_id = new_id(now)
    owner = letter.owner_id or INSTALLATION
    expires_at = letter.expires_at
    if expires_at is None and policy.lifetime is not None:
        expires_at = now + policy.lifetime
    picture = letter.picture
    place = Place("outbox", row_id, "picture")
    values = {
        "id": row_id,
        "key": letter.key,
        "chat_id": letter.chat_id,
        "kind": letter.kind.value,
        "priority": policy.priority,
        "content": tx.seal_json(owner, Place("outbox", row_id, "content"), letter.content),
        "picture": None if picture is None else tx.seal(owner, place, picture),
        "put_at": now,
        "not_before": letter.not_before or now,
        "expires_at": expires_at,
        "state": State.QUEUED.value,
        "attempt": 0,
    }
    return tx.put_once(tables.outbox, values, "key")


def _sendable(now: dt.datetime, kinds: Sequence[Kind]) -> tuple[Any, ...]:
    unspaced = [kind.value for kind in kinds if not POLICIES[kind].spaced]
    return (
        _OUTBOX.state == State.QUEUED.value,
        _OUTBOX.kind.in_([kind.value for kind in kinds]),
        _OUTBOX.not_before <= now,
        _CHAT.gone_at.is_(None),
        or_(_OUTBOX.kind.in_(unspaced), _CHAT.free_at.is_(None), _CHAT.free_at <= now),
    )


def any_sendable(tx: Tx, kinds: Sequence[Kind], now: dt.datetime) -> bool:
    """Whether a message of these kinds could go now."""
    query = (
        select(_OUTBOX.id)
        .join(tables.chat, _CHAT.id == _OUTBOX.chat_id)
        .where(*_sendable(now, kinds))
        .limit(1)
    )
    return tx.connection.scalar(query) is not None


def take(
    tx: Tx,
    worker: uuid.UUID,
    kinds: Sequence[Kind],
    limit: int,
    now: dt.datetime,
) -> list[Taken]:
    """Mark up to `limit` messages as `sending` and hand them out, most urgent first.

    One message a chat at a time, in the order they were put. The chat's next message waits for the spacing.
    """
    first = (
        select(
            _OUTBOX.id,
            _OUTBOX.priority,
            func.row_number()
            .over(partition_by=_OUTBOX.chat_id, order_by=(_OUTBOX.priority, _OUTBOX.id))
            .label("place"),
        )
        .join(tables.chat, _CHAT.id == _OUTBOX.chat_id)
        .where(*_sendable(now, kinds))
        .subquery()
    )
    chosen = select(first.c.id).where(first.c.place == 1).order_by(first.c.priority, first.c.id).limit(limit)
    locked = (
        select(_OUTBOX.id)
        .where(_OUTBOX.id.in_(chosen), _OUTBOX.state == State.QUEUED.value)
        .with_for_update(skip_locked=True)
        .cte("locked")
        .prefix_with("MATERIALIZED", dialect="postgresql")
    )
    statement = (
        update(tables.outbox)
        .where(_OUTBOX.id.in_(select(locked.c.id)))
        .values(
            state=State.SENDING.value,
            worker=worker,
            lease_until=now + LEASE,
            attempt=_OUTBOX.attempt + 1,
        )
        .returning(
            _OUTBOX.id,
            _OUTBOX.kind,
            _OUTBOX.priority,
            _OUTBOX.attempt,
            _OUTBOX.chat_id,
            _OUTBOX.content,
            _OUTBOX.picture,
        )
    )
    rows = sorted(tx.connection.execute(statement).all(), key=lambda row: (row.priority, row.id))
    if not rows:
        return []
    chat_ids = [row.chat_id for row in rows]
    heard = [row.chat_id for row in rows if row.kind != Kind.TOUCH.value]
    if heard:
        tx.connection.execute(
            update(tables.chat).where(_CHAT.id.in_(heard)).values(free_at=now + CHAT_SPACING),
        )
    numbers = {
        row.id: int(tx.open_text(Place("chat", row.id, "user_id"), row.user_id))
        for row in tx.connection.execute(select(_CHAT.id, _CHAT.user_id).where(_CHAT.id.in_(chat_ids)))
    }
    return [
        Taken(
            id=row.id,
            kind=Kind(row.kind),
            attempt=row.attempt,
            chat_id=row.chat_id,
            user_id=numbers[row.chat_id],
            content=tx.open_json(Place("outbox", row.id, "content"), row.content),
            picture=None if row.picture is None else tx.open(Place("outbox", row.id, "picture"), row.picture),
        )
        for row in rows
    ]


def settle(
    tx: Tx,
    taken_id: uuid.UUID,
    worker: uuid.UUID,
    fate: Fate,
    now: dt.datetime,
    message_id: int | None = None,
    reason: str | None = None,
) -> bool:
    """Write down what became of a message; False when its lease went to somebody else meanwhile."""
    values: dict[str, Any] = {
        "state": fate.state.value,
        "worker": None,
        "lease_until": None,
        "reason": None if reason is None else reason[:80],
        "settled_at": None if fate.state is State.QUEUED else now,
    }
    if fate.not_before is not None:
        values["not_before"] = fate.not_before
    if message_id is not None:
        values["message_id"] = message_id
    statement = (
        update(tables.outbox)
        .where(_OUTBOX.id == taken_id, _OUTBOX.worker == worker, _OUTBOX.state == State.SENDING.value)
        .values(**values)
    )
    return tx.connection.execute(statement).rowcount == 1


@dataclass(frozen=True, slots=True)
class Stranded:
    """A message somebody was sending when they stopped; nobody knows whether it arrived."""

    id: uuid.UUID
    kind: Kind
    attempt: int
    worker: uuid.UUID


def stranded(tx: Tx, now: dt.datetime, others_than: uuid.UUID | None = None) -> list[Stranded]:
    """Messages whose sender's lease is over.

    others_than: on a database with one writer, everything that another (dead) worker was sending is stranded
    at once, lease or not.
    """
    over = _OUTBOX.lease_until <= now
    if others_than is not None:
        over = or_(over, _OUTBOX.worker != others_than)
    query = select(_OUTBOX.id, _OUTBOX.kind, _OUTBOX.attempt, _OUTBOX.worker).where(
        _OUTBOX.state == State.SENDING.value,
        over,
    )
    return [Stranded(row.id, Kind(row.kind), row.attempt, row.worker) for row in tx.connection.execute(query)]


def expire(tx: Tx, now: dt.datetime) -> int:
    """Let go of messages that came too late; tells how many."""
    statement = (
        update(tables.outbox)
        .where(_OUTBOX.state == State.QUEUED.value, _OUTBOX.expires_at <= now)
        .values(state=State.EXPIRED.value, settled_at=now)
    )
    return tx.connection.execute(statement).rowcount


def next_at(tx: Tx, now: dt.datetime) -> dt.datetime | None:
    """When the next queued message may go; `now` or earlier when one may go at once."""
    query = (
        select(_OUTBOX.not_before, _OUTBOX.kind, _CHAT.free_at)
        .join(tables.chat, _CHAT.id == _OUTBOX.chat_id)
        .where(_OUTBOX.state == State.QUEUED.value, _CHAT.gone_at.is_(None))
        .order_by(_OUTBOX.not_before)
        .limit(200)
    )
    instants = [
        max(row.not_before, row.free_at)
        if row.free_at is not None and POLICIES[Kind(row.kind)].spaced
        else row.not_before
        for row in tx.connection.execute(query)
    ]
    held = tx.connection.scalar(select(func.max(_BUDGET.hold_until)))
    soonest = min(instants, default=None)
    return max(soonest, held) if soonest is not None and held is not None and held > now else soonest


def sent_message(tx: Tx, key: str) -> int | None:
    """The platform's number of a sent message, by its key."""
    return tx.connection.scalar(select(_OUTBOX.message_id).where(_OUTBOX.key == key))


def permits(
    tx: Tx, bot: str, rate: float, bulk_share: float, bulk: bool, wanted: int, now: dt.datetime
) -> int:
    """Take up to `wanted` permits to send from the bot's budget, shared by all workers.

    rate: permits a second; `bulk_share` of them is all that nudges and digests may use. At most one second's
    worth is saved up. Permits that are taken and not used are lost, never counted twice. 0 while the
    platform has asked for a pause.
    """
    query = select(tables.send_budget).where(_BUDGET.bot == bot).with_for_update()
    row = tx.connection.execute(query).first()
    if row is None:
        fresh = {"bot": bot, "permits": rate, "bulk_permits": rate * bulk_share, "as_of": now}
        tx.put_once(tables.send_budget, fresh, "bot")
        row = tx.connection.execute(query).one()
    if row.hold_until is not None and row.hold_until > now:
        return 0
    passed_s = max(0.0, (now - row.as_of).total_seconds())
    every = min(rate, row.permits + passed_s * rate)
    of_bulk = min(rate * bulk_share, row.bulk_permits + passed_s * rate * bulk_share)
    granted = min(wanted, int(min(every, of_bulk) if bulk else every))
    tx.connection.execute(
        update(tables.send_budget)
        .where(_BUDGET.bot == bot)
        .values(
            permits=every - granted,
            bulk_permits=of_bulk - granted if bulk else of_bulk,
            as_of=now,
        ),
    )
    return granted


def hold(tx: Tx, bot: str, until: dt.datetime) -> None:
    """Send nothing for this bot until an instant: the platform asked for it."""
    tx.connection.execute(update(tables.send_budget).where(_BUDGET.bot == bot).values(hold_until=until))


def counts(tx: Tx) -> dict[str, int]:
    """How many messages stand in each state."""
    query = select(_OUTBOX.state, func.count()).group_by(_OUTBOX.state)
    return {state: number for state, number in tx.connection.execute(query)}  # noqa: C416 - rows, not tuples


@dataclass(frozen=True, slots=True)
class Recipient:
    """Whom a message was for."""

    key: str
    chat_id: uuid.UUID
    role: Role
    owner_id: uuid.UUID | None


def recipient(tx: Tx, message_id: uuid.UUID) -> Recipient:
    """Whom a message was for."""
    query = (
        select(_OUTBOX.key, _OUTBOX.chat_id, _CHAT.role, _CHAT.owner_id)
        .join(tables.chat, _CHAT.id == _OUTBOX.chat_id)
        .where(_OUTBOX.id == message_id)
    )
    row = tx.connection.execute(query).one()
    return Recipient(row.key, row.chat_id, Role(row.role), row.owner_id)
