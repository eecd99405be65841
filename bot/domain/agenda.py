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
place and waits for no other message.

A nudge belongs to one set: whoever is ahead of her times is not nudged for a set she has done. A complete day
ends all that concerns its sets, not the check-in: else whoever does everything would never be asked how she
is. "No more today" ends everything, and the check-in moves to the next evening.

Nothing is made up for: a message has a stretch of time in which it may go out, and after that it is dropped.
"""

import datetime as dt
from collections.abc import Sequence
from dataclasses import dataclass, replace
from zoneinfo import ZoneInfo

from bot.domain import agenda_day, local_time
from bot.domain.agenda_day import Chance
from bot.domain.prescription import in_force, prescribed_sets
from bot.domain.track import ONE_DAY, Mode, Pause, Said, Track, What

__all__ = ["Decision", "Due", "Mode", "Pause", "Said", "Track", "What", "decide"]

SPACING = dt.timedelta(minutes=60)  # between any two unasked messages; common practice, no source
# A re-look when nothing is due for longer. More than the longest local day, so that a whole one is passed.
LOOK_AGAIN = dt.timedelta(hours=26)
INSTANT = dt.timedelta(microseconds=1)


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


def decide(track: Track, now: dt.datetime) -> Decision:
    """What to say to this client at `now` (aware UTC).

    Harmless when called early, late or twice, as long as what was said stands in `track.said`. Whoever calls
    it only at `next_at`, and whenever the track has changed, misses nothing.
    """
    zone = local_time.known_zone(track.zone)
    lost_zone = None if zone else track.zone
    zone = zone or local_time.known_zone(track.spare_zone)
    if zone is None:
        return Decision((), now + LOOK_AGAIN, lost_zone)
    say: tuple[Due, ...] = ()
    opens = _first(track, zone, now)
    if opens and opens[0] == now:
        due = _due(opens[1], now, track, zone)
        track = replace(track, said=(*track.said, Said(due.what, due.on, due.ordinal, now)))
        say = (due,)
        opens = _first(track, zone, now + INSTANT)
    if opens:
        return Decision(say, min(opens[0], now + LOOK_AGAIN), lost_zone)
    over = agenda_day.is_over(track, zone, local_time.local_date(now, zone))
    return Decision(say, None if over else now + LOOK_AGAIN, lost_zone)


def _first(track: Track, zone: ZoneInfo, from_at: dt.datetime) -> tuple[dt.datetime, Chance] | None:
    """The first instant from `from_at` on at which something may be said, and what; None for no time soon."""
    near = [said.at for said in track.said if said.at > from_at - SPACING]
    on = local_time.local_date(from_at, zone)
    while local_time.day_span(on, zone)[0] <= from_at + LOOK_AGAIN:
        opens = (
            (at, chance)
            for chance in agenda_day.chances(track, zone, on)
            if (at := _opens(chance, from_at, near, zone))
        )
        # Of two at the same instant `min` keeps the one that comes first in precedence.
        first = min(opens, key=lambda pair: pair[0], default=None)
        if first:
            return first
        on += ONE_DAY
    return None


def _opens(
    chance: Chance, from_at: dt.datetime, near: Sequence[dt.datetime], zone: ZoneInfo
) -> dt.datetime | None:
    """The first instant from `from_at` on at which the message may go out, or None."""
    at = max(chance.from_at, from_at)
    while at < chance.until_at:
        free_at = at if chance.what is What.LATER else _spaced(at, near)
        open_at = local_time.quiet_ends(free_at, chance.plan.quiet_from, chance.plan.quiet_to, zone)
        if open_at == at:
            return at
        at = open_at
    return None


def _spaced(at: dt.datetime, near: Sequence[dt.datetime]) -> dt.datetime:
    """`at`, or the end of the pause after a message that stands too near on either side.

    A message may stand later than `at`: the clock was set back.
    """
    return max([at, *(said_at + SPACING for said_at in near if abs(said_at - at) < SPACING)])


def _due(chance: Chance, now: dt.datetime, track: Track, zone: ZoneInfo) -> Due:
    quiet_at = local_time.quiet_starts(now, chance.plan.quiet_from, chance.plan.quiet_to, zone)
    return Due(
        what=chance.what,
        on=chance.on,
        ordinal=chance.ordinal,
        done=track.done.get(chance.on, 0),
        sets=chance.plan.sets_a_day,
        ask_yesterday=_ask_yesterday(chance, track, zone),
        due_at=chance.from_at,
        expires_at=min(chance.until_at, quiet_at) if quiet_at else chance.until_at,
    )


def _ask_yesterday(chance: Chance, track: Track, zone: ZoneInfo) -> dt.date | None:
    """Yesterday, if this is the day's first nudge and yesterday was prescribed and has no complete answer."""
    if chance.what is not What.NUDGE:
        return None
    if any(said.what is What.NUDGE and said.on == chance.on for said in track.said):
        return None
    day = chance.on - ONE_DAY
    if day in track.excused or day in track.closed or track.is_paused(day):
        return None
    if not local_time.day_exists(day, zone):
        return None
    if track.restarted_at and day < local_time.local_date(track.restarted_at, zone):
        return None
    version = in_force(track.versions, day)
    if version is None or agenda_day.is_stopped(version.prescription, day):
        return None
    return day if track.done.get(day, 0) < prescribed_sets(track.versions, day) else None
