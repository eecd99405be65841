"""A therapist's note to a client: asked for, shown as she will read it, and sent only on a tap."""

import datetime as dt
import uuid
from dataclasses import dataclass

from bot.conversation import copy
from bot.conversation.card import cover
from bot.conversation.speech import Button, Say, Values, finish, to_json
from bot.conversation.view import DAY_NAMES, card_values, clock_text, date_text
from bot.domain import local_time
from bot.domain.client_notes import LONGEST
from bot.domain.delivery import Kind
from bot.domain.people import Client, Clinic

PREFIX = "cn"


def data(verb: str, client_id: uuid.UUID, mark: str = "") -> str:
    """What a button carries: the verb, which text it is about, the client."""
    return ":".join((PREFIX, verb, *([mark] if mark else []), client_id.hex))


def to_her(clinic: Clinic, text: str, at: dt.datetime) -> Say:
    """The note as the client reads it; the numbers are those that answer when it reaches her."""
    values = {**card_values(clinic.card, at), "digest_day": DAY_NAMES[clinic.digest_day], "text": text}
    return Say("note.to_her", values, kind=Kind.NUDGE, keep_private=True)


def ask(client: Client, label: str) -> Say:
    """The one line to type."""
    return Say("note.ask", {"client": label, "most": LONGEST}, (_leave(client),))


@dataclass(frozen=True, slots=True)
class Ready:
    """A note to be shown. at: when it may reach her. mark: tells this text from any other typed since."""

    text: str
    at: dt.datetime
    mark: str


def read_back(client: Client, label: str, clinic: Clinic, note: Ready, now: dt.datetime) -> Say:
    """The note as she will read it, and when, with the tap that sends it and nothing newer."""
    at = note.at
    shown = finish(to_json(to_her(clinic, note.text, at)), client.language).text
    when = copy.text("en", "note.now", {}) if at <= now else copy.text("en", "note.at", her_time(client, at))
    values: Values = {"client": label, "when": when, "cover": cover(), "text": shown}
    send = Button("note.button.send", data("send", client.id, note.mark), {"client": label})
    again = Button("note.button.again", data("ask", client.id))
    return Say("note.read_back", values, ((send,), (again, *_leave(client))), keep_private=True)


def _leave(client: Client) -> tuple[Button, ...]:
    return (Button("note.button.leave", data("leave", client.id)),)


def her_time(client: Client, at: dt.datetime) -> dict[str, str | int]:
    """Day and clock of an instant where she lives."""
    zone = local_time.zone(client.zone)
    return {"day": date_text(local_time.local_date(at, zone)), "clock": clock_text(at, zone)}
