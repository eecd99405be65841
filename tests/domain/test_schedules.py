"""Ten years of nudges against two independent expansions of the same rule: dateutil's, an RFC 5545 library's.

The agenda is walked by its own `next_at`, as the service walks it; she answers each nudge. The others expand
"weekly on these days at this wall time". dateutil resolves wall times by its own reader of the zone files;
icalendar and recurring-ical-events read the rule from calendar text. None of it shares code with the agenda.
"""

import datetime as dt
from dataclasses import replace
from importlib import resources

import icalendar
import pytest
import recurring_ical_events
from dateutil import rrule, tz

from bot.domain import local_time
from bot.domain.agenda import Said, What, decide
from tests.fixtures.tracks import clocks, plan, track

FIRST, YEARS = dt.date(2020, 1, 6), 10  # a Monday
LAST = dt.date(FIRST.year + YEARS, 1, 5)
DAYS = frozenset({0, 2, 5, 6})
BY_DAY = (rrule.MO, rrule.WE, rrule.SA, rrule.SU)
# Sundays are when most clocks change; the wall time lies in the gap of many zones.
WALL = dt.time(2, 30)
SAMPLE = [
    "Europe/London",
    "America/New_York",
    "America/St_Johns",
    "Australia/Lord_Howe",
    "Africa/Cairo",
    "America/Santiago",
    "Asia/Kolkata",
    "Pacific/Chatham",
]
# dateutil 2.9 misreads the negative winter time of Ireland, left to the RFC library. Found by running
# all zones: every other one agrees.
MISREAD = {"Eire", "Europe/Dublin"}


def by_agenda(zone: str) -> list[dt.datetime]:
    """The instants at which she is nudged, one nudge on each of the days, each answered at once."""
    own = plan(
        sets_a_day=1,
        nudge_times=clocks(WALL.isoformat("minutes")),
        days=DAYS,
        quiet_from=dt.time(23, 0),
        quiet_to=dt.time(0, 5),
        check_in_questions=(),
        starts_on=FIRST,
        review_on=LAST + dt.timedelta(days=400),
    )
    now: dt.datetime | None = dt.datetime.combine(FIRST, dt.time(), dt.UTC) - dt.timedelta(days=2)
    one, nudged = track(own, zone=zone, last_heard_at=now), []
    while now is not None and now < dt.datetime.combine(LAST, dt.time(), dt.UTC) + dt.timedelta(days=2):
        decision = decide(one, now)
        for due in decision.say:
            assert due.what is What.NUDGE
            nudged.append((due.on, now))
            one = replace(one, said=(Said(due.what, due.on, 1, now),), done={due.on: 1}, last_heard_at=now)
        now = decide(one, now).next_at if decision.say else decision.next_at
    return [at for on, at in nudged if FIRST <= on <= LAST]


def by_dateutil(zone: str) -> list[dt.datetime]:
    """Wall times by dateutil's rule, resolved by dateutil's own reader of its own zone files."""
    there = tz.gettz(zone)
    walls = rrule.rrule(
        rrule.WEEKLY,
        byweekday=BY_DAY,
        dtstart=dt.datetime.combine(FIRST, WALL),
        until=dt.datetime.combine(LAST, dt.time.max),
    )
    return [tz.resolve_imaginary(wall.replace(tzinfo=there)).astimezone(dt.UTC) for wall in walls]


def by_calendar(zone: str) -> list[dt.datetime]:
    """The same rule as calendar text, expanded by an RFC 5545 library."""
    text = (
        "BEGIN:VCALENDAR\r\nVERSION:2.0\r\nPRODID:test\r\nBEGIN:VEVENT\r\nUID:nudge\r\n"
        f"DTSTART;TZID={zone}:{FIRST:%Y%m%d}T{WALL:%H%M%S}\r\nDURATION:PT1M\r\n"
        "RRULE:FREQ=WEEKLY;BYDAY=MO,WE,SA,SU\r\nEND:VEVENT\r\nEND:VCALENDAR\r\n"
    )
    events = recurring_ical_events.of(icalendar.Calendar.from_ical(text)).between(
        FIRST, LAST + dt.timedelta(days=1)
    )
    return sorted(event["DTSTART"].dt.astimezone(dt.UTC) for event in events)


def agrees(zone: str) -> None:
    ours = by_agenda(zone)
    assert len(ours) > 2000
    if zone not in MISREAD:
        assert ours == by_dateutil(zone), zone
    assert ours == by_calendar(zone), zone


@pytest.mark.parametrize("zone", SAMPLE[:3])
def test_ten_years_in_some_zones(zone: str) -> None:
    agrees(zone)


def one_of_each_kind() -> list[str]:
    """A name for every set of rules there is: many names are links to the same data."""
    kinds: dict[bytes, str] = {}
    for zone in sorted(local_time.zone_names()):
        kinds.setdefault(resources.files("tzdata.zoneinfo").joinpath(*zone.split("/")).read_bytes(), zone)
    return sorted(kinds.values())


@pytest.mark.slow
def test_ten_years_in_every_zone() -> None:
    for zone in one_of_each_kind():
        agrees(zone)
