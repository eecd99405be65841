"""The methods a bot calls to write, change and take back messages."""

from collections.abc import Callable
from dataclasses import dataclass, field

from demo.room import files, keyboards, text, wire
from demo.room.args import Args
from demo.room.room import Room
from demo.room.shapes import Json, bad_request, too_many_requests
from demo.room.state import DELETE_LIMIT, Chat, Keyboard, Media, Message
from demo.room.text import Entity

ANSWER_WITHIN_S = 15  # a press can be answered for about this long
ANSWER_LIMIT = 200  # Bot API, answerCallbackQuery: 0-200 characters


@dataclass
class Call:
    """One call while it is worked on. `notes` gathers what the record file shows of it."""

    room: Room
    method: str
    args: Args
    notes: Json = field(default_factory=dict)

    def chat_id(self) -> int:
        """The chat meant. Names of public chats are unknown here. Raises a 400."""
        value = self.args.text("chat_id")
        try:
            return int(value)
        except ValueError as error:
            raise bad_request("chat not found" if value else "chat_id is empty") from error

    def chat(self) -> Chat:
        """The chat, if the bot may write there. Raises 400 or 403."""
        return self.room.people.chat_for_bot(self.chat_id())

    def keyboard(self) -> Keyboard:
        """The buttons asked for. Raises a 400."""
        keyboard = keyboards.read(self.args.json("reply_markup"))
        self.notes["buttons"] = keyboards.write(keyboard)["inline_keyboard"] if keyboard else None
        return keyboard

    def own_message(self, missing: str) -> Message:
        """The bot's message meant by `message_id`. Raises a 400."""
        message = self.chat().find(self.args.must_whole("message_id"), missing)
        self.notes["message_id"] = message.message_id
        if message.sender_id != self.room.bot_id:
            raise bad_request("message can't be edited")
        return message


Method = Callable[[Call], object]


def get_me(call: Call) -> object:
    """Who the bot is."""
    return wire.bot(call.room.bot_id)


def send_message(call: Call) -> object:
    """A text of 1-4096 UTF-16 units after entity parsing."""
    plain, entities = _text(call, "text", text.TEXT_LIMIT_UNITS, "message")
    if not plain.strip():
        raise bad_request("message text is empty")
    return _post(call, plain, entities, None)


def send_photo(call: Call) -> object:
    """A picture, uploaded or by file_id, with up to 1024 units of caption."""
    plain, entities = _text(call, "caption", text.CAPTION_LIMIT_UNITS, "message caption")
    upload = call.args.files.get("photo")
    if upload is None:
        media = call.room.files.by_id(_file_id(call, "photo")).media
    else:
        sides = files.photo_size(upload.data)
        media = call.room.files.store("photo", upload.data, upload.name, upload.mime, sides=sides)
    return _post(call, plain, entities, media)


def send_document(call: Call) -> object:
    """A file up to 50 MB, uploaded or by file_id, with up to 1024 units of caption."""
    plain, entities = _text(call, "caption", text.CAPTION_LIMIT_UNITS, "message caption")
    upload = call.args.files.get("document")
    if upload is None:
        media = call.room.files.by_id(_file_id(call, "document")).media
    elif len(upload.data) > files.UPLOAD_LIMIT:
        raise bad_request("file is too big")
    else:
        media = call.room.files.store("document", upload.data, upload.name, upload.mime)
    return _post(call, plain, entities, media)


def _file_id(call: Call, name: str) -> str:
    given = call.args.text(name)
    if not given:
        raise bad_request(f"there is no {name} in the request")
    if given.startswith("attach://"):
        raise bad_request("the attached file is missing")
    return given


def _text(call: Call, name: str, limit_units: int, what: str) -> tuple[str, list[Entity]]:
    plain, entities = text.parse(call.args.text(name), call.args.text("parse_mode") or None)
    units = text.utf16_units(plain)
    call.notes[name], call.notes[f"{name}_units"] = plain, units
    if units > limit_units:
        raise bad_request(f"{what} is too long")
    return plain, entities


def _post(call: Call, plain: str, entities: list[Entity], media: Media | None) -> Json:
    room, args = call.room, call.args
    keyboard = call.keyboard()
    reply_to = _reply_to(call)
    call.notes |= {
        "silent": args.flag("disable_notification"),
        "protected": args.flag("protect_content"),
        "reply_to": reply_to,
        "file": {"name": media.name, "size": media.size} if media else None,
    }
    chat = call.chat()
    wait_s = room.limits.take(chat.id, room.now(), group=chat.kind != "private")
    if wait_s:
        raise too_many_requests(wait_s)
    message = Message(
        message_id=chat.next_message_id(),
        chat_id=chat.id,
        sender_id=room.bot_id,
        sent_at=room.now(),
        text="" if media else plain,
        caption=plain if media else "",
        entities=entities,
        media=media,
        keyboard=keyboard,
        silent=args.flag("disable_notification"),
        protected=args.flag("protect_content"),
        reply_to=reply_to,
    )
    chat.messages[message.message_id] = message
    call.notes["message_id"] = message.message_id
    room.show(message, "message")
    return room.message_wire(message)


