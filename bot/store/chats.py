"""Chats on the platform, the invites that link them, and what a conversation waits for."""

import datetime as dt
import uuid
from typing import Any

from sqlalchemy import Row, bindparam, delete, func, insert, select, update

from bot.domain.people import Chat, Invite, Role
from bot.store import tables
from bot.store.base import INSTALLATION, Tx
from bot.store.ids import new_id
from bot.store.vault import Place

_CHAT = tables.chat.c
_INVITE = tables.invite.c
_TALK = tables.talk.c
# Built once, as they are asked at every turn: building a query costs more than running it.
_CHAT_OF = select(tables.chat).where(_CHAT.bot == bindparam("of_bot"), _CHAT.user_hash == bindparam("hashed"))
_CHAT_OF_OWNER = select(tables.chat).where(_CHAT.owner_id == bindparam("owner"))
_WAITING = select(_TALK.waiting, _TALK.since).where(_TALK.owner_id == bindparam("owner"))
_WAIT_NO_MORE = delete(tables.talk).where(_TALK.owner_id == bindparam("owner"))


def user_hash(tx: Tx, user_id: int) -> bytes:
    """By what a person of the platform is looked up."""
    return tx.hash("user", str(user_id))


def _chat(tx: Tx, row: Row[Any]) -> Chat:
    user_id = int(tx.open_text(Place("chat", row.id, "user_id"), row.user_id))
    return Chat(row.id, Role(row.role), row.owner_id, user_id, gone=row.gone_at is not None)


def chat_of(tx: Tx, bot: str, user_id: int, now: dt.datetime) -> Chat:
    """The chat with a person; one is made for a stranger who writes for the first time."""
    hashed = user_hash(tx, user_id)
    asked = {"of_bot": bot, "hashed": hashed}
    row = tx.connection.execute(_CHAT_OF, asked).first()
    if row is None:
        chat_id = new_id(now)
        values = {
            "id": chat_id,
            "bot": bot,
            "user_hash": hashed,
            "user_id": tx.seal(INSTALLATION, Place("chat", chat_id, "user_id"), str(user_id)),
            "role": Role.STRANGER.value,
        }
        tx.put_once(tables.chat, values, "bot", "user_hash")
        row = tx.connection.execute(_CHAT_OF, asked).one()
    return _chat(tx, row)


def chat_of_owner(tx: Tx, owner_id: uuid.UUID) -> Chat | None:
    """The chat a client, therapist or fallback contact is linked by, None before she opened her invite."""
    row = tx.connection.execute(_CHAT_OF_OWNER, {"owner": owner_id}).first()
    return None if row is None else _chat(tx, row)


def link(tx: Tx, chat: Chat, role: Role, owner_id: uuid.UUID, now: dt.datetime) -> Chat:
    """Link a chat to a person; her number is sealed with her own key from here on.

    A person has one chat: the earlier one is unlinked first.
    """
    sealed = tx.seal(owner_id, Place("chat", chat.id, "user_id"), str(chat.user_id))
    tx.connection.execute(
        update(tables.chat)
        .where(_CHAT.id == chat.id)
        .values(role=role.value, owner_id=owner_id, user_id=sealed, linked_at=now, gone_at=None),
    )
    return Chat(chat.id, role, owner_id, chat.user_id)


def unlink(tx: Tx, owner_id: uuid.UUID) -> None:
    """Cut the link of a person's chat; the chat is a stranger's again."""
    for row in tx.connection.execute(select(tables.chat).where(_CHAT.owner_id == owner_id)).all():
        plain = tx.open(Place("chat", row.id, "user_id"), row.user_id)
        sealed = tx.seal(INSTALLATION, Place("chat", row.id, "user_id"), plain)
        tx.connection.execute(
            update(tables.chat)
            .where(_CHAT.id == row.id)
            .values(role=Role.STRANGER.value, owner_id=None, user_id=sealed, linked_at=None),
        )


def set_gone(tx: Tx, chat_id: uuid.UUID, gone_at: dt.datetime | None) -> bool:
    """Mark a chat as unreachable, or as back; tells whether that was news."""
    changed = _CHAT.gone_at.is_(None) if gone_at is not None else _CHAT.gone_at.is_not(None)
    statement = update(tables.chat).where(_CHAT.id == chat_id, changed).values(gone_at=gone_at)
    return tx.connection.execute(statement).rowcount == 1


def add_invite(
    tx: Tx,
    invite: Invite,
    code: str,
    fact: str,
    now: dt.datetime,
) -> None:
    """Keep an invite; its code and second fact are kept as keyed hashes only.

    An earlier open invite of the same person is withdrawn, so that one link works at a time.
    """
    withdraw_invites(tx, invite.subject_id, now)
    tx.connection.execute(
        insert(tables.invite).values(
            id=invite.id,
            code_hash=tx.hash("invite", code),
            role=invite.role.value,
            subject_id=invite.subject_id,
            fact_hash=tx.hash("fact", fact),
            made_at=now,
            expires_at=invite.expires_at,
            tries=0,
        ),
    )


