"""Local wall time against instants: RFC 5545, two independent libraries, and days that are odd."""

import datetime as dt
from itertools import pairwise
from zoneinfo import ZoneInfo

import icalendar
import pytest
from dateutil import rrule, tz
from hypothesis import given, settings
from hypothesis import strategies as st

from bot.domain import local_time, places
from bot.errors import RefusedError

UTC = dt.UTC


def day(text: str) -> dt.date:
    return dt.date.fromisoformat(text)


def clock(text: str) -> dt.time:
    return dt.time.fromisoformat(text)


def utc(text: str) -> dt.datetime:
    return dt.datetime.fromisoformat(text).replace(tzinfo=UTC)


# RFC 5545 section 3.3.5 gives the two New York examples of 2007 with their offsets (read, as quoted in the
# sources of several libraries); the instants in UTC are computed from those offsets.
RFC_EXAMPLES = [
    ("America/New_York", "2007-11-04", "01:30", "2007-11-04 05:30"),  # twice: the first, EDT, -04:00
    ("America/New_York", "2007-03-11", "02:30", "2007-03-11 07:30"),  # never: EST, -05:00, so 03:30 EDT
]

# The rule of RFC 5545 3.3.5 (read) applied to other zones; the instants were computed by hand from the
# changes in the public time zone database.
GAPS_AND_OVERLAPS = [
    ("Europe/London", "2026-03-29", "01:30", "2026-03-29 01:30"),  # = 02:30 BST
    ("Europe/London", "2026-10-25", "01:30", "2026-10-25 00:30"),  # BST, the first
    ("Europe/Dublin", "2026-03-29", "01:30", "2026-03-29 01:30"),
    ("Europe/Dublin", "2026-10-25", "01:30", "2026-10-25 00:30"),
    ("Europe/Berlin", "2026-03-29", "02:30", "2026-03-29 01:30"),  # = 03:30 CEST
    ("America/New_York", "2026-03-08", "02:30", "2026-03-08 07:30"),
    ("America/New_York", "2026-11-01", "01:30", "2026-11-01 05:30"),
    ("Australia/Sydney", "2026-10-04", "02:30", "2026-10-03 16:30"),
    ("Australia/Sydney", "2026-04-05", "02:30", "2026-04-04 15:30"),
    ("Australia/Lord_Howe", "2026-10-04", "02:15", "2026-10-03 15:45"),  # half an hour: 02:45
    ("Australia/Lord_Howe", "2026-04-05", "01:45", "2026-04-04 14:45"),  # the first
    ("Africa/Cairo", "2026-04-24", "00:30", "2026-04-23 22:30"),  # midnight is missing: 01:30
    ("America/Nuuk", "2026-03-28", "23:30", "2026-03-29 01:30"),  # = 00:30 on the next day
    ("Pacific/Apia", "2011-12-30", "09:00", "2011-12-30 19:00"),  # a day left out: 09:00 on the 31st
    # Three Sundays in a row in Chicago, over the spring and the autumn change.
    ("America/Chicago", "2026-03-01", "02:30", "2026-03-01 08:30"),
    ("America/Chicago", "2026-03-08", "02:30", "2026-03-08 08:30"),
    ("America/Chicago", "2026-03-15", "02:30", "2026-03-15 07:30"),
    ("America/Chicago", "2026-10-25", "01:30", "2026-10-25 06:30"),
    ("America/Chicago", "2026-11-01", "01:30", "2026-11-01 06:30"),
    ("America/Chicago", "2026-11-08", "01:30", "2026-11-08 07:30"),
]

ORDINARY = [
    ("Europe/Dublin", "2028-02-29", "09:00", "2028-02-29 09:00"),  # leap day
    ("Europe/Dublin", "2026-03-31", "23:30", "2026-03-31 22:30"),  # month end
    ("Asia/Kolkata", "2026-05-01", "00:15", "2026-04-30 18:45"),  # another day in UTC
    ("Pacific/Kiritimati", "2026-01-01", "07:00", "2025-12-31 17:00"),  # another year in UTC
    ("Pacific/Pago_Pago", "2026-12-31", "21:00", "2027-01-01 08:00"),
]


@pytest.mark.parametrize(("zone", "on", "at", "expected"), RFC_EXAMPLES + GAPS_AND_OVERLAPS + ORDINARY)
def test_instant(zone: str, on: str, at: str, expected: str) -> None:
    assert local_time.instant(day(on), clock(at), ZoneInfo(zone)) == utc(expected)


