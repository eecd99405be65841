"""A therapist's turn about handing clients over; who may have them is asked again when she says yes."""

import datetime as dt
import uuid
from collections.abc import Mapping

from bot.conversation import handing as talk
from bot.conversation import pausing
from bot.conversation.incoming import Command, Incoming, Press
from bot.conversation.speech import Say, Values
from bot.conversation.view import date_text
from bot.domain import hand_over as rules
from bot.domain import local_time
from bot.domain.contacts import zone_of
from bot.domain.people import Chat, Client, Role
from bot.service import hand_overs
from bot.service.desk import Desk, is_about
from bot.service.hand_overs import Giving
from bot.service.office import Office
from bot.store import chats, people
from bot.store.base import Tx

LINE_WITHIN = dt.timedelta(minutes=10)


def turn(tx: Tx, office: Office, chat: Chat, incoming: Incoming, inbox_id: uuid.UUID) -> bool:
    """Answer an update of a therapist that is about a hand-over; False when it is about something else."""
    if (
        chat.owner_id is None
        or chat.role is not Role.THERAPIST
        or not is_about(incoming.body, talk.PREFIX, {"handover"})
    ):
        return False
    now = office.clock.now()
    waiting = chats.waiting(tx, chat.owner_id, now - LINE_WITHIN) or {}
    staff = people.staff_by_id(tx, chat.owner_id)
    desk = Desk(tx, office, chat, staff, people.clinic_by_id(tx, staff.clinic_id), inbox_id, now)
    desk.waits(None)
    match incoming.body:
        case Press(data=data, message_id=message_id):
            desk.done_with(message_id)
            _pressed(desk, data, waiting)
        case Command(argument=typed):
            _typed(desk, typed.strip())
        case _:
            return False
    return True


def _typed(desk: Desk, typed: str) -> None:
    first, _, rest = typed.partition(" ")
    if first.casefold() == "back":
        _back(desk, tuple(rest.replace(",", " ").split()))
        return
    wanted = talk.parse(typed)
    if wanted is None:
        _standing(desk)
        return
    taker = people.staff_by_code(desk.tx, desk.clinic.id, wanted.colleague)
    today = local_time.local_date(desk.now, zone_of(desk.clinic.card))
    until_on = pausing.take_day(wanted.until, today) if wanted.until else None
    if taker is None:
        desk.says(Say("handover.no_colleague", {"code": wanted.colleague[:40]}))
    elif wanted.until and until_on is None:
        desk.says(hand_overs.refused(rules.Refusal.DAY, taker))
    else:
        clients = _chosen(desk, wanted.codes)
        if clients is not None:
            _ask(desk, Giving(desk.clinic, desk.staff, taker, clients, until_on))


def _chosen(desk: Desk, codes: tuple[str, ...] | None) -> tuple[Client, ...] | None:
    """The clients of the codes, all of hers where none is named; None once she was told what is wrong."""
    own = hand_overs.own(desk.tx, desk.staff)
    if codes is None:
        return own
    by_code = {client.code.casefold(): client for client in own} | {client.code: client for client in own}
    found = {code: by_code.get(code) or by_code.get(code.casefold()) for code in codes}
    wrong = next((code for code, client in found.items() if client is None), None)
    if wrong is not None:
        desk.says(Say("handover.not_yours", {"code": wrong[:40]}))
        return None
    return tuple({client.id: client for client in found.values() if client is not None}.values())


def _values(desk: Desk, giving: Giving) -> Values:
    return {
        "clients": hand_overs.labels(desk.clinic, giving.clients),
        "count": len(giving.clients),
        "code": giving.taker.code,
        "until": hand_overs.words(talk.until_text(giving.until_on)),
    }


def _ask(desk: Desk, giving: Giving) -> None:
    why = hand_overs.refusal(desk.tx, giving, desk.now)
    if why is not None:
        desk.says(hand_overs.refused(why, giving.taker))
        return
    mark = desk.inbox_id.hex[-8:]
    desk.waits(
        {
            "for": "hand-over",
            "mark": mark,
            "to": giving.taker.id.hex,
            "clients": ",".join(client.id.hex for client in giving.clients),
            "until": giving.until_on.isoformat() if giving.until_on else "",
        }
    )
    desk.says(talk.confirm(mark, _values(desk, giving)))


def _pressed(desk: Desk, data: str, waiting: Mapping[str, object]) -> None:
    _, _, choice = data.partition(":")
    choice, _, mark = choice.partition(":")
    if waiting.get("for") != "hand-over" or waiting.get("mark") != mark or choice not in {"yes", "no"}:
        desk.says(Say("staff.old_button"))
        return
    if choice == "no":
        desk.says(Say("handover.kept"))
        return
    taker = people.staff_by_id(desk.tx, uuid.UUID(hex=str(waiting["to"])))
    asked = {uuid.UUID(hex=name) for name in str(waiting["clients"]).split(",")}
    clients = tuple(client for client in hand_overs.own(desk.tx, desk.staff) if client.id in asked)
    until = str(waiting["until"])
    giving = Giving(desk.clinic, desk.staff, taker, clients, dt.date.fromisoformat(until) if until else None)
    why = hand_overs.refusal(desk.tx, giving, desk.now)
    if why is not None:
        desk.says(hand_overs.refused(why, taker))
        return
    hand_overs.give(desk.tx, giving, desk.staff.code, desk.now)
    desk.says(Say("handover.done", _values(desk, giving)))


def _back(desk: Desk, codes: tuple[str, ...]) -> None:
    """Give back, or take back, those of some codes, or all of them."""
    lent = hand_overs.lent_of(desk.tx, desk.staff.id)
    clients = people.clients_by_id(desk.tx, [one.client_id for one in lent])
    wanted = {code.casefold() for code in codes}
    ended = [one for one in lent if not wanted or clients[one.client_id].code.casefold() in wanted]
    if not ended:
        desk.says(Say("handover.nothing"))
        return
    hand_overs.give_back(desk.tx, ended, desk.staff.code, desk.now)


def _standing(desk: Desk) -> None:
    """Who is with whom until when, and how it is typed."""
    lent = hand_overs.lent_of(desk.tx, desk.staff.id)
    clients = people.clients_by_id(desk.tx, [one.client_id for one in lent])
    lines = []
    for one in lent:
        values: Values = {
            "client": clients[one.client_id].label(desk.clinic.labels),
            "therapist": people.staff_by_id(desk.tx, one.from_id).code,
            "code": people.staff_by_id(desk.tx, one.to_id).code,
            "day": date_text(one.until_on) if one.until_on else "",
        }
        lines.append(hand_overs.words(Say("handover.line", values)))
    if lines:
        desk.says(Say("handover.standing", {"lines": "\n".join(lines[: talk.MOST_LINES])}))
    else:
        desk.says(Say("handover.usage"))
