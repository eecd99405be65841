"""A turn with a clinic's administrator: its people, cover, facts and clients' codes, and fresh invites.

Nothing a client said, no finding and no alert comes before her: what she may look at holds none of it.
"""

import datetime as dt
from collections.abc import Mapping
from dataclasses import dataclass

from bot.conversation import copy
from bot.conversation.effects import Turn, say
from bot.conversation.incoming import Body, Command, Media, Press, Text
from bot.conversation.view import DAY_NAMES
from bot.domain.contacts import ClinicCard
from bot.domain.people import Clinic, Role, Stage

MENU = {
    "people": "command.people",
    "clients": "command.clients",
    "cover": "command.cover",
    "clinic": "command.clinic",
    "invite": "command.invite",
    "privacy": "command.privacy",
    "help": "command.help",
}
LONGEST_LIST = 3500  # characters, below the platform's limit for a message


@dataclass(frozen=True, slots=True)
class PersonLine:
    """Somebody who works for the clinic, and whether her chat is linked."""

    code: str
    name: str
    role: Role
    linked: bool


@dataclass(frozen=True, slots=True)
class CodeLine:
    """A client by her code, whose she is, and how far she is."""

    code: str
    therapist: str
    stage: Stage


@dataclass(frozen=True, slots=True)
class Fresh:
    """A new invite. digits: what she is told aloud. again: an earlier link ends."""

    code: str
    link: str
    digits: str
    until: str
    again: bool


@dataclass(frozen=True, slots=True)
class AdministratorView:
    """Her clinic as she may see it; the parts are filled where a command asks for them.

    duties: a line for each that stands. record_years: how long the clinic keeps its records, None while it
    has not said so. fresh: the invite a command made; None where nobody of the clinic has the code.
    """

    clinic: Clinic
    people: tuple[PersonLine, ...] = ()
    clients: tuple[CodeLine, ...] = ()
    duties: tuple[str, ...] = ()
    record_years: int | None = None
    fresh: Fresh | None = None
    language: str = "en"


def wants_invite(body: Body) -> str | None:
    """The code an invite is asked for; None when none is asked for."""
    match body:
        case Command(name="invite", argument=code) if code:
            return code
        case _:
            return None


def step(view: AdministratorView, body: Body) -> Turn:
    """What she asks for by command; everything else is answered as not understood."""
    match body:
        case Command(name="start" | "help"):
            return say("admin.help")
        case Command(name="privacy"):
            return say("admin.privacy")
        case Command(name="people"):
            return say("admin.people", lines=_shortened([_person(view, one) for one in view.people]))
        case Command(name="clients"):
            lines = [_client(view, one) for one in view.clients]
            return say("admin.clients", lines=_shortened(lines)) if lines else say("admin.clients.none")
        case Command(name="cover"):
            return say("admin.cover", lines=_shortened(list(view.duties)))
        case Command(name="clinic"):
            return _clinic(view)
        case Command(name="invite", argument=code):
            return _invite(view, code)
        case Command():
            return say("command.unknown")
        case Press():
            return say("staff.old_button")
        case Text():
            return say("admin.text")
        case Media():
            return say("staff.media")
        case _:
            return Turn()


def _person(view: AdministratorView, one: PersonLine) -> str:
    role = copy.text(view.language, f"admin.role.{one.role.value}", {})
    state = copy.text(view.language, "admin.linked" if one.linked else "admin.not_linked", {})
    values: Mapping[str, str | int] = {"code": one.code, "text": one.name, "what": role, "state": state}
    return copy.text(view.language, "admin.person", values)


def _client(view: AdministratorView, one: CodeLine) -> str:
    state = copy.text(view.language, f"admin.stage.{one.stage.value}", {})
    return copy.text(
        view.language, "admin.client", {"client": one.code, "therapist": one.therapist, "state": state}
    )


def _shortened(lines: list[str]) -> str:
    """As many whole lines as one message takes; the last one says how many are left out."""
    shown, left = [], LONGEST_LIST
    for line in lines:
        left -= len(line) + 1
        if left < 0:
            break
        shown.append(line)
    if len(shown) < len(lines):
        shown.append(f"… {len(lines) - len(shown)}")
    return "\n".join(shown)


def _clinic(view: AdministratorView) -> Turn:
    clinic, card = view.clinic, view.clinic.card
    years = view.record_years
    kept = copy.text(view.language, "admin.years" if years else "admin.no_years", {"years": years or 0})
    return say(
        "admin.clinic",
        clinic=card.name,
        phone=card.phone,
        number=card.out_of_hours_line,
        emergency_number=card.emergency_number,
        lines="\n".join(hours_lines(card)),
        days=", ".join(_date(day) for day in sorted(card.closures)) or "-",
        digest_day=DAY_NAMES[clinic.digest_day],
        digest_clock=f"{clinic.digest_at:%H:%M}",
        zone=card.zone,
        kept=kept,
    )


def hours_lines(card: ClinicCard) -> list[str]:
    """Opening hours, a line for each day with any."""
    return [
        f"{DAY_NAMES[day]} " + ", ".join(f"{start:%H:%M} to {end:%H:%M}" for start, end in sorted(spans))
        for day, spans in sorted(card.hours.items())
        if spans
    ]


def _date(on: dt.date) -> str:
    return f"{on.day} {on:%b %Y}"


def _invite(view: AdministratorView, code: str) -> Turn:
    fresh = view.fresh
    if not code:
        return say("admin.invite.which")
    if fresh is None:
        return say("admin.invite.nobody", code=code[:40])
    values = {"code": fresh.code, "link": fresh.link, "until": fresh.until, "digits": fresh.digits}
    old = copy.text(view.language, "admin.invite.old" if fresh.again else "admin.invite.first", {})
    return say("admin.invite.made", **values, text=old)
