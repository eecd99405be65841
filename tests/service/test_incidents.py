"""What an administrator is told of the service: once an incident, in minutes and codes."""

import datetime as dt
from collections.abc import Iterator

import pytest

from bot.conversation.speech import Say
from bot.domain.alerts import Alert
from bot.domain.delivery import Kind
from bot.domain.duties import Duty, Named
from bot.domain.levels import Level
from bot.domain.people import Role
from bot.rules.discretion import indiscreet
from bot.service import idle, incidents, post
from bot.store import alerts, chats, duties, people, tables
from bot.store.ids import new_id
from tests.fixtures.clock import MovableClock
from tests.fixtures.databases import Fresh
from tests.fixtures.desks import Rooms, Side
from tests.fixtures.histories import joined
from tests.store import prepared

MINUTE = dt.timedelta(minutes=1)
TEN = dt.datetime(2026, 3, 2, 10, tzinfo=dt.UTC)  # a Monday in clinic hours
NIGHT = dt.datetime(2026, 3, 3, 2, 10, tzinfo=dt.UTC)


@pytest.fixture
def rooms(fresh_sqlite: Fresh, clock: MovableClock) -> Iterator[Rooms]:
    """A clinic with an administrator, on a Monday morning."""
    clock.set(TEN)
    store = prepared.open_store(fresh_sqlite(prepared.at_head), clock.now())
    yield Rooms(store, clock)
    store.close()


@pytest.fixture
def administrator(rooms: Rooms) -> Side:
    """Her chat."""
    person = prepared.staff(rooms.clock.now(), rooms.clinic.id, "A1", Role.ADMINISTRATOR)
    with rooms.store.begin() as tx:
        people.add_staff(tx, person, None, None, rooms.clock.now())
    return rooms.link(person)


def raised(rooms: Rooms, level: Level = Level.EMERGENCY) -> Alert:
    now = rooms.clock.now()
    with rooms.store.begin() as tx:
        client = people.client_by_code(tx, rooms.clinic.id, "K1") or joined(tx, "K1", now)
        alert = Alert(new_id(now), client.id, level, "ordinary", ("x",), "her words", now, 0)
        alerts.add(tx, alert)
    return alert


def after(rooms: Rooms, minutes: float) -> int:
    rooms.clock.set(rooms.clock.now() + minutes * MINUTE)
    count = incidents.run(rooms.office)
    rooms.deliver()
    return count


def test_an_emergency_nobody_has_seen_is_told_once(rooms: Rooms, administrator: Side) -> None:
    raised(rooms)
    assert after(rooms, 59) == 0
    assert administrator.seen == []
    assert idle.due_at(rooms.office)["watching"] == TEN + 60 * MINUTE
    assert after(rooms, 1) == 1
    (told,) = administrator.seen
    assert told.text.startswith("Nobody has seen an emergency alert: K1, raised Mon 10:00, therapist T1.")
    assert "her words" not in told.text
    assert indiscreet(told.text) == ()
    assert [after(rooms, 30) for _ in range(4)] == [0, 0, 0, 0]
    assert len(administrator.seen) == 1
    assert rooms.therapist.seen == rooms.fallback.seen == []
    assert "watching" not in idle.due_at(rooms.office)


def test_seen_closed_or_less_urgent_is_no_incident(rooms: Rooms, administrator: Side) -> None:
    seen, closed = raised(rooms), raised(rooms)
    raised(rooms, Level.SAME_DAY)
    with rooms.store.begin() as tx:
        alerts.change(tx, seen.id, seen_at=TEN)
        alerts.change(tx, closed.id, closed_at=TEN, outcome="spoke")
    assert after(rooms, 600) == 0
    assert administrator.seen == []


def test_at_night_the_limit_runs_where_somebody_is_on_call(rooms: Rooms, administrator: Side) -> None:
    """Without, it begins when the clinic opens at nine."""
    rooms.clock.set(NIGHT)
    raised(rooms)
    assert after(rooms, 240) == 0
    assert idle.due_at(rooms.office)["watching"] == dt.datetime(2026, 3, 3, 10, tzinfo=dt.UTC)
    rooms.clock.set(NIGHT)
    with rooms.store.begin() as tx:
        hours = {day: ((dt.time(0), dt.time(9)),) for day in range(7)}
        duties.add(tx, rooms.clinic.id, Named(Duty.ON_CALL, staff_id=rooms.staff.id, hours=hours), NIGHT)
    assert after(rooms, 59) == 0
    assert after(rooms, 1) == 1
    assert len(administrator.seen) == 1


def test_late_delivery_is_told_once_and_again_only_after_an_hour_of_quiet(
    rooms: Rooms, administrator: Side
) -> None:
    with rooms.store.begin() as tx:
        chat = chats.chat_of_owner(tx, rooms.staff.id)
        assert chat is not None
        post.put_say(tx, chat, Say("staff.help.fallback", kind=Kind.ALERT), "stuck", TEN)

    def late() -> int:
        with rooms.store.begin() as tx:
            tx.connection.execute(
                tables.outbox.update().where(tables.outbox.c.key == "stuck").values(state="queued")
            )
        return incidents.run(rooms.office)

    def in_time() -> None:
        rooms.deliver()
        with rooms.store.begin() as tx:
            tx.connection.execute(tables.outbox.update().values(state="sent"))
        assert incidents.run(rooms.office) == 0

    rooms.clock.set(TEN + 9 * MINUTE)
    assert late() == 0
    rooms.clock.set(TEN + 10 * MINUTE)
    assert late() == 1
    assert [late() for _ in range(3)] == [0, 0, 0]
    in_time()
    (told,) = administrator.seen
    assert told.text.startswith("Messages are late: the oldest has waited 10 min.")
    assert indiscreet(told.text) == ()
    rooms.clock.set(TEN + 40 * MINUTE)
    assert late() == 0  # the same trouble come back
    in_time()
    rooms.clock.set(TEN + 120 * MINUTE)
    assert late() == 1
    in_time()
    assert len(administrator.seen) == 2


def test_a_chat_that_is_gone_is_not_late_delivery(rooms: Rooms, administrator: Side) -> None:
    with rooms.store.begin() as tx:
        chat = chats.chat_of_owner(tx, rooms.staff.id)
        assert chat is not None
        post.put_say(tx, chat, Say("staff.help.fallback", kind=Kind.ALERT), "stuck", TEN)
        chats.set_gone(tx, chat.id, TEN)
    rooms.clock.set(TEN + 60 * MINUTE)
    assert incidents.run(rooms.office) == 0
    assert administrator.seen == []


def test_without_an_administrator_the_fallback_contact_is_told(rooms: Rooms) -> None:
    raised(rooms)
    assert after(rooms, 60) == 1
    assert len(rooms.fallback.seen) == 1
    assert rooms.therapist.seen == []


def test_another_clinics_administrator_hears_nothing(rooms: Rooms, administrator: Side) -> None:
    other = prepared.clinic(TEN, "inland")
    elsewhere = prepared.staff(TEN, other.id, "A1", Role.ADMINISTRATOR)
    with rooms.store.begin() as tx:
        people.add_clinic(tx, other, TEN)
        people.add_staff(tx, elsewhere, None, None, TEN)
    side = rooms.link(elsewhere)
    raised(rooms)
    assert after(rooms, 60) == 1
    assert (len(administrator.seen), side.seen) == (1, [])
