"""Local wall time, the way a client reads her clock, against instants in UTC.

What is kept is the rule (a wall time and the name of a zone), never an instant made long ago. Two cases need
a decision. A wall time that does not exist, in a spring gap, is read with the offset before the gap, so it
moves forward by the gap. One that happens twice, in an autumn overlap, means the first. Source: RFC 5545
3.3.5, with its technical erratum 4271; PEP 495 calls the same choice `fold=0`.

Instants are compared and subtracted in UTC only: between two values of one zone Python ignores its changes.
"""

import datetime as dt
from collections.abc import Iterator
from functools import cache, lru_cache
from zoneinfo import ZoneInfo, ZoneInfoNotFoundError, available_timezones

from bot.domain import places
from bot.errors import RefusedError

ONE_DAY = dt.timedelta(days=1)
SECOND = dt.timedelta(seconds=1)


@lru_cache(maxsize=1024)
def known_zone(name: str) -> ZoneInfo | None:
    """The zone of exactly this name, or None where the time zone data on this machine lack it.

    Data are updated and names go out of use, so a name that was good at enrolment may be missing later. Who
    runs somebody's day asks here, has another zone at hand, and says so; who reads what a person typed asks
    `zone`.
    """
    if name in places.NO_PLACE:
        return None
    try:
        return ZoneInfo(name)
    except (ZoneInfoNotFoundError, ValueError, OSError):
        # Three ways of saying "no such zone": a missing name, a name shaped like a path, a folder's name.
        return None


@cache
def zone_names() -> frozenset[str]:
    """Every zone name a client may have."""
    return frozenset(name for name in available_timezones() if name not in places.NO_PLACE)


def zone(name: str) -> ZoneInfo:
    """The zone of this name; capitals and blanks do not matter ("america/new york").

    Raises RefusedError naming the zone and the nearest names there are.
    """
    found = known_zone(name)
    if found is None:
        wanted = "_".join(name.split()).casefold()
        right = next((known for known in sorted(zone_names()) if known.casefold() == wanted), None)
        found = known_zone(right) if right else None
    if found is None:
        near = find_zones(name)
        hint = f"did you mean {' or '.join(near)}?" if near else "give an IANA name such as Europe/Dublin"
        raise RefusedError(f"There is no time zone {name[:60]!r}: {hint}")
    return found


def find_zones(typed: str) -> tuple[str, ...]:
    """The zones somebody may mean who types a city, a country or a zone name; the likeliest first, 5 at most.

    An exact name gives only the zones of that name: "dublin" gives ("Europe/Dublin",). Otherwise the nearest
    spellings, or nothing when none is near.
    """
    return places.find(typed, zone_names())


def instant(on: dt.date, at: dt.time, zone: ZoneInfo) -> dt.datetime:
    """The instant, in UTC, of a wall time on a local day.

    In a gap it is moved forward by the gap, so that its own wall time is later than `at` and may even fall
    on the next day; in an overlap it is the first of the two, whatever `fold` says.
    """
    return _instant(on, at, zone)


@lru_cache(maxsize=16384)
def _instant(on: dt.date, at: dt.time, zone: ZoneInfo) -> dt.datetime:
    # Clients share their days, zones and most of their times, so the same few are asked for over and over.
    wall = dt.datetime(on.year, on.month, on.day, at.hour, at.minute, at.second, at.microsecond, tzinfo=zone)
    return wall.astimezone(dt.UTC)


def local(at: dt.datetime, zone: ZoneInfo) -> dt.datetime:
    """The wall time at an instant."""
    return at.astimezone(zone)


def local_date(at: dt.datetime, zone: ZoneInfo) -> dt.date:
    """The local day an instant falls on."""
    return at.astimezone(zone).date()


def day_in(name: str, at: dt.datetime) -> dt.date:
    """The local day at an instant in a zone of this name; the day of UTC where the data lack the zone."""
    found = known_zone(name)
    return local_date(at, found) if found else at.astimezone(dt.UTC).date()


@lru_cache(maxsize=4096)
def day_span(on: dt.date, zone: ZoneInfo) -> tuple[dt.datetime, dt.datetime]:
    """The instants at which a local day begins and ends (the end is the next day's beginning).

    A day that the zone left out, as Apia did with 30 December 2011, begins and ends at the same instant.
    """
    return instant(on, dt.time.min, zone), instant(on + ONE_DAY, dt.time.min, zone)


