"""A therapist's own hours: what is hers alone waits for them, what is urgent finds somebody else."""

import datetime as dt
from collections.abc import Iterator

import pytest
import sqlalchemy as sa

from bot.conversation.effects import RaiseAlert
from bot.domain.levels import Level
from bot.domain.people import Client
from bot.service import alerts as alert_service
from bot.store import alerts, office_changes, people, tables
from tests.fixtures.clock import MovableClock
from tests.fixtures.databases import Fresh
from tests.fixtures.desks import Rooms, Side
from tests.fixtures.histories import joined
from tests.store import prepared

MONDAY = dt.datetime(2026, 3, 2, 10, tzinfo=dt.UTC)
TUESDAY = MONDAY + dt.timedelta(days=1)  # the clinic is open, she is not there
THURSDAY = dt.datetime(2026, 3, 5, 10, tzinfo=dt.UTC)  # when she is there next
OWN = "mon 09:00-17:00; thu 10:00-14:00"

NIGHT = TUESDAY - dt.timedelta(hours=8)
BLEEDING = "I am soaking a pad every hour"


@pytest.fixture
def rooms(fresh_sqlite: Fresh, clock: MovableClock) -> Iterator[Rooms]:
    """A clinic open from Monday to Friday; its therapist works on two days."""
    clock.set(MONDAY)
    store = prepared.open_store(fresh_sqlite(prepared.at_head), MONDAY)
    made = Rooms(store, clock)
    assert made.therapist.say(f"/hours {OWN}").startswith(f"You work: {OWN}\n")
    yield made
    store.close()


@pytest.fixture
def her(rooms: Rooms) -> Client:
    """K1, hers."""
    with rooms.store.begin() as tx:
        return joined(tx, "K1", MONDAY)


def raised(rooms: Rooms, her: Client, level: Level, at: dt.datetime) -> None:
    rooms.clock.set(at)
    with rooms.store.begin() as tx:
        effect = RaiseAlert(level, "ordinary", ("x",), "her words", pauses=False)
        alert_service.raise_alert(tx, her, rooms.clinic, effect, at)
    rooms.deliver()


def newest(side: Side) -> str:
    return side.seen[-1].text.splitlines()[0] if side.seen else ""


def test_shown_changed_and_on_record(rooms: Rooms) -> None:
    assert rooms.therapist.say("/hours").startswith(f"You work: {OWN}\n")
    assert rooms.therapist.say("/hours whenever").startswith("I could not read that.")
    assert rooms.therapist.say("/hours clinic").startswith(
        "You work in the clinic's hours: mon-fri 09:00-12:30;"
    )
    with rooms.store.begin() as tx:
        kept = [one for _, one in office_changes.of_clinic(tx, rooms.clinic.id)]
        assert people.own_hours(tx, rooms.clinic.id) == {}
    assert [(one.what, one.after, one.by) for one in kept] == [
        ("hours", OWN, "T1"),
        ("hours", "clinic", "T1"),
    ]


def test_what_is_hers_alone_waits_for_her_hours(rooms: Rooms, her: Client) -> None:
    raised(rooms, her, Level.THERAPIST, TUESDAY)
    assert not newest(rooms.therapist).startswith("For you")
    assert comes_back(rooms, Level.THERAPIST) == THURSDAY
    with rooms.store.begin() as tx:
        (alert,) = alerts.open_of(tx, [her.id])
    # When she herself hears of it still goes by the clinic's days.
    assert alert.client_at == dt.datetime(2026, 3, 5, 9, tzinfo=dt.UTC)
    rooms.clock.set(THURSDAY)
    alert_service.watch(rooms.office)
    rooms.deliver()
    assert newest(rooms.therapist) == "For you: K1."
    assert rooms.fallback.seen == []


@pytest.mark.parametrize("level", [Level.EMERGENCY, Level.SAME_DAY])
def test_what_is_urgent_goes_to_the_fallback_contact_too(rooms: Rooms, her: Client, level: Level) -> None:
    raised(rooms, her, level, TUESDAY)
    assert newest(rooms.therapist).endswith(": K1.")
    assert rooms.fallback.seen[-1].text.endswith("T1 is not at work now.")


def test_while_she_works_all_is_as_ever(rooms: Rooms, her: Client) -> None:
    raised(rooms, her, Level.EMERGENCY, MONDAY)
    assert newest(rooms.therapist) == "EMERGENCY: K1."
    assert rooms.fallback.seen == []


def comes_back(rooms: Rooms, level: Level) -> dt.datetime:
    with rooms.store.begin() as tx:
        row = tables.alert.c
        found = tx.connection.scalar(sa.select(row.next_step_at).where(row.level == level.value))
    assert isinstance(found, dt.datetime)
    return found


def test_seen_and_not_closed_comes_back_on_her_next_morning(rooms: Rooms, her: Client) -> None:
    """What is urgent comes back on the clinic's."""
    raised(rooms, her, Level.THERAPIST, MONDAY)
    rooms.therapist.press("Seen")
    assert comes_back(rooms, Level.THERAPIST) == THURSDAY
    raised(rooms, her, Level.SAME_DAY, MONDAY)
    rooms.therapist.press("Seen")
    assert comes_back(rooms, Level.SAME_DAY) == dt.datetime(2026, 3, 3, 9, tzinfo=dt.UTC)


@pytest.mark.parametrize(
    ("said", "at", "answer"),
    [
        ("/call", TUESDAY, "Thursday 10:00"),
        ("pooed myself", TUESDAY, "Your therapist will see it from Thursday 10:00."),
        (BLEEDING, TUESDAY, "A colleague of your therapist is told now, in clinic hours."),
        (BLEEDING, MONDAY, "Your therapist is told now, in clinic hours."),
        (BLEEDING, NIGHT, "A colleague of your therapist will see it from today 09:00."),
    ],
)
def test_clients_are_told_when_somebody_reads(
    rooms: Rooms, her: Client, said: str, at: dt.datetime, answer: str
) -> None:
    side = rooms.link(her)
    rooms.clock.set(at)
    side.say(said)
    assert any(answer in shown.text for shown in side.seen), [shown.text for shown in side.seen]