def test_a_wall_time_marked_as_the_second_of_two_is_read_as_the_first() -> None:
    second = dt.time(1, 30, fold=1)
    found = local_time.instant(day("2026-10-25"), second, ZoneInfo("Europe/London"))
    assert found == utc("2026-10-25 00:30")


# Zones whose rules did not change since the data bundled with dateutil (2024a). Dublin and Casablanca are
# left out because dateutil 2.9 misreads summer time kept as a negative winter time; Dublin is held against
# London below.
SAMPLE = [
    "Europe/London",
    "Europe/Berlin",
    "America/New_York",
    "America/Chicago",
    "America/St_Johns",
    "America/Havana",
    "America/Nuuk",
    "America/Santiago",
    "Australia/Sydney",
    "Australia/Lord_Howe",
    "Africa/Cairo",
    "Asia/Beirut",
    "Asia/Kolkata",
    "Pacific/Auckland",
    "Pacific/Chatham",
]
WALLS = [clock(text) for text in ("00:15", "00:30", "01:30", "01:45", "02:15", "02:30", "03:00", "23:30")]


@pytest.mark.parametrize("name", SAMPLE)
def test_every_offset_change_of_ten_years_agrees_with_dateutil(name: str) -> None:
    """A second reader of the zone data; dateutil moves a missing time on by the gap too."""
    zone, peer = ZoneInfo(name), tz.gettz(name)
    changes = 0
    for start in rrule.rrule(rrule.DAILY, dtstart=dt.datetime(2020, 1, 1), until=dt.datetime(2030, 12, 30)):  # noqa: DTZ001 - a wall time
        midnights = (start, start + dt.timedelta(days=1))
        begins, ends = (tz.resolve_imaginary(at.replace(tzinfo=peer)) for at in midnights)
        if begins.utcoffset() == ends.utcoffset():
            continue
        changes += 1
        for wall in WALLS:
            theirs = tz.resolve_imaginary(dt.datetime.combine(start.date(), wall, peer)).astimezone(UTC)
            assert local_time.instant(start.date(), wall, zone) == theirs, (start, wall)
        assert local_time.offset_change(start.date(), zone) is not None
    assert changes == {"Asia/Kolkata": 0, "Africa/Cairo": 16, "America/Nuuk": 21}.get(name, 22)


def test_dublin_keeps_the_time_of_london() -> None:
    """Its data call winter the exception; the instants must not notice."""
    dublin, london = ZoneInfo("Europe/Dublin"), ZoneInfo("Europe/London")
    for ahead in range(4000):
        on = day("2020-01-01") + dt.timedelta(days=ahead)
        for wall in WALLS:
            assert local_time.instant(on, wall, dublin) == local_time.instant(on, wall, london)


# The rules of New York as RFC 5545 writes them in its VTIMEZONE examples, 3.6.5 (from memory).
NEW_YORK_BY_RULE = """\
BEGIN:VTIMEZONE
TZID:America/New_York
BEGIN:DAYLIGHT
DTSTART:20070311T020000
RRULE:FREQ=YEARLY;BYDAY=2SU;BYMONTH=3
TZOFFSETFROM:-0500
TZOFFSETTO:-0400
END:DAYLIGHT
BEGIN:STANDARD
DTSTART:20071104T020000
RRULE:FREQ=YEARLY;BYDAY=1SU;BYMONTH=11
TZOFFSETFROM:-0400
TZOFFSETTO:-0500
END:STANDARD
END:VTIMEZONE
"""


def test_new_york_by_rule_agrees_with_icalendar() -> None:
    """Every day of ten years; in the gap icalendar is an hour early, so the RFC's own example decides it."""
    component = icalendar.Timezone.from_ical(NEW_YORK_BY_RULE)
    assert isinstance(component, icalendar.Timezone)
    by_rule, zone = component.to_tz(lookup_tzid=False), ZoneInfo("America/New_York")
    differ = []
    for ahead in range(3653):
        on = day("2020-01-01") + dt.timedelta(days=ahead)
        theirs = dt.datetime.combine(on, clock("01:30"), by_rule).astimezone(UTC)
        assert local_time.instant(on, clock("01:30"), zone) == theirs, on
        in_gap = dt.datetime.combine(on, clock("02:30"), by_rule).astimezone(UTC)
        if local_time.instant(on, clock("02:30"), zone) != in_gap:
            differ.append(on)
    assert [on.month for on in differ] == [3] * 10


