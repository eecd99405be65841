"""Alerts: raised in the turn that heard the warning, told step by step, closed by a person."""

import datetime as dt
import uuid
from collections.abc import Callable, Iterable
from dataclasses import dataclass, replace

from bot.conversation.effects import AddToAlert, RaiseAlert, ReachedNobody
from bot.conversation.speech import Say
from bot.conversation.staff_view import StaffView, alert_rows, alert_values
from bot.conversation.view import card_values
from bot.domain import alerts as ladder
from bot.domain import contacts, local_time
from bot.domain.alerts import SAFEGUARDING, Alert, Telling, To
from bot.domain.check_in import MOOD_SIGN
from bot.domain.delivery import Kind
from bot.domain.duties import Rota
from bot.domain.levels import Level
from bot.domain.people import Client, Clinic, Role, Staff
from bot.logs import get
from bot.service import follow_up, post
from bot.service.office import Office
from bot.service.rota import rota_of
from bot.store import alerts, chats, people, rerouting
from bot.store.base import Tx
from bot.store.ids import new_id

TRY_TO_REACH = dt.timedelta(minutes=30)
TRY_AGAIN = dt.timedelta(minutes=1)
log = get()
JOINED_ALERT = dt.timedelta(minutes=10)  # another answer of the same questions, no more urgent
SAME_ALERT = dt.timedelta(hours=1)  # the same sign within this joins the open alert instead of a new one
AFTER_ADVICE = dt.timedelta(seconds=2)
SOON = dt.timedelta(minutes=10)  # so long a word to her still belongs to what she has just written


@dataclass(frozen=True, slots=True)
class _Scene:
    """One alert with whose it is and who answers for it."""

    tx: Tx
    alert: Alert
    client: Client
    clinic: Clinic
    rota: Rota
    therapist: Staff
    now: dt.datetime

    @property
    def fallback(self) -> list[Staff]:
        """The clinic's fallback contacts."""
        return people.staff_of(self.tx, self.clinic.id, Role.FALLBACK)

    @property
    def leads(self) -> list[Staff]:
        """The safeguarding leads, and who acts on low mood, where the alert is one for them."""
        leads = list(self.rota.safeguarding) if self.alert.handling == SAFEGUARDING else []
        acts = self.rota.mood
        if MOOD_SIGN in self.alert.signs and acts is not None and acts.staff_id is not None:
            leads.append(acts.staff_id)
        return [people.staff_by_id(self.tx, lead) for lead in leads]

    def answering(self) -> Staff:
        """Who answers first: at night who is on call, in hours the therapist or who stands in for her."""
        on_call = None if self.alert.level is Level.THERAPIST else self.rota.on_call(self.now)
        leave = self.rota.leave_of(self.therapist.id, self.now)
        stands_in = on_call or (leave.cover_id if leave else None)
        return self.therapist if stands_in is None else people.staff_by_id(self.tx, stands_in)

    @property
    def uncovered(self) -> bool:
        """Whether the therapist is away and nobody stands in."""
        leave = self.rota.leave_of(self.therapist.id, self.now)
        return leave is not None and leave.cover_id is None

    @property
    def off(self) -> bool:
        """Whether the therapist is not at work just now, so that somebody else has to look."""
        return self.alert.level is not Level.THERAPIST and self.rota.is_off(self.therapist.id, self.now)

    @property
    def ladder_rota(self) -> Rota:
        """The hours the ladder runs in: what is urgent keeps the clinic's, the rest waits for hers."""
        return in_hours_of(self.rota, self.alert, self.therapist.id, self.now)

    def reachable(self, staff: Staff) -> bool:
        """Whether her chat is linked and has not gone."""
        linked = chats.chat_of_owner(self.tx, staff.id) is not None
        return linked and not chats.gone_since(self.tx, [staff.id])

    def put(self, to: Staff, sentence: str, about: Staff, silent: bool, turn: str) -> bool:
        """Put the alert for somebody; `turn` tells one telling from the next."""
        view = StaffView(to, self.clinic, self.now, None)
        values = {
            **alert_values(view, self.alert, self.client),
            "times": self.alert.step,
            "therapist": about.code,
        }
        say = Say(sentence, values, alert_rows(self.alert), Kind.ALERT, silent)
        key = f"alert:{self.alert.id.hex}:{turn}:{to.id.hex}"
        if not self.reachable(to) or not post.put_for_owner(self.tx, to.id, say, key, self.now):
            return False
        alerts.add_event(self.tx, self.alert, "told", self.now, to.id, to.code)
        return True


