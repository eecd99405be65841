"""Putting messages into the outbox."""

import datetime as dt
import uuid
from dataclasses import replace

from bot.conversation.speech import Say, to_json
from bot.domain.delivery import Kind
from bot.domain.people import Chat, Role
from bot.store import chats, outbox, people
from bot.store.base import Tx
from bot.store.outbox import Letter


def put_say(
    tx: Tx,
    chat: Chat,
    say: Say,
    key: str,
    now: dt.datetime,
    expires_at: dt.datetime | None = None,
    not_before: dt.datetime | None = None,
) -> bool:
    """Put a sentence for a chat under a unique key; False when it was put before.

    One that waits (`not_before`) lives from then on.
    """
    if not_before is not None and expires_at is None:
        expires_at = not_before + dt.timedelta(days=2)
    letter = Letter(
        key,
        chat.id,
        chat.owner_id,
        say.kind,
        to_json(say),
        not_before=not_before,
        expires_at=expires_at,
    )
    return outbox.put(tx, letter, now)


def put_for_owner(
    tx: Tx,
    owner_id: uuid.UUID,
    say: Say,
    key: str,
    now: dt.datetime,
    not_before: dt.datetime | None = None,
) -> bool:
    """The same for a person; False also when she has no chat linked."""
    chat = chats.chat_of_owner(tx, owner_id)
    return chat is not None and put_say(tx, chat, say, key, now, not_before=not_before)


def take_buttons(tx: Tx, chat: Chat, message_id: int, now: dt.datetime) -> None:
    """Take the buttons off a message of ours."""
    content = {"method": "clear", "message_id": message_id}
    key = f"clear:{chat.id.hex}:{message_id}"
    outbox.put(tx, Letter(key, chat.id, chat.owner_id, Kind.TOUCH, content), now)


def rewrite(tx: Tx, chat: Chat, message_id: int, say: Say, key: str, now: dt.datetime) -> None:
    """Change a message of ours in place."""
    content = {**to_json(replace(say, kind=Kind.REPLY)), "method": "edit", "message_id": message_id}
    outbox.put(tx, Letter(key, chat.id, chat.owner_id, Kind.REPLY, content), now)


def answer_press(tx: Tx, chat: Chat, press_id: str, now: dt.datetime) -> None:
    """Tell the platform that a press has been taken, so that the button stops turning."""
    content = {"method": "answer", "press_id": press_id}
    outbox.put(tx, Letter(f"press:{press_id}"[:120], chat.id, chat.owner_id, Kind.TOUCH, content), now)


def put_menu(
    tx: Tx, chat: Chat, commands: dict[str, str], key: str, now: dt.datetime, language: str = "en"
) -> None:
    """Set the command menu of one chat, in its person's language: command name to sentence id."""
    content = {"method": "menu", "commands": commands, "language": language}
    outbox.put(tx, Letter(key, chat.id, chat.owner_id, Kind.TOUCH, content), now)


def lose(tx: Tx, chat_id: uuid.UUID, role: Role, owner_id: uuid.UUID | None, now: dt.datetime) -> None:
    """A chat cannot be reached any more; a client's therapist is told, once each time it happens."""
    if not chats.set_gone(tx, chat_id, now) or role is not Role.CLIENT or owner_id is None:
        return
    client = people.client_by_id(tx, owner_id)
    clinic = people.clinic_by_id(tx, client.clinic_id)
    say = Say("staff.client_gone", {"client": client.label(clinic.labels)})
    put_for_owner(tx, client.therapist_id, say, f"gone:{client.id.hex}:{now:%Y%m%d%H%M%S}", now)
