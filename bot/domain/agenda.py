"""What to say to a client unasked, now, and when to look at her again.

One message at most is said at a time. When several would fit, the first of this order goes out and counts as
having stood for the others:

1. `BOOK_REVIEW`: the programme has stopped, 4 weeks past its review date;
2. the evening message, one a day at her round-up time: in silence a kind or weekly word; else the week's
   check-in, which takes the round-up's place; else the round-up, while the day has no complete answer;
3. the nudge of the latest set that is due; earlier ones are let go;
4. a nudge she put off herself.

Within her cap the check-in has a place kept for it on its day, so with a cap of one that day brings only the
check-in. Nudge and round-up share the rest as they fall due: where the nudges use it up there is no round-up,
and the day is asked about on the next morning's first nudge. A nudge she put off was asked for, so it uses no
place.

A complete day ends all that concerns its sets, not the check-in: else whoever does everything would never be
asked how she is. "No more today" ends everything, and the check-in moves to the next evening.

Nothing is made up for: a message has a stretch of time in which it may go out, and after that it is dropped.
"""

import datetime as dt
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from enum import StrEnum
from zoneinfo import ZoneInfo

from bot.domain import local_time
from bot.domain.prescription import InForce, Prescription, in_force, prescribed_sets

ONE_DAY = dt.timedelta(days=1)

# Common practice, no source, unless another is named.
SPACING = dt.timedelta(minutes=60)  # between any two unasked messages
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
# A re-look when nothing is due for longer. More than the longest local day, so that a whole one is passed.
LOOK_AGAIN = dt.timedelta(hours=26)
INSTANT = dt.timedelta(microseconds=1)


class What(StrEnum):
    """The kinds of unasked message; `LATER` is a nudge she put off herself."""

    NUDGE = "nudge"
    LATER = "later"
    ROUND_UP = "round_up"
    CHECK_IN = "check_in"
    KIND_WORD = "kind_word"
    WEEKLY_WORD = "weekly_word"
    BOOK_REVIEW = "book_review"


WORDS = frozenset({What.KIND_WORD, What.WEEKLY_WORD})
EVENING = WORDS | {What.ROUND_UP, What.CHECK_IN}


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


@dataclass(frozen=True, slots=True)
class Due:
    """A message to send now.

    on, ordinal: as in `Said`; with `what` and the client they are its unique key. done, sets: that day's
    count so far, and how many are prescribed. ask_yesterday: a day to ask about in the same message, or None.
    due_at: when it fell due. expires_at: not to be sent at or after this instant: its time is over, or quiet
    hours begin.
    """

    what: What
    on: dt.date
    ordinal: int
    done: int
    sets: int
    ask_yesterday: dt.date | None
    due_at: dt.datetime
    expires_at: dt.datetime


@dataclass(frozen=True, slots=True)
class Decision:
    """What to say now, and when to decide again.

    say: none or one. next_at: after `now`; taking `say` as said, nothing new comes before it. None when
    nothing can come until somebody acts. lost_zone: the name of a zone this machine's data lack, to be told
    to the clinic; the spare zone was used, or nothing is said.
    """

    say: tuple[Due, ...]
    next_at: dt.datetime | None
    lost_zone: str | None = None


@dataclass(frozen=True, slots=True)
class _Chance:
    """A stretch of time in which one message may go out, once quiet hours and spacing allow it."""

    what: What
    on: dt.date
    ordinal: int
    from_at: dt.datetime
    until_at: dt.datetime

    @property
    def asked_for(self) -> bool:
        return self.what is What.LATER


def decide(track: Track, now: dt.datetime) -> Decision:
    """What to say to this client at `now` (aware UTC).

    Harmless when called early, late or twice, as long as what was said stands in `track.said`. Whoever calls
    it only at `next_at`, and whenever the track has changed, misses nothing.
    """
    zone = local_time.known_zone(track.zone)
    lost = None if zone else track.zone
    zone = zone or local_time.known_zone(track.spare_zone)
    if zone is None:
        return Decision((), now + LOOK_AGAIN, lost)
    today = local_time.local_date(now, zone)
    for chance in _chances(track, zone, today):
        if _opens(chance, now, track, zone) == now:
            due = _due(chance, now, track, zone)
            said = replace(track, said=(*track.said, Said(due.what, due.on, due.ordinal, now)))
            return Decision((due,), _next_at(said, zone, now), lost)
    return Decision((), _next_at(track, zone, now), lost)


def silent_day(track: Track, zone: ZoneInfo, on: dt.date) -> int:
    """How long she has not been heard, on a local day: 1 on the first day that asked her and got nothing.

    0 on a day she was heard, and while nothing has been asked since: days off, pauses and days without a
    prescription do not begin a silence.
    """
    since = _silent_since(track, zone, on)
    return (on - since).days + 1 if since else 0


