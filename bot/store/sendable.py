"""The statements that find what can be sent now, and mark it.

Each is built once: building a statement costs more than running it.
"""

import datetime as dt
import functools
import uuid
from collections.abc import Sequence
from typing import Any

from sqlalchemy import ColumnElement, Integer, Select, bindparam, exists, or_, select, update
from sqlalchemy.sql.dml import ReturningUpdate

from bot.domain.delivery import CHAT_SPACING, POLICIES, Kind, State
from bot.store import tables
from bot.store.types import Instant

_OUTBOX = tables.outbox.c
_CHAT = tables.chat.c
_AT = bindparam("at", type_=Instant)
_SPACED_BY = bindparam("spaced_by", type_=Instant)  # no chat's pause can end later, or the clock was set back


def values(bot: str, now: dt.datetime) -> dict[str, dt.datetime | str]:
    """What every statement here has to be given."""
    return {"of_bot": bot, "at": now, "spaced_by": now + CHAT_SPACING}


def _may_go() -> tuple[ColumnElement[bool], ...]:
    """What a queued message, joined with its chat, has to be to go now."""
    unspaced = [kind.value for kind in Kind if not POLICIES[kind].spaced]
    # What is at least as urgent and on its way to the same chat arrives first: a question never overtakes
    # its advice. A nudge that hangs holds up no advice.
    on_the_way = tables.outbox.alias("on_the_way")
    overtakes = exists().where(
        on_the_way.c.chat_id == _OUTBOX.chat_id,
        on_the_way.c.state == State.SENDING.value,
        on_the_way.c.priority <= _OUTBOX.priority,
        on_the_way.c.lease_until > _AT,
    )
    return (
        _CHAT.bot == bindparam("of_bot"),
        ~overtakes.correlate(tables.outbox),
        _OUTBOX.not_before <= _AT,
        or_(_OUTBOX.expires_at.is_(None), _OUTBOX.expires_at > _AT),
        _CHAT.gone_at.is_(None),
        or_(
            _OUTBOX.kind.in_(unspaced),
            _CHAT.free_at.is_(None),
            _CHAT.free_at <= _AT,
            _CHAT.free_at > _SPACED_BY,
        ),
    )


def _sendable(kinds: Sequence[Kind]) -> tuple[ColumnElement[bool], ...]:
    """What a message has to be to go now, as one of these kinds."""
    priorities = [POLICIES[kind].priority for kind in kinds]
    return (
        _OUTBOX.state == State.QUEUED.value,
        _OUTBOX.priority.between(min(priorities), max(priorities)),  # so that the index is read in order
        _OUTBOX.kind.in_([kind.value for kind in kinds]),
        *_may_go(),
    )


@functools.cache
def any_of(kinds: tuple[Kind, ...]) -> Select[tuple[uuid.UUID]]:
    """One message that could go."""
    return select(_OUTBOX.id).join(tables.chat, _CHAT.id == _OUTBOX.chat_id).where(*_sendable(kinds)).limit(1)


@functools.cache
def in_order(kinds: tuple[Kind, ...]) -> Select[tuple[uuid.UUID, uuid.UUID]]:
    """Up to `most` messages that could go and their chats, most urgent first, also several of one chat.

    Asking each row whether its chat has an earlier one would be shorter; but a planner that thinks the queue
    short, as it does at the beginning of a burst, then reads the whole queue for each.
    """
    return (
        select(_OUTBOX.id, _OUTBOX.chat_id)
        .join(tables.chat, _CHAT.id == _OUTBOX.chat_id)
        .where(*_sendable(kinds))
        .order_by(_OUTBOX.priority, _OUTBOX.id)
        .limit(bindparam("most", type_=Integer))
    )


@functools.cache
def marking() -> ReturningUpdate[Any]:
    """Locks those of the `chosen` messages that nobody took meanwhile, with their chats, and marks them.

    `taken_by` and `lease_end` say who holds them and until when.
    """
    locked = (
        select(_OUTBOX.id)
        .join(tables.chat, _CHAT.id == _OUTBOX.chat_id)
        .where(
            _OUTBOX.id.in_(bindparam("chosen", expanding=True)),
            _OUTBOX.state.concat("") == State.QUEUED.value,  # looked up by id, never by state
            *_may_go(),
        )
        .with_for_update(skip_locked=True, key_share=True)
        .cte("locked")
        .prefix_with("MATERIALIZED", dialect="postgresql")
    )
    return (
        update(tables.outbox)
        .where(_OUTBOX.id.in_(select(locked.c.id)))
        .values(
            state=State.SENDING.value,
            worker=bindparam("taken_by"),
            lease_until=bindparam("lease_end"),
            taken_at=_AT,
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