def in_hours_of(rota: Rota, alert: Alert, therapist_id: uuid.UUID, now: dt.datetime) -> Rota:
    """The rota an alert goes by: with the therapist's own hours for what is only hers to decide."""
    return replace(rota, card=rota.reads(therapist_id, now)) if alert.level is Level.THERAPIST else rota


def next_morning(tx: Tx, alert: Alert, clinic: Clinic, now: dt.datetime) -> dt.datetime:
    """When an alert that was seen and is not closed comes back."""
    client = people.client_by_id(tx, alert.client_id)
    rota = in_hours_of(rota_of(tx, clinic), alert, client.therapist_id, now)
    return contacts.next_morning(rota.card, now)


def _scene(tx: Tx, alert: Alert, client: Client, clinic: Clinic, now: dt.datetime) -> _Scene:
    therapist = people.staff_by_id(tx, client.therapist_id)
    return _Scene(tx, alert, client, clinic, rota_of(tx, clinic), therapist, now)


def _scene_of(tx: Tx, alert: Alert, now: dt.datetime) -> _Scene:
    client = people.client_by_id(tx, alert.client_id)
    return _scene(tx, alert, client, people.clinic_by_id(tx, client.clinic_id), now)


def raise_alert(tx: Tx, client: Client, clinic: Clinic, effect: RaiseAlert, now: dt.datetime) -> Alert:
    """Keep a warning and tell at once whom the ladder names first.

    The same signs again within the hour join an alert that nobody has seen, and so does another answer of
    the same weekly questions; its history holds every word. Any other sign is an alert of its own. A sign
    recorded for the next review pings nobody, and joins what is kept for that review.
    """
    for known in alerts.open_of(tx, [client.id]):
        if _joins(known, effect, now):
            alerts.add_event(tx, known, "said_again", now, note=effect.words)
            if set(effect.signs) - set(known.signs):
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
    scene = _scene(tx, alert, client, clinic, now)
    zone = local_time.known_zone(client.zone) or contacts.zone_of(clinic.card)
    alert = replace(alert, client_at=ladder.client_at(alert, scene.rota, zone))
    alerts.add(tx, alert)
    alerts.add_event(tx, alert, "raised", now)
    chat = chats.chat_of_owner(tx, client.id) if alert.handling != ladder.ORDINARY else None
    if chat is not None:
        rerouting.drop_unasked(tx, chat.id, now)  # nothing is pushed to her later
    if alert.level is not Level.NEXT_REVIEW:
        _advance(replace(scene, alert=alert))
    return alert


def _joins(known: Alert, effect: RaiseAlert, now: dt.datetime) -> bool:
    more = set(effect.signs) - set(known.signs)
    if known.level is Level.NEXT_REVIEW or effect.level is Level.NEXT_REVIEW:
        return known.level is effect.level and not more
    if known.seen_at is not None or effect.level.rank < known.level.rank:
        return False
    age = now - known.raised_at
    return age < SAME_ALERT if not more else effect.joins and age < JOINED_ALERT


