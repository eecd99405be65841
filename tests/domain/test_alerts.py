"""Who is told of an alert, and when. All figures: common practice, no source."""

import datetime as dt
import uuid
from dataclasses import replace
from zoneinfo import ZoneInfo

import pytest

from bot.domain import alerts
from bot.domain.alerts import Alert, To
from bot.domain.contacts import ClinicCard
from bot.domain.duties import Duty, Named, Rota, night_hours
from bot.domain.levels import Level

WEEKDAYS = {day: ((dt.time(9), dt.time(17)),) for day in range(5)}
CARD = ClinicCard("Quayside", "Europe/Dublin", "020 912 0145", "020 912 0199", "112", WEEKDAYS, frozenset())

ROTA = Rota(CARD)
ON_CALL = uuid.UUID(int=77)
NIGHTS = night_hours({day: ((dt.time(20), dt.time(8)),) for day in range(7)})
WATCHED = Rota(CARD, (Named(Duty.ON_CALL, ON_CALL, hours=NIGHTS),))


def at(text: str) -> dt.datetime:
    return dt.datetime.fromisoformat(text).replace(tzinfo=dt.UTC)


def alert(level: Level, raised: str) -> Alert:
    return Alert(uuid.UUID(int=1), uuid.UUID(int=2), level, "ordinary", ("x",), "words", at(raised), 0)


def walk(one: Alert, tellings: int, rota: Rota = ROTA) -> list[tuple[str, str, bool]]:
    """The first tellings of an alert that nobody sees: when, whom, silently or not."""
    told = []
    upcoming = alerts.first_telling(one, rota)
    for _ in range(tellings):
        if upcoming is None:
            break
        told.append((f"{upcoming.at:%a %H:%M}", upcoming.to.value, upcoming.silent))
        one = replace(one, step=one.step + 1, told_at=upcoming.at)
        upcoming = alerts.next_telling(one, rota, upcoming.at)
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
    assert alerts.first_telling(alert(Level.NEXT_REVIEW, "2026-03-02T10:00"), ROTA) is None


def test_seen_stops_the_repeats_and_it_comes_back_next_morning() -> None:
    seen = replace(
        alert(Level.EMERGENCY, "2026-03-06T15:00"),
        step=1,
        told_at=at("2026-03-06T15:00"),
        seen_at=at("2026-03-06T15:04"),
    )
    upcoming = alerts.next_telling(seen, ROTA, at("2026-03-06T15:00"))
    assert upcoming is not None
    assert (upcoming.at, upcoming.to) == (at("2026-03-09T09:00"), To.THERAPIST)


def test_closed_tells_nobody_any_more() -> None:
    closed = replace(alert(Level.EMERGENCY, "2026-03-02T10:00"), step=2, closed_at=at("2026-03-02T10:20"))
    assert alerts.next_telling(closed, ROTA, at("2026-03-02T10:15")) is None


def test_after_an_outage_there_is_one_telling_and_not_a_heap() -> None:
    """The pause counts from the last telling, however late that one was."""
    late = replace(alert(Level.EMERGENCY, "2026-03-02T10:00"), step=4, told_at=at("2026-03-02T15:00"))
    upcoming = alerts.next_telling(late, ROTA, at("2026-03-02T15:00"))
    assert upcoming is not None
    assert upcoming.at == at("2026-03-02T16:00")


@pytest.mark.parametrize("closures", [frozenset({dt.date(2026, 3, 3)})])
def test_a_closed_day_is_no_working_day(closures: frozenset[dt.date]) -> None:
    card = replace(CARD, closures=closures)
    told = alert(Level.THERAPIST, "2026-03-02T20:00")
    first = alerts.first_telling(told, Rota(card))
    assert first is not None
    assert first.at == at("2026-03-04T09:00")


