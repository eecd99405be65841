"""What a clinic's administrator is told of the service itself: an emergency nobody has seen, late delivery.

One message for each incident. It names codes and minutes, nothing that a client wrote.
"""

import datetime as dt
import uuid

from bot.conversation.speech import Say, Values
from bot.domain import contacts, local_time
from bot.domain.alerts import Alert
from bot.domain.people import Clinic, Role, Staff
from bot.logs import get
from bot.service import noting, post
from bot.service.office import Office
from bot.service.rota import rota_of
from bot.store import chats, client_notes, diary, inbox, incidents, people
from bot.store.base import Tx

UNSEEN, LATE = "alert-unseen", "delivery-late"
SAME_WITHIN = dt.timedelta(hours=1)  # late again so soon after it was over, it is the same incident
log = get()


def run(office: Office) -> int:
    """Tell of what has begun, write down what is over, and what became of notes; tells how much there was."""
    now = office.clock.now()
    with office.begin() as tx:
        found = noting.settle(tx, now)
        found += _unseen(tx, office, now)
        found += _late(tx, office, now)
    return found


def next_at(tx: Tx, office: Office, now: dt.datetime) -> dt.datetime | None:
    """When an emergency that nobody has seen becomes an incident, or now where a note has come to an end."""
    if client_notes.landed(tx):
        return now
    waiting = incidents.unseen_emergencies(tx, UNSEEN, now)
    return min((_told_at(tx, clinic_id, alert, office) for clinic_id, alert in waiting), default=None)


def _told_at(tx: Tx, clinic_id: uuid.UUID, alert: Alert, office: Office) -> dt.datetime:
    """The limit runs while alerts are answered at all: at night only where somebody is on call."""
    rota = rota_of(tx, people.clinic_by_id(tx, clinic_id))
    begun = rota.next_watched(alert.raised_at)
    return rota.next_watched(begun + dt.timedelta(minutes=office.unseen_alert_minutes))


def _unseen(tx: Tx, office: Office, now: dt.datetime) -> int:
    told = 0
    limit = dt.timedelta(minutes=office.unseen_alert_minutes)
    for clinic_id, alert in incidents.unseen_emergencies(tx, UNSEEN, now - limit):
        if _told_at(tx, clinic_id, alert, office) > now:
            continue
        if incidents.begin(tx, clinic_id, UNSEEN, alert.id.hex, now):
            clinic = people.clinic_by_id(tx, clinic_id)
            client = people.client_by_id(tx, alert.client_id)
            raised = local_time.local(alert.raised_at, contacts.zone_of(clinic.card))
            values: Values = {
                "client": client.code,
                "therapist": people.staff_by_id(tx, client.therapist_id).code,
                "when": f"{raised:%a %H:%M}",
            }
            _tell(tx, clinic, Say("incident.unseen", values), alert.id.hex, now)
            log.warning("emergency_unseen", alert=str(alert.id))
            told += 1
    return told


def _lag(tx: Tx, office: Office, now: dt.datetime) -> dt.timedelta:
    """How late the service is: the oldest message that may go, update to be handled, or look at a client."""
    since = (incidents.oldest_queued(tx, office.bot), inbox.oldest_waiting(tx), diary.next_track_at(tx))
    return max((now - at for at in since if at is not None), default=dt.timedelta(0))


def _late(tx: Tx, office: Office, now: dt.datetime) -> int:
    lag = _lag(tx, office, now)
    late = lag >= dt.timedelta(minutes=office.late_delivery_minutes)
    told = 0
    for clinic in people.clinics(tx):
        known = incidents.newest(tx, clinic.id, LATE)
        lasts = known is not None and known.ended_at is None
        if not late:
            if known is not None and lasts:
                incidents.set_ended(tx, known.id, now)
            continue
        if lasts:
            continue
        if known is not None and known.ended_at is not None and now - known.ended_at < SAME_WITHIN:
            incidents.set_ended(tx, known.id, None)
        elif incidents.begin(tx, clinic.id, LATE, f"{now:%Y%m%dT%H%M}", now):
            minutes = int(lag.total_seconds() // 60)
            _tell(tx, clinic, Say("incident.late", {"minutes": minutes}), f"{now:%Y%m%d%H%M}", now)
            log.warning("delivery_late", seconds=minutes * 60)
            told += 1
    return told


def answerable(tx: Tx, clinic_id: uuid.UUID) -> list[Staff]:
    """Whom of a clinic can be told: its administrators; else who gets what nobody has seen, or therapists."""
    for role in (Role.ADMINISTRATOR, Role.FALLBACK, Role.THERAPIST):
        linked = [
            one for one in people.staff_of(tx, clinic_id, role) if chats.chat_of_owner(tx, one.id) is not None
        ]
        if linked:
            return linked
    return []


def _tell(tx: Tx, clinic: Clinic, say: Say, name: str, now: dt.datetime) -> None:
    for person in answerable(tx, clinic.id):
        post.put_for_owner(tx, person.id, say, f"incident:{name}:{person.id.hex}", now)