def _advance(scene: _Scene) -> None:
    """Do the telling that is due, if it is, and write down when the next one is."""
    alert, now = scene.alert, scene.now
    telling = _upcoming(alert, scene.ladder_rota)
    if telling is not None and telling.at <= now:
        _tell(scene, telling)
        alert = replace(alert, step=alert.step + 1, told_at=now)
        telling = _upcoming(alert, scene.ladder_rota)
    next_at = None if telling is None else max(telling.at, now + dt.timedelta(seconds=1))
    alerts.change(scene.tx, alert.id, step=alert.step, told_at=alert.told_at, next_step_at=next_at)


def _upcoming(alert: Alert, rota: Rota) -> Telling | None:
    if alert.told_at is None:
        return ladder.first_telling(alert, rota)
    return ladder.next_telling(alert, rota, alert.told_at)


def _tell(scene: _Scene, telling: Telling) -> None:
    """One step of the ladder. Who cannot be reached is passed over; the fallback contact is told at once."""
    alert, first = scene.alert, scene.answering()
    turn = str(alert.step)
    told: list[uuid.UUID] = []
    reached = scene.reachable(first)
    fallback = scene.fallback
    if not reached and first.id not in alerts.unreachable(scene.tx, alert.id):
        alerts.add_event(scene.tx, alert, "unreachable", scene.now, first.id, first.code)
    if telling.to is not To.FALLBACK or not fallback:
        key = "alert.new" if alert.step == 0 else "alert.morning" if alert.seen_at else "alert.again"
        if scene.put(first, key, scene.therapist, telling.silent, turn):
            told.append(first.id)
    if telling.to is not To.THERAPIST or not reached or scene.uncovered or scene.off:
        key = "alert.fallback" if reached else "alert.unreachable"
        if telling.to is To.THERAPIST and reached and scene.off:
            key = "alert.off"
        if telling.to is To.THERAPIST and scene.uncovered:
            key = "alert.uncovered"
        told += [person.id for person in fallback if scene.put(person, key, first, telling.silent, turn)]
    if alert.step == 0 or alert.seen_at:
        # She sees in the morning what was told to somebody else at night.
        also = [scene.therapist] if alert.step == 0 and first.id != scene.therapist.id else []
        for person in (*also, *scene.leads):
            silent = telling.silent or person.id == scene.therapist.id
            if person.id not in told and scene.put(person, "alert.new", first, silent, turn):
                told.append(person.id)
    if not told:
        _undelivered(scene)


def _undelivered(scene: _Scene) -> None:
    """Nobody could be told: readiness says so, and she is given the numbers again while it still belongs."""
    if not alerts.mark_undelivered(scene.tx, scene.alert.id, scene.now):
        return
    alerts.add_event(scene.tx, scene.alert, "undelivered", scene.now)
    if scene.alert.handling == ladder.ORDINARY or scene.now - scene.alert.raised_at < SOON:
        say = Say("advice.undelivered", card_values(scene.clinic.card, scene.now), kind=Kind.ADVICE)
        key = f"undelivered:{scene.alert.id.hex}"
        # After the advice, which is put later in the same turn.
        post.put_for_owner(scene.tx, scene.client.id, say, key, scene.now, scene.now + AFTER_ADVICE)


def watch(office: Office, limit: int = 50) -> int:
    """Tell every alert that is due again, and write to whom one is due; tells how many there were."""
    now = office.clock.now()
    with office.begin() as tx:
        due = sorted(alerts.due(tx, now, limit), key=lambda one: one.level.rank)
        _each(tx, due, "next_step_at", now, lambda alert: _advance(_scene_of(tx, alert, now)))
        hers = alerts.client_due(tx, now, limit)
        _each(tx, hers, "client_at", now, lambda alert: follow_up.write(tx, alert, now))
    return len(due) + len(hers)


def _each(tx: Tx, due: Iterable[Alert], column: str, now: dt.datetime, act: Callable[[Alert], None]) -> None:
    for alert in due:
        try:
            with tx.attempt():
                act(alert)
        except Exception as error:  # noqa: BLE001 - one alert's fault must not hold up the others
            log.error("alert_failed", alert=str(alert.id), error=type(error).__name__)  # noqa: TRY400 - no texts in logs
            alerts.change(tx, alert.id, **{column: now + TRY_AGAIN})


