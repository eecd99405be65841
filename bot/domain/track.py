"""Where one client stands: everything the agenda needs to know about her."""

import datetime as dt
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from enum import StrEnum
from zoneinfo import ZoneInfo

from bot.domain import local_time
from bot.domain.prescription import InForce, in_force, prescribed_sets

ONE_DAY = dt.timedelta(days=1)


class What(StrEnum):
    """The kinds of unasked message; `LATER` is a nudge she put off herself."""

    NUDGE = "nudge"
    LATER = "later"
    ROUND_UP = "round_up"
    CHECK_IN = "check_in"
    KIND_WORD = "kind_word"
    WEEKLY_WORD = "weekly_word"
    BOOK_REVIEW = "book_review"
    CHANGE = "change"  # told when a version is put in force, never by the agenda; its ordinal is the version
    NOTE = "note"  # her therapist's own words, never by the agenda; its ordinal counts the day's
    MAINTENANCE = "maintenance"
    MAINTENANCE_OVER = "maint_over"


@dataclass(frozen=True, slots=True)
class Said:
    """An unasked message already handed over, whatever became of it.

    on: the local day it was for. ordinal: the set's place in the day, 1 and up, for a nudge; the first,
    second ... of the day for a nudge put off; 0 for what comes once a day.
    """

    what: What
    on: dt.date
    ordinal: int
    at: dt.datetime


class Mode(StrEnum):
    """How much a client wants: everything, or the evening message only."""

    ALL = "all"
    EVENING_ONLY = "evening_only"


@dataclass(frozen=True, slots=True)
class Pause:
    """Nothing unasked. until: the first local day on which it comes again; None until somebody resumes."""

    until: dt.date | None
    reason: str


@dataclass(frozen=True, slots=True)
class TrackEnd:
    """Maintenance: the local day she took it, and its last one, None once it is over and was told.

    It stands over what she chose before it, until a version of her prescription starts after it.
    """

    since: dt.date
    until: dt.date | None


@dataclass(frozen=True, slots=True)
class Track:
    """Everything the agenda needs to know about one client.

    zone: the name of her time zone. versions: her prescriptions in the order they were put in force. cap:
    unasked messages a day, 1 to 3. done: booked sets by local day; a missing day is one nobody answered.
    closed: days on which she said "no more today". said: unasked messages so far, at least those of the last
    40 days, oldest first. later_at: when she asked to be nudged again; laters_today: how often she asked
    today, that one included. pause: may stay here when it is over; silence is counted from its end.
    last_heard_at: her last message or press, or her enrolment. last_check_in_on: the day she last answered
    one. spare_zone: used while the machine's data lack `zone` (the clinic's). restarted_at: when her nudges
    last began or began anew (enrolment, resuming, new times); what was due before is not owed, and it counts
    as being heard. excused: days taken out of the diary, by travel or a pause: nobody asks about them.
    end: maintenance, None where she never took it.
    """

    zone: str
    versions: tuple[InForce, ...]
    mode: Mode
    cap: int
    done: Mapping[dt.date, int]
    closed: frozenset[dt.date]
    said: tuple[Said, ...]
    later_at: dt.datetime | None
    laters_today: int
    pause: Pause | None
    last_heard_at: dt.datetime
    last_check_in_on: dt.date | None
    spare_zone: str = ""
    restarted_at: dt.datetime | None = None
    excused: frozenset[dt.date] = frozenset()
    end: TrackEnd | None = None

    def is_paused(self, on: dt.date) -> bool:
        """Whether a local day is a paused one."""
        return self.pause is not None and (self.pause.until is None or on < self.pause.until)

    def heard_at(self) -> dt.datetime:
        """When silence was last broken, by her or by somebody who began her nudges anew."""
        return max(self.last_heard_at, self.restarted_at or self.last_heard_at)


def silent_since(track: Track, zone: ZoneInfo, on: dt.date) -> dt.date | None:
    """The first day up to `on` that asked her something and has not been followed by a word from her.

    None where she has been heard since anything was asked: days off, pauses and days without a prescription
    do not begin a silence. A new version in force begins a new one: her therapist has acted.
    """
    heard_on = local_time.local_date(track.heard_at(), zone)
    until = track.pause.until if track.pause else None
    return first_unheard(track.versions, heard_on, until, on, track.excused.__contains__)


def first_unheard(
    versions: tuple[InForce, ...],
    heard_on: dt.date,
    paused_until: dt.date | None,
    on: dt.date,
    excused: Callable[[dt.date], bool],
) -> dt.date | None:
    """The same for whom it is only known when she was heard of last.

    paused_until: the end of her last pause. excused: whether nobody asks about a day.
    """
    day = max(heard_on + ONE_DAY, paused_until or heard_on)
    if day > on:
        return None
    version = in_force(versions, on)
    if version is None:
        return None
    day = max(day, version.prescription.starts_on)
    while day <= on:
        if prescribed_sets(versions, day) and not excused(day):
            return day
        day += ONE_DAY
    return None


def silent_day(track: Track, zone: ZoneInfo, on: dt.date) -> int:
    """Which day of a silence a local day is: 1 for the first, 0 outside one."""
    since = silent_since(track, zone, on)
    return (on - since).days + 1 if since else 0
