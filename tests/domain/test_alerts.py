"""Who is told of an alert, and when. All figures: common practice, no source."""

import datetime as dt
import uuid
from dataclasses import replace

import pytest

from bot.domain import alerts
from bot.domain.alerts import Alert, To
from bot.domain.contacts import ClinicCard
from bot.domain.levels import Level

WEEKDAYS = {day: ((dt.time(9), dt.time(17)),) for day in range(5)}
CARD = ClinicCard("Quayside", "Europe/Dublin", "020 912 0145", "020 912 0199", "112", WEEKDAYS, frozenset())


def at(text: str) -> dt.datetime:
    return dt.datetime.fromisoformat(text).replace(tzinfo=dt.UTC)


def alert(level: Level, raised: str) -> Alert:
    return Alert(uuid.UUID(int=1), uuid.UUID(int=2), level, "ordinary", ("x",), "words", at(raised), 0)


def walk(one: Alert, tellings: int) -> list[tuple[str, str, bool]]:
    """The first tellings of an alert that nobody sees: when, whom, silently or not."""
    told = []
    upcoming = alerts.first_telling(one, CARD)
    for _ in range(tellings):
        if upcoming is None:
            break
        told.append((f"{upcoming.at:%a %H:%M}", upcoming.to.value, upcoming.silent))
        one = replace(one, step=one.step + 1, told_at=upcoming.at)
        upcoming = alerts.next_telling(one, CARD, upcoming.at)
    return told


def test_an_emergency_in_clinic_hours() -> None:
    """At once, at 15 minutes; the fallback contact at 30; then both hourly, in clinic hours."""
    assert walk(alert(Level.EMERGENCY, "2026-03-02T15:00"), 7) == [
        ("Mon 15:00", "therapist", False),
        ("Mon 15:15", "therapist", False),
        ("Mon 15:30", "fallback", False),
        ("Mon 16:30", "both", False),
        ("Tue 09:00", "both", False),
        ("Tue 10:00", "both", False),
        ("Tue 11:00", "both", False),
    ]


def test_an_emergency_at_night_is_silent_until_the_clinic_opens() -> None:
    """Raised at 02:10 on Saturday: silently at once; the ladder itself begins on Monday."""
    assert walk(alert(Level.EMERGENCY, "2026-03-07T02:10"), 5) == [
        ("Sat 02:10", "therapist", True),
        ("Mon 09:00", "therapist", False),
        ("Mon 09:15", "therapist", False),
        ("Mon 09:30", "fallback", False),
        ("Mon 10:30", "both", False),
    ]


def test_same_day() -> None:
    """At once, 15 minutes, an hour; the fallback contact at four; then the next working mornings."""
    assert walk(alert(Level.SAME_DAY, "2026-03-02T10:00"), 6) == [
        ("Mon 10:00", "therapist", False),
        ("Mon 10:15", "therapist", False),
        ("Mon 11:00", "therapist", False),
        ("Mon 14:00", "fallback", False),
        ("Tue 09:00", "therapist", False),
        ("Wed 09:00", "therapist", False),
    ]


def test_therapist_level_waits_for_clinic_hours() -> None:
    assert walk(alert(Level.THERAPIST, "2026-03-06T20:00"), 2) == [
        ("Mon 09:00", "therapist", False),
        ("Tue 09:00", "therapist", False),
    ]


def test_next_review_tells_nobody() -> None:
    assert alerts.first_telling(alert(Level.NEXT_REVIEW, "2026-03-02T10:00"), CARD) is None


def test_seen_stops_the_repeats_and_it_comes_back_next_morning() -> None:
    seen = replace(
        alert(Level.EMERGENCY, "2026-03-06T15:00"),
        step=1,
        told_at=at("2026-03-06T15:00"),
        seen_at=at("2026-03-06T15:04"),
    )
    upcoming = alerts.next_telling(seen, CARD, at("2026-03-06T15:00"))
    assert upcoming is not None
    assert (upcoming.at, upcoming.to) == (at("2026-03-09T09:00"), To.THERAPIST)


def test_closed_tells_nobody_any_more() -> None:
    closed = replace(alert(Level.EMERGENCY, "2026-03-02T10:00"), step=2, closed_at=at("2026-03-02T10:20"))
    assert alerts.next_telling(closed, CARD, at("2026-03-02T10:15")) is None


def test_after_an_outage_there_is_one_telling_and_not_a_heap() -> None:
    """The pause counts from the last telling, however late that one was."""
    late = replace(alert(Level.EMERGENCY, "2026-03-02T10:00"), step=4, told_at=at("2026-03-02T15:00"))
    upcoming = alerts.next_telling(late, CARD, at("2026-03-02T15:00"))
    assert upcoming is not None
    assert upcoming.at == at("2026-03-02T16:00")


@pytest.mark.parametrize("closures", [frozenset({dt.date(2026, 3, 3)})])
def test_a_closed_day_is_no_working_day(closures: frozenset[dt.date]) -> None:
    card = replace(CARD, closures=closures)
    told = alert(Level.THERAPIST, "2026-03-02T20:00")
    first = alerts.first_telling(told, card)
    assert first is not None
    assert first.at == at("2026-03-04T09:00")
