"""From the platform's update to what a person did."""

import datetime as dt
import json
import warnings
from typing import Any

from telegram import Message, Update
from telegram.constants import ChatType
from telegram.warnings import PTBUserWarning

from bot.conversation.incoming import Body, Command, Incoming, InGroup, Media, Other, Press, Reachable, Text

MEDIA = (
    "photo",
    "voice",
    "video",
    "video_note",
    "audio",
    "document",
    "sticker",
    "animation",
    "contact",
    "location",
)
GONE = ("kicked", "left", "banned")


def sender_of(update: dict[str, Any]) -> int | None:
    """The platform's number of the person behind an update, read without any parsing that could fail."""
    for part in update.values():
        if isinstance(part, dict):
            sender = part.get("from")
            if isinstance(sender, dict) and isinstance(sender.get("id"), int):
                number: int = sender["id"]
                return number
    return None


def parse(raw: bytes, received_at: dt.datetime) -> Incoming:
    """What a person did; raises what the library raises for an update that is none."""
    document = json.loads(raw)
    with warnings.catch_warnings():
        warnings.simplefilter("ignore", PTBUserWarning)
        update = Update.de_json(document, None)
    sender = update.effective_user.id if update.effective_user is not None else sender_of(document)
    if update.callback_query is not None:
        query = update.callback_query
        message_id = query.message.message_id if query.message is not None else None
        chat = query.message.chat if query.message is not None else None
        if chat is not None and chat.type != ChatType.PRIVATE:
            return Incoming(sender, received_at, InGroup(chat.id))
        return Incoming(sender, received_at, Press(query.id, query.data or "", message_id))
    if update.my_chat_member is not None:
        change = update.my_chat_member
        if change.chat.type != ChatType.PRIVATE:
            return Incoming(sender, received_at, Other("membership"))
        return Incoming(sender, received_at, Reachable(change.new_chat_member.status not in GONE))
    message = update.message or update.edited_message
    if message is None:
        return Incoming(sender, received_at, Other("update"))
    if message.chat.type != ChatType.PRIVATE:
        return Incoming(sender, received_at, InGroup(message.chat.id))
    edited = update.edited_message is not None
    said_at = (message.edit_date if edited else None) or message.date
    return Incoming(sender, said_at.astimezone(dt.UTC), _body(message, edited))


def _body(message: Message, edited: bool) -> Body:
    if message.text is not None:
        if message.text.startswith("/") and not edited:
            return _command(message.text)
        return Text(message.text, edited)
    for kind in MEDIA:
        if getattr(message, kind, None):
            return Media(kind.replace("_", " "), message.caption or "", edited)
    return Other("message")


def _command(text: str) -> Body:
    name, _, argument = text[1:].partition(" ")
    name = name.partition("@")[0]
    if not name.replace("_", "").isalnum():
        return Text(text)
    return Command(name.lower(), argument.strip())