def test_with_somebody_on_call_the_ladder_runs_at_night() -> None:
    """Raised at 02:10: loud, 15 minutes, the fallback contact at 30, both hourly until being on call ends."""
    assert walk(alert(Level.EMERGENCY, "2026-03-03T02:10"), 10, WATCHED) == [
        ("Tue 02:10", "therapist", False),
        ("Tue 02:25", "therapist", False),
        ("Tue 02:40", "fallback", False),
        *((f"Tue {hour:02}:40", "both", False) for hour in range(3, 8)),
        ("Tue 09:00", "both", False),  # nobody is on call from 8 to 9
        ("Tue 10:00", "both", False),
    ]


def test_at_night_only_what_is_urgent_rings() -> None:
    assert walk(alert(Level.SAME_DAY, "2026-03-03T02:10"), 3, WATCHED) == [
        ("Tue 02:10", "therapist", False),
        ("Tue 02:25", "therapist", False),
        ("Tue 03:10", "therapist", False),
    ]
    assert walk(alert(Level.THERAPIST, "2026-03-03T02:10"), 1, WATCHED) == [("Tue 09:00", "therapist", False)]


def test_who_is_on_call_and_when() -> None:
    """Hours over midnight belong to both days; in clinic hours nobody is on call."""
    for text, there in (
        ("2026-03-03T19:59", False),
        ("2026-03-03T20:00", True),
        ("2026-03-03T23:59:59", True),
        ("2026-03-04T00:00", True),
        ("2026-03-04T07:59", True),
        ("2026-03-04T08:00", False),
        ("2026-03-07T10:00", False),
    ):
        assert (WATCHED.on_call(at(text)) == ON_CALL) is there, text
    assert ROTA.on_call(at("2026-03-03T23:00")) is None
    assert WATCHED.next_watched(at("2026-03-03T18:00")) == at("2026-03-03T20:00")


def test_leave_with_cover_and_without() -> None:
    therapist, cover = uuid.UUID(int=5), uuid.UUID(int=6)
    week = (dt.date(2026, 3, 2), dt.date(2026, 3, 6))
    covered = Rota(CARD, (Named(Duty.COVER, cover, therapist, *week),))
    alone = Rota(CARD, (Named(Duty.NO_COVER, None, therapist, *week),))
    leave = covered.leave_of(therapist, at("2026-03-06T23:00"))
    assert leave is not None
    assert (leave.cover_id, leave.until_on) == (cover, dt.date(2026, 3, 6))
    assert covered.leave_of(therapist, at("2026-03-07T01:00")) is None
    assert covered.leave_of(cover, at("2026-03-03T10:00")) is None
    nobody = alone.leave_of(therapist, at("2026-03-03T10:00"))
    assert nobody is not None
    assert nobody.cover_id is None


DUBLIN = ZoneInfo("Europe/Dublin")


@pytest.mark.parametrize(
    ("level", "raised", "asked"),
    [
        (Level.EMERGENCY, "2026-03-03T02:10", "2026-03-03T02:30"),
        (Level.SAME_DAY, "2026-03-03T10:00", "2026-03-03T14:00"),
        (Level.SAME_DAY, "2026-03-03T18:30", "2026-03-04T08:30"),
        (Level.SAME_DAY, "2026-03-03T02:00", "2026-03-03T08:30"),
        (Level.THERAPIST, "2026-03-05T10:00", "2026-03-09T09:00"),  # Thursday; two working days on
        (Level.NEXT_REVIEW, "2026-03-03T10:00", None),
    ],
)
def test_when_she_hears_of_it_again(level: Level, raised: str, asked: str | None) -> None:
    assert alerts.client_at(alert(level, raised), ROTA, DUBLIN) == (at(asked) if asked else None)


@pytest.mark.parametrize("handling", ["sensitive", "safeguarding"])
@pytest.mark.parametrize("level", [Level.EMERGENCY, Level.SAME_DAY])
def test_what_is_sensitive_is_never_followed_up(level: Level, handling: str) -> None:
    one = replace(alert(level, "2026-03-03T10:00"), handling=handling)
    assert alerts.client_at(one, ROTA, DUBLIN) is None
