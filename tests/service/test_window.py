"""The week of every client from one pass: each has her own seven days, and nothing crosses over."""

import datetime as dt
import uuid
from collections.abc import Iterator
from zoneinfo import ZoneInfo

import pytest
import sqlalchemy as sa

from bot.domain.adherence import Day, DayState, adherence
from bot.domain.alerts import Alert, Outcome
from bot.domain.client_week import ClientWeek, ClosedAlert, OpenAlert, StoppedBy
from bot.domain.levels import Level
from bot.domain.people import Stage
from bot.domain.trend import Span
from bot.domain.visits import Review, ReviewOutcome
from bot.service import window
from bot.store import alerts, diary, people, visits
from bot.store.base import Store, Tx
from bot.store.diary import PauseEvent
from bot.store.ids import new_id
from tests.fixtures import histories
from tests.fixtures.databases import Fresh
from tests.store import prepared

DUBLIN = ZoneInfo("Europe/Dublin")
JOINED = dt.datetime(2026, 1, 5, 9, tzinfo=dt.UTC)
NOW = dt.datetime(2026, 3, 9, 9, tzinfo=dt.UTC)
MON, TUE, WED, THU, FRI, SAT, SUN = (dt.date(2026, 3, 2) + dt.timedelta(days=n) for n in range(7))


@pytest.fixture
def store(fresh_database: Fresh) -> Iterator[Store]:
    made = prepared.open_store(fresh_database(prepared.at_head), JOINED)
    yield made
    made.close()


def weeks(store: Store, at: dt.datetime = NOW, labels: str = "codes") -> dict[str, ClientWeek]:
    with store.begin() as tx:
        (clinic,) = people.clinics(tx)
        staff = people.staff_by_code(tx, clinic.id, "T1")
        assert staff is not None
        return {one.week.code: one.week for one in window.weeks(tx, [staff.id], DUBLIN, labels, at)}


def raised(tx: Tx, client_id: uuid.UUID, level: Level, at: dt.datetime) -> Alert:
    alert = Alert(new_id(at), client_id, level, "ordinary", ("fever",), "hot", at, 0)
    alerts.add(tx, alert)
    return alert


def test_a_plain_week_and_no_row_of_anybody_else(store: Store) -> None:
    with store.begin() as tx:
        anna = histories.joined(tx, "C1", JOINED)
        bea = histories.joined(tx, "C2", JOINED)
        for client, sets in ((anna, 3), (bea, 2)):
            histories.prescribe(tx, client, 1, dt.date(2026, 1, 6), sets, JOINED)
        for day in (MON, TUE, SUN):
            histories.did(tx, anna, day, 3)
        histories.did(tx, anna, TUE, 1, at=NOW - dt.timedelta(days=1))  # put right later
        histories.did(tx, anna, dt.date(2026, 3, 1), 3)  # the week before
        histories.did(tx, anna, dt.date(2026, 3, 9), 1)  # today
        histories.did(tx, bea, WED, 2)
        histories.answered(tx, anna, SUN, "leaks", 3)
        histories.answered(tx, anna, dt.date(2026, 3, 1), "leaks", 7)
    found = weeks(store)
    assert [day.on for day in found["C1"].days] == [MON, TUE, WED, THU, FRI, SAT, SUN]
    assert [day.reported for day in found["C1"].days] == [3, 1, None, None, None, None, 3]
    assert {day.prescribed for day in found["C1"].days} == {3}
    assert found["C1"].leaks == (Span(7, None), Span(3, 6))
    assert adherence(found["C2"].days).done == 2
    assert found["C2"].leaks == ()
    assert weeks(store, labels="initials").keys() == {"Zq.W. C1", "Zq.W. C2"}


def test_a_prescription_changed_mid_week_and_twice_in_a_day(store: Store) -> None:
    with store.begin() as tx:
        anna = histories.joined(tx, "C1", JOINED)
        histories.prescribe(tx, anna, 1, dt.date(2026, 1, 6), 1, JOINED)
        histories.prescribe(tx, anna, 2, dt.date(2026, 2, 2), 2, JOINED)
        histories.prescribe(tx, anna, 3, WED, 3, NOW - dt.timedelta(days=7))
        histories.prescribe(tx, anna, 4, FRI, 4, NOW - dt.timedelta(days=6))
        histories.prescribe(tx, anna, 5, FRI, 5, NOW - dt.timedelta(days=5))
    week = weeks(store)["C1"]
    assert [day.prescribed for day in week.days] == [2, 2, 3, 3, 5, 5, 5]
    assert week.plan_starts_on == dt.date(2026, 1, 6)
    assert week.review_on == FRI + dt.timedelta(weeks=6)


