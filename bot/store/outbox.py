"""What is to be sent: put in the transaction that caused it, claimed by priority, settled once."""

import datetime as dt
import uuid
from collections.abc import Collection, Sequence
from dataclasses import dataclass
from typing import Any

from sqlalchemy import ColumnElement, Row, bindparam, exists, func, or_, select, update

from bot.domain.delivery import CHAT_SPACING, POLICIES, Fate, Kind, State
from bot.domain.people import Role
from bot.logs import get
from bot.store import budget, sendable, tables, vault, wake
from bot.store.base import INSTALLATION, Tx
from bot.store.ids import new_id
from bot.store.types import Instant, SealedBytes
from bot.store.vault import Place, SealError, WrongKeysError

LEASE = dt.timedelta(seconds=10)  # prolonged by its worker as long as that lives
LOOK_AHEAD = 4  # so many times what is wanted is read, since a chat may have several that wait
WITHOUT_KEY = dt.timedelta(minutes=1)  # before a message is tried again that DATA_KEYS do not open

_OUTBOX = tables.outbox.c
_CHAT = tables.chat.c
# Built once, as they are asked all the time.
_SOONEST = (
    select(_OUTBOX.not_before, _OUTBOX.kind, _CHAT.free_at)
    .join(tables.chat, _CHAT.id == _OUTBOX.chat_id)
    .where(_OUTBOX.state == State.QUEUED.value, _CHAT.gone_at.is_(None), _CHAT.bot == bindparam("of_bot"))
    .order_by(_OUTBOX.not_before)
    .limit(200)
)
_SENT = (
    update(tables.outbox)
    .where(
        _OUTBOX.id == bindparam("sent_id"),
        _OUTBOX.worker == bindparam("of_worker"),
        _OUTBOX.state == State.SENDING.value,
    )
    .values(
        state=State.SENT.value,
        worker=None,
        lease_until=None,
        settled_at=bindparam("at", type_=Instant),
        message_id=bindparam("number"),
        reason=None,
    )
)
_CHATS = select(_CHAT.id, _CHAT.user_id).where(_CHAT.id.in_(bindparam("wanted", expanding=True)))
_FREE_AT = (
    update(tables.chat)
    .where(_CHAT.id.in_(bindparam("heard", expanding=True)))
    .values(free_at=bindparam("at", type_=Instant))
)
log = get()


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
    if not policy.bulk:
        tx.wake(wake.OUTBOX)
    return tx.put_once(tables.outbox, values, "key")


def any_sendable(tx: Tx, bot: str, kinds: Sequence[Kind], now: dt.datetime) -> bool:
    """Whether a message of these kinds could go now."""
    return tx.connection.scalar(sendable.any_of(tuple(kinds)), sendable.values(bot, now)) is not None


def take(
    tx: Tx,
    bot: str,
    worker: uuid.UUID,
    kinds: Sequence[Kind],
    limit: int,
    now: dt.datetime,
) -> list[Taken]:
    """Mark up to `limit` messages as `sending` and hand them out, most urgent first.

    One message a chat at a time, in the order they were put. The chat's next message waits for the spacing.
    The chats are locked with the messages: two workers never take messages of one chat at the same time.
    A message that does not open holds nobody up: it is refused, or left for later where the right DATA_KEYS
    help.
    """
    ahead = tx.connection.execute(
        sendable.in_order(tuple(kinds)), {**sendable.values(bot, now), "most": limit * LOOK_AHEAD}
    )
    chosen: dict[uuid.UUID, uuid.UUID] = {}
    for row in ahead:
        if len(chosen) < limit:
            chosen.setdefault(row.chat_id, row.id)
    if not chosen:
        return []
    values = {
        **sendable.values(bot, now),
        "chosen": list(chosen.values()),
        "taken_by": worker,
        "lease_end": now + LEASE,
    }
    rows = sorted(
        tx.connection.execute(sendable.marking(), values).all(), key=lambda row: (row.priority, row.id)
    )
    if not rows:
        return []
    chats = {
        row.id: row.user_id
        for row in tx.connection.execute(_CHATS, {"wanted": [row.chat_id for row in rows]})
    }
    tx.fetch_keys([vault.owner_of(sealed) for row in rows for sealed in (row.content, chats[row.chat_id])])
    taken = []
    for row in rows:
        try:
            taken.append(_open(tx, row, chats[row.chat_id]))
        except WrongKeysError:
            later = Fate(State.QUEUED, now + WITHOUT_KEY)
            settle(tx, row.id, worker, later, now, reason="DATA_KEYS do not open it")
            log.error("message_stays_sealed", message=str(row.id), kind=row.kind)  # noqa: TRY400 - no traceback needed
        except SealError:
            settle(tx, row.id, worker, Fate(State.REFUSED), now, reason="does not open")
            log.error("message_does_not_open", message=str(row.id), kind=row.kind)  # noqa: TRY400 - the same
    heard = [message.chat_id for message in taken if message.kind is not Kind.TOUCH]
    if heard:
        tx.connection.execute(_FREE_AT, {"heard": heard, "at": now + CHAT_SPACING})
    return taken


def _open(tx: Tx, row: Row[Any], user_id: SealedBytes) -> Taken:
    picture = row.picture
    return Taken(
        id=row.id,
        kind=Kind(row.kind),
        attempt=row.attempt,
        chat_id=row.chat_id,
        user_id=int(tx.open_text(Place("chat", row.chat_id, "user_id"), user_id)),
        content=tx.open_json(Place("outbox", row.id, "content"), row.content),
        picture=None if picture is None else tx.open(Place("outbox", row.id, "picture"), picture),
    )


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


