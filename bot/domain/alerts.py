"""Alerts: who is told when, and what stops it.

Repeats are counted from the first alert, in the clinic's working hours and, for what is urgent, at night
where somebody is named on call: at other times the first one arrives silently and the ladder begins when the
clinic opens. *Seen* stops the repeats only; an alert that is not closed comes back the next working morning.
"""

import datetime as dt
import uuid
from dataclasses import dataclass
from enum import StrEnum
from zoneinfo import ZoneInfo

from bot.domain import contacts, local_time
from bot.domain.duties import Rota
from bot.domain.levels import Level


class To(StrEnum):
    """Whom a step tells."""

    THERAPIST = "therapist"
    FALLBACK = "fallback"
    BOTH = "both"


@dataclass(frozen=True, slots=True)
class Rung:
    """One step of a ladder: so long after its start, tell these."""

    after: dt.timedelta
    to: To


@dataclass(frozen=True, slots=True)
class Ladder:
    """The steps of a level; after the last one `then_every` says how both are told again, None for not."""

    rungs: tuple[Rung, ...]
    then_every: dt.timedelta | None


_MINUTE = dt.timedelta(minutes=1)
_HOUR = dt.timedelta(hours=1)

# Common practice, no source; the clinic's safety lead signs them off.
LADDERS = {
    Level.EMERGENCY: Ladder(
        (Rung(0 * _MINUTE, To.THERAPIST), Rung(15 * _MINUTE, To.THERAPIST), Rung(30 * _MINUTE, To.FALLBACK)),
        then_every=_HOUR,
    ),
    Level.SAME_DAY: Ladder(
        (
            Rung(0 * _MINUTE, To.THERAPIST),
            Rung(15 * _MINUTE, To.THERAPIST),
            Rung(_HOUR, To.THERAPIST),
            Rung(4 * _HOUR, To.FALLBACK),
        ),
        then_every=None,
    ),
    Level.THERAPIST: Ladder((Rung(0 * _MINUTE, To.THERAPIST),), then_every=None),
}


class Outcome(StrEnum):
    """How an alert is closed."""

    SPOKE = "spoke"
    NOT_REACHED = "not_reached"
    PASSED_ON = "passed_on"
    FALSE_ALARM = "false_alarm"
    REVIEWED = "reviewed"  # looked at in a visit; only what was kept for one


ORDINARY, SAFEGUARDING = "ordinary", "safeguarding"  # of the handlings; see `warning_signs.Handling`
NEEDS_WORDS = frozenset({Outcome.PASSED_ON, Outcome.FALSE_ALARM})  # to whom, or why


@dataclass(frozen=True, slots=True)
class Alert:
    """A warning passed to the therapist.

    signs: ids of the warning signs; words: what she wrote or tapped. `step` counts the tellings so far.
    told_at: when the last telling was. client_at: when she herself is to be written to about it, None when
    that is done or not to be.
    """

    id: uuid.UUID
    client_id: uuid.UUID
    level: Level
    handling: str
    signs: tuple[str, ...]
    words: str
    raised_at: dt.datetime
    step: int
    seen_at: dt.datetime | None = None
    closed_at: dt.datetime | None = None
    outcome: Outcome | None = None
    told_at: dt.datetime | None = None
    client_at: dt.datetime | None = None


@dataclass(frozen=True, slots=True)
class Telling:
    """Tell these at an instant; `silent` when it is out of the clinic's hours."""

    at: dt.datetime
    to: To
    silent: bool


def first_telling(alert: Alert, rota: Rota) -> Telling | None:
    """Who is told first, and when; None for a level that pings nobody.

    An emergency or same-day alert is told at once even out of hours, then silently; a therapist-level one
    waits for working hours.
    """
    if alert.level not in LADDERS:
        return None
    starts_at = _next_on(alert, rota, alert.raised_at)
    out_of_hours = starts_at > alert.raised_at
    if out_of_hours and alert.level is Level.THERAPIST:
        return Telling(starts_at, To.THERAPIST, silent=False)
    return Telling(alert.raised_at, LADDERS[alert.level].rungs[0].to, silent=out_of_hours)


def _next_on(alert: Alert, rota: Rota, at: dt.datetime) -> dt.datetime:
    """When somebody may next be told: what is urgent also while somebody is on call."""
    if alert.level is Level.THERAPIST:
        return contacts.next_opening(rota.card, at)
    return rota.next_watched(at)


def next_telling(alert: Alert, rota: Rota, told_at: dt.datetime) -> Telling | None:
    """Who is told after the `alert.step` tellings so far, the last of them at `told_at`; None for nobody.

    The pause before it is counted from the last telling, in working hours, so that a night or an outage
    leaves one telling and not a heap of them.
    """
    if alert.closed_at is not None or alert.level not in LADDERS:
        return None
    if alert.seen_at is not None:
        return Telling(
            contacts.next_morning(rota.card, max(alert.seen_at, told_at)), To.THERAPIST, silent=False
        )
    ladder = LADDERS[alert.level]
    # Told silently out of hours, the ladder itself begins when the clinic opens.
    quiet_start = alert.level is not Level.THERAPIST and not rota.is_watched(alert.raised_at)
    place = alert.step - 1 if quiet_start else alert.step
    rung = _rung(ladder, place)
    if rung is None:
        return Telling(contacts.next_morning(rota.card, told_at), To.THERAPIST, silent=False)
    before = _rung(ladder, place - 1) if place else None
    pause = rung.after - before.after if before else dt.timedelta(0)
    return Telling(_next_on(alert, rota, told_at + pause), rung.to, silent=False)


def _rung(ladder: Ladder, place: int) -> Rung | None:
    """The rung at a place counted from 0, the repeats after the last one included."""
    if place < len(ladder.rungs):
        return ladder.rungs[place]
    if ladder.then_every is None:
        return None
    further = place - len(ladder.rungs) + 1
    return Rung(ladder.rungs[-1].after + further * ladder.then_every, To.BOTH)


# When she herself hears of it again; common practice, no source.
FOLLOW_UP = {Level.EMERGENCY: 20 * _MINUTE, Level.SAME_DAY: 4 * _HOUR}
DECIDED_WITHIN = 2  # working days
WAKING = (dt.time(8, 30), dt.time(21, 0))  # her local time; only an emergency asks outside it


def client_at(alert: Alert, rota: Rota, zone: ZoneInfo) -> dt.datetime | None:
    """When she is asked whether she reached someone, or told whom to ring since nobody has decided.

    None for never: where the handling forbids any word to her, and for what is only recorded. A sign at
    therapist level has an instant in any case, since from then on it heads the digest.
    """
    if alert.level is Level.THERAPIST:
        return contacts.after_working_days(rota.card, alert.raised_at, DECIDED_WITHIN)
    if alert.handling != ORDINARY or alert.level not in FOLLOW_UP:
        return None
    at = alert.raised_at + FOLLOW_UP[alert.level]
    if alert.level is Level.EMERGENCY:
        return at
    local = local_time.local(at, zone)
    if WAKING[0] <= local.time() < WAKING[1]:
        return at
    on = local.date() if local.time() < WAKING[0] else local.date() + dt.timedelta(days=1)
    return local_time.instant(on, WAKING[0], zone)
