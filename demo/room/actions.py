"""What people do in the room: talk, press, send files, block.

Each act queues the update the platform would send.
"""

import re
from collections.abc import Iterable
from dataclasses import dataclass, replace

from demo.room import text, wire
from demo.room.room import Press as OpenPress
from demo.room.room import Room
from demo.room.shapes import Json
from demo.room.state import Button, Chat, Media, Message, Person, Press
from demo.room.updates import Kind

_PAYLOAD = re.compile(r"[A-Za-z0-9_-]{1,64}")  # Bot API, deep links
_LINK = re.compile(r"start=([^&#\s]+)")


class ActionError(Exception):
    """Something a person cannot do; the text says what and what instead."""


@dataclass(frozen=True)
class Done:
    """What an act came to: the messages it made or touched and the updates it queued."""

    message_ids: tuple[int, ...] = ()
    update_ids: tuple[int, ...] = ()
    query_id: str | None = None


class Actions:
    """The acts; all of them raise ActionError for an unknown person, chat or message."""

    def __init__(self, room: Room) -> None:
        self._room = room

    def person(self, person_id: int) -> Person:
        """The person with this id."""
        found = self._room.people.persons.get(person_id)
        if found is None:
            raise ActionError(f"Nobody has the id {person_id}; see GET /room/people.")
        return found

    def chat(self, person: Person, chat_id: int | None) -> Chat:
        """The chat meant, the private one when left out."""
        found = self._room.people.chats.get(person.id if chat_id is None else chat_id)
        if found is None or person.id not in found.members:
            raise ActionError(f"Person {person.id} has no chat {chat_id}.")
        return found

    def start(self, person: Person, link: str) -> Done:
        """Press Start, with the payload of an invite: a link, `/start CODE`, or the code alone."""
        payload = _payload(link)
        done: list[Done] = []
        if person.blocked:
            done.append(self.unblock(person))
        person.started = True
        self._room.show_person(person)
        done.append(self.say(person, f"/start {payload}".strip()))
        return _join(done)

    def say(
        self, person: Person, words: str, chat_id: int | None = None, forwarded_from: str | None = None
    ) -> Done:
        """Write something; a long text becomes several messages, as in any app."""
        words = words.strip()
        if not words:
            raise ActionError("There is no text to send.")
        chat = self._open_chat(person, chat_id)
        done = []
        for part in text.split_long(words):
            message = self._message(person, chat)
            message.text, message.entities = part, text.command_entities(part)
            message.forwarded_from = forwarded_from
            done.append(self._sent(person, chat, message))
        return _join(done)

    def send_media(self, person: Person, media: Media, caption: str, chat_id: int | None = None) -> Done:
        """Send a photo, a file, a voice note, a video or a sticker."""
        chat = self._open_chat(person, chat_id)
        message = self._message(person, chat)
        message.media, message.caption = media, caption
        message.entities = text.command_entities(caption)
        return self._sent(person, chat, message)

    def edit(self, person: Person, message_id: int, words: str, chat_id: int | None = None) -> Done:
        """Change an own text."""
        chat = self.chat(person, chat_id)
        message = chat.messages.get(message_id)
        if message is None or message.sender_id != person.id or message.media is not None:
            raise ActionError(f"Message {message_id} is no text of person {person.id}.")
        message.text, message.entities = words.strip(), text.command_entities(words.strip())
        message.edited_at = message.reworded_at = self._room.now()
        self._room.show(message, "changed")
        done = self._queued("edited_message", self._room.message_wire(message), chat, person)
        return replace(done, message_ids=(message_id,))

    def press(
        self, person: Person, message_id: int | None, label: str | None, data: str | None, *, stub: bool
    ) -> Done:
        """Press a button by its label, or send any data, also data that no button carries any more.

        Without message_id the newest message that shows the label. stub: the update carries only a stub of
        the message, as it does for messages the platform no longer gives.
        """
        chat = self._open_chat(person, None)
        message = self._pressed_message(chat, message_id, label, data)
        if data is None:
            data = self._labelled(message, label)
        if label is None:
            label = next((button.text for button in message.buttons() if button.data == data), data)
        now = self._room.now()
        query_id = str(8_000_000_000_000_000 + len(self._room.presses) + 1)
        self._room.presses[query_id] = OpenPress(person.id, now)
        message.presses.append(Press(person.id, data, label, now))
        self._room.show(message, "changed")
        place = self._room.chat_wire(chat)
        shown = (
            wire.inaccessible(message, place) if stub or message.deleted else self._room.message_wire(message)
        )
        body: Json = {
            "id": query_id,
            "from": self._room.user_wire(person.id),
            "message": shown,
            "chat_instance": str(chat.id),
            "data": data,
        }
        done = self._queued("callback_query", body, chat, person)
        return replace(done, message_ids=(message.message_id,), query_id=query_id)

    def _pressed_message(
        self, chat: Chat, message_id: int | None, label: str | None, data: str | None
    ) -> Message:
        if message_id is not None:
            found = chat.messages.get(message_id)
        else:
            found = next(
                (
                    message
                    for message in reversed(chat.messages.values())
                    if any(_fits(button, label, data) for button in message.buttons()) and not message.deleted
                ),
                None,
            )
        if found is None or found.sender_id != self._room.bot_id:
            raise ActionError(f"No message of the bot shows the button {label or data!r}.")
        return found

    def _labelled(self, message: Message, label: str | None) -> str:
        for button in message.buttons():
            if button.text == label and button.data is not None:
                return button.data
        shown = ", ".join(button.text for button in message.buttons()) or "none"
        raise ActionError(f"Message {message.message_id} has no button {label!r}; it shows: {shown}.")

    def block(self, person: Person) -> Done:
        """Block the bot."""
        return self._membership(person, blocked=True)

    def unblock(self, person: Person) -> Done:
        """Let the bot write again."""
        return self._membership(person, blocked=False)

    def deactivate(self, person: Person) -> Done:
        """Close the account; the bot is not told."""
        person.deactivated = True
        self._room.show_person(person)
        return Done()

    def make_group(self, title: str, members: list[Person]) -> Chat:
        """A group with the bot in it; the bot hears of it."""
        chat = self._room.people.add_group(title, [person.id for person in members])
        self._tell_membership(members[0], chat, ("left", "member"))
        return chat

    def _membership(self, person: Person, *, blocked: bool) -> Done:
        if person.blocked == blocked:
            return Done()
        person.blocked = blocked
        self._room.show_person(person)
        change = ("member", "kicked") if blocked else ("kicked", "member")
        return self._tell_membership(person, self._room.people.chats[person.id], change)

    def _tell_membership(self, person: Person, chat: Chat, change: tuple[str, str]) -> Done:
        body = wire.membership(
            self._room.user_wire(person.id),
            self._room.chat_wire(chat),
            self._room.now(),
            self._room.user_wire(self._room.bot_id),
            change,
        )
        return self._queued("my_chat_member", body, chat, person)

    def _open_chat(self, person: Person, chat_id: int | None) -> Chat:
        chat = self.chat(person, chat_id)
        if chat.kind == "private" and (not person.started or person.blocked or person.deactivated):
            raise ActionError(f"Person {person.id} has no open chat with the bot; press Start first.")
        return chat

    def _message(self, person: Person, chat: Chat) -> Message:
        return Message(chat.next_message_id(), chat.id, person.id, self._room.now())

    def _sent(self, person: Person, chat: Chat, message: Message) -> Done:
        chat.messages[message.message_id] = message
        self._room.show(message, "message")
        if not chat.bot_inside:
            return Done(message_ids=(message.message_id,))
        done = self._queued("message", self._room.message_wire(message), chat, person)
        return replace(done, message_ids=(message.message_id,))

    def _queued(self, kind: Kind, body: Json, chat: Chat, person: Person) -> Done:
        pending = self._room.queue(kind, body, chat.id, person.id)
        return Done(update_ids=(pending.update_id,) if pending else ())


def _payload(link: str) -> str:
    """The start code in what was pasted; empty for none. Raises ActionError for a code no link can carry."""
    given = link.strip()
    if found := _LINK.search(given):
        given = found.group(1)
    given = given.removeprefix("/start").strip()
    if given and not _PAYLOAD.fullmatch(given):
        raise ActionError("A start code is 1 to 64 of the characters A-Z a-z 0-9 _ -; this one is not.")
    return given


def _fits(button: Button, label: str | None, data: str | None) -> bool:
    return button.text == label if label is not None else button.data == data


def _join(done: Iterable[Done]) -> Done:
    parts = list(done)
    return Done(
        tuple(number for part in parts for number in part.message_ids),
        tuple(number for part in parts for number in part.update_ids),
    )