def test_a_review_moves_the_review_date(store: Store) -> None:
    with store.begin() as tx:
        anna = histories.joined(tx, "C1", JOINED)
        histories.prescribe(tx, anna, 1, dt.date(2026, 1, 6), 3, JOINED)
        for on, next_on in ((dt.date(2026, 1, 2), SUN), (WED, dt.date(2026, 4, 8))):
            review = Review(on, ReviewOutcome.HOLD, "", next_on, "T1", NOW - dt.timedelta(days=3))
            visits.add_review(tx, anna.id, anna.therapist_id, review)
    assert weeks(store)["C1"].review_on == dt.date(2026, 4, 8)
    planned = dt.date(2026, 1, 6) + dt.timedelta(weeks=6)
    assert weeks(store, NOW - dt.timedelta(days=4))["C1"].review_on == planned


def test_clients_in_other_zones_have_their_own_seven_days(store: Store) -> None:
    """Monday 09:00 in Dublin is still Sunday in Honolulu and late on Monday in Auckland."""
    at = dt.datetime(2026, 3, 9, 9, tzinfo=dt.UTC)
    with store.begin() as tx:
        for code, zone in (("C1", "Pacific/Honolulu"), ("C2", "Pacific/Kiritimati"), ("C3", "No/Where")):
            client = histories.joined(tx, code, JOINED, zone)
            histories.prescribe(tx, client, 1, dt.date(2026, 1, 6), 3, JOINED)
            histories.did(tx, client, MON, 3)
    found = weeks(store, at)
    assert (found["C1"].today, found["C1"].days[0].on) == (SUN, dt.date(2026, 3, 1))
    assert (found["C2"].today, found["C2"].days[0].on) == (dt.date(2026, 3, 9), MON)
    assert found["C3"].today == dt.date(2026, 3, 9)  # the clinic's, as hers is not known
    assert all(len(week.days) == 7 for week in found.values())
    assert all(adherence(week.days).done == 3 for week in found.values())


def test_weeks_with_little_in_them(store: Store) -> None:
    """No answers, no prescription, enrolled yesterday, invited only, stopped taking part, paused all week."""
    with store.begin() as tx:
        silent = histories.joined(tx, "C1", JOINED)
        histories.prescribe(tx, silent, 1, dt.date(2026, 1, 6), 3, JOINED)
        diary.start_track(tx, silent.id, 3, "all", JOINED)
        histories.joined(tx, "C2", JOINED)
        new = histories.joined(tx, "C3", NOW - dt.timedelta(days=1))
        histories.prescribe(tx, new, 1, SUN, 3, NOW - dt.timedelta(days=1))
        prepared.enrol(tx, JOINED, ("C4",))
        gone = histories.joined(tx, "C5", JOINED)
        people.set_stage(tx, gone.id, Stage.WITHDRAWN)
        resting = histories.joined(tx, "C6", JOINED)
        histories.prescribe(tx, resting, 1, dt.date(2026, 1, 6), 3, JOINED)
        pause = PauseEvent("paused", "own", dt.date(2026, 3, 1), dt.date(2026, 3, 12))
        diary.add_pause_event(tx, resting.id, pause, NOW - dt.timedelta(days=8))
    found = weeks(store)
    assert found.keys() == {"C1", "C2", "C3", "C6"}
    assert adherence(found["C1"].days).answered_days == 0
    assert found["C1"].silent_days == 62  # 6 January to 8 March
    assert (found["C2"].plan_starts_on, found["C2"].review_on) == (None, None)
    assert adherence(found["C2"].days).prescribed == 0
    assert found["C3"].days == (Day(SUN, 3, None),)
    assert {day.state for day in found["C6"].days} == {DayState.PAUSED}
    assert found["C6"].paused_until_on == dt.date(2026, 3, 12)


def test_a_silence_is_told_as_it_was_then(store: Store) -> None:
    """She is back today; the digest of Monday still says that she was silent from Friday on."""
    with store.begin() as tx:
        anna = histories.joined(tx, "C1", JOINED)
        histories.prescribe(tx, anna, 1, dt.date(2026, 1, 6), 3, JOINED)
        diary.start_track(tx, anna.id, 3, "all", JOINED)
        histories.did(tx, anna, THU, 3)
        histories.did(tx, anna, dt.date(2026, 3, 12), 3)
        diary.change_track(tx, anna.id, last_heard_at=NOW + dt.timedelta(days=3))
    assert weeks(store)["C1"].silent_days == 3
    assert weeks(store, NOW + dt.timedelta(days=4))["C1"].silent_days == 0


