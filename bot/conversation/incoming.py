"""What a person did in chat, freed from the platform's own shapes."""

import datetime as dt
from dataclasses import dataclass, field


@dataclass(frozen=True, slots=True)
class Text:
    """A text she typed; `edited` when it replaces an earlier one of the same `message_id`.

    replies_to: the message it was given as a reply to, by the platform's own gesture; None for none.
    """

    text: str
    edited: bool = False
    message_id: int = field(default=0, compare=False)
    replies_to: int | None = field(default=None, compare=False)


@dataclass(frozen=True, slots=True)
class Command:
    """A command such as /help, with what followed it."""

    name: str
    argument: str


@dataclass(frozen=True, slots=True)
class Press:
    """A button pressed. `data` is what we put on it, or what somebody made up: never trusted."""

    press_id: str
    data: str
    message_id: int | None


@dataclass(frozen=True, slots=True)
class Attached:
    """Where a document can be fetched: its id on the platform, its name, its size in bytes if told."""

    file_id: str
    name: str
    size: int | None


@dataclass(frozen=True, slots=True)
class Media:
    """A photo, voice note or other thing that is not downloaded; its caption is read like a text.

    file: only of a document; it is fetched for a therapist who sends a prescription, and for nobody else.
    """

    kind: str
    caption: str
    edited: bool = False
    file: Attached | None = field(default=None, compare=False)


@dataclass(frozen=True, slots=True)
class Reachable:
    """She blocked the bot (`yes` is False) or let it back in."""

    yes: bool


@dataclass(frozen=True, slots=True)
class InGroup:
    """Something said in a group, where no client may be spoken to."""

    chat: int


@dataclass(frozen=True, slots=True)
class Other:
    """A kind of update we have no use for; `kind` names it."""

    kind: str


Body = Text | Command | Press | Media | Reachable | InGroup | Other


@dataclass(frozen=True, slots=True)
class Incoming:
    """One update. `said_at` is the message's own date, or the receipt of a press, which has none."""

    sender: int | None
    said_at: dt.datetime
    body: Body


def typed(body: Body) -> str | None:
    """The free text in it, or None where nothing was typed."""
    match body:
        case Text(text=text):
            return text
        case Media(caption=caption):
            return caption or None
        case Command(name=name, argument=argument):
            return f"{name.replace('_', ' ')} {argument}".strip()
        case _:
            return None
