"""Clients handed over to a colleague: asked once, recorded, followed by alerts and digest, back in time."""

import datetime as dt
from collections.abc import Iterator
from dataclasses import dataclass, replace

import pytest

from bot.conversation import handing
from bot.conversation.effects import RaiseAlert
from bot.conversation.incoming import Press
from bot.domain.duties import Duty, Named
from bot.domain.levels import Level
from bot.domain.people import Role, Stage
from bot.service import alerts as alert_service
from bot.service import digests, housekeeping, idle
from bot.store import diary, duties, hand_overs, people
from tests.fixtures.clock import MovableClock
from tests.fixtures.databases import Fresh
from tests.fixtures.desks import Rooms, Side
from tests.fixtures.histories import joined
from tests.store import prepared

NOW = dt.datetime(2026, 3, 2, 10, tzinfo=dt.UTC)  # a Monday in clinic hours


@dataclass
class Two:
    """Two therapists of one clinic; T1 has K1 to K3."""

    rooms: Rooms
    first: Side
    second: Side

    def of(self, code: str) -> str:
        """Whose client somebody is."""
        with self.rooms.store.begin() as tx:
            client = people.client_by_code(tx, self.rooms.clinic.id, code)
            assert client is not None
            return people.staff_by_id(tx, client.therapist_id).code

    def keep_house(self, at: dt.datetime) -> int:
        """What housekeeping finds at an instant."""
        self.rooms.clock.set(at)
        found = housekeeping.run(self.rooms.office)
        self.rooms.deliver()
        return found


@pytest.fixture
def two(fresh_sqlite: Fresh, clock: MovableClock) -> Iterator[Two]:
    """Both linked, on a Monday."""
    clock.set(NOW)
    store = prepared.open_store(fresh_sqlite(prepared.at_head), clock.now())
    rooms = Rooms(store, clock)
    other = prepared.staff(NOW, rooms.clinic.id, "T2")
    with store.begin() as tx:
        people.add_staff(tx, other, "REG 0002", None, NOW)
        for code in ("K1", "K2", "K3"):
            joined(tx, code, NOW - dt.timedelta(days=20))
    yield Two(rooms, rooms.therapist, rooms.link(other))
    store.close()


@pytest.mark.parametrize(
    ("typed", "wanted"),
    [
        ("T2 K1", ("T2", ("K1",), "")),
        ("T2 K1, K2,K3 until 14 March", ("T2", ("K1", "K2", "K3"), "14 March")),
        ("T2 all till Friday", ("T2", None, "Friday")),
        ("T2 ALL", ("T2", None, "")),
        ("T2", None),
        ("", None),
        ("until Friday", None),
    ],
)
def test_what_is_typed(typed: str, wanted: tuple[str, tuple[str, ...] | None, str] | None) -> None:
    assert handing.parse(typed) == (None if wanted is None else handing.Wanted(*wanted))


def test_all_of_them_until_a_day_and_back_by_themselves(two: Two) -> None:
    asked = two.first.say("/handover T2 all until 13 March")
    assert asked.startswith("To T2, until Friday 13 March, that day included, 3 in all: K1, K2, K3\n")
    assert [two.of(code) for code in ("K1", "K2", "K3")] == ["T1"] * 3
    done = two.first.press("Hand over to T2")
    assert done == "Handed over to T2, until Friday 13 March, that day included, 3 in all: K1, K2, K3"
    assert [two.of(code) for code in ("K1", "K2", "K3")] == ["T2"] * 3
    told = two.second.seen[-1].text
    assert told.startswith("T1 has handed over to you, until Friday 13 March, that day included: K1, K2, K3")
    assert two.first.say("/clients") == "Nobody is on this list."
    assert "1 to 3 of 3" in two.second.say("/clients")
    with two.rooms.store.begin() as tx:
        assert not digests.gather(tx, two.rooms.staff, two.rooms.clinic, NOW).lines
    assert idle.due_at(two.rooms.office)["housekeeping"] == dt.datetime(2026, 3, 14, tzinfo=dt.UTC)
    assert two.keep_house(dt.datetime(2026, 3, 13, 23, 59, tzinfo=dt.UTC)) == 0
    assert two.keep_house(dt.datetime(2026, 3, 14, 0, 0, tzinfo=dt.UTC)) == 3
    assert [two.of(code) for code in ("K1", "K2", "K3")] == ["T1"] * 3
    back = "With T1 again from now on, alerts and digest too: K1, K2, K3\nNothing of theirs is waiting."
    assert (two.first.seen[-1].text, two.second.seen[-1].text) == (back, back)
    assert two.keep_house(dt.datetime(2026, 3, 15, tzinfo=dt.UTC)) == 0


def test_who_and_when_stand_on_record(two: Two) -> None:
    two.first.say("/handover T2 k2 until 13 March")
    two.first.press("Hand over to T2")
    two.rooms.a_day_on()
    two.second.say("/handover back K2")
    client_id = two.rooms.client("K2").id
    with two.rooms.store.begin() as tx:
        (one,) = hand_overs.of_clients(tx, [client_id])
    assert (one.made_by, one.made_at, one.until_on) == ("T1", NOW, dt.date(2026, 3, 13))
    assert (one.ended_by, one.ended_at) == ("T2", NOW + dt.timedelta(days=1))
    assert two.of("K2") == "T1"