def settle_sent(
    tx: Tx, worker: uuid.UUID, arrived: Sequence[tuple[uuid.UUID, int | None]], now: dt.datetime
) -> None:
    """Write down that messages arrived, each with the platform's number where it gave one."""
    rows = [
        {"sent_id": sent_id, "of_worker": worker, "at": now, "number": number} for sent_id, number in arrived
    ]
    tx.connection.execute(_SENT, rows)


def prolong(tx: Tx, worker: uuid.UUID, in_hand: Collection[uuid.UUID], now: dt.datetime) -> None:
    """Keep the leases of what a living worker is still sending."""
    tx.connection.execute(
        update(tables.outbox)
        .where(_OUTBOX.id.in_(list(in_hand)), _OUTBOX.worker == worker, _OUTBOX.state == State.SENDING.value)
        .values(lease_until=now + LEASE)
    )


@dataclass(frozen=True, slots=True)
class Stranded:
    """A message somebody was sending when they stopped; nobody knows whether it arrived."""

    id: uuid.UUID
    kind: Kind
    attempt: int
    worker: uuid.UUID


def stranded(tx: Tx, bot: str, now: dt.datetime, others_than: uuid.UUID | None = None) -> list[Stranded]:
    """Messages whose sender's lease is over, locked until the end of the transaction.

    others_than: on a database with one writer, everything that another (dead) worker was sending is stranded
    at once, lease or not.
    """
    over = _OUTBOX.lease_until <= now
    if others_than is not None:
        over = or_(over, _OUTBOX.worker != others_than)
    query = (
        select(_OUTBOX.id, _OUTBOX.kind, _OUTBOX.attempt, _OUTBOX.worker)
        .where(_OUTBOX.state == State.SENDING.value, over, _of(bot))
        .with_for_update(skip_locked=True)
    )
    return [Stranded(row.id, Kind(row.kind), row.attempt, row.worker) for row in tx.connection.execute(query)]


def expire(tx: Tx, bot: str, now: dt.datetime) -> int:
    """Let go of messages that came too late; tells how many."""
    statement = (
        update(tables.outbox)
        .where(_OUTBOX.state == State.QUEUED.value, _OUTBOX.expires_at <= now, _of(bot))
        .values(state=State.EXPIRED.value, settled_at=now)
    )
    return tx.connection.execute(statement).rowcount


def _of(bot: str) -> ColumnElement[bool]:
    """Whether a message is a bot's. Its chat is looked up by id; a list of the bot's chats may be long."""
    return exists().where(_CHAT.id == _OUTBOX.chat_id, _CHAT.bot.concat("") == bot).correlate(tables.outbox)


def follow_clock_back(tx: Tx, bot: str, now: dt.datetime) -> None:
    """What was set for an instant to come by a clock that was then set back is due from now on.

    Less than a second ahead is another worker's clock, and is left alone. What was put off on purpose stays
    put off.
    """
    soon = now + dt.timedelta(seconds=1)
    put_off_by_the_clock = or_(_OUTBOX.not_before == _OUTBOX.put_at, _OUTBOX.taken_at > soon)
    tx.connection.execute(
        update(tables.outbox)
        .where(
            _OUTBOX.state == State.QUEUED.value,
            _OUTBOX.not_before > soon,
            _OUTBOX.put_at > soon,
            put_off_by_the_clock,
            _of(bot),
        )
        .values(not_before=now)
    )
    tx.connection.execute(
        update(tables.outbox)
        .where(_OUTBOX.state == State.SENDING.value, _OUTBOX.lease_until > soon + LEASE, _of(bot))
        .values(lease_until=now + LEASE)
    )
    budget.follow_clock_back(tx, bot, now)


def next_at(tx: Tx, bot: str, now: dt.datetime) -> dt.datetime | None:
    """When the next queued message may go; `now` or earlier when one may go at once."""
    instants = [
        max(row.not_before, row.free_at)
        if row.free_at is not None and row.free_at <= now + CHAT_SPACING and POLICIES[Kind(row.kind)].spaced
        else row.not_before
        for row in tx.connection.execute(_SOONEST, {"of_bot": bot})
    ]
    held = budget.held_until(tx, bot)
    soonest = min(instants, default=None)
    return max(soonest, held) if soonest is not None and held is not None and held > now else soonest


def sent_message(tx: Tx, key: str) -> int | None:
    """The platform's number of a sent message, by its key."""
    return tx.connection.scalar(select(_OUTBOX.message_id).where(_OUTBOX.key == key))


def is_there(tx: Tx, key: str) -> bool:
    """Whether a message of a key was ever put, whatever became of it."""
    query = select(tables.outbox.c.id).where(tables.outbox.c.key == key)
    return tx.connection.scalar(query) is not None


def key_of_sent(tx: Tx, chat_id: uuid.UUID, message_id: int) -> str | None:
    """The key of the message the platform knows by this number in a chat, None where it was none of ours."""
    query = select(_OUTBOX.key).where(
        _OUTBOX.chat_id == chat_id, _OUTBOX.state == State.SENT.value, _OUTBOX.message_id == message_id
    )
    return tx.connection.scalar(query)


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