def test_a_daily_rule_until_an_instant_is_inclusive_in_utc() -> None:
    """RFC 5545: New York from 1997-09-02 09:00 daily, until 1997-12-24 00:00 UTC (erratum 6212, read).

    The last is on 23 December; 113 days were counted by hand.
    """
    zone, found = ZoneInfo("America/New_York"), []
    at = utc("1997-09-02 12:59")
    while (at := local_time.next_local(clock("09:00"), at, zone)) <= utc("1997-12-24 00:00"):
        found.append(at)
    assert (len(found), found[0], found[-1]) == (113, utc("1997-09-02 13:00"), utc("1997-12-23 14:00"))


@pytest.mark.parametrize(
    ("name", "at", "expected"),
    [
        ("Europe/Dublin", "2026-06-30 22:59", "2026-06-30"),
        ("Europe/Dublin", "2026-06-30 23:00", "2026-07-01"),
        ("Pacific/Auckland", "2026-12-31 11:00", "2027-01-01"),
        ("Pacific/Honolulu", "2026-03-01 09:59", "2026-02-28"),
        ("Africa/Cairo", "2026-04-23 21:59", "2026-04-23"),
        ("Africa/Cairo", "2026-04-23 22:00", "2026-04-24"),  # the clock leaps from midnight to one
    ],
)
def test_local_date(name: str, at: str, expected: str) -> None:
    assert local_time.local_date(utc(at), ZoneInfo(name)) == day(expected)


@pytest.mark.parametrize(
    ("name", "on", "hours"),
    [
        ("Europe/Dublin", "2026-03-29", 23),
        ("Europe/Dublin", "2026-10-25", 25),
        ("Europe/Dublin", "2026-06-01", 24),
        ("Australia/Lord_Howe", "2026-10-04", 23.5),
        ("Africa/Cairo", "2026-04-24", 23),
        ("Africa/Cairo", "2026-10-29", 25),
        ("Pacific/Apia", "2011-12-29", 24),
        ("Pacific/Apia", "2011-12-30", 0),
        ("Pacific/Apia", "2011-12-31", 24),
    ],
)
def test_the_length_of_a_local_day(name: str, on: str, hours: float) -> None:
    begins, ends = local_time.day_span(day(on), ZoneInfo(name))
    assert ends - begins == dt.timedelta(hours=hours)
    assert local_time.day_exists(day(on), ZoneInfo(name)) is (hours > 0)


def check_days(name: str, first: dt.date, days: int) -> None:
    """Local days follow on one another without a hole, and begin exactly where the local date changes."""
    zone = ZoneInfo(name)
    spans = [local_time.day_span(first + dt.timedelta(days=ahead), zone) for ahead in range(days)]
    assert all(before[1] == after[0] for before, after in pairwise(spans))
    for ahead, (begins, ends) in enumerate(spans):
        on = first + dt.timedelta(days=ahead)
        if begins < ends:
            assert local_time.local_date(begins, zone) == on, (name, on)
            assert local_time.local_date(begins - dt.timedelta(microseconds=1), zone) < on, (name, on)
            assert local_time.local_date(ends - dt.timedelta(microseconds=1), zone) == on, (name, on)


@pytest.mark.parametrize("name", ["Africa/Cairo", "Asia/Beirut", "America/Havana", "America/Nuuk"])
def test_days_follow_on_one_another_where_midnight_is_missing_or_doubled(name: str) -> None:
    check_days(name, day("2024-01-01"), 1000)


def test_days_follow_on_one_another_in_apia() -> None:
    check_days("Pacific/Apia", day("2011-12-01"), 60)


@pytest.mark.slow
def test_days_follow_on_one_another_in_every_zone() -> None:
    for name in sorted(local_time.zone_names()):
        check_days(name, day("2020-01-01"), 4018)


@pytest.mark.parametrize(
    ("after", "at", "days", "expected"),
    [
        ("2026-03-28 02:00", "01:30", range(7), "2026-03-29 01:30"),  # the gap: an hour on
        ("2026-03-29 01:30", "01:30", range(7), "2026-03-30 00:30"),
        ("2026-10-24 12:00", "01:30", range(7), "2026-10-25 00:30"),
        ("2026-10-25 00:30", "01:30", range(7), "2026-10-26 01:30"),  # not again in the second hour
        ("2026-10-25 00:29:59", "01:30", range(7), "2026-10-25 00:30"),
        ("2026-11-25 09:00", "07:00", [0], "2026-11-30 07:00"),  # a Wednesday; the next Monday
        ("2026-11-30 07:00", "07:00", [0], "2026-12-07 07:00"),
    ],
)
def test_next_local(after: str, at: str, days: list[int], expected: str) -> None:
    found = local_time.next_local(clock(at), utc(after), ZoneInfo("Europe/London"), frozenset(days))
    assert found == utc(expected)


