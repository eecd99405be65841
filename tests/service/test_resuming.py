"""Pausing and resuming a client's programme: what stands in the way, and what is asked."""

import datetime as dt
from collections.abc import Iterator

import pytest

from bot.domain.alerts import Alert
from bot.domain.levels import Level
from bot.domain.track import Pause
from bot.service import client_side
from bot.store import alerts, diary
from bot.store.ids import new_id
from tests.fixtures.clock import MovableClock
from tests.fixtures.databases import Fresh
from tests.fixtures.desks import Rooms
from tests.service.test_caseload import JOINED, NOW, client
from tests.store import prepared

HOUR = dt.timedelta(hours=1)
REVIEWED = "Dr Farrow saw her this morning"
ASKED = "C1: who reviewed her medically, and when? One line, please."
RESUMED = "C1: the programme is resumed."


@pytest.fixture
def rooms(fresh_sqlite: Fresh, clock: MovableClock) -> Iterator[Rooms]:
    """A clinic with a client of three weeks."""
    clock.set(JOINED)
    store = prepared.open_store(fresh_sqlite(prepared.at_head), clock.now())
    made = Rooms(store, clock)
    clock.set(NOW)
    with store.begin() as tx:
        client(tx)
    yield made
    store.close()


def stopped(rooms: Rooms, level: Level, ago: dt.timedelta, *, closed: bool) -> Alert:
    """An alert that stopped her programme so long ago."""
    her = rooms.client("C1")
    at = NOW - ago
    alert = Alert(new_id(at), her.id, level, "ordinary", ("fever",), "her words", at, 0)
    with rooms.store.begin() as tx:
        alerts.add(tx, alert)
        diary.change_track(tx, her.id, pause_reason="warning", paused_until=None)
        diary.add_pause_event(tx, her.id, diary.PauseEvent("paused", "warning", at.date(), None), at)
        if closed:
            alerts.change(tx, alert.id, seen_at=at, closed_at=at, outcome="spoke")
    return alert


def resume(rooms: Rooms) -> str:
    """From her card."""
    rooms.therapist.say("/client C1")
    return rooms.therapist.press("Resume")


def test_a_pause_of_the_therapist_needs_no_reason_to_end(rooms: Rooms) -> None:
    rooms.therapist.say("/client C1")
    assert rooms.therapist.press("Pause").startswith("C1: paused, and she is told so.")
    assert "Stopped since Mon 23 Mar by you" in rooms.therapist.say("/client C1")
    assert resume(rooms) == RESUMED
    assert rooms.therapist.say("/resume C1") == "C1 is not paused."


def test_an_emergency_takes_who_reviewed_her_once(rooms: Rooms) -> None:
    stopped(rooms, Level.EMERGENCY, 2 * HOUR, closed=True)
    assert resume(rooms) == ASKED
    assert rooms.therapist.say("ok").startswith("C1: please write who reviewed her medically")
    assert rooms.therapist.say(REVIEWED) == f"{RESUMED}\nOn record: {REVIEWED} (T1)"
    # On record, it is not asked again for a pause that has nothing to do with it.
    rooms.clock.set(NOW + 24 * HOUR)
    rooms.therapist.say("/client C1")
    rooms.therapist.press("Pause")
    assert resume(rooms) == RESUMED


def test_an_open_emergency_stands_in_the_way_behind_a_closed_one(rooms: Rooms) -> None:
    stopped(rooms, Level.EMERGENCY, 5 * HOUR, closed=False)
    stopped(rooms, Level.SAME_DAY, 2 * HOUR, closed=True)
    assert resume(rooms) == "C1: this alert is still open. Please say what came of it first."


def test_a_milder_alert_closed_later_does_not_open_the_door(rooms: Rooms) -> None:
    """*Resume programme* under it asks for the review that the emergency is still owed."""
    stopped(rooms, Level.EMERGENCY, 5 * HOUR, closed=True)
    stopped(rooms, Level.THERAPIST, HOUR, closed=False)
    rooms.therapist.say("/alerts")
    rooms.therapist.press("C1, Mon 23 Mar 08:30")
    rooms.therapist.press("Seen", "Spoke to her")
    assert rooms.therapist.press("Resume programme") == ASKED
    assert rooms.rows("select pause_reason from track") == [("warning",)]


def test_another_one_raised_while_the_line_is_awaited(rooms: Rooms) -> None:
    alert = stopped(rooms, Level.EMERGENCY, 2 * HOUR, closed=True)
    assert resume(rooms) == ASKED
    with rooms.store.begin() as tx:
        alerts.change(tx, alert.id, closed_at=None, outcome=None)
    assert rooms.therapist.say(REVIEWED).startswith("C1: this alert is still open.")
    assert rooms.rows("select pause_reason from track") == [("warning",)]


def test_her_own_break_is_hers_to_end(rooms: Rooms) -> None:
    her = rooms.client("C1")
    with rooms.store.begin() as tx:
        client_side.pause(tx, her, Pause(dt.date(2026, 3, 27), "own"), NOW)
    rooms.therapist.say("/client C1")
    assert "Resume" not in rooms.therapist.seen[-1].labels
    assert rooms.therapist.say("/resume C1") == (
        "C1 has taken a break of her own, until Friday 27 March. It ends by itself, or when she says so."
    )
    rooms.clock.set(NOW + 24 * 5 * HOUR)
    assert rooms.therapist.say("/resume C1") == "C1 is not paused."
