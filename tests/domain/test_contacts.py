"""Which number answers now, and when the clinic opens next."""

import datetime as dt

import pytest

from bot.domain import contacts
from bot.domain.contacts import ClinicCard

HOURS = {
    **{day: ((dt.time(9), dt.time(12, 30)), (dt.time(13, 30), dt.time(17))) for day in range(5)},
    5: ((dt.time(9), dt.time(12)),),
}
CARD = ClinicCard(
    "Quayside",
    "Europe/Dublin",
    "020 912 0145",
    "020 912 0199",
    "112",
    HOURS,
    frozenset({dt.date(2026, 12, 25)}),
)


def utc(text: str) -> dt.datetime:
    return dt.datetime.fromisoformat(text).replace(tzinfo=dt.UTC)


@pytest.mark.parametrize(
    ("now", "number", "opens"),
    [
        ("2026-03-02T10:00", "020 912 0145", "2026-03-02T10:00"),  # Monday morning: open
        ("2026-03-02T12:30", "020 912 0199", "2026-03-02T13:30"),  # the lunch hour begins
        ("2026-03-02T17:00", "020 912 0199", "2026-03-03T09:00"),  # closing time is closed
        ("2026-03-06T18:00", "020 912 0199", "2026-03-07T09:00"),  # Friday evening: Saturday
        ("2026-03-07T12:00", "020 912 0199", "2026-03-09T09:00"),  # Saturday noon: Monday
        ("2026-12-25T10:00", "020 912 0199", "2026-12-26T09:00"),  # a closure
        ("2026-07-06T08:30", "020 912 0145", "2026-07-06T08:30"),  # 09:30 in Dublin's summer
    ],
)
def test_number_and_next_opening(now: str, number: str, opens: str) -> None:
    assert contacts.number_now(CARD, utc(now)) == number
    assert contacts.next_opening(CARD, utc(now)) == utc(opens)


def test_next_morning_is_another_day() -> None:
    assert contacts.next_morning(CARD, utc("2026-03-02T08:00")) == utc("2026-03-03T09:00")


def test_a_clinic_that_never_opens_keeps_nothing_waiting_for_ever() -> None:
    shut = ClinicCard("Quayside", "Europe/Dublin", "1", "2", "112", {}, frozenset())
    assert contacts.next_opening(shut, utc("2026-03-02T08:00")) == utc("2026-03-03T08:00")
