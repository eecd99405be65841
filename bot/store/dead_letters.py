"""Messages that came to no good end, and updates that nobody could handle: listed, and sent once more."""

import datetime as dt
import uuid
from collections.abc import Sequence
from dataclasses import dataclass

from sqlalchemy import func, select, update

from bot.domain.delivery import POLICIES, Kind, State
from bot.store import tables, wake
from bot.store.base import Tx

_OUTBOX = tables.outbox.c
_CHAT = tables.chat.c
_INBOX = tables.inbox.c
ENDED_BADLY = (State.REFUSED.value, State.UNKNOWN.value, State.EXPIRED.value)


@dataclass(frozen=True, slots=True)
class DeadLetter:
    """A message that was not, or perhaps not, delivered. whose: the code of its client or colleague.

    state: refused, unknown, expired, or set_aside for an update that failed three times. gone: the chat
    cannot be reached, so that nothing goes there until its person writes.
    """

    id: uuid.UUID
    kind: str
    whose: str
    state: str
    reason: str
    attempts: int
    at: dt.datetime
    gone: bool


def listed(tx: Tx, kinds: Sequence[Kind], limit: int) -> list[DeadLetter]:
    """The newest of these kinds, oldest first among them."""
    code = func.coalesce(tables.client.c.code, tables.staff.c.code, "")
    query = (
        select(tables.outbox, _CHAT.gone_at, code.label("code"))
        .join(tables.chat, _CHAT.id == _OUTBOX.chat_id)
        .outerjoin(tables.client, tables.client.c.id == _CHAT.owner_id)
        .outerjoin(tables.staff, tables.staff.c.id == _CHAT.owner_id)
        .where(_OUTBOX.state.in_(ENDED_BADLY), _OUTBOX.kind.in_([kind.value for kind in kinds]))
        .order_by(_OUTBOX.id.desc())
        .limit(limit)
    )
    found = [
        DeadLetter(
            row.id,
            row.kind,
            row.code,
            row.state,
            row.reason or "",
            row.attempt,
            row.put_at,
            row.gone_at is not None,
        )
        for row in tx.connection.execute(query)
    ]
    return found[::-1]


def set_aside(tx: Tx, limit: int) -> list[DeadLetter]:
    """The newest updates that failed three times; they are kept as they came."""
    code = func.coalesce(tables.client.c.code, tables.staff.c.code, "")
    query = (
        select(_INBOX.id, _INBOX.tries, _INBOX.received_at, code.label("code"))
        .outerjoin(tables.chat, (_CHAT.user_hash == _INBOX.sender_hash) & (_CHAT.bot == _INBOX.bot))
        .outerjoin(tables.client, tables.client.c.id == _CHAT.owner_id)
        .outerjoin(tables.staff, tables.staff.c.id == _CHAT.owner_id)
        .where(_INBOX.state == "set_aside")
        .order_by(_INBOX.id.desc())
        .limit(limit)
    )
    found = [
        DeadLetter(
            row.id, "update", row.code, "set_aside", "failed three times", row.tries, row.received_at, False
        )
        for row in tx.connection.execute(query)
    ]
    return found[::-1]


def send_again(tx: Tx, letter_id: uuid.UUID, kind: Kind, now: dt.datetime) -> bool:
    """Queue a message once more, its tries and lifetime begun anew; False when it is no dead letter."""
    lifetime = POLICIES[kind].lifetime
    statement = (
        update(tables.outbox)
        .where(_OUTBOX.id == letter_id, _OUTBOX.kind == kind.value, _OUTBOX.state.in_(ENDED_BADLY))
        .values(
            state=State.QUEUED.value,
            attempt=0,
            not_before=now,
            put_at=now,
            expires_at=None if lifetime is None else now + lifetime,
            settled_at=None,
            reason=None,
        )
    )
    tx.wake(wake.OUTBOX)
    return tx.connection.execute(statement).rowcount == 1


def kind_of(tx: Tx, letter_id: uuid.UUID) -> Kind | None:
    """Of what kind a message is; None when there is none with this id."""
    found = tx.connection.scalar(select(_OUTBOX.kind).where(_OUTBOX.id == letter_id))
    return None if found is None else Kind(found)


def retry_update(tx: Tx, update_id: uuid.UUID) -> bool:
    """Have an update that was set aside handled once more; False when there is none with this id."""
    statement = (
        update(tables.inbox)
        .where(_INBOX.id == update_id, _INBOX.state == "set_aside")
        .values(state="new", tries=0, settled_at=None, worker=None, lease_until=None)
    )
    tx.wake(wake.INBOX)
    return tx.connection.execute(statement).rowcount == 1