def _reply_to(call: Call) -> int | None:
    wanted = call.args.json_object("reply_parameters")
    if "message_id" not in wanted:
        return None
    message_id = int(str(wanted["message_id"]))
    there = call.chat().messages.get(message_id)
    if there is not None and not there.deleted:
        return message_id
    if wanted.get("allow_sending_without_reply"):
        return None
    raise bad_request("message to be replied not found")


def edit_message_text(call: Call) -> object:
    """A new text for an own message; buttons left out of the call go."""
    plain, entities = _text(call, "text", text.TEXT_LIMIT_UNITS, "message")
    keyboard = call.keyboard()
    message = call.own_message("message to edit not found")
    if not plain.strip():
        raise bad_request("message text is empty")
    if message.media is not None:
        raise bad_request("there is no text in the message to edit")
    if (message.text, message.entities, message.keyboard) == (plain, entities, keyboard):
        raise _not_modified()
    message.text, message.entities, message.reworded_at = plain, entities, call.room.now()
    return _edited(call, message, keyboard)


def edit_message_reply_markup(call: Call) -> object:
    """New buttons for an own message, none if left out."""
    keyboard = call.keyboard()
    message = call.own_message("message to edit not found")
    if message.keyboard == keyboard:
        raise _not_modified()
    return _edited(call, message, keyboard)


def _not_modified() -> Exception:
    return bad_request(
        "message is not modified: specified new message content and reply markup are exactly the same "
        "as a current content and reply markup of the message"
    )


def _edited(call: Call, message: Message, keyboard: Keyboard) -> Json:
    message.replace_keyboard(keyboard)
    message.edited_at = call.room.now()
    call.room.show(message, "changed")
    return call.room.message_wire(message)


def delete_message(call: Call) -> object:
    """Take a message of a private chat away, for 48 hours after it was sent."""
    message = call.chat().find(call.args.must_whole("message_id"), "message to delete not found")
    call.notes["message_id"] = message.message_id
    if call.room.now() - message.sent_at >= DELETE_LIMIT:
        raise bad_request("message can't be deleted for everyone")
    message.deleted = True
    call.room.show(message, "changed")
    return True


def answer_callback_query(call: Call) -> object:
    """Stop the waiting mark on a pressed button, with a short note or none."""
    query_id, note = call.args.text("callback_query_id"), call.args.text("text")
    call.notes |= {"query": query_id, "text": note or None, "text_units": text.utf16_units(note)}
    if len(note) > ANSWER_LIMIT:
        raise bad_request("MESSAGE_TOO_LONG")
    press = call.room.presses.get(query_id)
    if press is None or (call.room.now() - press.pressed_at).total_seconds() > ANSWER_WITHIN_S:
        raise bad_request("query is too old and response timeout expired or query ID is invalid")
    press.answer = {"text": note, "alert": call.args.flag("show_alert")}
    call.room.hub.tell("answer", {"person": press.person_id, "query": query_id, **press.answer})
    return True


def send_chat_action(call: Call) -> object:
    """Show "typing" and the like; the room only checks that the chat takes it."""
    call.chat()
    return True


def leave_chat(call: Call) -> object:
    """Leave a group. Raises a 400 for a private chat."""
    chat = call.chat()
    if chat.kind == "private":
        raise bad_request("chat not found")
    chat.bot_inside = False
    return True


def get_file(call: Call) -> object:
    """Where a file can be fetched, if it is not over 20 MB."""
    found = call.room.files.by_id(call.args.text("file_id"))
    call.notes["file"] = {"name": found.media.name, "size": found.media.size}
    if found.media.size > files.DOWNLOAD_LIMIT:
        raise bad_request("file is too big")
    return {
        "file_id": found.media.file_id,
        "file_unique_id": found.media.file_unique_id,
        "file_size": found.media.size,
        "file_path": found.path,
    }


def set_my_commands(call: Call) -> object:
    """Set the menu of one scope and language."""
    call.room.commands.set(
        call.args.json("commands"), call.args.json_object("scope"), call.args.text("language_code")
    )
    call.room.hub.tell("commands", {})
    return True


def delete_my_commands(call: Call) -> object:
    """Take the menu of one scope and language away."""
    call.room.commands.delete(call.args.json_object("scope"), call.args.text("language_code"))
    call.room.hub.tell("commands", {})
    return True


def get_my_commands(call: Call) -> object:
    """The menu of exactly one scope and language."""
    return call.room.commands.get(call.args.json_object("scope"), call.args.text("language_code"))


METHODS: dict[str, Method] = {
    "getMe": get_me,
    "sendMessage": send_message,
    "sendPhoto": send_photo,
    "sendDocument": send_document,
    "editMessageText": edit_message_text,
    "editMessageReplyMarkup": edit_message_reply_markup,
    "deleteMessage": delete_message,
    "answerCallbackQuery": answer_callback_query,
    "sendChatAction": send_chat_action,
    "leaveChat": leave_chat,
    "getFile": get_file,
    "setMyCommands": set_my_commands,
    "deleteMyCommands": delete_my_commands,
    "getMyCommands": get_my_commands,
}