def _silent_since(track: Track, zone: ZoneInfo, on: dt.date) -> dt.date | None:
    heard_at = max(track.last_heard_at, track.restarted_at or track.last_heard_at)
    day = local_time.local_date(heard_at, zone) + ONE_DAY
    if track.pause and track.pause.until:
        day = max(day, track.pause.until)
    day = max([day, *([min(v.prescription.starts_on for v in track.versions)] if track.versions else [])])
    while day <= on:
        if day not in track.excused and prescribed_sets(track.versions, day):
            return day
        day += ONE_DAY
    return None


def _chances(track: Track, zone: ZoneInfo, on: dt.date) -> Iterable[_Chance]:
    """What may be said on a local day, given what has been said so far, in order of precedence."""
    version = in_force(track.versions, on)
    sets = prescribed_sets(track.versions, on)
    if version is None or not sets or on in track.closed or _paused(track, on):
        return
    plan = version.prescription
    since = _silent_since(track, zone, on)
    silent = (on - since).days + 1 if since else 0
    today = [said for said in track.said if said.on == on]
    cap = min(track.cap, 1) if silent >= ONE_A_DAY_FROM else track.cap
    left = cap - sum(said.what is not What.LATER for said in today)
    if silent >= SILENT_FROM:
        return
    begins, ends = local_time.day_span(on, zone)
    if track.restarted_at:
        begins = max(begins, track.restarted_at)
    evening_at = local_time.instant(on, plan.round_up_at, zone)
    nudges_at = [local_time.instant(on, at, zone) for at in plan.nudge_times[:sets]]
    late = (on - plan.review_on).days

    if late >= REVIEW_STOP:
        if left > 0 and _may_tell_to_book(track, plan, on):
            daytime = track.mode is Mode.ALL and nudges_at
            from_at = nudges_at[0] if daytime else evening_at
            yield from _within(_Chance(What.BOOK_REVIEW, on, 0, from_at, from_at + LATEST), begins, ends)
        return

    unfinished = track.done.get(on, 0) < sets
    evening = None
    if not any(said.what in EVENING for said in today):
        evening = _evening(track, plan, on, since, unfinished=unfinished)
    if evening and left > 0:
        yield from _within(_Chance(evening, on, 0, evening_at, evening_at + LATEST), begins, ends)
    if track.mode is Mode.EVENING_ONLY or silent >= KIND_WORD_FROM or not unfinished:
        return

    kept = 1 if evening is What.CHECK_IN else 0
    nudged = [said.ordinal for said in today if said.what is What.NUDGE]
    if left > kept and not (late >= REVIEW_LATE and nudged):
        marks = [*nudges_at, evening_at] if evening else nudges_at
        last_said_at = max((said.at for said in today), default=None)
        for ordinal in range(len(nudges_at), track.done.get(on, 0), -1):
            from_at = nudges_at[ordinal - 1]
            # A message said since then has stood for this nudge.
            if ordinal in nudged or (last_said_at and last_said_at >= from_at):
                continue
            until_at = min([from_at + LATEST, *(mark for mark in marks if mark > from_at)])
            yield from _within(_Chance(What.NUDGE, on, ordinal, from_at, until_at), begins, ends)

    if _may_put_off(track, plan, zone) and track.later_at:
        put_off = 1 + sum(said.what is What.LATER for said in today)
        chance = _Chance(What.LATER, on, put_off, track.later_at, track.later_at + LATEST)
        yield from _within(chance, begins, ends)


def _within(chance: _Chance, begins: dt.datetime, ends: dt.datetime) -> Iterable[_Chance]:
    """The chance, cut off at the end of its day; nothing if it begins on another or before a fresh start."""
    if begins <= chance.from_at < ends:
        yield chance if chance.until_at <= ends else replace(chance, until_at=ends)


def _paused(track: Track, on: dt.date) -> bool:
    return track.pause is not None and (track.pause.until is None or on < track.pause.until)


def _evening(
    track: Track, plan: Prescription, on: dt.date, since: dt.date | None, *, unfinished: bool
) -> What | None:
    """Which message belongs to this evening, before the cap is asked."""
    if since and (on - since).days + 1 >= KIND_WORD_FROM:
        last = max((said.on for said in track.said if said.what in WORDS and said.on >= since), default=None)
        if last is None:
            return What.KIND_WORD
        return What.WEEKLY_WORD if (on - last).days >= WEEK else None
    if _check_in_is_due(track, plan, on):
        return What.CHECK_IN
    return What.ROUND_UP if unfinished else None


