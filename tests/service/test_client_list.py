"""The list of clients: its parts, its pages, and that it is the digest's order."""

import datetime as dt
from collections.abc import Iterator

import pytest

from bot.conversation.incoming import Press
from bot.domain.levels import Level
from bot.domain.people import Stage
from bot.rules.discretion import indiscreet
from bot.service import digests
from bot.store import alerts, diary, people
from bot.store.diary import PauseEvent
from tests.fixtures import histories
from tests.fixtures.clock import MovableClock
from tests.fixtures.databases import Fresh
from tests.fixtures.desks import Rooms
from tests.service.test_caseload import FIRST, JOINED, NOW, client, raised
from tests.store import prepared


@pytest.fixture
def rooms(fresh_sqlite: Fresh, clock: MovableClock) -> Iterator[Rooms]:
    """A clinic on a Monday morning, with clients of every kind."""
    clock.set(JOINED)
    store = prepared.open_store(fresh_sqlite(prepared.at_head), clock.now())
    made = Rooms(store, clock)
    clock.set(NOW)
    with store.begin() as tx:
        client(tx, "A1")
        raised(tx, client(tx, "B2"), Level.EMERGENCY, NOW - dt.timedelta(hours=20))
        silent = client(tx, "C3", days=14)
        heard = NOW - dt.timedelta(days=8)
        diary.change_track(tx, silent.id, last_heard_at=heard, restarted_at=heard)
        due = histories.joined(tx, "D4", JOINED)
        histories.prescribe(tx, due, 1, FIRST - dt.timedelta(weeks=3), 3, JOINED)
        resting = client(tx, "E5", days=14)
        event = PauseEvent("paused", "own", dt.date(2026, 3, 16), dt.date(2026, 4, 1))
        diary.add_pause_event(tx, resting.id, event, NOW - dt.timedelta(days=7))
        histories.wrote(tx, client(tx, "F6"), "a question", NOW - dt.timedelta(days=1))
        for code, stage in (
            ("G7", Stage.INVITED),
            ("H8", Stage.CONSENTING),
            ("I9", Stage.WITHDRAWN),
            ("J0", Stage.DISCHARGED),
            ("Z9", Stage.ERASED),
        ):
            people.set_stage(tx, prepared.enrol(tx, JOINED, (code,))[0].id, stage)
    yield made
    store.close()


def codes(rooms: Rooms) -> list[str]:
    return [label for label in rooms.therapist.seen[-1].labels if ":" not in label]


def test_all_of_them_in_the_digests_order(rooms: Rooms) -> None:
    text = rooms.therapist.say("/clients")
    with rooms.store.begin() as tx:
        data = digests.gather(tx, rooms.staff, rooms.clinic, NOW)
    assert codes(rooms) == [line.code for line in data.lines]
    assert codes(rooms)[0] == "B2"
    assert text.startswith("1 to 6 of 6, most urgent first:\n")
    assert rooms.therapist.seen[-1].labels[6:] == (
        "Alerts: 1",
        "Silent: 1",
        "Review due: 1",
        "Paused: 1",
        "Notes: 1",
        "Not joined: 2",
        "Ended: 2",
    )


PARTS = {
    "Alerts: 1": ["B2"],
    "Silent: 1": ["C3"],
    "Review due: 1": ["D4"],
    "Paused: 1": ["E5"],
    "Notes: 1": ["F6"],
    "Not joined: 2": ["G7", "H8"],
    "Ended: 2": ["I9", "J0"],
}


def test_each_part_takes_the_place_of_the_list(rooms: Rooms) -> None:
    rooms.therapist.say("/clients")
    for button, shown in PARTS.items():
        text = rooms.therapist.press(button)
        assert codes(rooms) == shown
        assert all(f"{code}: " in text for code in shown)
        assert indiscreet(text) == ()
    assert len(rooms.therapist.seen) == 1
    rooms.therapist.press("All: 6")
    assert len(codes(rooms)) == 6


def test_a_button_of_a_list_opens_the_card_of_anybody_on_it(rooms: Rooms) -> None:
    for code, opening in (
        ("B2", "B2, Mon 16 Mar to Sun 22 Mar"),
        ("G7", "G7 has not joined yet."),
        ("J0", "J0 has no running programme any more."),
    ):
        rooms.therapist.say("/clients")
        for part in ("Not joined: 2", "Ended: 2"):
            if code not in codes(rooms):
                rooms.therapist.press(part)
        assert rooms.therapist.press(code).startswith(opening)


def test_an_open_alert_keeps_somebody_in_sight_who_has_left(rooms: Rooms) -> None:
    with rooms.store.begin() as tx:
        gone = histories.joined(tx, "K1", JOINED)
        people.set_stage(tx, gone.id, Stage.WITHDRAWN)
        alert = raised(tx, gone, Level.SAME_DAY, NOW - dt.timedelta(hours=2))
    rooms.therapist.say("/clients")
    assert codes(rooms)[:2] == ["B2", "K1"]
    with rooms.store.begin() as tx:
        alerts.change(tx, alert.id, closed_at=NOW, outcome="spoke")
    rooms.therapist.say("/clients")
    assert "K1" not in codes(rooms)


def test_pages_of_a_part_and_buttons_made_up(rooms: Rooms) -> None:
    with rooms.store.begin() as tx:
        for n in range(20):
            people.set_stage(tx, prepared.enrol(tx, JOINED, (f"W{n:02}",))[0].id, Stage.INVITED)
    rooms.therapist.say("/clients")
    text = rooms.therapist.press("Not joined: 22")
    seen = codes(rooms)
    assert text.startswith("1 to 8 of 22, by code:")
    while "More" in rooms.therapist.seen[-1].labels:
        rooms.therapist.press("More")
        seen += codes(rooms)
    assert [code for code in seen if code not in {"More", "Back"}] == ["G7", "H8"] + [
        f"W{n:02}" for n in range(20)
    ]
    for made_up in ("cl:list:x.y", "cl:list:", "cl:list", "cl:list:all.999999"):
        rooms.therapist.do(Press("1", made_up, None))
        assert "most urgent first" in rooms.therapist.seen[-1].text


def test_nobody_yet(fresh_sqlite: Fresh, clock: MovableClock) -> None:
    store = prepared.open_store(fresh_sqlite(prepared.at_head), clock.now())
    assert Rooms(store, clock).therapist.say("/clients") == "Nobody is on this list."
    store.close()
