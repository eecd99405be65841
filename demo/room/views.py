"""How the page and the Python client see people, messages and updates."""

from demo.room import text
from demo.room.shapes import Json, iso
from demo.room.state import Keyboard, Message, People, Person
from demo.room.updates import Pending


def person(who: Person) -> Json:
    """One person for the list of people."""
    return {
        "id": who.id,
        "name": who.name,
        "language_code": who.language_code,
        "started": who.started,
        "blocked": who.blocked,
        "deactivated": who.deactivated,
    }


def message(people: People, bot_id: int, item: Message) -> Json:
    """One message with all that a person would see of it, its buttons gone or pressed included."""
    shown = item.caption if item.media else item.text
    from_bot = item.sender_id == bot_id
    return {
        "chat": item.chat_id,
        "message_id": item.message_id,
        "from_bot": from_bot,
        "sender": "bot" if from_bot else people.persons[item.sender_id].name,
        "sender_id": item.sender_id,
        "at": iso(item.sent_at),
        "edited_at": iso(item.edited_at) if item.edited_at else None,
        "reworded_at": iso(item.reworded_at) if item.reworded_at else None,
        "text": item.text,
        "caption": item.caption,
        "entities": [entity.wire() for entity in item.entities],
        "media": _media(item),
        "buttons": _buttons(item.keyboard),
        "gone_buttons": _buttons(item.former_keyboard),
        "pressed": [
            {"data": press.data, "label": press.label, "at": iso(press.at)} for press in item.presses
        ],
        "silent": item.silent,
        "protected": item.protected,
        "reply_to": item.reply_to,
        "forwarded_from": item.forwarded_from,
        "deleted": item.deleted,
        "preview": text.preview(shown) or (item.media.kind.capitalize() if item.media else ""),
    }


def _buttons(keyboard: Keyboard) -> list[list[Json]]:
    return [
        [{"text": button.text, "data": button.data, "url": button.url} for button in row] for row in keyboard
    ]


def _media(item: Message) -> Json | None:
    if item.media is None:
        return None
    return {
        "kind": item.media.kind,
        "url": f"/room/files/{item.media.file_id}",
        "name": item.media.name,
        "mime": item.media.mime,
        "size": item.media.size,
        "width": item.media.width,
        "height": item.media.height,
    }


def update_content(pending: Pending) -> Json:
    """What an update says, without the frame around it; for the record file."""
    body = pending.body
    kept = ("text", "caption", "message_id", "data", "id")
    content: Json = {name: body[name] for name in kept if name in body}
    media = [kind for kind in ("photo", "document", "voice", "video", "sticker") if kind in body]
    if media:
        content["media"] = media[0]
    pressed_on = body.get("message")
    if isinstance(pressed_on, dict):
        content["message_id"] = pressed_on["message_id"]
    changed_to = body.get("new_chat_member")
    if isinstance(changed_to, dict):
        content["status"] = changed_to["status"]
    return content
