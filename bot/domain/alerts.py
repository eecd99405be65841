"""Alerts: who is told when, and what stops it.

Repeats are counted from the first alert, in the clinic's working hours: out of hours the first one arrives
silently and the ladder begins when the clinic opens. *Seen* stops the repeats only; an alert that is not
closed comes back the next working morning.
"""

import datetime as dt
import uuid
from dataclasses import dataclass
from enum import StrEnum

from bot.domain import contacts
from bot.domain.contacts import ClinicCard
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


NEEDS_WORDS = frozenset({Outcome.PASSED_ON, Outcome.FALSE_ALARM})  # to whom, or why


@dataclass(frozen=True, slots=True)
class Alert:
    """A warning passed to the therapist.

    signs: ids of the warning signs; words: what she wrote or tapped. `step` counts the tellings so far.
    told_at: when the last telling was.
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


@dataclass(frozen=True, slots=True)
class Telling:
    """Tell these at an instant; `silent` when it is out of the clinic's hours."""

    at: dt.datetime
    to: To
    silent: bool


def first_telling(alert: Alert, card: ClinicCard) -> Telling | None:
    """Who is told first, and when; None for a level that pings nobody.

    An emergency or same-day alert is told at once even out of hours, then silently; a therapist-level one
    waits for working hours.
    """
    if alert.level not in LADDERS:
        return None
    opening_at = contacts.next_opening(card, alert.raised_at)
    out_of_hours = opening_at > alert.raised_at
    if out_of_hours and alert.level is Level.THERAPIST:
        return Telling(opening_at, To.THERAPIST, silent=False)
    return Telling(alert.raised_at, LADDERS[alert.level].rungs[0].to, silent=out_of_hours)


def next_telling(alert: Alert, card: ClinicCard, told_at: dt.datetime) -> Telling | None:
    """Who is told after the `alert.step` tellings so far, the last of them at `told_at`; None for nobody.

    The pause before it is counted from the last telling, in working hours, so that a night or an outage
    leaves one telling and not a heap of them.
    """
    if alert.closed_at is not None or alert.level not in LADDERS:
        return None
    if alert.seen_at is not None:
        return Telling(contacts.next_morning(card, max(alert.seen_at, told_at)), To.THERAPIST, silent=False)
    ladder = LADDERS[alert.level]
    # Told silently out of hours, the ladder itself begins when the clinic opens.
    quiet_start = alert.level is not Level.THERAPIST and not contacts.is_open(card, alert.raised_at)
    place = alert.step - 1 if quiet_start else alert.step
    rung = _rung(ladder, place)
    if rung is None:
        return Telling(contacts.next_morning(card, told_at), To.THERAPIST, silent=False)
    before = _rung(ladder, place - 1) if place else None
    pause = rung.after - before.after if before else dt.timedelta(0)
    return Telling(contacts.next_opening(card, told_at + pause), rung.to, silent=False)


def _rung(ladder: Ladder, place: int) -> Rung | None:
    """The rung at a place counted from 0, the repeats after the last one included."""
    if place < len(ladder.rungs):
        return ladder.rungs[place]
    if ladder.then_every is None:
        return None
    further = place - len(ladder.rungs) + 1
    return Rung(ladder.rungs[-1].after + further * ladder.then_every, To.BOTH)
