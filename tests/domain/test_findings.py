"""Findings: weeks since birth, PERFECT values as typed, the newest value, two scales that never mix."""

import calendar
import datetime as dt

import pytest
from dateutil import rrule
from dateutil.relativedelta import relativedelta
from hypothesis import given
from hypothesis import strategies as st

from bot.domain import findings
from bot.domain.findings import Assessed, Finding, Perfect, Site, Unit, parse_perfect, weeks_since
from bot.errors import RefusedError
from tests.fixtures.plans import distance, well


def day(text: str) -> dt.date:
    return dt.date.fromisoformat(text)


@pytest.mark.parametrize(
    ("born", "on", "days", "weeks"),
    [
        ("2026-01-15", "2026-02-26", 42, 6),
        ("2026-01-15", "2026-04-08", 83, 11),
        ("2026-01-15", "2026-04-09", 84, 12),
        ("2026-01-15", "2026-05-06", 111, 15),
        ("2026-01-15", "2026-05-07", 112, 16),
        ("2024-02-29", "2024-05-23", 84, 12),  # a leap day
        ("2025-12-20", "2026-03-13", 83, 11),  # across the year's end
        ("2025-12-20", "2026-03-14", 84, 12),
        ("2026-03-01", "2026-04-11", 41, 5),  # across a change of the clocks
        ("2026-03-01", "2026-04-12", 42, 6),
        ("2026-01-15", "2026-01-15", 0, 0),
        ("2026-01-15", "2026-01-14", -1, -1),
    ],
)
def test_weeks_since_birth(born: str, on: str, days: int, weeks: int) -> None:
    """The days were counted by hand on a calendar and are checked against the calendar of the library."""
    assert day(on).toordinal() - day(born).toordinal() == days
    assert weeks_since(day(born), day(on)) == weeks


@given(st.dates(dt.date(2020, 1, 1), dt.date(2030, 1, 1)), st.integers(0, 900))
def test_weeks_agree_with_two_calendar_libraries(born: dt.date, days: int) -> None:
    """Dateutil counts the weekly returns of a birthday; `calendar` the days of the months between."""
    on = born + dt.timedelta(days=days)
    weekly = rrule.rrule(rrule.WEEKLY, dtstart=born, until=on)
    assert weeks_since(born, on) == weekly.count() - 1
    walked, first = 0, born.replace(day=1)
    while (first.year, first.month) != (on.year, on.month):
        walked += calendar.monthrange(first.year, first.month)[1]
        first += relativedelta(months=1)
    assert weeks_since(born, on) == (walked - born.day + on.day) // 7


def test_weeks_are_not_months() -> None:
    """Dateutil's months: 12 weeks and 3 months are six days apart here, 16 weeks and 4 months eight."""
    born = day("2026-01-15")
    assert (born + dt.timedelta(weeks=12), born + relativedelta(months=3)) == (
        day("2026-04-09"),
        day("2026-04-15"),
    )
    assert (born + dt.timedelta(weeks=16), born + relativedelta(months=4)) == (
        day("2026-05-07"),
        day("2026-05-15"),
    )
    assert weeks_since(born, day("2026-05-06")) == 15


@pytest.mark.parametrize(
    "typed",
    [
        "3/5/4//7",
        "3/5/4/7",
        " 3 / 5 / 4 // 7 ",
        "3-5-4-7",
        "3 5 4 7",
        "P3 E5 R4 F7",
        "p3/e5/r4//f7",
        "3,5,4,7",
    ],
)
def test_perfect_values_as_therapists_write_them(typed: str) -> None:
    """The notation with slashes and the ranges: Laycock & Jerwood 2001, Physiotherapy 87:631, from memory."""
    assert parse_perfect(typed) == Perfect(3, 5, 4, 7)
    assert str(parse_perfect(typed)) == "3/5/4//7"


@pytest.mark.parametrize(
    "typed", ["", "3/5/4", "3/5/4//7/2", "three", "3/-5/4//7", "3.5/4/4//7/", "³/5/4//7"]
)
def test_what_is_no_perfect_value(typed: str) -> None:
    with pytest.raises(RefusedError, match="expected PERFECT values such as 3/5/4//7"):
        parse_perfect(typed)


def test_values_beyond_the_scheme_are_refused_and_named() -> None:
    """Caps 5, 10, 10, 10 (the same source, from memory)."""
    with pytest.raises(RefusedError) as refused:
        parse_perfect("6/12/11//15")
    assert refused.value.faults == (
        "power 6, expected 0 to 5",
        "endurance_s 12, expected 0 to 10",
        "repetitions 11, expected 0 to 10",
        "fast 15, expected 0 to 10",
    )


def test_the_newest_value_by_a_day() -> None:
    seen = [
        Finding(day("2026-03-01"), contraction=Assessed.NO, heaviness=4),
        Finding(day("2026-03-15"), heaviness=2),
        Finding(day("2026-04-01"), heaviness=0),
    ]
    newest = findings.latest(seen, day("2026-03-20"), lambda finding: finding.heaviness)
    assert newest == findings.Dated(day("2026-03-15"), 2)
    assert findings.latest(seen, day("2026-02-01"), lambda finding: finding.heaviness) is None
    contraction = findings.latest(seen, day("2026-04-01"), lambda finding: finding.contraction)
    assert contraction == findings.Dated(day("2026-03-01"), Assessed.NO)


@pytest.mark.parametrize(("on", "stale"), [("2026-04-26", False), ("2026-04-27", True)])
def test_stale_after_eight_weeks_and_not_before(on: str, stale: bool) -> None:
    """56 days are eight weeks, the 57th is after them (common practice, no source)."""
    assert findings.Dated(day("2026-03-01"), 1.0).is_stale(day(on), 8) is stale


def test_a_later_value_replaces_only_its_own_site_and_unit() -> None:
    """Fingers are never turned into millimetres: the two stand beside each other."""
    first, later = day("2026-03-01"), day("2026-03-15")
    seen = [
        well(first, distances=(distance(first, 3.0), distance(first, 2.5, site=Site.ABOVE))),
        well(later, distances=(distance(later, 1.5), distance(later, 18.0, Unit.MM))),
    ]
    widest = findings.widest(findings.newest_distances(seen, later))
    assert {unit: (one.width, one.site) for unit, one in widest.items()} == {
        Unit.FINGERS: (2.5, Site.ABOVE),
        Unit.MM: (18.0, Site.AT),
    }
    assert findings.newest_distances(seen, day("2026-02-28")) == ()


def test_of_two_values_of_one_day_the_wider_counts() -> None:
    on = day("2026-03-01")
    seen = [well(on, distances=(distance(on, 21.0, Unit.MM), distance(on, 19.0, Unit.MM)))]
    assert [one.width for one in findings.newest_distances(seen, on)] == [21.0]