def not_reached(tx: Tx, alert: Alert, staff: Staff, now: dt.datetime) -> None:
    """She could not be reached: the others are told now, and all are asked again in half an hour."""
    scene = _scene_of(tx, alert, now)
    alerts.add_event(tx, alert, "outcome", now, staff.id, staff.code)
    # Not seen any more: somebody has to try again.
    again_at = scene.rota.next_watched(now + TRY_TO_REACH)
    alerts.change(tx, alert.id, seen_at=None, told_at=now, next_step_at=again_at)
    for person in _others(scene, staff.id):
        scene.put(person, "alert.not_reached_by", staff, silent=False, turn=f"tried{now:%Y%m%d%H%M%S}")


def answered(tx: Tx, effect: AddToAlert | ReachedNobody, now: dt.datetime) -> None:
    """Her answer goes into the history; has she reached nobody, whoever answers now is told, seen or not."""
    alert = alerts.by_id(tx, effect.alert_id)
    if alert is None:
        return
    if isinstance(effect, AddToAlert):
        alerts.add_event(tx, alert, effect.kind, now, note=effect.note)
        return
    if alert.closed_at is not None:
        return
    scene = _scene_of(tx, alert, now)
    silent = not scene.rota.is_watched(now)
    for person in (scene.answering(), *scene.fallback):
        scene.put(person, "alert.reached_nobody", person, silent, f"alone{now:%Y%m%d%H%M%S}")


def _others(scene: _Scene, besides: uuid.UUID | None) -> list[Staff]:
    """Everybody who answers for this alert, but one."""
    every = [*scene.fallback, scene.therapist, scene.answering(), *scene.leads]
    return list({person.id: person for person in every if person.id != besides}.values())


def tell_others(
    tx: Tx, alert: Alert, staff: Staff, sentence: str, now: dt.datetime, outcome: str = ""
) -> None:
    """Those who were told learn, without a sound, that somebody has seen or closed it."""
    scene = _scene_of(tx, alert, now)
    for person_id in alerts.told(tx, alert.id):
        if person_id == staff.id:
            continue
        view = StaffView(people.staff_by_id(tx, person_id), scene.clinic, now, None)
        values = {
            "client": view.label(scene.client),
            "therapist": staff.code,
            "when": view.when(now),
            "outcome": outcome,
        }
        key = f"{sentence}:{alert.id.hex[-12:]}:{person_id.hex[-12:]}:{now:%Y%m%d%H%M%S}"
        post.put_for_owner(tx, person_id, Say(sentence, values, silent=True), key, now)


def refused(tx: Tx, alert_id: uuid.UUID, owner_id: uuid.UUID, now: dt.datetime) -> None:
    """Somebody's chat does not take the alert: the fallback contact is told at once, or whoever is left."""
    alert = alerts.by_id(tx, alert_id)
    if alert is None or alert.closed_at is not None:
        return
    scene = _scene_of(tx, alert, now)
    gone = people.staff_by_id(tx, owner_id)
    alerts.add_event(tx, alert, "unreachable", now, gone.id, gone.code)
    lost = alerts.unreachable(tx, alert.id)
    left = [
        person for person in _others(scene, owner_id) if person.id not in lost and scene.reachable(person)
    ]
    told = alerts.told(tx, alert.id)
    new = [person for person in left if person.id not in told]
    for person in [one for one in new if one.role is Role.FALLBACK] or new[:1]:
        scene.put(person, "alert.unreachable", gone, silent=False, turn="relay")
    if not left:
        _undelivered(scene)


def arrived(tx: Tx, alert_id: uuid.UUID, now: dt.datetime) -> None:
    """An alert has reached somebody's chat after all."""
    alert = alerts.by_id(tx, alert_id)
    if alert is not None and alerts.mark_delivered(tx, alert_id):
        alerts.add_event(tx, alert, "delivered", now)
