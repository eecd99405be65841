"""Her nudges as a calendar file, read back by an RFC 5545 library to the same instants."""

import datetime as dt
import re
from dataclasses import replace
from zoneinfo import ZoneInfo

import pytest
from icalendar import Calendar

from bot.domain import local_time
from bot.domain.client_record import ClientRecord
from bot.reports import ics
from bot.reports.words import ENGLISH
from tests.fixtures import records


def starting(zone: str, today: dt.date, *times: dt.time, weeks: int = 1) -> ClientRecord:
    """A client in a zone whose programme with these times began today."""
    version = records.version(1, today)
    plan = replace(
        version.prescription,
        nudge_times=times,
        sets_a_day=len(times),
        review_on=today + dt.timedelta(weeks=weeks),
    )
    one = records.record()
    at = local_time.instant(today, dt.time(), ZoneInfo(zone))
    return replace(
        one, zone=ZoneInfo(zone), today=today, at=at, versions=(replace(version, prescription=plan),)
    )


def read(record: ClientRecord) -> list[dt.datetime]:
    """The starts that the library finds."""
    calendar = Calendar.from_ical(ics.calendar(record, ENGLISH))
    return [event.decoded("DTSTART") for event in calendar.walk("VEVENT")]


def test_the_library_finds_the_same_instants() -> None:
    record = records.record()
    wanted = [at for _, _, at in ics.instants(record)]
    assert read(record) == wanted
    assert len(wanted) == 23 * 3 - 1  # to the day before the review of 22 April; 08:30 today is over
    assert all(at.utcoffset() == dt.timedelta(0) for at in read(record))


@pytest.mark.parametrize(
    ("zone", "today", "wall", "expected"),
    [
        # RFC 5545, 3.3.5: a time in the gap has the offset before it, one that comes twice is the first
        # (section read as several libraries quote it; the instants by the zones' data).
        ("Europe/London", "2026-03-29", "01:30", "2026-03-29T01:30:00+00:00"),
        ("Europe/London", "2026-10-25", "01:30", "2026-10-25T00:30:00+00:00"),
        ("America/New_York", "2026-03-08", "02:30", "2026-03-08T07:30:00+00:00"),
        ("America/New_York", "2026-11-01", "01:30", "2026-11-01T05:30:00+00:00"),
        ("Australia/Lord_Howe", "2026-10-04", "02:15", "2026-10-03T15:45:00+00:00"),
    ],
)
def test_clock_changes(zone: str, today: str, wall: str, expected: str) -> None:
    record = starting(zone, dt.date.fromisoformat(today), dt.time.fromisoformat(wall))
    assert read(record)[0].isoformat() == expected


def test_a_later_version_takes_over_and_days_off_have_none() -> None:
    record = starting("Europe/Dublin", dt.date(2026, 3, 30), dt.time(9))
    first = replace(record.versions[0].prescription, days=frozenset({0, 2}))
    second = replace(first, starts_on=dt.date(2026, 4, 2), days=frozenset({4}), nudge_times=(dt.time(17),))
    changed = replace(
        record,
        versions=(
            replace(record.versions[0], prescription=first),
            records.version(2, second.starts_on, second),
        ),
    )
    found = read(changed)
    assert [f"{at:%a %d %H:%M}" for at in found[:3]] == ["Mon 30 08:00", "Wed 01 08:00", "Fri 03 16:00"]


def test_the_file_keeps_to_the_form() -> None:
    raw = ics.calendar(records.record(), ENGLISH)
    lines = raw.split(b"\r\n")
    assert lines[-1] == b""
    assert all(len(line) <= 75 for line in lines)
    assert b"\n" not in raw.replace(b"\r\n", b"")
    calendar = Calendar.from_ical(raw)
    events = calendar.walk("VEVENT")
    assert len({str(event["UID"]) for event in events}) == len(events)
    assert {str(event["SUMMARY"]) for event in events} == {"A moment for you"}
    assert {str(event["CLASS"]) for event in events} == {"PRIVATE"}
    assert not calendar.errors
    assert ics.calendar(records.record(), ENGLISH) == raw


def test_long_and_difficult_words_are_folded_and_escaped() -> None:
    words = "Zeit für dich; ein Moment, nur für dich \\ und deine Übung: heute früh, mittags und abends"
    said = replace(ENGLISH, sayings={**ENGLISH.sayings, "calendar.nudge": words})
    raw = ics.calendar(starting("Europe/Dublin", dt.date(2026, 3, 30), dt.time(9)), said)
    assert all(len(line) <= 75 for line in raw.split(b"\r\n"))
    event = Calendar.from_ical(raw).walk("VEVENT")[0]
    assert str(event["SUMMARY"]) == words


def test_nobody_to_nudge_is_an_empty_calendar() -> None:
    empty = replace(records.record(), versions=())
    assert read(empty) == []
    assert re.match(rb"BEGIN:VCALENDAR\r\nVERSION:2\.0\r\n", ics.calendar(empty, ENGLISH))
