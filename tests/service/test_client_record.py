"""One client's whole programme comes back as it happened."""

import datetime as dt
from collections.abc import Iterator

import pytest

from bot.domain.adherence import Day, DayState
from bot.domain.alerts import Alert, Outcome
from bot.domain.client_record import CallAsked, ClientRecord
from bot.domain.levels import Level
from bot.domain.visits import Attendance, Review, ReviewOutcome
from bot.service import client_record
from bot.store import alerts, diary, people, visits
from bot.store.base import Store
from bot.store.diary import PauseEvent
from bot.store.ids import new_id
from tests.fixtures import histories
from tests.fixtures.clock import MovableClock
from tests.fixtures.databases import Fresh
from tests.store import prepared

MON, TUE, WED, THU, FRI, SAT, SUN = (dt.date(2026, 3, 2) + dt.timedelta(days=n) for n in range(7))


@pytest.fixture
def store(fresh_database: Fresh, clock: MovableClock) -> Iterator[Store]:
    made = prepared.open_store(fresh_database(prepared.at_head), clock.now())
    yield made
    made.close()


def gathered(store: Store, code: str, now: dt.datetime) -> ClientRecord:
    with store.begin() as tx:
        clinic = people.clinics(tx)[0]
        client = people.client_by_code(tx, clinic.id, code)
        assert client is not None
        return client_record.gather(tx, client, clinic, now)


def test_versions_days_and_what_was_said_come_back(store: Store, clock: MovableClock) -> None:
    """A change in mid-week and two on one day: each day has the version that held; the later of two holds."""
    now = clock.now()
    with store.begin() as tx:
        anna = histories.joined(tx, "C1", now)
        bea = histories.joined(tx, "C2", now)
        histories.prescribe(tx, anna, 1, TUE, 3, now)
        histories.prescribe(tx, anna, 2, THU, 5, now + dt.timedelta(days=1))
        histories.prescribe(tx, anna, 3, THU, 4, now + dt.timedelta(days=2))
        histories.did(tx, anna, TUE, 3)
        reported = histories.did(tx, anna, THU, 2)
        histories.did(tx, bea, THU, 5)
        histories.answered(tx, anna, FRI, "leaks", 3)
        histories.answered(tx, anna, FRI, "pain", None)
        diary.add_pause_event(tx, anna.id, PauseEvent("paused", "own", FRI, SAT), now)
        diary.add_pause_event(tx, anna.id, PauseEvent("paused", "alert", SAT, None), now)
        histories.wrote(tx, anna, "is it ok to swim?", now)
        histories.wrote(tx, bea, "not hers", now)
        diary.ask_call(tx, anna.id, now)
        visits.add_visit(tx, anna.id, anna.therapist_id, TUE, Attendance.ATTENDED, now)
        review = Review(TUE, ReviewOutcome.HOLD, "tired", dt.date(2026, 4, 1), "T1", now)
        visits.add_review(tx, anna.id, anna.therapist_id, review)
    found = gathered(store, "C1", clock.set(dt.datetime(2026, 3, 9, 9, tzinfo=dt.UTC)))
    assert found.today == dt.date(2026, 3, 9)
    assert found.joined_on == MON
    assert found.days == (
        Day(MON, 0, None),
        Day(TUE, 3, 3),
        Day(WED, 3, None),
        Day(THU, 4, 2),
        Day(FRI, 4, None, DayState.PAUSED),
        Day(SAT, 4, None, DayState.STOPPED),
        Day(SUN, 4, None, DayState.STOPPED),
    )
    assert found.reports[-1] == reported
    assert [(version.number, version.by) for version in found.versions] == [(1, "T1"), (2, "T1"), (3, "T1")]
    assert found.current == found.versions[2]
    assert [(told.question, told.value) for told in found.symptoms] == [("leaks", 3), ("pain", None)]
    assert [note.text for note in found.notes] == ["is it ok to swim?"]
    assert found.calls == (CallAsked(now, None),)
    assert [(visit.on, visit.attendance, visit.by) for visit in found.visits] == [
        (TUE, Attendance.ATTENDED, "T1")
    ]
    assert found.reviews == (review,)
    assert [(pause.kind, pause.on, pause.until) for pause in found.pauses] == [
        ("paused", FRI, SAT),
        ("paused", SAT, None),
    ]


def test_an_alert_comes_with_what_became_of_it(store: Store, clock: MovableClock) -> None:
    now = clock.now()
    with store.begin() as tx:
        anna = histories.joined(tx, "C1", now)
        alert = Alert(new_id(now), anna.id, Level.SAME_DAY, "usual", ("fever",), "shivering", now, 0)
        alerts.add(tx, alert)
        alerts.add_event(tx, alert, "raised", now)
    still_open = gathered(store, "C1", now).alerts[0]
    assert (still_open.alert, still_open.closing_notes) == (alert, ())
    closed_at = clock.move(hours=2)
    with store.begin() as tx:
        alerts.add_event(tx, alert, "closed", closed_at, note="GP sees her today")
        alerts.change(tx, alert.id, closed_at=closed_at, outcome=Outcome.PASSED_ON.value)
    closed = gathered(store, "C1", closed_at).alerts[0]
    assert closed.alert.outcome is Outcome.PASSED_ON
    assert closed.closing_notes == ("GP sees her today",)
    assert [step.kind for step in closed.steps] == ["raised", "closed"]


def test_her_day_is_the_one_where_she_lives(store: Store) -> None:
    """Monday 23:00 in Dublin is Tuesday in Auckland, whole days and all."""
    at = dt.datetime(2026, 3, 2, 23, tzinfo=dt.UTC)
    with store.begin() as tx:
        histories.joined(tx, "C1", at - dt.timedelta(days=1), "Pacific/Auckland")
    found = gathered(store, "C1", at)
    assert (found.joined_on, found.today) == (MON, TUE)
    assert [day.on for day in found.days] == [MON]


def test_a_client_who_only_joined_has_an_empty_record(store: Store, clock: MovableClock) -> None:
    with store.begin() as tx:
        prepared.enrol(tx, clock.now(), ("C9",))
    found = gathered(store, "C9", clock.now())
    assert found.joined_on is None
    assert (found.days, found.versions, found.reports, found.alerts) == ((), (), (), ())
    assert found.current is None
