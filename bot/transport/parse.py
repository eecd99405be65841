"""From the platform's update to what a person did.

Read by hand and field by field: only these few matter here, and no odd entity or new kind of attachment may
keep us from the words beside it.
"""

import datetime as dt
import json
import re
from typing import Any

from bot.conversation.incoming import (
    Attached,
    Body,
    Command,
    Incoming,
    InGroup,
    Media,
    Other,
    Press,
    Reachable,
    Text,
)
from bot.errors import BotError

Json = dict[str, Any]

MEDIA = (
    "photo", "voice", "video", "video_note", "audio", "animation", "document", "sticker", "contact", "venue",
    "location", "poll", "dice", "story", "checklist",
)  # fmt: skip
# What the platform notes in a private chat. Whatever else has no words is taken for something she sent.
SERVICE = (
    "pinned_message", "message_auto_delete_timer_changed", "write_access_allowed", "users_shared",
    "chat_shared", "connected_website", "chat_background_set", "new_chat_members", "left_chat_member",
    "boost_added",
)  # fmt: skip
GONE = ("kicked", "left")
PRIVATE = "private"
# Bot API, BotCommand and deep links: the name's letters; in a group the bot's own name may follow it.
_COMMAND = re.compile(r"/([A-Za-z0-9_]{1,32})(?:@\w+)?(?:\s+(.*))?", re.DOTALL)


class UnreadableUpdateError(BotError):
    """An update that is not of the platform's shape; its text names the part, never what stood there."""


def sender_of(update: object) -> int | None:
    """The platform's number of the person behind an update; for whatever is no update, None."""
    if not isinstance(update, dict):
        return None
    for part in update.values():
        sender = part.get("from") if isinstance(part, dict) else None
        number = sender.get("id") if isinstance(sender, dict) else None
        if type(number) is int:
            return number
    return None


def parse(raw: bytes, received_at: dt.datetime) -> Incoming:
    """What a person did; raises UnreadableUpdateError for what is no update of the platform's."""
    try:
        update = json.loads(raw)
    except (ValueError, RecursionError):
        raise UnreadableUpdateError("not JSON") from None
    if not isinstance(update, dict):
        raise UnreadableUpdateError("not an object")
    sender = sender_of(update)
    for kind, edited in (("message", False), ("edited_message", True)):
        if kind in update:
            return _message(_object(update, kind), sender, received_at, edited)
    if "callback_query" in update:
        return Incoming(sender, received_at, _press(_object(update, "callback_query")))
    if "my_chat_member" in update:
        return Incoming(sender, received_at, _membership(_object(update, "my_chat_member")))
    kinds = [name for name in update if name != "update_id"]
    return Incoming(sender, received_at, Other(kinds[0] if kinds else "nothing"))


def _object(holder: Json, name: str) -> Json:
    found = holder.get(name)
    if not isinstance(found, dict):
        raise UnreadableUpdateError(f"{name}: not an object")
    return found


def _number(holder: Json, name: str) -> int:
    found = holder.get(name)
    if type(found) is not int:
        raise UnreadableUpdateError(f"{name}: not a number")
    return found


def _words(holder: Json, name: str) -> str | None:
    """A text; half a character, as a broken client may send it, becomes the mark for one."""
    found = holder.get(name)
    if not isinstance(found, str):
        return None
    return found.encode("utf-16-le", "surrogatepass").decode("utf-16-le", "replace")


def _is_private(chat: Json) -> bool:
    return chat.get("type") == PRIVATE


def _message(message: Json, sender: int | None, received_at: dt.datetime, edited: bool) -> Incoming:
    chat = _object(message, "chat")
    said_at = _said_at(message, received_at, edited)
    if not _is_private(chat):
        return Incoming(sender, said_at, InGroup(_number(chat, "id")))
    return Incoming(sender, said_at, _body(message, edited))


def _said_at(message: Json, received_at: dt.datetime, edited: bool) -> dt.datetime:
    """The message's own date; without a usable one, when it came in."""
    seconds = (message.get("edit_date") if edited else None) or message.get("date")
    try:
        return dt.datetime.fromtimestamp(seconds, dt.UTC)  # type: ignore[arg-type] # the TypeError is caught
    except (TypeError, ValueError, OverflowError, OSError):
        return received_at


def _body(message: Json, edited: bool) -> Body:
    text = _words(message, "text")
    if text is not None:
        number = _number(message, "message_id")
        return Text(text, edited, number) if edited else _text_or_command(text, number, _replied(message))
    caption = _words(message, "caption") or ""
    for kind in MEDIA:
        if kind in message:
            file = _attached(message[kind]) if kind == "document" else None
            return Media(kind.replace("_", " "), caption, edited, file)
    if not caption and any(kind in message for kind in SERVICE):
        return Other("message")
    return Media("message", caption, edited)


def _replied(message: Json) -> int | None:
    """The number of the message this one replies to."""
    replied = message.get("reply_to_message")
    number = replied.get("message_id") if isinstance(replied, dict) else None
    return number if type(number) is int else None


def _attached(document: object) -> Attached | None:
    """Where a document can be fetched; None for one without an id."""
    if not isinstance(document, dict) or not isinstance(document.get("file_id"), str):
        return None
    size = document.get("file_size")
    name = _words(document, "file_name") or ""
    return Attached(document["file_id"], name, size if type(size) is int else None)


def _text_or_command(text: str, message_id: int, replies_to: int | None) -> Body:
    found = _COMMAND.fullmatch(text)
    if found is None:
        return Text(text, message_id=message_id, replies_to=replies_to)
    name, argument = found.groups(default="")
    return Command(name.lower(), argument.strip())


def _press(query: Json) -> Body:
    # An old message comes as a stub, and one that was passed on in another chat not at all.
    message = _object(query, "message") if "message" in query else {}
    chat = message.get("chat")
    if isinstance(chat, dict) and not _is_private(chat):
        return InGroup(_number(chat, "id"))
    message_id = _number(message, "message_id") if message else None
    # A button under a message that was sent inline is none of ours: the bot sends nothing inline.
    data = "" if "inline_message_id" in query else _words(query, "data") or ""
    return Press(_words(query, "id") or "", data, message_id)


def _membership(change: Json) -> Body:
    if not _is_private(_object(change, "chat")):
        return Other("membership")
    return Reachable(_object(change, "new_chat_member").get("status") not in GONE)
