"""Alerts: raised in the turn that heard the warning, told step by step, closed by a person."""

import datetime as dt
import uuid
from dataclasses import replace

from bot.conversation.effects import RaiseAlert
from bot.conversation.speech import Say
from bot.conversation.staff import StaffView, alert_rows, alert_values
from bot.domain import alerts as ladder
from bot.domain import contacts
from bot.domain.alerts import Alert, Telling, To
from bot.domain.delivery import Kind
from bot.domain.levels import Level
from bot.domain.people import Client, Clinic, Role, Staff
from bot.logs import get
from bot.service import post
from bot.service.office import Office
from bot.store import alerts, chats, people
from bot.store.base import Tx
from bot.store.ids import new_id

TRY_TO_REACH = dt.timedelta(minutes=30)
TRY_AGAIN = dt.timedelta(minutes=1)
log = get()
JOINED_ALERT = dt.timedelta(minutes=10)  # another answer of the same questions, no more urgent
SAME_ALERT = dt.timedelta(hours=1)  # the same sign within this joins the open alert instead of a new one


def raise_alert(tx: Tx, client: Client, clinic: Clinic, effect: RaiseAlert, now: dt.datetime) -> Alert:
    """Keep a warning and tell at once whom the ladder names first.

    The same signs again within the hour join an alert that nobody has seen, and so does another answer of
    the same weekly questions; its history holds every word. Any other sign is an alert of its own. A sign
    recorded for the next review pings nobody.
    """
    for known in alerts.open_of(tx, [client.id]):
        age = now - known.raised_at
        more = set(effect.signs) - set(known.signs)
        joins = age < SAME_ALERT if not more else effect.joins and age < JOINED_ALERT
        joins = joins and known.seen_at is None
        if joins and effect.level.rank >= known.level.rank and known.level is not Level.NEXT_REVIEW:
            alerts.add_event(tx, known, "said_again", now, note=effect.words)
            if more:
                alerts.add_signs(tx, known, tuple(dict.fromkeys((*known.signs, *effect.signs))))
            return known
    alert = Alert(
        id=new_id(now),
        client_id=client.id,
        level=effect.level,
        handling=effect.handling,
        signs=effect.signs,
        words=effect.words,
        raised_at=now,
        step=0,
    )
    alerts.add(tx, alert)
    alerts.add_event(tx, alert, "raised", now)
    if alert.level is not Level.NEXT_REVIEW:
        advance(tx, alert, client, clinic, now)
    return alert


def advance(tx: Tx, alert: Alert, client: Client, clinic: Clinic, now: dt.datetime) -> None:
    """Do the telling that is due, if it is, and write down when the next one is."""
    telling = _upcoming(alert, clinic)
    if telling is not None and telling.at <= now:
        _tell(tx, alert, client, clinic, telling, now)
        alert = replace(alert, step=alert.step + 1, told_at=now)
        telling = _upcoming(alert, clinic)
    next_at = None if telling is None else max(telling.at, now + dt.timedelta(seconds=1))
    alerts.change(tx, alert.id, step=alert.step, told_at=alert.told_at, next_step_at=next_at)


def _upcoming(alert: Alert, clinic: Clinic) -> Telling | None:
    if alert.told_at is None:
        return ladder.first_telling(alert, clinic.card)
    return ladder.next_telling(alert, clinic.card, alert.told_at)


def _tell(tx: Tx, alert: Alert, client: Client, clinic: Clinic, telling: Telling, now: dt.datetime) -> None:
    therapist = people.staff_by_id(tx, client.therapist_id)
    fallback = people.staff_of(tx, clinic.id, Role.FALLBACK)
    reachable = _reachable(tx, therapist)
    if telling.to in {To.THERAPIST, To.BOTH} and reachable:
        key = "alert.new" if alert.step == 0 else "alert.morning" if alert.seen_at else "alert.again"
        _put(tx, alert, client, clinic, therapist, key, therapist, telling.silent, now)
    if telling.to in {To.FALLBACK, To.BOTH} or not reachable:
        key = "alert.fallback" if reachable else "alert.unreachable"
        for person in fallback:
            _put(tx, alert, client, clinic, person, key, therapist, telling.silent, now)


def _reachable(tx: Tx, staff: Staff) -> bool:
    return chats.chat_of_owner(tx, staff.id) is not None and not chats.gone_since(tx, [staff.id])


def _put(
    tx: Tx,
    alert: Alert,
    client: Client,
    clinic: Clinic,
    to: Staff,
    sentence: str,
    therapist: Staff,
    silent: bool,
    now: dt.datetime,
) -> None:
    view = StaffView(to, clinic, now, None)
    values = {**alert_values(view, alert, client), "times": alert.step, "therapist": therapist.code}
    say = Say(sentence, values, alert_rows(alert), Kind.ALERT, silent)
    if post.put_for_owner(tx, to.id, say, f"alert:{alert.id.hex}:{alert.step}:{to.id.hex}", now):
        alerts.add_event(tx, alert, "told", now, note=to.code)


def watch(office: Office, limit: int = 50) -> int:
    """Tell every alert that is due again; tells how many were."""
    now = office.clock.now()
    with office.begin() as tx:
        due = alerts.due(tx, now, limit)
        for alert in sorted(due, key=lambda one: one.level.rank):
            try:
                with tx.attempt():
                    client = people.client_by_id(tx, alert.client_id)
                    advance(tx, alert, client, people.clinic_by_id(tx, client.clinic_id), now)
            except Exception as error:  # noqa: BLE001 - one alert's fault must not hold up the others
                log.error("alert_failed", alert=str(alert.id), error=type(error).__name__)  # noqa: TRY400 - no texts in logs
                alerts.change(tx, alert.id, next_step_at=now + TRY_AGAIN)
    return len(due)


def not_reached(tx: Tx, alert: Alert, staff: Staff, now: dt.datetime) -> None:
    """She could not be reached: the other person is told now, and both are asked again in half an hour."""
    client = people.client_by_id(tx, alert.client_id)
    clinic = people.clinic_by_id(tx, client.clinic_id)
    therapist = people.staff_by_id(tx, client.therapist_id)
    again_at = contacts.next_opening(clinic.card, now + TRY_TO_REACH)
    alerts.add_event(tx, alert, "outcome", now, staff.id, staff.code)
    # Not seen any more: somebody has to try again.
    alerts.change(tx, alert.id, seen_at=None, told_at=now, next_step_at=again_at)
    others = [*people.staff_of(tx, clinic.id, Role.FALLBACK), therapist]
    for person in others:
        if person.id != staff.id:
            told = replace(alert, step=alert.step + 1000)
            _put(tx, told, client, clinic, person, "alert.not_reached_by", staff, silent=False, now=now)


def pass_to_fallback(tx: Tx, alert_id: uuid.UUID, now: dt.datetime) -> None:
    """The therapist's chat cannot be reached: tell the fallback contact at once."""
    alert = alerts.by_id(tx, alert_id)
    if alert is None or alert.closed_at is not None:
        return
    client = people.client_by_id(tx, alert.client_id)
    clinic = people.clinic_by_id(tx, client.clinic_id)
    therapist = people.staff_by_id(tx, client.therapist_id)
    alerts.add_event(tx, alert, "unreachable", now, note=therapist.code)
    for person in people.staff_of(tx, clinic.id, Role.FALLBACK):
        _put(tx, alert, client, clinic, person, "alert.unreachable", therapist, silent=False, now=now)