def day_exists(on: dt.date, zone: ZoneInfo) -> bool:
    """Whether the zone has this day at all."""
    begins, ends = day_span(on, zone)
    return begins < ends


@lru_cache(maxsize=4096)
def offset_change(on: dt.date, zone: ZoneInfo) -> dt.datetime | None:
    """The instant on a local day (its end included) at which the zone's offset changes, or None."""
    low, high = day_span(on, zone)
    before = low.astimezone(zone).utcoffset()
    if before == high.astimezone(zone).utcoffset():
        return None
    while high - low > SECOND:
        middle = low + (high - low) // 2
        middle -= dt.timedelta(microseconds=middle.microsecond)
        if middle.astimezone(zone).utcoffset() == before:
            low = middle
        else:
            high = middle
    return high


def next_local(
    at: dt.time, after: dt.datetime, zone: ZoneInfo, days: frozenset[int] = frozenset(range(7))
) -> dt.datetime:
    """The first instant strictly after `after` when a wall time comes round, once a local day.

    days: the weekdays that count, 0 = Monday, at least one. Days the zone left out are passed over.
    """
    on = local_date(after, zone) - ONE_DAY
    while True:
        due_at = instant(on, at, zone)
        if due_at > after and on.weekday() in days and day_exists(on, zone):
            return due_at
        on += ONE_DAY


def is_quiet(wall: dt.time, quiet_from: dt.time, quiet_to: dt.time) -> bool:
    """Whether a wall time lies in quiet hours: from `quiet_from` on, and before `quiet_to`.

    They run across midnight when `quiet_from` is the later. Two equal times mean no quiet hours.
    """
    if quiet_from <= quiet_to:
        return quiet_from <= wall < quiet_to
    return wall >= quiet_from or wall < quiet_to


def quiet_at(at: dt.datetime, quiet_from: dt.time, quiet_to: dt.time, zone: ZoneInfo) -> bool:
    """Whether her clock shows quiet hours at an instant. An hour lived twice is quiet both times."""
    return is_quiet(at.astimezone(zone).time(), quiet_from, quiet_to)


def quiet_ends(at: dt.datetime, quiet_from: dt.time, quiet_to: dt.time, zone: ZoneInfo) -> dt.datetime:
    """The first instant from `at` on that is outside quiet hours."""
    if not quiet_at(at, quiet_from, quiet_to, zone):
        return at
    return min(
        edge
        for edge in _edges(at, quiet_to, zone)
        if edge > at and not quiet_at(edge, quiet_from, quiet_to, zone)
    )


def quiet_starts(
    at: dt.datetime, quiet_from: dt.time, quiet_to: dt.time, zone: ZoneInfo
) -> dt.datetime | None:
    """The first instant from `at` on that is inside quiet hours; None where there are none."""
    if quiet_from == quiet_to:
        return None
    if quiet_at(at, quiet_from, quiet_to, zone):
        return at
    return min(
        edge
        for edge in _edges(at, quiet_from, zone)
        if edge > at and quiet_at(edge, quiet_from, quiet_to, zone)
    )


def _edges(at: dt.datetime, wall: dt.time, zone: ZoneInfo) -> Iterator[dt.datetime]:
    """Every instant of the next days where her clock may come to `wall` or leap over it, in no order."""
    today = local_date(at, zone)
    for ahead in range(4):
        yield from _edges_of_day(today + ahead * ONE_DAY, wall, zone)


@lru_cache(maxsize=16384)
def _edges_of_day(on: dt.date, wall: dt.time, zone: ZoneInfo) -> tuple[dt.datetime, ...]:
    both = dt.datetime.combine(on, wall, tzinfo=zone)
    change = offset_change(on, zone)
    return (
        *(both.replace(fold=fold).astimezone(dt.UTC) for fold in (0, 1)),
        *([change] if change else []),
    )


def skipped_by_travel(before: ZoneInfo, after: ZoneInfo, at: dt.datetime) -> tuple[dt.date, ...]:
    """The local days that never begin for somebody who changes from one zone to another at an instant.

    A clock set back may bring a day a second time; that is one diary day, and nothing is skipped. A clock
    set forward past midnight ends a day early; only a whole day that is leapt over is skipped.
    """
    first, last = local_date(at, before), local_date(at, after)
    return tuple(first + ahead * ONE_DAY for ahead in range(1, (last - first).days))