def test_next_local_passes_over_a_day_that_never_was() -> None:
    zone = ZoneInfo("Pacific/Apia")
    first = local_time.next_local(clock("09:00"), utc("2011-12-29 00:00"), zone)
    second = local_time.next_local(clock("09:00"), first, zone)
    assert [local_time.local_date(at, zone) for at in (first, second)] == [
        day("2011-12-29"),
        day("2011-12-31"),
    ]


def test_next_local_of_a_weekday_that_never_was_is_a_week_later() -> None:
    """30 December 2011 would have been a Friday in Apia."""
    zone = ZoneInfo("Pacific/Apia")
    found = local_time.next_local(clock("09:00"), utc("2011-12-27 00:00"), zone, frozenset({4}))
    assert local_time.local_date(found, zone) == day("2012-01-06")


def test_next_local_finds_a_time_that_the_gap_moved_past_midnight() -> None:
    """Nuuk has no 23:30 on 28 March 2026; it comes at 00:30 on the 29th, which is 01:30 UTC."""
    found = local_time.next_local(clock("23:30"), utc("2026-03-29 01:10"), ZoneInfo("America/Nuuk"))
    assert found == utc("2026-03-29 01:30")


@pytest.mark.parametrize(
    ("wall", "quiet_from", "quiet_to", "expected"),
    [
        ("21:59:59", "22:00", "07:00", False),
        ("22:00", "22:00", "07:00", True),
        ("00:00", "22:00", "07:00", True),
        ("06:59:59", "22:00", "07:00", True),
        ("07:00", "22:00", "07:00", False),
        ("12:59", "13:00", "14:00", False),
        ("13:00", "13:00", "14:00", True),
        ("14:00", "13:00", "14:00", False),
        ("03:00", "08:00", "08:00", False),  # equal times: none
    ],
)
def test_is_quiet(wall: str, quiet_from: str, quiet_to: str, expected: bool) -> None:
    assert local_time.is_quiet(clock(wall), clock(quiet_from), clock(quiet_to)) is expected


@pytest.mark.parametrize(
    ("at", "quiet", "ends"),
    [
        ("2026-06-01 12:00", ("22:00", "07:00"), "2026-06-01 12:00"),
        ("2026-06-01 22:00", ("22:00", "07:00"), "2026-06-02 06:00"),
        ("2026-03-29 00:30", ("22:00", "01:30"), "2026-03-29 01:00"),  # the clock leaps over the end
        ("2026-10-24 23:00", ("22:00", "01:30"), "2026-10-25 00:30"),
        ("2026-10-25 01:10", ("22:00", "01:30"), "2026-10-25 01:30"),  # 01:10 again: quiet again
        ("2026-10-25 00:40", ("01:30", "07:00"), "2026-10-25 01:00"),  # 01:40, then 01:00 again: not quiet
    ],
)
def test_quiet_ends_in_london(at: str, quiet: tuple[str, str], ends: str) -> None:
    zone = ZoneInfo("Europe/London")
    assert local_time.quiet_ends(utc(at), clock(quiet[0]), clock(quiet[1]), zone) == utc(ends)