def withdraw_invites(tx: Tx, subject_id: uuid.UUID, now: dt.datetime) -> None:
    """Let a person's open invites work no longer."""
    tx.connection.execute(
        update(tables.invite)
        .where(_INVITE.subject_id == subject_id, _INVITE.closed_at.is_(None))
        .values(closed_at=now, closed_as="withdrawn"),
    )


def _invite(row: Row[Any]) -> Invite:
    return Invite(
        id=row.id,
        role=Role(row.role),
        subject_id=row.subject_id,
        expires_at=row.expires_at,
        tries=row.tries,
        closed=row.closed_at is not None,
    )


def invite_by_code(tx: Tx, code: str) -> Invite | None:
    """The invite a code belongs to."""
    row = tx.connection.execute(
        select(tables.invite).where(_INVITE.code_hash == tx.hash("invite", code)),
    ).first()
    return None if row is None else _invite(row)


def has_open_invite(tx: Tx, subject_id: uuid.UUID) -> bool:
    """Whether a person has an invite that was not used, withdrawn or refused."""
    query = select(_INVITE.id).where(_INVITE.subject_id == subject_id, _INVITE.closed_at.is_(None)).limit(1)
    return tx.connection.execute(query).first() is not None


def invite_opened_by(tx: Tx, user_id: int) -> Invite | None:
    """The open invite a person has opened and whose second fact she still owes."""
    query = (
        select(tables.invite)
        .where(_INVITE.opened_by == user_hash(tx, user_id), _INVITE.closed_at.is_(None))
        .order_by(_INVITE.made_at.desc())
    )
    row = tx.connection.execute(query).first()
    return None if row is None else _invite(row)


def open_invite(tx: Tx, invite_id: uuid.UUID, user_id: int) -> None:
    """Keep who opened an invite while the second fact is outstanding."""
    tx.connection.execute(
        update(tables.invite).where(_INVITE.id == invite_id).values(opened_by=user_hash(tx, user_id)),
    )


def fact_fits(tx: Tx, invite_id: uuid.UUID, fact: str) -> bool:
    """Whether the second fact is right; a wrong one counts as a try."""
    stored = tx.connection.scalar(select(_INVITE.fact_hash).where(_INVITE.id == invite_id))
    if stored == tx.hash("fact", fact):
        return True
    tx.connection.execute(
        update(tables.invite).where(_INVITE.id == invite_id).values(tries=_INVITE.tries + 1),
    )
    return False


def close_invite(tx: Tx, invite_id: uuid.UUID, how: str, now: dt.datetime) -> bool:
    """Close an invite as `used` or `refused`; False when somebody else closed it first."""
    statement = (
        update(tables.invite)
        .where(_INVITE.id == invite_id, _INVITE.closed_at.is_(None))
        .values(closed_at=now, closed_as=how)
    )
    return tx.connection.execute(statement).rowcount == 1


def add_wrong_code(tx: Tx, chat_id: uuid.UUID, now: dt.datetime) -> None:
    """Keep that a chat tried an invite code that does not work."""
    tx.connection.execute(insert(tables.wrong_code).values(id=new_id(now), chat_id=chat_id, at=now))


def wrong_codes(tx: Tx, chat_id: uuid.UUID, since: dt.datetime) -> int:
    """How many wrong codes a chat has tried since an instant."""
    table = tables.wrong_code.c
    return tx.connection.scalar(select(func.count()).where(table.chat_id == chat_id, table.at > since)) or 0


def waiting(tx: Tx, owner_id: uuid.UUID, since: dt.datetime | None = None) -> dict[str, Any] | None:
    """What the conversation with a person waits for; with `since` only if it began to wait after that."""
    row = tx.connection.execute(_WAITING, {"owner": owner_id}).first()
    if row is None or (since is not None and row.since <= since):
        return None
    found: dict[str, Any] = tx.open_json(Place("talk", owner_id, "waiting"), row.waiting)
    return found


def wait(tx: Tx, owner_id: uuid.UUID, what: dict[str, Any] | None, now: dt.datetime) -> None:
    """Set what the conversation waits for next, None for nothing."""
    tx.connection.execute(_WAIT_NO_MORE, {"owner": owner_id})
    if what is not None:
        sealed = tx.seal_json(owner_id, Place("talk", owner_id, "waiting"), what)
        tx.connection.execute(insert(tables.talk).values(owner_id=owner_id, waiting=sealed, since=now))


def gone_since(tx: Tx, owner_ids: list[uuid.UUID]) -> dict[uuid.UUID, dt.datetime]:
    """Since when some people cannot be reached in chat; those who can are missing."""
    query = select(_CHAT.owner_id, _CHAT.gone_at).where(
        _CHAT.owner_id.in_(owner_ids),
        _CHAT.gone_at.is_not(None),
    )
    return {row.owner_id: row.gone_at for row in tx.connection.execute(query)}
