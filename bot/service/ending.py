"""How a programme ends: the therapist offers maintenance or discharges, the client is told and asked.

Maintenance is only what the client has agreed to, until a day and with an owner who looks after it. A
discharge has a reason, waits while an alert is open, and closes the channel: what she writes later gets the
safety net and the number to ring, and is read by nobody.
"""

import datetime as dt
import uuid
from dataclasses import dataclass

from bot.conversation import pausing
from bot.conversation.incoming import Command, Incoming, Press
from bot.conversation.speech import Button, Say, Values
from bot.conversation.view import date_text
from bot.domain import contacts, local_time
from bot.domain.endings import LONGEST_MAINTENANCE_DAYS, SHORTEST_REASON, Ending, EndingKind
from bot.domain.levels import Level
from bot.domain.people import Chat, Client, Clinic, Role, Staff, Stage
from bot.domain.track import TrackEnd
from bot.service import post
from bot.service.desk import is_about
from bot.service.office import Office
from bot.store import alerts, chats, diary, endings, people, rerouting
from bot.store.base import Tx

LINE_WITHIN = dt.timedelta(minutes=10)
CLOSED_MENU = {"help": "command.help", "privacy": "command.privacy"}


@dataclass(frozen=True, slots=True)
class _Desk:
    tx: Tx
    chat: Chat
    staff: Staff
    clinic: Clinic
    inbox_id: uuid.UUID
    now: dt.datetime

    def say(self, copy: str, rows: tuple[tuple[Button, ...], ...] = (), **values: str | int) -> None:
        """Answer her."""
        post.put_say(self.tx, self.chat, Say(copy, values, rows), f"re:{self.inbox_id.hex}:0", self.now)


# ---- The therapist's side ---------------------------------------------------------------------------------


def turn(tx: Tx, office: Office, chat: Chat, incoming: Incoming, inbox_id: uuid.UUID) -> bool:
    """Answer an update of a therapist that is about an ending; False when it is not."""
    if (
        chat.owner_id is None
        or chat.role is not Role.THERAPIST
        or not is_about(incoming.body, "end", {"maintain", "finish", "discharge"})
    ):
        return False
    staff, now = people.staff_by_id(tx, chat.owner_id), office.clock.now()
    desk = _Desk(tx, chat, staff, people.clinic_by_id(tx, staff.clinic_id), inbox_id, now)
    match incoming.body:
        case Command(name="maintain", argument=typed):
            _maintain(desk, typed)
        case Command(name="finish" | "discharge", argument=typed):
            _ask_discharge(desk, typed)
        case Press() as press:
            _pressed(desk, press)
        case _:
            return False
    return True


def _find(desk: _Desk, typed: str, usage: str) -> tuple[Client, str] | None:
    """The client a command names, and what follows her code; else what was wrong has been said."""
    code, _, rest = typed.strip().partition(" ")
    mine = people.clients_of(desk.tx, desk.staff.id)
    client = next((one for one in mine if one.code.casefold() == code.casefold()), None)
    if not code or (client is not None and not rest.strip()):
        desk.say(usage)
    elif client is None:
        desk.say("staff.no_client", code=code)
    elif client.stage is not Stage.ACTIVE:
        desk.say("ending.not_active", client=client.label(desk.clinic.labels))
    else:
        return client, rest.strip()
    return None


def _maintain(desk: _Desk, typed: str) -> None:
    found = _find(desk, typed, "ending.maintain_usage")
    if found is None:
        return
    client, rest = found
    today = local_time.day_in(client.zone, desk.now)
    until = pausing.take_day(rest, today)
    label = client.label(desk.clinic.labels)
    if until is None or not 0 < (until - today).days <= LONGEST_MAINTENANCE_DAYS:
        desk.say("ending.maintain_day", client=label)
        return
    step = Ending(EndingKind.OFFERED, desk.now, until, owner=desk.staff.id, by=desk.staff.id)
    endings.add(desk.tx, client.id, step)
    rows = ((Button("maintenance.button.yes", "maint:yes"), Button("maintenance.button.no", "maint:no")),)
    say = Say("maintenance.offer", {"day": date_text(until), "clinic_phone": desk.clinic.card.phone}, rows)
    post.put_for_owner(desk.tx, client.id, say, f"maint:{desk.inbox_id.hex}", desk.now)
    desk.say("ending.offered", client=label, day=date_text(until))


def _ask_discharge(desk: _Desk, typed: str) -> None:
    found = _find(desk, typed, "ending.discharge_usage")
    if found is None:
        return
    client, reason = found
    label = client.label(desk.clinic.labels)
    if len(reason) < SHORTEST_REASON:
        desk.say("ending.discharge_usage")
    elif _open_alerts(desk.tx, client):
        desk.say("ending.alert_open", client=label)
    else:
        waiting = {"for": "discharge", "client": client.id.hex, "reason": reason}
        chats.wait(desk.tx, desk.staff.id, waiting, desk.now)
        buttons = (
            Button("ending.button.discharge", f"end:yes:{client.id.hex}", {"client": label}),
            Button("ending.button.keep", f"end:no:{client.id.hex}"),
        )
        desk.say("ending.discharge_sure", (buttons,), client=label, reason=reason)