def test_a_stop_shows_its_days_and_who_stopped(store: Store) -> None:
    with store.begin() as tx:
        anna = histories.joined(tx, "C1", JOINED)
        histories.prescribe(tx, anna, 1, dt.date(2026, 1, 6), 3, JOINED)
        diary.add_pause_event(tx, anna.id, PauseEvent("paused", "warning", THU, None), NOW)
        bea = histories.joined(tx, "C2", JOINED)
        histories.prescribe(tx, bea, 1, dt.date(2026, 1, 6), 3, JOINED)
        diary.add_pause_event(tx, bea.id, PauseEvent("paused", "warning", TUE, None), NOW)
        diary.add_pause_event(tx, bea.id, PauseEvent("resumed", "", THU, None), NOW)
    found = weeks(store)
    assert (found["C1"].stopped_by, found["C1"].stopped_since_on) == (StoppedBy.WARNING, THU)
    assert adherence(found["C1"].days).stopped_days == 4
    assert (found["C2"].stopped_by, found["C2"].paused_until_on) == (None, None)
    assert adherence(found["C2"].days).stopped_days == 3  # the day it began and the day it ended included


def test_alerts_are_those_open_at_the_instant_and_closed_within_the_week(store: Store) -> None:
    with store.begin() as tx:
        anna = histories.joined(tx, "C1", JOINED)
        kept = raised(tx, anna.id, Level.NEXT_REVIEW, NOW - dt.timedelta(days=20))
        alerts.add_event(tx, kept, "unreachable", NOW - dt.timedelta(days=19), note="T1")
        emergency = raised(tx, anna.id, Level.EMERGENCY, NOW - dt.timedelta(days=8))
        old = raised(tx, anna.id, Level.SAME_DAY, NOW - dt.timedelta(days=30))
        raised(tx, anna.id, Level.EMERGENCY, NOW + dt.timedelta(hours=1))
        spoke = Outcome.SPOKE.value
        alerts.change(tx, emergency.id, closed_at=NOW - dt.timedelta(days=6), outcome=spoke)
        alerts.change(tx, old.id, closed_at=NOW - dt.timedelta(days=8), outcome=spoke)
    week = weeks(store)["C1"]
    assert week.alerts == (OpenAlert(Level.NEXT_REVIEW, NOW - dt.timedelta(days=20), unreached=True),)
    days = dt.date(2026, 3, 1), TUE
    assert week.closed == (ClosedAlert(Level.EMERGENCY, *days, Outcome.SPOKE),)
    before = weeks(store, NOW - dt.timedelta(days=7))["C1"]
    assert [alert.level for alert in before.alerts] == [Level.NEXT_REVIEW, Level.EMERGENCY]


def test_notes_and_calls_are_those_of_the_instant(store: Store) -> None:
    with store.begin() as tx:
        anna = histories.joined(tx, "C1", JOINED)
        histories.wrote(tx, anna, "one", NOW - dt.timedelta(days=3))
        histories.wrote(tx, anna, "two", NOW - dt.timedelta(days=2))
        diary.mark_read(tx, [diary.unread_notes(tx, [anna.id])[0].id], NOW - dt.timedelta(days=1))
        diary.ask_call(tx, anna.id, NOW - dt.timedelta(days=2))
    week = weeks(store)["C1"]
    assert week.unread_notes == 1
    assert week.calls_asked_at == (NOW - dt.timedelta(days=2),)
    assert weeks(store, NOW - dt.timedelta(days=2))["C1"].unread_notes == 2


def test_the_number_of_queries_does_not_grow_with_the_clients(store: Store) -> None:
    asked: list[str] = []

    def count(*args: object) -> None:
        asked.append(str(args[2]))

    counts = []
    sa.event.listen(store.engine, "before_cursor_execute", count)
    for codes in (("C1",), tuple(f"C{n}" for n in range(2, 9))):
        with store.begin() as tx:
            for code in codes:
                client = histories.joined(tx, code, JOINED)
                histories.prescribe(tx, client, 1, dt.date(2026, 1, 6), 3, JOINED)
                histories.did(tx, client, MON, 3)
        store.forget_keys()
        asked.clear()
        weeks(store)
        one_key = "WHERE data_key.owner_id ="  # of the clinic or the therapist, held once it was read
        counts.append(sum(one_key not in query for query in asked))
    assert counts[0] == counts[1]
    assert counts[0] <= 20


def test_a_long_history_is_not_read(store: Store) -> None:
    """104 weeks of answers: the week is the same as without them."""
    with store.begin() as tx:
        anna = histories.joined(tx, "C1", JOINED - dt.timedelta(weeks=104))
        histories.prescribe(tx, anna, 1, dt.date(2024, 1, 8), 3, JOINED)
        for back in range(1, 104 * 7):
            histories.did(tx, anna, dt.date(2026, 3, 9) - dt.timedelta(days=back), back % 4)
    week = weeks(store)["C1"]
    assert [day.reported for day in week.days] == [7 % 4, 6 % 4, 5 % 4, 4 % 4, 3, 2, 1]
