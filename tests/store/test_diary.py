"""The diary: kept once, added to, read back in the order it was said."""

import datetime as dt
from typing import Any

import sqlalchemy as sa

from bot.domain.day_book import Meaning, SetReport, fold
from bot.store import diary, inbox, tables, unasked_log
from bot.store.base import Store, Tx
from bot.store.diary import ChoiceRow, PauseEvent, SymptomReport
from bot.store.inbox import Received
from bot.store.unasked_log import UnaskedRow
from tests.fixtures.clock import MovableClock
from tests.store import plans, prepared
from tests.store.prepared import BOT

ON = dt.date(2026, 3, 2)
DAY = dt.timedelta(days=1)


def report(key: str, value: int, said_at: dt.datetime, on: dt.date = ON, **more: Any) -> SetReport:
    return SetReport(on, more.pop("meaning", Meaning.TOTAL), value, said_at, key, **more)


def test_a_report_of_sets_is_kept_once(store: Store, clock: MovableClock) -> None:
    """The same update handled twice, after a crash, books nothing twice; another client's key is her own."""
    said_at = clock.now()
    with store.begin() as tx:
        anna, beth = prepared.enrol(tx, clock.now(), ("C1", "C2"))
        assert diary.report_sets(tx, anna.id, report("said:1", 2, said_at), clock.now())
        assert not diary.report_sets(tx, anna.id, report("said:1", 3, said_at), clock.now())
        assert diary.report_sets(tx, beth.id, report("said:1", 1, said_at), clock.now())
    with store.begin() as tx:
        assert diary.set_reports(tx, [anna.id, beth.id], ON) == {
            anna.id: [report("said:1", 2, said_at)],
            beth.id: [report("said:1", 1, said_at)],
        }


def test_reports_come_back_whole_and_from_a_day_on(store: Store, clock: MovableClock) -> None:
    now = clock.now()
    reports = [
        report("a", 0, now, ON - DAY, meaning=Meaning.NONE),
        report("b", 1, now + 1 * DAY, meaning=Meaning.ADDED),
        report("c", 0, now + 2 * DAY, meaning=Meaning.UNDONE, undoes="b"),
        report("d", 0, now + 3 * DAY, meaning=Meaning.CLOSED),
    ]
    with store.begin() as tx:
        (anna,) = prepared.enrol(tx, now)
        for one in reports:
            assert diary.report_sets(tx, anna.id, one, now)
        assert diary.set_reports(tx, [anna.id], ON - DAY) == {anna.id: reports}
        assert diary.set_reports(tx, [anna.id], ON) == {anna.id: reports[1:]}
        assert diary.set_reports(tx, [anna.id], ON + DAY) == {}
        assert diary.set_reports(tx, [], dt.date.min) == {}


def test_what_she_said_in_one_second_keeps_the_order_it_came_in(store: Store, clock: MovableClock) -> None:
    """The platform dates messages to the second: "2", then "no, 3", both at 08:00:00."""
    at = clock.now()
    with store.begin() as tx:
        (anna,) = prepared.enrol(tx, at)
        for number in (5, 1, 4, 2, 3):
            diary.report_sets(tx, anna.id, report(f"said:{number}", number, at), at)
        found = diary.set_reports(tx, [anna.id], ON)[anna.id]
    assert [one.value for one in found] == [5, 1, 4, 2, 3]
    assert fold(found).totals == {ON: 3}


def test_a_report_that_arrives_late_goes_where_it_was_said(store: Store, clock: MovableClock) -> None:
    with store.begin() as tx:
        (anna,) = prepared.enrol(tx, clock.now())
        diary.report_sets(tx, anna.id, report("second", 3, clock.now()), clock.now())
        hour = dt.timedelta(hours=1)
        diary.report_sets(tx, anna.id, report("first", 1, clock.now() - hour), clock.move(minutes=5))
        found = diary.set_reports(tx, [anna.id], ON)[anna.id]
    assert [one.key for one in found] == ["first", "second"]


def test_a_symptom_report_is_kept_once_and_skipping_is_an_answer(store: Store, clock: MovableClock) -> None:
    first = SymptomReport(ON, "leaks", 4, clock.now())
    skipped = SymptomReport(ON + DAY, "heaviness", None, clock.now() + DAY)
    with store.begin() as tx:
        anna, beth = prepared.enrol(tx, clock.now(), ("C1", "C2"))
        assert diary.report_symptom(tx, anna.id, "2", skipped, clock.now())
        assert diary.report_symptom(tx, anna.id, "1", first, clock.now())
        assert not diary.report_symptom(tx, anna.id, "1", skipped, clock.now())
        assert diary.symptom_reports(tx, [anna.id, beth.id], ON) == {anna.id: [first, skipped]}
        assert diary.symptom_reports(tx, [anna.id], ON + DAY) == {anna.id: [skipped]}
        assert diary.symptom_reports(tx, [anna.id], dt.date.min) == {anna.id: [first, skipped]}


