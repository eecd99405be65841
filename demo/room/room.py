"""The room as a whole: everything it holds, and the few moves that touch several parts at once."""

import datetime as dt
from dataclasses import dataclass, field
from pathlib import Path

from demo.room import views, wire
from demo.room.bell import Bell
from demo.room.clock import RoomClock
from demo.room.commands import Commands
from demo.room.events import Hub
from demo.room.faults import Faults
from demo.room.files import Files
from demo.room.limits import Limits, LimitSettings
from demo.room.record import Record
from demo.room.shapes import Json, iso
from demo.room.state import Chat, Message, People, Person
from demo.room.updates import Fate, Kind, Pending, Updates

DEFAULT_TOKEN = "4200001:local-room-only"  # noqa: S105 - opens nothing but this room


@dataclass(frozen=True)
class RoomSettings:
    """How a room is set up; see the options of `python -m demo.room`."""

    start_at: dt.datetime
    frozen: bool = False
    token: str = DEFAULT_TOKEN
    record_path: Path | None = None
    limits: LimitSettings | None = field(default_factory=LimitSettings)
    first_update_id: int = 700_000_001
    seed: int = 1


@dataclass
class Press:
    """A press that the bot may still answer."""

    person_id: int
    pressed_at: dt.datetime
    answer: Json | None = None


class Room:
    """All that one running room holds. One event loop owns it; no other thread touches it."""

    def __init__(self, settings: RoomSettings) -> None:
        self.settings = settings
        self.bot_id = int(settings.token.split(":")[0])
        self.stir = Bell()  # rings whenever something changed that somebody may wait for
        self.clock = RoomClock(settings.start_at, self.stir, frozen=settings.frozen)
        self.people = People()
        self.updates = Updates(settings.first_update_id, settings.seed, self.stir, self._update_ended)
        self.limits = Limits(settings.limits)
        self.faults = Faults()
        self.files = Files()
        self.commands = Commands()
        self.hub = Hub()
        self.record = Record(settings.record_path, self.clock)
        self.presses: dict[str, Press] = {}
        self.closing = False

    def now(self) -> dt.datetime:
        """The room's instant."""
        return self.clock.now()

    def move_clock(self, at: dt.datetime) -> None:
        """Move the clock, write it down, tell the page."""
        before = self.now()
        self.clock.move_to(at)
        self.updates.waiting(at)  # what is too old now has left, whatever the clock does next
        self.record.line("clock", {"from_at": iso(before), "to_at": iso(at)})
        self.hub.tell("clock", {"now": iso(at)})

    def user_wire(self, user_id: int) -> Json:
        """The User object of a person or of the bot."""
        if user_id == self.bot_id:
            whole = wire.bot(self.bot_id)
            return {name: whole[name] for name in ("id", "is_bot", "first_name", "username")}
        return wire.user(self.people.persons[user_id])

    def chat_wire(self, chat: Chat) -> Json:
        """The Chat object."""
        return wire.chat(chat, self.people.persons.get(chat.id))

    def message_wire(self, message: Message) -> Json:
        """The Message object, with what it replies to one level deep."""
        chat = self.people.chats[message.chat_id]
        place = self.chat_wire(chat)
        shape = wire.message(message, self.user_wire(message.sender_id), place)
        replied = chat.messages.get(message.reply_to) if message.reply_to else None
        if replied is not None:
            shape["reply_to_message"] = wire.message(replied, self.user_wire(replied.sender_id), place)
        return shape

    def show(self, message: Message, news: str) -> None:
        """Tell the page that a message came or changed; `news` is "message" or "changed"."""
        self.hub.tell(news, views.message(self.people, self.bot_id, message))

    def show_person(self, person: Person) -> None:
        """Tell the page that somebody came or changed."""
        self.hub.tell("person", views.person(person))

    def queue(self, kind: Kind, body: Json, chat_id: int, person_id: int) -> Pending | None:
        """Put an update in line for the bot."""
        return self.updates.add(kind, body, chat_id, person_id, self.now())

    def record_handed(self, pending: Pending, how: str) -> None:
        """Write down that the bot was given an update, and arm a repeat where one was ordered."""
        pending.handed += 1
        if pending.handed == 1 and self.faults.take_for_updates("duplicate-update"):
            pending.repeats += 1
        fields: Json = {
            "update_id": pending.update_id,
            "kind": pending.kind,
            "person": self.people.persons[pending.person_id].name,
            "person_id": pending.person_id,
            "chat": pending.chat_id,
            "content": views.update_content(pending),
            "made_at": iso(pending.made_at),
            "how": how,
            "time_handed": pending.handed,
        }
        self.record.line("update", fields)

    def _update_ended(self, pending: Pending, fate: Fate) -> None:
        self.record.line("update-end", {"update_id": pending.update_id, "kind": pending.kind, "fate": fate})

    def close(self) -> None:
        """End the polls and pages that would go on for ever, so that the server can stop."""
        self.closing = True
        self.hub.close()
        self.stir.ring()