def _check_in_is_due(track: Track, plan: Prescription, on: dt.date) -> bool:
    due_on = on - ((on.weekday() - plan.check_in_day) % WEEK) * ONE_DAY
    if not plan.check_in_questions or (on - due_on).days > CHECK_IN_GRACE:
        return False
    if in_force(track.versions, due_on) is None:
        return False
    if track.last_check_in_on and track.last_check_in_on >= due_on:
        return False
    return not any(said.what is What.CHECK_IN and said.on >= due_on for said in track.said)


def _may_tell_to_book(track: Track, plan: Prescription, on: dt.date) -> bool:
    """Once for a review date, and only while `said` reaches back far enough to know that it was not."""
    stopped_on = plan.review_on + REVIEW_STOP * ONE_DAY
    return (on - stopped_on).days < MEMORY and not any(
        said.what is What.BOOK_REVIEW and said.on >= stopped_on for said in track.said
    )


def _may_put_off(track: Track, plan: Prescription, zone: ZoneInfo) -> bool:
    """Whether the nudge she asked for later still stands: nothing has been said since she asked."""
    if track.later_at is None or track.laters_today > LATERS_A_DAY:
        return False
    if local_time.quiet_at(track.later_at, plan.quiet_from, plan.quiet_to, zone):
        return False
    return all(said.at <= track.last_heard_at and said.at < track.later_at for said in track.said)


def _opens(chance: _Chance, from_at: dt.datetime, track: Track, zone: ZoneInfo) -> dt.datetime | None:
    """The first instant from `from_at` on at which the message may go out, or None."""
    version = in_force(track.versions, chance.on)
    if version is None:
        return None
    plan = version.prescription
    at = max(chance.from_at, from_at)
    while at < chance.until_at:
        free_at = at if chance.asked_for else _spaced(at, track)
        open_at = local_time.quiet_ends(free_at, plan.quiet_from, plan.quiet_to, zone)
        if open_at == at:
            return at
        at = open_at
    return None


def _spaced(at: dt.datetime, track: Track) -> dt.datetime:
    """`at`, or the end of the pause after a message that stands too near on either side.

    A message may stand later than `at`: the clock was set back.
    """
    return max([at, *(said.at + SPACING for said in track.said if abs(said.at - at) < SPACING)])


def _due(chance: _Chance, now: dt.datetime, track: Track, zone: ZoneInfo) -> Due:
    version = in_force(track.versions, chance.on)
    plan = version.prescription if version else None
    quiet = plan and local_time.quiet_starts(now, plan.quiet_from, plan.quiet_to, zone)
    return Due(
        what=chance.what,
        on=chance.on,
        ordinal=chance.ordinal,
        done=track.done.get(chance.on, 0),
        sets=prescribed_sets(track.versions, chance.on),
        ask_yesterday=_ask_yesterday(chance, track, zone),
        due_at=chance.from_at,
        expires_at=min(chance.until_at, quiet) if quiet else chance.until_at,
    )


def _ask_yesterday(chance: _Chance, track: Track, zone: ZoneInfo) -> dt.date | None:
    """Yesterday, if this is the day's first nudge and yesterday was prescribed and has no complete answer."""
    if chance.what is not What.NUDGE:
        return None
    if any(said.what is What.NUDGE and said.on == chance.on for said in track.said):
        return None
    day = chance.on - ONE_DAY
    if day in track.excused or day in track.closed or not local_time.day_exists(day, zone):
        return None
    if _paused(track, day) or (track.restarted_at and day < local_time.local_date(track.restarted_at, zone)):
        return None
    return day if track.done.get(day, 0) < prescribed_sets(track.versions, day) else None


def _next_at(track: Track, zone: ZoneInfo, now: dt.datetime) -> dt.datetime | None:
    """The first instant after `now` at which something may be said, a re-look, or None for never."""
    on = local_time.local_date(now, zone)
    if _over(track, zone, on):
        return None
    horizon = now + LOOK_AGAIN
    while local_time.day_span(on, zone)[0] <= horizon:
        opens = (_opens(chance, now + INSTANT, track, zone) for chance in _chances(track, zone, on))
        first = min((at for at in opens if at), default=None)
        if first:
            return min(first, horizon)
        on += ONE_DAY
    return horizon


def _over(track: Track, zone: ZoneInfo, on: dt.date) -> bool:
    """Whether nothing can come any more, on this day or later, until the track changes."""
    if track.pause and track.pause.until is None:
        return True
    if silent_day(track, zone, on) >= SILENT_FROM:
        return True
    current = in_force(track.versions, on)
    coming = [v for v in track.versions if v.prescription.starts_on > on]
    ahead = [v.prescription for v in [*([current] if current else []), *coming]]
    if not any(plan.sets_a_day and plan.days for plan in ahead):
        return True
    if current is None or coming:
        return False
    plan = current.prescription
    return (on - plan.review_on).days >= REVIEW_STOP and not _may_tell_to_book(track, plan, on)
