"""Who is in the room and what was said: plain data and the rules of who may write to whom. No I/O."""

import datetime as dt
from collections.abc import Iterator
from dataclasses import dataclass, field
from typing import Literal

from demo.room.shapes import bad_request, forbidden
from demo.room.text import Entity

# The numbers are large on purpose: a column of 32 bits would not hold them.
FIRST_PERSON_ID = 5_000_000_001
FIRST_GROUP_ID = -1_002_000_000_001
DELETE_LIMIT = dt.timedelta(hours=48)  # Bot API, deleteMessage

MediaKind = Literal["photo", "document", "voice", "video", "sticker"]


@dataclass(frozen=True)
class Button:
    """One inline button; exactly one of `data` and `url` is set."""

    text: str
    data: str | None = None
    url: str | None = None


Keyboard = tuple[tuple[Button, ...], ...]


@dataclass(frozen=True)
class Media:
    """A file that hangs on a message. Sizes in bytes and pixels, duration in seconds."""

    kind: MediaKind
    file_id: str
    file_unique_id: str
    name: str
    mime: str
    size: int
    width: int = 0
    height: int = 0
    duration_s: int = 0


@dataclass(frozen=True)
class Press:
    """A button that somebody pressed, kept so that the page can show it as pressed."""

    person_id: int
    data: str
    label: str
    at: dt.datetime


@dataclass
class Person:
    """Somebody who can talk to the bot."""

    id: int
    name: str
    language_code: str | None
    started: bool = False
    blocked: bool = False
    deactivated: bool = False


@dataclass
class Message:
    """One message as the chat holds it. `sender_id` is a person's id or the bot's."""

    message_id: int
    chat_id: int
    sender_id: int
    sent_at: dt.datetime
    text: str = ""
    caption: str = ""
    entities: list[Entity] = field(default_factory=list)
    media: Media | None = None
    keyboard: Keyboard = ()
    former_keyboard: Keyboard = ()
    presses: list[Press] = field(default_factory=list)
    edited_at: dt.datetime | None = None
    reworded_at: dt.datetime | None = None  # as edited_at, but not for buttons alone
    silent: bool = False
    protected: bool = False
    reply_to: int | None = None
    forwarded_from: str | None = None
    deleted: bool = False

    def replace_keyboard(self, keyboard: Keyboard) -> None:
        """Swap the buttons and remember those that went, for the page."""
        if self.keyboard and self.keyboard != keyboard:
            self.former_keyboard = self.keyboard
        self.keyboard = keyboard

    def buttons(self) -> Iterator[Button]:
        """The buttons that can be pressed now, row by row."""
        for row in self.keyboard:
            yield from row


@dataclass
class Chat:
    """A private chat (its id is the person's) or a group. Message numbers count up within the chat."""

    id: int
    kind: Literal["private", "supergroup"]
    title: str = ""
    members: list[int] = field(default_factory=list)
    bot_inside: bool = True
    messages: dict[int, Message] = field(default_factory=dict)

    def next_message_id(self) -> int:
        """The number for a new message. Numbers repeat between chats, so none identifies a message alone."""
        return max(self.messages, default=0) + 1

    def find(self, message_id: int, missing: str) -> Message:
        """The message that is still there. Raises a 400 with the reason `missing`."""
        message = self.messages.get(message_id)
        if message is None or message.deleted:
            raise bad_request(missing)
        return message


class People:
    """Everybody in the room, and their chats."""

    def __init__(self) -> None:
        self.persons: dict[int, Person] = {}
        self.chats: dict[int, Chat] = {}

    def add(self, name: str, language_code: str | None) -> Person:
        """A new person with the next id."""
        person = Person(FIRST_PERSON_ID + len(self.persons), name, language_code)
        self.persons[person.id] = person
        self.chats[person.id] = Chat(person.id, "private", members=[person.id])
        return person

    def add_group(self, title: str, members: list[int]) -> Chat:
        """A group of people that the bot has been put into."""
        groups = sum(1 for chat in self.chats.values() if chat.kind == "supergroup")
        chat = Chat(FIRST_GROUP_ID - groups, "supergroup", title=title, members=members)
        self.chats[chat.id] = chat
        return chat

    def chats_of(self, person_id: int) -> list[Chat]:
        """The person's private chat first, then the groups."""
        return [chat for chat in self.chats.values() if person_id in chat.members]

    def chat_for_bot(self, chat_id: int) -> Chat:
        """The chat, if the bot may write there now.

        Raises 400 for an unknown chat and 403 for somebody who never pressed Start, blocked the bot or
        closed the account, and for a group that the bot is not in.
        """
        chat = self.chats.get(chat_id)
        if chat is None:
            raise bad_request("chat not found")
        if chat.kind == "supergroup":
            if not chat.bot_inside:
                raise forbidden("bot is not a member of the supergroup chat")
            return chat
        person = self.persons[chat.id]
        if person.deactivated:
            raise forbidden("user is deactivated")
        if person.blocked:
            raise forbidden("bot was blocked by the user")
        if not person.started:
            raise forbidden("bot can't initiate conversation with a user")
        return chat
