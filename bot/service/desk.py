"""A therapist at work: who she is, on which update, and how she is answered."""

import datetime as dt
import uuid
from collections.abc import Collection
from dataclasses import dataclass

from bot.conversation.incoming import Body, Command, Press, Text
from bot.conversation.speech import Say
from bot.domain.people import Chat, Clinic, Staff
from bot.service import post
from bot.service.office import Office
from bot.store import chats
from bot.store.base import Tx


def is_about(body: Body, prefix: str, commands: Collection[str], waited_for: bool = False) -> bool:
    """Whether an update is for a part of the desk: its buttons, its commands, a line that it waits for."""
    match body:
        case Press(data=data):
            return data.startswith(f"{prefix}:")
        case Command(name=name):
            return name in commands
        case Text(text=text):
            return waited_for and bool(text.strip())
        case _:
            return False


@dataclass(frozen=True, slots=True)
class Desk:
    """Who is at work, on which update."""

    tx: Tx
    office: Office
    chat: Chat
    staff: Staff
    clinic: Clinic
    inbox_id: uuid.UUID
    now: dt.datetime

    def says(self, say: Say, place: int = 0) -> None:
        """Answer."""
        post.put_say(self.tx, self.chat, say, f"re:{self.inbox_id.hex}:{place}", self.now)

    def shows(self, say: Say, message_id: int | None) -> None:
        """Show a screen in place of the one whose button was pressed: no bell rings."""
        if message_id is None:
            self.says(say)
        else:
            post.rewrite(self.tx, self.chat, message_id, say, f"edit:{self.inbox_id.hex}", self.now)

    def waits(self, what: dict[str, str] | None) -> None:
        """What the conversation waits for next."""
        chats.wait(self.tx, self.staff.id, what, self.now)

    def done_with(self, message_id: int | None) -> None:
        """Take the buttons off a message: it is answered."""
        if message_id is not None:
            post.take_buttons(self.tx, self.chat, message_id, self.now)
