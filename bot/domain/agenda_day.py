"""What may be said to a client on one local day, and in which stretch of time.

The order of precedence, the cap and every reason for silence are decided here; quiet hours and the pause
between two messages are left to `bot.domain.agenda`, which picks the instant.
"""

import datetime as dt
from collections.abc import Iterator
from dataclasses import dataclass
from zoneinfo import ZoneInfo

from bot.domain import local_time
from bot.domain.prescription import Prescription, in_force
from bot.domain.track import ONE_DAY, Mode, Said, Track, What, silent_day, silent_since

# Common practice, no source.
LATEST = dt.timedelta(hours=2)  # a message later than this is dropped
LATERS_A_DAY = 4
ONE_A_DAY_FROM = 3  # silent day from which there is one message a day: two days have gone by
KIND_WORD_FROM = 5  # silent day of the kind word; then one a week
SILENT_FROM = 21  # silent day from which nothing is said
WEEK = 7
CHECK_IN_GRACE = 2  # days a check-in may be carried over when its own day allowed none
REVIEW_LATE = 14  # days past the review date from which there is one nudge a day
REVIEW_STOP = 28  # days past the review date from which the programme stops
MEMORY = 40  # days of `Track.said` that are there for certain

WORDS = frozenset({What.KIND_WORD, What.WEEKLY_WORD})
EVENING = WORDS | {What.ROUND_UP, What.CHECK_IN}


@dataclass(frozen=True, slots=True)
class Chance:
    """A message that may go out from `from_at` until just before `until_at`, outside `plan`'s quiet hours."""

    what: What
    on: dt.date
    ordinal: int
    from_at: dt.datetime
    until_at: dt.datetime
    plan: Prescription


@dataclass(frozen=True, slots=True)
class _Day:
    """One local day of a client on which something may be said.

    begins_at, ends_at: what falls due outside is not this day's, or was due before a fresh start. today: what
    has been said for this day. silent: which day of a silence it is, which began on `silent_on`. late: days
    past the review date. left: messages still allowed by her cap.
    """

    track: Track
    zone: ZoneInfo
    on: dt.date
    plan: Prescription
    begins_at: dt.datetime
    ends_at: dt.datetime
    today: tuple[Said, ...]
    done: int
    silent_on: dt.date | None
    silent: int
    late: int
    left: int

    @property
    def unfinished(self) -> bool:
        return self.done < self.plan.sets_a_day

    def at(self, wall: dt.time) -> dt.datetime:
        return local_time.instant(self.on, wall, self.zone)

    def chance(
        self, what: What, ordinal: int, from_at: dt.datetime, until_at: dt.datetime | None = None
    ) -> Iterator[Chance]:
        """The chance, cut off at the end of the day; nothing if it fell due before the day began."""
        if from_at >= self.begins_at:
            until_at = min(until_at or from_at + LATEST, self.ends_at)
            yield Chance(what, self.on, ordinal, from_at, until_at, self.plan)


def chances(track: Track, zone: ZoneInfo, on: dt.date) -> Iterator[Chance]:
    """What may be said on a local day, given what has been said so far, in order of precedence."""
    day = _read(track, zone, on)
    if day is None:
        return
    if is_maintained(track, day.plan):
        yield from _maintained(day)
        return
    if day.silent >= SILENT_FROM:
        return
    if is_stopped(day.plan, on):
        yield from _book_review(day)
        return
    evening = _evening(day)
    if evening and day.left > 0:
        yield from day.chance(evening, 0, day.at(day.plan.round_up_at))
    if track.mode is Mode.ALL and day.silent < KIND_WORD_FROM and day.unfinished:
        yield from _nudges(day, evening)
        yield from _put_off(day)


def is_over(track: Track, zone: ZoneInfo, on: dt.date) -> bool:
    """Whether nothing can come any more, on this day or a later one, until the track changes."""
    if track.pause and track.pause.until is None:
        return True
    plans = [version.prescription for version in track.versions]
    if any(plan.starts_on > on and plan.sets_a_day and plan.days for plan in plans):
        return False
    current = in_force(track.versions, on)
    if current is None or not (current.prescription.sets_a_day and current.prescription.days):
        return True
    if is_maintained(track, current.prescription):
        return track.end is None or track.end.until is None
    if silent_day(track, zone, on) >= SILENT_FROM:
        return True
    return is_stopped(current.prescription, on) and not _may_tell_to_book(track, current.prescription, on)


def is_maintained(track: Track, plan: Prescription) -> bool:
    """Whether maintenance stands over a version of the prescription: no newer one has begun anew."""
    return track.end is not None and plan.starts_on <= track.end.since


def is_stopped(plan: Prescription, on: dt.date) -> bool:
    """Whether a prescription has stopped because its review is too long overdue."""
    return (on - plan.review_on).days >= REVIEW_STOP


