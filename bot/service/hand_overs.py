"""Clients get another therapist, for good or until a day: alerts, digest and card follow from then on.

Clients are told nothing: whom they ring stays the same.
"""

import datetime as dt
import uuid
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from bot.conversation import copy, handing
from bot.conversation.speech import Say, Values
from bot.domain import hand_over as rules
from bot.domain import local_time
from bot.domain.contacts import zone_of
from bot.domain.hand_over import HandOver, Refusal, Taker
from bot.domain.levels import Level
from bot.domain.people import Client, Clinic, Role, Staff, Stage
from bot.logs import get
from bot.service import post
from bot.service.rota import rota_of
from bot.store import alerts, chats, diary, hand_overs, people
from bot.store.base import Tx
from bot.store.hand_overs import New

AT_ONCE = 200
log = get()


@dataclass(frozen=True, slots=True)
class Giving:
    """Whose clients go to whom. until_on: the last day, None for good."""

    clinic: Clinic
    giver: Staff
    taker: Staff
    clients: tuple[Client, ...]
    until_on: dt.date | None


def own(tx: Tx, staff: Staff) -> tuple[Client, ...]:
    """The clients a therapist may hand over: hers, not those she has on loan, none who is erased."""
    borrowed = {one.client_id for one in hand_overs.lent(tx, staff.id) if one.to_id == staff.id}
    return tuple(
        client
        for client in people.clients_of(tx, staff.id)
        if client.id not in borrowed and client.stage is not Stage.ERASED
    )


def refusal(tx: Tx, giving: Giving, now: dt.datetime) -> Refusal | None:
    """Why it cannot be, None where it can."""
    taker = giving.taker
    state = Taker(
        is_giver=taker.id == giving.giver.id,
        is_therapist=taker.role is Role.THERAPIST and taker.clinic_id == giving.clinic.id,
        linked=chats.chat_of_owner(tx, taker.id) is not None,
        on_leave=rota_of(tx, giving.clinic).leave_of(taker.id, now) is not None,
        leaves_on=taker.leaves_on,
    )
    today = local_time.local_date(now, zone_of(giving.clinic.card))
    return rules.refusal(state, len(giving.clients), giving.until_on, today)


def refusal_text(why: Refusal, taker: Staff) -> str:
    """Why, in a sentence."""
    return words(refused(why, taker))


def refused(why: Refusal, taker: Staff) -> Say:
    """The same as a message."""
    return Say(f"handover.refused.{why.value}", {"code": taker.code, "days": rules.LONGEST_DAYS})


def give(tx: Tx, giving: Giving, made_by: str, now: dt.datetime) -> tuple[Client, ...]:
    """Hand them over; the colleague is told who they are and what is open. Gives those that were handed over.

    made_by: who decided it, by code or full name; it stays on record.
    """
    done = []
    for client in giving.clients:
        new = New(client.id, giving.giver.id, giving.taker.id, giving.until_on, made_by)
        if hand_overs.hand_over(tx, new, now):
            done.append(client)
    if done:
        _tell_taken(tx, giving, done, now)
        log.info("handed_over", count=len(done))
    return tuple(done)


def _tell_taken(tx: Tx, giving: Giving, done: Sequence[Client], now: dt.datetime) -> None:
    values: Values = {
        "clients": labels(giving.clinic, done),
        "therapist": giving.giver.code,
        "until": words(handing.until_text(giving.until_on)),
        "lines": _open(tx, done),
    }
    key = f"handed:{giving.taker.id.hex}:{now:%Y%m%d%H%M%S%f}"
    post.put_for_owner(tx, giving.taker.id, Say("handover.taken", values), key, now)


def _open(tx: Tx, clients: Sequence[Client]) -> str:
    """What waits for whoever has some clients now."""
    ids = [client.id for client in clients]
    waiting = [alert for alert in alerts.open_of(tx, ids) if alert.level is not Level.NEXT_REVIEW]
    calls = sum(len(asked) for asked in diary.calls_asked(tx, ids).values())
    notes = len(diary.unread_notes(tx, ids))
    if not (waiting or calls or notes):
        return words(Say("handover.open.none"))
    return words(Say("handover.open", {"count": len(waiting), "number": calls, "value": notes}))


def labels(clinic: Clinic, clients: Iterable[Client]) -> str:
    """How clients are shown, in a line."""
    return handing.codes_text([client.label(clinic.labels) for client in clients])


def words(say: Say) -> str:
    """A part of a sentence."""
    return copy.text("en", say.copy, say.values)


def give_back(
    tx: Tx, ended: Sequence[HandOver], ended_by: str, now: dt.datetime, *, silent: bool = False
) -> int:
    """End hand-overs and tell both sides; tells how many ended. silent: at midnight no bell rings."""
    done = [one for one in ended if hand_overs.end(tx, one, ended_by, now)]
    clients = people.clients_by_id(tx, [one.client_id for one in done])
    for pair in dict.fromkeys((one.from_id, one.to_id) for one in done):
        back = [clients[one.client_id] for one in done if (one.from_id, one.to_id) == pair]
        giver = people.staff_by_id(tx, pair[0])
        clinic = people.clinic_by_id(tx, giver.clinic_id)
        values: Values = {
            "clients": labels(clinic, back),
            "therapist": giver.code,
            "lines": _open(tx, back),
        }
        for person in pair:
            key = f"handed-back:{person.hex}:{now:%Y%m%d%H%M%S%f}"
            post.put_for_owner(tx, person, Say("handover.back", values, silent=silent), key, now)
    return len(done)


def end_due(tx: Tx, now: dt.datetime) -> int:
    """Give back whoever's last day with a colleague is past; tells how many."""
    near = hand_overs.over(tx, (now + dt.timedelta(days=1)).date(), AT_ONCE)
    over = [one for one in near if _ends_at(tx, one) <= now]
    return give_back(tx, over, "the day agreed", now, silent=True)


def next_end_at(tx: Tx) -> dt.datetime | None:
    """When the next hand-over is over."""
    last = hand_overs.soonest(tx)
    return None if last is None else _ends_at(tx, last)


def _ends_at(tx: Tx, one: HandOver) -> dt.datetime:
    clinic = people.clinic_by_id(tx, people.client_by_id(tx, one.client_id).clinic_id)
    after = (one.until_on or local_time.local_date(one.made_at, zone_of(clinic.card))) + dt.timedelta(days=1)
    return local_time.instant(after, dt.time(0), zone_of(clinic.card))


def lent_of(tx: Tx, staff_id: uuid.UUID) -> list[HandOver]:
    """What stands until a day, from or to somebody."""
    return hand_overs.lent(tx, staff_id)