def test_an_unasked_message_is_put_once_for_a_day_and_its_place_in_it(
    store: Store, clock: MovableClock
) -> None:
    nudge = UnaskedRow("nudge", ON, 1, clock.now())
    later = clock.now() + dt.timedelta(hours=4)
    with store.begin() as tx:
        anna, beth = prepared.enrol(tx, clock.now(), ("C1", "C2"))
        assert unasked_log.add(tx, anna.id, nudge)
        assert not unasked_log.add(tx, anna.id, UnaskedRow("nudge", ON, 1, later))
        rows = [
            UnaskedRow("nudge", ON, 2, later),
            UnaskedRow("round_up", ON, 1, later),
            UnaskedRow("nudge", ON + DAY, 1, later + DAY),
        ]
        for row in rows:
            assert unasked_log.add(tx, anna.id, row)
        assert unasked_log.add(tx, beth.id, nudge)
        assert unasked_log.since(tx, [anna.id], clock.now()) == {anna.id: [nudge, *rows]}
        assert unasked_log.since(tx, [anna.id], later) == {anna.id: rows}
        assert unasked_log.since(tx, [beth.id, anna.id], clock.now())[beth.id] == [nudge]


# Her place in the agenda


def test_a_track_begins_and_changes(store: Store, clock: MovableClock) -> None:
    now = clock.now()
    with store.begin() as tx:
        anna, beth = prepared.enrol(tx, now, ("C1", "C2"))
        assert diary.track_of(tx, anna.id) is None
        diary.start_track(tx, anna.id, 3, "all", now)
        diary.change_track(
            tx,
            anna.id,
            next_at=now + DAY,
            later_at=now + dt.timedelta(minutes=30),
            laters_on=ON,
            laters=1,
            paused_until=ON + 3 * DAY,
            pause_reason="break",
            last_check_in_on=ON,
        )
    with store.begin() as tx:
        track = diary.track_of(tx, anna.id)
        assert track == diary.TrackRow(
            client_id=anna.id,
            next_at=now + DAY,
            cap=3,
            mode="all",
            later_at=now + dt.timedelta(minutes=30),
            laters_on=ON,
            laters=1,
            paused_until=ON + 3 * DAY,
            pause_reason="break",
            last_heard_at=now,
            last_check_in_on=ON,
            restarted_at=now,
        )
        assert diary.tracks_of(tx, [anna.id, beth.id]) == {anna.id: track}


def due(tx: Tx, now: dt.datetime, limit: int = 10) -> list[Any]:
    return [row.client_id for row in diary.tracks_due(tx, now, limit)]


def test_tracks_that_are_due_come_earliest_first(store: Store, clock: MovableClock) -> None:
    now = clock.now()
    with store.begin() as tx:
        clients = prepared.enrol(tx, now, ("C1", "C2", "C3", "C4"))
        for client in clients:
            diary.start_track(tx, client.id, 3, "all", now)
        late, early, coming, resting = (client.id for client in clients)
        diary.change_track(tx, early, next_at=now - DAY)
        diary.change_track(tx, coming, next_at=now + dt.timedelta(microseconds=1))
        diary.change_track(tx, resting, next_at=None)
        assert due(tx, now) == [early, late]
        assert due(tx, now, 1) == [early]
        assert diary.next_track_at(tx) == now - DAY


def test_a_track_is_looked_at_by_one_worker_at_a_time(postgresql_store: Store, clock: MovableClock) -> None:
    with postgresql_store.begin() as tx:
        first, second = (client.id for client in prepared.enrol(tx, clock.now(), ("C1", "C2")))
        for client in (first, second):
            diary.start_track(tx, client, 3, "all", clock.now())
    with postgresql_store.begin() as one, postgresql_store.begin() as other:
        assert due(one, clock.now(), 1) == [first]
        assert due(other, clock.now()) == [second]


def test_pauses_come_back_in_the_order_they_happened(store: Store, clock: MovableClock) -> None:
    events = [
        PauseEvent("paused", "break", ON, ON + 3 * DAY),
        PauseEvent("resumed", "", ON + DAY, None),
        PauseEvent("paused", "warning", ON + DAY, None),
    ]
    with store.begin() as tx:
        anna, beth = prepared.enrol(tx, clock.now(), ("C1", "C2"))
        for event in events:
            diary.add_pause_event(tx, anna.id, event, clock.now())  # within the same instant
        assert diary.pause_events(tx, [anna.id, beth.id]) == {anna.id: events}


# What could not be read


