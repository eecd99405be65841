"""What the room holds, in the shapes of the public Bot API."""

import datetime as dt

from demo.room import keyboards
from demo.room.shapes import Json
from demo.room.state import Chat, Media, Message, Person

BOT_USERNAME = "home_programme_demo_bot"


def bot(bot_id: int) -> Json:
    """What getMe answers."""
    return {
        "id": bot_id,
        "is_bot": True,
        "first_name": "Home programme",
        "username": BOT_USERNAME,
        "can_join_groups": True,
        "can_read_all_group_messages": True,
        "supports_inline_queries": False,
    }


def user(person: Person) -> Json:
    """A person as a User object; the language is left out where the person's app gives none."""
    shape: Json = {"id": person.id, "is_bot": False, "first_name": person.name}
    if person.language_code:
        shape["language_code"] = person.language_code
    return shape


def chat(place: Chat, person: Person | None) -> Json:
    """A Chat object; `person` is the other side of a private chat."""
    if place.kind == "private" and person is not None:
        return {"id": place.id, "type": "private", "first_name": person.name}
    return {"id": place.id, "type": place.kind, "title": place.title}


def seconds(at: dt.datetime) -> int:
    """An instant as the platform writes it: whole seconds."""
    return int(at.timestamp())


def media(item: Media) -> Json:
    """The fields a message carries for its file."""
    base: Json = {"file_id": item.file_id, "file_unique_id": item.file_unique_id, "file_size": item.size}
    match item.kind:
        case "photo":
            return {"photo": [{**base, "width": item.width, "height": item.height}]}
        case "document":
            return {"document": {**base, "file_name": item.name, "mime_type": item.mime}}
        case "voice":
            return {"voice": {**base, "duration": item.duration_s, "mime_type": item.mime}}
        case "video":
            size: Json = {"width": item.width, "height": item.height}
            return {"video": {**base, **size, "duration": item.duration_s, "mime_type": item.mime}}
        case "sticker":
            kind: Json = {"type": "regular", "is_animated": False, "is_video": False}
            return {"sticker": {**base, **kind, "width": item.width, "height": item.height}}


def message(item: Message, sender: Json, place: Json) -> Json:
    """A Message object. `sender` and `place` are the User and Chat objects it stands in."""
    shape: Json = {
        "message_id": item.message_id,
        "from": sender,
        "chat": place,
        "date": seconds(item.sent_at),
    }
    if item.edited_at is not None:
        shape["edit_date"] = seconds(item.edited_at)
    if item.forwarded_from is not None:
        shape["forward_origin"] = {
            "type": "hidden_user",
            "sender_user_name": item.forwarded_from,
            "date": seconds(item.sent_at),
        }
    marks = [entity.wire() for entity in item.entities]
    if item.media is not None:
        shape |= media(item.media)
        if item.caption:
            shape["caption"] = item.caption
            if marks:
                shape["caption_entities"] = marks
    else:
        shape["text"] = item.text
        if marks:
            shape["entities"] = marks
    if item.keyboard:
        shape["reply_markup"] = keyboards.write(item.keyboard)
    if item.protected:
        shape["has_protected_content"] = True
    return shape


def inaccessible(item: Message, place: Json) -> Json:
    """The stub a press on a message carries when the platform no longer gives the message itself."""
    return {"message_id": item.message_id, "chat": place, "date": 0}


def membership(person: Json, place: Json, at: dt.datetime, bot_user: Json, change: tuple[str, str]) -> Json:
    """A ChatMemberUpdated object for the bot itself; `change` is the old status and the new one."""
    old, new = (_member(bot_user, status) for status in change)
    return {
        "chat": place,
        "from": person,
        "date": seconds(at),
        "old_chat_member": old,
        "new_chat_member": new,
    }


def _member(bot_user: Json, status: str) -> Json:
    shape: Json = {"user": bot_user, "status": status}
    return {**shape, "until_date": 0} if status == "kicked" else shape