@settings(max_examples=80, deadline=None, derandomize=True)
@given(
    name=st.sampled_from(
        ["Europe/London", "Australia/Lord_Howe", "Africa/Cairo", "America/Nuuk", "Asia/Kolkata"]
    ),
    hours=st.integers(0, 3 * 8784),
    quiet_from=st.integers(0, 95),
    quiet_to=st.integers(0, 95),
    near_change=st.booleans(),
)
def test_quiet_hours_begin_and_end_at_the_first_minute_that_says_so(
    name: str, hours: int, quiet_from: int, quiet_to: int, near_change: bool
) -> None:
    """Walked minute by minute for two days, with quarter hours as the edges."""
    zone = ZoneInfo(name)
    at = utc("2024-01-01 00:00") + dt.timedelta(hours=hours)
    if near_change:
        change = None
        while change is None:
            at += dt.timedelta(days=1)
            change = local_time.offset_change(at.date(), zone) if name != "Asia/Kolkata" else at
        at = change - dt.timedelta(hours=hours % 5)
    low, high = (dt.time(mark // 4, mark % 4 * 15) for mark in (quiet_from, quiet_to))
    minutes = [at + dt.timedelta(minutes=ahead) for ahead in range(2 * 1440)]
    walls = [(minute, minute.astimezone(zone).time()) for minute in minutes]
    quiet = [local_time.is_quiet(wall, low, high) for _, wall in walls]
    ends = local_time.quiet_ends(at, low, high, zone)
    assert ends == next(minute for minute, hushed in zip(minutes, quiet, strict=True) if not hushed)
    starts = local_time.quiet_starts(at, low, high, zone)
    expected = next((minute for minute, hushed in zip(minutes, quiet, strict=True) if hushed), None)
    if expected is not None or low == high:
        assert starts == expected


@pytest.mark.parametrize(
    ("before", "after", "at", "skipped"),
    [
        (
            "Pacific/Pago_Pago",
            "Pacific/Kiritimati",
            "2026-05-02 10:30",
            ["2026-05-02"],
        ),  # 1 May 23:30 to 3 May 00:30
        ("Pacific/Honolulu", "Pacific/Auckland", "2026-05-02 09:00", []),  # 1 May 23:00 to 2 May 21:00
        ("Pacific/Auckland", "Pacific/Honolulu", "2026-05-02 09:00", []),  # back: lived twice, none skipped
        ("Europe/Dublin", "America/New_York", "2026-05-02 09:00", []),
    ],
)
def test_days_that_travel_skips(before: str, after: str, at: str, skipped: list[str]) -> None:
    found = local_time.skipped_by_travel(ZoneInfo(before), ZoneInfo(after), utc(at))
    assert list(found) == [day(text) for text in skipped]


@pytest.mark.parametrize(
    ("typed", "expected"),
    [
        ("dublin", ("Europe/Dublin",)),
        (" DUBLIN ", ("Europe/Dublin",)),
        ("dubln", ("Europe/Dublin",)),
        ("Cork", ("Europe/Dublin",)),
        ("Europe/Dublin", ("Europe/Dublin",)),
        ("london, UK", ("Europe/London",)),
        ("new york", ("America/New_York",)),
        ("New-York", ("America/New_York",)),
        ("são paulo", ("America/Sao_Paulo",)),
        ("Münich", ("Europe/Berlin",)),
        ("buenos aires", ("America/Argentina/Buenos_Aires",)),  # not its older spelling as well
        ("utc", ("UTC",)),
        ("", ()),
        ("  ", ()),
        ("somewhere nice", ()),
        ("gmt+1", ()),  # no bare offsets: they keep no summer time
    ],
)
def test_find_zones(typed: str, expected: tuple[str, ...]) -> None:
    assert local_time.find_zones(typed) == expected


def test_every_zone_in_the_table_of_places_is_in_the_data() -> None:
    assert set(places.PLACES) <= local_time.zone_names()


@settings(max_examples=40, deadline=None, derandomize=True)
@given(typed=st.text(max_size=40))
def test_whatever_is_typed_only_real_zones_are_offered(typed: str) -> None:
    found = local_time.find_zones(typed)
    assert len(found) <= 5
    assert set(found) <= local_time.zone_names()


@pytest.mark.parametrize("name", ["Europe/Dublin", "europe/dublin", " America/New York ", "UTC", "Eire"])
def test_zone(name: str) -> None:
    assert local_time.zone(name).key.casefold() == "_".join(name.split()).casefold()


@pytest.mark.parametrize(
    ("name", "message"),
    [
        ("Europe/Dublim", "There is no time zone 'Europe/Dublim': did you mean Europe/Dublin?"),
        ("Nowhereland", "There is no time zone 'Nowhereland': give an IANA name such as Europe/Dublin"),
        ("../passwd", "There is no time zone '../passwd': give an IANA name such as Europe/Dublin"),
        ("Europe", "There is no time zone 'Europe': give an IANA name such as Europe/Dublin"),
        ("", "There is no time zone '': give an IANA name such as Europe/Dublin"),
        ("Factory", "There is no time zone 'Factory': give an IANA name such as Europe/Dublin"),
    ],
)
def test_a_zone_that_is_not_there_is_named_with_its_nearest(name: str, message: str) -> None:
    with pytest.raises(RefusedError) as refused:
        local_time.zone(name)
    assert str(refused.value) == message


@pytest.mark.parametrize(
    "name", ["Mars/Olympus", "", "../x", "Europe", "zone.tab", "a\0b", "\ud800", "x" * 300]
)
def test_a_zone_gone_from_the_data_is_none_and_no_crash(name: str) -> None:
    assert local_time.known_zone(name) is None
