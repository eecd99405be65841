"""What waits in the outbox for a person whose chat has changed, or who takes no part any more."""

import datetime as dt
import uuid

from sqlalchemy import update

from bot.domain.delivery import Kind, State
from bot.store import tables
from bot.store.base import Tx

_OUTBOX = tables.outbox.c


def follow(tx: Tx, from_chat: uuid.UUID, to_chat: uuid.UUID | None, now: dt.datetime) -> int:
    """What waits for a chat goes to its person's new one, or nowhere; tells how many messages went along.

    Small acts and answers are about what stands in the old chat, and are let go of; so is everything where
    there is no new chat.
    """
    waiting = (_OUTBOX.chat_id == from_chat, _OUTBOX.state == State.QUEUED.value)
    moved = 0
    if to_chat is not None:
        stays = [Kind.TOUCH.value, Kind.REPLY.value]
        moved = tx.connection.execute(
            update(tables.outbox).where(*waiting, _OUTBOX.kind.not_in(stays)).values(chat_id=to_chat)
        ).rowcount
    tx.connection.execute(
        update(tables.outbox).where(*waiting).values(state=State.EXPIRED.value, settled_at=now)
    )
    return moved


def drop_unasked(tx: Tx, chat_id: uuid.UUID, now: dt.datetime) -> int:
    """Let go of what waits for a chat unasked: its person takes no part any more."""
    statement = (
        update(tables.outbox)
        .where(
            _OUTBOX.chat_id == chat_id,
            _OUTBOX.state == State.QUEUED.value,
            _OUTBOX.kind == Kind.NUDGE.value,
        )
        .values(state=State.EXPIRED.value, settled_at=now)
    )
    return tx.connection.execute(statement).rowcount