def _read(track: Track, zone: ZoneInfo, on: dt.date) -> _Day | None:
    """The day, or None when nothing may be said on it whatever the hour."""
    version = in_force(track.versions, on)
    if version is None or on in track.closed or track.is_paused(on):
        return None
    plan = version.prescription
    if not plan.sets_a_day or on.weekday() not in plan.days:
        return None
    since = silent_since(track, zone, on)
    silent = (on - since).days + 1 if since else 0
    today = tuple(said for said in track.said if said.on == on)
    cap = min(track.cap, 1) if silent >= ONE_A_DAY_FROM else track.cap
    begins_at, ends_at = local_time.day_span(on, zone)
    return _Day(
        track=track,
        zone=zone,
        on=on,
        plan=plan,
        begins_at=max(begins_at, track.restarted_at) if track.restarted_at else begins_at,
        ends_at=ends_at,
        today=today,
        done=track.done.get(on, 0),
        silent_on=since,
        silent=silent,
        late=(on - plan.review_on).days,
        left=cap - sum(said.what is not What.LATER for said in today),
    )


def _maintained(day: _Day) -> Iterator[Chance]:
    """One message a week, on the day of the weekly questions or the next one of the programme.

    Once the last day is past, one word that it is over, even to somebody who has fallen silent.
    """
    end = day.track.end
    if end is None or end.until is None or day.left <= 0:
        return
    if day.on > end.until:
        yield from day.chance(What.MAINTENANCE_OVER, 0, day.at(day.plan.round_up_at))
        return
    asked_on = day.on - (day.on.weekday() - day.plan.check_in_day) % WEEK * ONE_DAY
    asked = any(said.what is What.MAINTENANCE and said.on >= asked_on for said in day.track.said)
    if not asked and asked_on > end.since and day.silent < SILENT_FROM:
        yield from day.chance(What.MAINTENANCE, 0, day.at(day.plan.round_up_at))


def _book_review(day: _Day) -> Iterator[Chance]:
    """Told by day, when a clinic answers the telephone, unless she wants her evenings only."""
    if day.left > 0 and _may_tell_to_book(day.track, day.plan, day.on):
        by_day = day.track.mode is Mode.ALL and day.plan.nudge_times
        yield from day.chance(
            What.BOOK_REVIEW, 0, day.at(day.plan.nudge_times[0] if by_day else day.plan.round_up_at)
        )


def _may_tell_to_book(track: Track, plan: Prescription, on: dt.date) -> bool:
    """Once for a review date, and only while `said` reaches back far enough to know that it was not."""
    stopped_on = plan.review_on + REVIEW_STOP * ONE_DAY
    return (on - stopped_on).days < MEMORY and not any(
        said.what is What.BOOK_REVIEW and said.on >= stopped_on for said in track.said
    )


def _evening(day: _Day) -> What | None:
    """Which message belongs to this evening, before the cap is asked."""
    if any(said.what in EVENING for said in day.today):
        return None
    if day.silent >= KIND_WORD_FROM:
        return _word(day)
    if _check_in_is_due(day):
        return What.CHECK_IN
    return What.ROUND_UP if day.unfinished else None


def _word(day: _Day) -> What | None:
    words = [said.on for said in day.track.said if said.what in WORDS]
    last_on = max((on for on in words if day.silent_on and on >= day.silent_on), default=None)
    if last_on is None:
        return What.KIND_WORD
    return What.WEEKLY_WORD if (day.on - last_on).days >= WEEK else None


def _check_in_is_due(day: _Day) -> bool:
    """Whether this week's check-in has been neither put nor answered; carried over for a few days only."""
    late = (day.on.weekday() - day.plan.check_in_day) % WEEK
    due_on = day.on - late * ONE_DAY
    if not day.plan.check_in_questions or late > CHECK_IN_GRACE:
        return False
    if in_force(day.track.versions, due_on) is None:
        return False
    answered_on = day.track.last_check_in_on
    if answered_on and answered_on >= due_on:
        return False
    return not any(said.what is What.CHECK_IN and said.on >= due_on for said in day.track.said)


def _nudges(day: _Day, evening: What | None) -> Iterator[Chance]:
    """A nudge for each set not yet done and not yet nudged, latest set first."""
    kept = 1 if evening is What.CHECK_IN else 0
    used = {said.ordinal for said in day.today if said.what is What.NUDGE}
    if day.left <= kept or (day.late >= REVIEW_LATE and used):
        return
    due_at = [day.at(wall) for wall in day.plan.nudge_times[: day.plan.sets_a_day]]
    marks = sorted([*due_at, day.at(day.plan.round_up_at)] if evening else due_at)
    said_at = max((said.at for said in day.today), default=None)
    for ordinal in range(len(due_at), day.done, -1):
        from_at = due_at[ordinal - 1]
        # What has been said since it fell due has stood for it.
        if ordinal not in used and not (said_at and said_at >= from_at):
            another_at = next((mark for mark in marks if mark > from_at), from_at + LATEST)
            yield from day.chance(What.NUDGE, ordinal, from_at, min(another_at, from_at + LATEST))


def _put_off(day: _Day) -> Iterator[Chance]:
    """The nudge she asked for later, if nothing has been said since she asked."""
    track, at = day.track, day.track.later_at
    if at is None or track.laters_today > LATERS_A_DAY:
        return
    if local_time.quiet_at(at, day.plan.quiet_from, day.plan.quiet_to, day.zone):
        return
    if all(said.at <= track.last_heard_at and said.at < at for said in track.said):
        ordinal = 1 + sum(said.what is What.LATER for said in day.today)
        yield from day.chance(What.LATER, ordinal, at)