def _open_alerts(tx: Tx, client: Client) -> bool:
    return any(alert.level is not Level.NEXT_REVIEW for alert in alerts.open_of(tx, [client.id]))


def _pressed(desk: _Desk, press: Press) -> None:
    waiting = chats.waiting(desk.tx, desk.staff.id, desk.now - LINE_WITHIN) or {}
    _, _, choice = press.data.partition(":")
    choice, _, name = choice.partition(":")
    if press.message_id is not None:
        post.take_buttons(desk.tx, desk.chat, press.message_id, desk.now)
    if waiting.get("for") != "discharge" or waiting.get("client") != name:
        desk.say("staff.old_button")
        return
    client = people.client_by_id(desk.tx, uuid.UUID(hex=name))
    label = client.label(desk.clinic.labels)
    chats.wait(desk.tx, desk.staff.id, None, desk.now)
    if client.therapist_id != desk.staff.id:
        desk.say("caseload.nobody")  # handed over since: nothing of hers is shown any more
    elif choice != "yes":
        desk.say("ending.kept", client=label)
    elif client.stage is not Stage.ACTIVE:
        desk.say("ending.not_active", client=label)
    elif _open_alerts(desk.tx, client):
        desk.say("ending.alert_open", client=label)
    else:
        discharge(desk.tx, client, desk.clinic, desk.staff, str(waiting["reason"]), desk.now)
        desk.say("ending.discharged", client=label)


def discharge(tx: Tx, client: Client, clinic: Clinic, by: Staff, reason: str, now: dt.datetime) -> None:
    """Close a client's programme and her channel, and tell her whom to ring from now on."""
    endings.add(tx, client.id, Ending(EndingKind.DISCHARGED, now, by=by.id, reason=reason))
    people.set_stage(tx, client.id, Stage.DISCHARGED)
    diary.change_track(tx, client.id, next_at=None, later_at=None)
    chats.wait(tx, client.id, None, now)
    chat = chats.chat_of_owner(tx, client.id)
    if chat is None:
        return
    rerouting.drop_unasked(tx, chat.id, now)
    card = clinic.card
    values: Values = {"phone": card.phone, "emergency_number": card.emergency_number}
    at = f"{now:%Y%m%d%H%M%S}"
    post.put_say(tx, chat, Say("discharged.now", values), f"discharged:{client.id.hex}:{at}", now)
    post.put_menu(tx, chat, CLOSED_MENU, f"menu:{client.id.hex}:{at}:end", now, client.language)


# ---- The client's side ------------------------------------------------------------------------------------


def answer_offer(tx: Tx, client: Client, clinic: Clinic, yes: bool, now: dt.datetime) -> None:
    """She takes or declines maintenance; her therapist is told when the clinic is open."""
    step = endings.latest(tx, client.id)
    if step is None or step.kind is not EndingKind.OFFERED:
        return
    kind = EndingKind.MAINTENANCE if yes else EndingKind.DECLINED
    endings.add(tx, client.id, Ending(kind, now, step.until, step.owner))
    key = f"maint-answer:{client.id.hex}:{now:%Y%m%d%H%M%S}"
    _tell_owner(tx, client, clinic, step, "ending.taken" if yes else "ending.declined", key, now)


def _tell_owner(
    tx: Tx, client: Client, clinic: Clinic, step: Ending, copy: str, key: str, now: dt.datetime
) -> None:
    until = step.until or local_time.day_in(client.zone, now)
    values: Values = {"client": client.label(clinic.labels), "day": date_text(until)}
    opening = contacts.next_opening(clinic.card, now)
    # Handed over meanwhile, she is looked after by the therapist she has now.
    post.put_for_owner(tx, client.therapist_id, Say(copy, values), key, now, opening)


def track_end(client: Client, step: Ending | None) -> TrackEnd | None:
    """Her maintenance, None where her newest step is another one."""
    if step is None or step.kind not in {EndingKind.MAINTENANCE, EndingKind.OVER}:
        return None
    taken_on = local_time.day_in(client.zone, step.at)
    return TrackEnd(taken_on, step.until if step.kind is EndingKind.MAINTENANCE else None)


def over(tx: Tx, client: Client, clinic: Clinic, now: dt.datetime) -> None:
    """Maintenance has come to its end date: its owner decides what follows."""
    step = endings.latest(tx, client.id)
    if step is None or step.kind is not EndingKind.MAINTENANCE:
        return
    endings.add(tx, client.id, Ending(EndingKind.OVER, now, step.until, step.owner))
    _tell_owner(tx, client, clinic, step, "ending.over", f"maint-over:{client.id.hex}:{step.until}", now)