def test_for_good(two: Two) -> None:
    assert "To T2, for good, 1 in all: K1" in two.first.say("/handover T2 K1")
    two.first.press("Hand over to T2")
    assert two.of("K1") == "T2"
    assert two.keep_house(NOW + dt.timedelta(days=400)) == 0
    assert two.of("K1") == "T2"
    assert two.first.say("/handover back").startswith("Nobody of yours is with a colleague")


def test_alerts_follow(two: Two) -> None:
    """An open one goes on with the colleague, a new one comes to her first."""
    with two.rooms.store.begin() as tx:
        client = people.client_by_code(tx, two.rooms.clinic.id, "K1")
        assert client is not None
        effect = RaiseAlert(Level.EMERGENCY, "ordinary", ("x",), "her words", pauses=True)
        alert_service.raise_alert(tx, client, two.rooms.clinic, effect, NOW)
        diary.ask_call(tx, client.id, NOW)
    two.rooms.deliver()
    assert two.first.seen[-1].text.startswith("EMERGENCY: K1")
    two.first.say("/handover T2 K1 until 13 March")
    two.first.press("Hand over to T2")
    assert "Open alerts: 1; asked to be rung: 1; unread notes: 0." in two.second.seen[-1].text
    two.rooms.clock.set(NOW + dt.timedelta(minutes=15))
    alert_service.watch(two.rooms.office)
    two.rooms.deliver()
    assert two.second.seen[-1].text.startswith("EMERGENCY, still open: K1")
    assert "K1: EMERGENCY" in two.second.say("/alerts")
    two.second.press("K1, Mon 2 Mar 10:00")
    assert "K1" in two.second.seen[-1].text


def test_a_client_on_loan_goes_no_further(two: Two) -> None:
    two.first.say("/handover T2 K1 until 13 March")
    two.first.press("Hand over to T2")
    third = prepared.staff(NOW, two.rooms.clinic.id, "T3")
    with two.rooms.store.begin() as tx:
        people.add_staff(tx, third, "REG 0003", None, NOW)
    two.rooms.link(third)
    assert two.second.say("/handover T3 K1").startswith("K1 is not a client you can hand over")
    assert two.second.say("/handover T3 all") == "There is no client to hand over."
    assert "K1: T1 to T2 until Friday 13 March" in two.second.say("/handover")
    assert "K1: T1 to T2 until Friday 13 March" in two.first.say("/handover")


def test_what_is_wrong_is_said(two: Two) -> None:
    for typed, answer in (
        ("/handover", "To hand clients over, write the colleague"),
        ("/handover T2", "To hand clients over, write the colleague"),
        ("/handover T9 K1", "Nobody in your clinic has the code T9."),
        ("/handover T1 K1", "T1 has them now."),
        ("/handover F1 K1", "F1 is not a therapist of your clinic."),
        ("/handover T2 K9", "K9 is not a client you can hand over"),
        ("/handover T2 K1 until whenever", "Please name a last day within the next 180 days"),
        ("/handover T2 K1 until 1 March 2020", "Please name a last day within the next 180 days"),
        ("/handover T2 K1 until 1 March 2029", "Please name a last day within the next 180 days"),
    ):
        assert two.first.say(typed).startswith(answer), typed


def test_a_colleague_who_could_not_hear_an_alert_gets_nobody(two: Two) -> None:
    away = Named(
        Duty.COVER, two.rooms.staff.id, None, from_on=dt.date(2026, 3, 1), until_on=dt.date(2026, 3, 9)
    )
    not_linked = prepared.staff(NOW, two.rooms.clinic.id, "T4")
    with two.rooms.store.begin() as tx:
        people.add_staff(tx, not_linked, "REG 0004", None, NOW)
        second = people.staff_by_code(tx, two.rooms.clinic.id, "T2")
        assert second is not None
        duties.add(tx, two.rooms.clinic.id, replace(away, for_id=second.id), NOW)
    assert two.first.say("/handover T2 K1") == "T2 is on leave now."
    assert two.first.say("/handover T4 K1").startswith("T4 has not opened her invite")


def test_only_the_question_that_stands_counts(two: Two) -> None:
    two.first.say("/handover T2 K1")
    old = two.first.seen[-1].buttons[0][1]
    two.first.say("/handover T2 K2")
    assert two.first.press("Keep them") == "Nothing was handed over."
    assert two.first.do(Press("1", old, None)).startswith("That button is from an earlier message")
    two.second.do(Press("1", old, None))
    assert [two.of(code) for code in ("K1", "K2")] == ["T1", "T1"]


def test_her_client_is_told_nothing(two: Two) -> None:
    with two.rooms.store.begin() as tx:
        client = people.client_by_code(tx, two.rooms.clinic.id, "K1")
        assert client is not None
        assert client.stage is Stage.ACTIVE
    side = two.rooms.link(client)
    two.first.say("/handover T2 K1")
    two.first.press("Hand over to T2")
    assert side.seen == []


def test_another_clinics_therapist_is_unknown(two: Two) -> None:
    other = prepared.clinic(NOW, "inland")
    with two.rooms.store.begin() as tx:
        people.add_clinic(tx, other, NOW)
        people.add_staff(tx, prepared.staff(NOW, other.id, "T8", Role.THERAPIST), "REG 8", None, NOW)
    assert two.first.say("/handover T8 K1") == "Nobody in your clinic has the code T8."