def received(tx: Tx, clock: MovableClock, *numbers: int) -> list[Any]:
    inbox.accept(tx, BOT, [Received(number, 7_001, b"raw") for number in numbers], clock.now())
    query = sa.select(tables.inbox.c.id).order_by(tables.inbox.c.update_id)
    return list(tx.connection.scalars(query))


def test_a_note_is_filed_once_and_read_once(store: Store, clock: MovableClock) -> None:
    now = clock.now()
    with store.begin() as tx:
        anna, beth = prepared.enrol(tx, now, ("C1", "C2"))
        first, second, third = received(tx, clock, 1, 2, 3)
        assert diary.file_note(tx, anna.id, second, "später 🙂", now + DAY, now)
        assert diary.file_note(tx, anna.id, first, "it was hard today", now, now)
        assert not diary.file_note(tx, anna.id, first, "again", now, now)
        assert diary.file_note(tx, beth.id, third, "hers", now, now)
    with store.begin() as tx:
        notes = diary.unread_notes(tx, [anna.id])
        assert [(note.client_id, note.text, note.said_at) for note in notes] == [
            (anna.id, "it was hard today", now),
            (anna.id, "später 🙂", now + DAY),
        ]
        diary.mark_read(tx, [notes[0].id], now)
        assert diary.unread_notes(tx, [anna.id]) == notes[1:]
        assert len(diary.unread_notes(tx, [anna.id, beth.id])) == 2
        assert diary.unread_notes(tx, []) == []


# Her own choices


def test_the_latest_choice_of_times_counts(store: Store, clock: MovableClock) -> None:
    with store.begin() as tx:
        anna, beth = prepared.enrol(tx, clock.now(), ("C1", "C2"))
        assert diary.choices_of(tx, [anna.id]) == {}
        diary.choose(tx, anna.id, ChoiceRow((dt.time(9), dt.time(20, 15)), ("feeding", "tea")), clock.now())
        latest = ChoiceRow((dt.time(7, 5),), ("planted cue",))
        diary.choose(tx, anna.id, latest, clock.move(days=1))
    with store.begin() as tx:
        assert diary.choices_of(tx, [anna.id, beth.id]) == {anna.id: latest}


def test_a_request_to_be_rung_up_stands_until_it_is_answered(store: Store, clock: MovableClock) -> None:
    with store.begin() as tx:
        anna, beth = prepared.enrol(tx, clock.now(), ("C1", "C2"))
        asked_at = clock.now()
        assert diary.ask_call(tx, anna.id, asked_at)
        assert not diary.ask_call(tx, anna.id, clock.move(hours=1))
        assert diary.calls_asked(tx, [anna.id, beth.id]) == {anna.id: [asked_at]}
        assert diary.answer_calls(tx, anna.id, clock.now()) == 1
        assert diary.answer_calls(tx, anna.id, clock.now()) == 0
        assert diary.calls_asked(tx, [anna.id]) == {}
        assert diary.ask_call(tx, anna.id, clock.now())


# Cost


def test_a_caseload_is_read_in_as_many_queries_as_one_client(store: Store, clock: MovableClock) -> None:
    with store.begin() as tx:
        clients = [c.id for c in prepared.enrol(tx, clock.now(), tuple(f"C{n:02}" for n in range(12)))]
        for place, client in enumerate(clients):
            for number in range(6):
                diary.report_sets(tx, client, report(f"{number}", number, clock.now()), clock.now())
            (note,) = received(tx, clock, place)[-1:]
            diary.file_note(tx, client, note, "words", clock.now(), clock.now())
            diary.start_track(tx, client, 3, "all", clock.now())
    counts = []
    for some in (clients[:1], clients):
        with store.begin() as tx, plans.watched(store) as seen:
            assert len(diary.set_reports(tx, some, ON)) == len(some)
            assert len(diary.unread_notes(tx, some)) == len(some)
            assert len(diary.tracks_of(tx, some)) == len(some)
        counts.append(len(seen))
    assert counts == [3, 3]


def test_what_is_asked_often_is_looked_up(store: Store, clock: MovableClock) -> None:
    with store.begin() as tx:
        (anna,) = prepared.enrol(tx, clock.now())
        diary.start_track(tx, anna.id, 3, "all", clock.now())
    with plans.watched(store) as seen, store.begin() as tx:
        diary.tracks_due(tx, clock.now(), 10)
        diary.next_track_at(tx)
        diary.set_reports(tx, [anna.id], ON)
        diary.symptom_reports(tx, [anna.id], ON)
        unasked_log.since(tx, [anna.id], clock.now())
        diary.unread_notes(tx, [anna.id])
        diary.pause_events(tx, [anna.id])
    names = ("track", "set_report", "symptom_report", "unasked", "unread_note", "pause_event")
    assert plans.read_whole(store, seen, *names) == []
