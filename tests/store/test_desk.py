"""Notes, hand-overs, changes and incidents, on both engines."""

import datetime as dt
from collections.abc import Iterator
from dataclasses import replace

import pytest

from bot.domain.alerts import Alert
from bot.domain.client_notes import Fate
from bot.domain.delivery import Kind
from bot.domain.levels import Level
from bot.domain.people import Role
from bot.store import (
    alerts,
    chats,
    client_notes,
    facts,
    hand_overs,
    incidents,
    office_changes,
    outbox,
    people,
    rerouting,
)
from bot.store.base import Store
from bot.store.ids import new_id
from bot.store.office_changes import Change
from tests.fixtures.clock import MovableClock
from tests.fixtures.databases import Fresh
from tests.store import prepared

DAY = dt.timedelta(days=1)


@pytest.fixture
def store(fresh_database: Fresh, clock: MovableClock) -> Iterator[Store]:
    made = prepared.open_store(fresh_database(prepared.at_head), clock.now())
    yield made
    made.close()


def test_a_note_and_what_became_of_it(store: Store, clock: MovableClock) -> None:
    now = clock.now()
    with store.begin() as tx:
        (anna,) = prepared.enrol(tx, now)
        chat = chats.link(tx, chats.chat_of(tx, prepared.BOT, 7, now), Role.CLIENT, anna.id, now)
        first, second = (
            client_notes.add(tx, anna.id, anna.therapist_id, text, now, now) for text in ("one", "two")
        )
        for note_id in (first, second):
            letter = outbox.Letter(client_notes.key(note_id), chat.id, anna.id, Kind.NUDGE, {})
            outbox.put(tx, letter, now)
        assert client_notes.landed(tx) == []
        assert rerouting.drop_unasked(tx, chat.id, now) == 2
        assert {note_id for note_id, _, _ in client_notes.landed(tx)} == {first, second}
        assert client_notes.settle(tx, first, Fate.LOST)
        assert not client_notes.settle(tx, first, Fate.LOST)
        notes = client_notes.of_client(tx, anna.id)
    assert [(note.text, note.by, note.fate) for note in notes] == [
        ("one", "T1", Fate.LOST),
        ("two", "T1", Fate.WAITING),
    ]


def test_a_hand_over_there_and_back(store: Store, clock: MovableClock) -> None:
    now = clock.now()
    with store.begin() as tx:
        (anna,) = prepared.enrol(tx, now)
        second = prepared.staff(now, anna.clinic_id, "T2")
        people.add_staff(tx, second, "REG 2", None, now)
        new = hand_overs.New(anna.id, anna.therapist_id, second.id, now.date(), "T1")
        assert hand_overs.hand_over(tx, new, now)
        assert not hand_overs.hand_over(tx, new, now)
        assert people.client_by_id(tx, anna.id).therapist_id == second.id
        assert [one.client_id for one in hand_overs.lent(tx, second.id)] == [anna.id]
        assert hand_overs.over(tx, now.date() - DAY, 9) == []
        (one,) = hand_overs.over(tx, now.date(), 9)
        assert hand_overs.soonest(tx) == one
        assert hand_overs.end(tx, one, "T2", now)
        assert not hand_overs.end(tx, one, "T2", now)
        assert people.client_by_id(tx, anna.id).therapist_id == anna.therapist_id


def test_facts_and_changes(store: Store, clock: MovableClock) -> None:
    now = clock.now()
    hours = {0: ((dt.time(9), dt.time(12)),)}
    with store.begin() as tx:
        (anna,) = prepared.enrol(tx, now)
        staff = people.staff_by_id(tx, anna.therapist_id)
        assert people.own_hours(tx, anna.clinic_id) == {}
        last = now.date()
        facts.set_person(tx, replace(staff, name="Oona Q.", hours=hours, leaves_on=last), None)
        assert people.own_hours(tx, anna.clinic_id) == {staff.id: hours}
        assert [one.name for one in people.leaving(tx, anna.clinic_id, last + DAY)] == ["Oona Q."]
        assert people.leaving(tx, anna.clinic_id, last) == []
        assert people.is_registered(tx, staff.id)
        change = Change("name", "Oona Quillfeather", "Oona Q.", "Maeve L.", staff.id)
        office_changes.add(tx, anna.clinic_id, change, now)
        assert office_changes.of_clinic(tx, anna.clinic_id) == [(now, change)]


def test_an_incident_is_kept_once(store: Store, clock: MovableClock) -> None:
    now = clock.now()
    with store.begin() as tx:
        (anna,) = prepared.enrol(tx, now)
        alert = Alert(new_id(now), anna.id, Level.EMERGENCY, "ordinary", ("x",), "words", now, 0)
        alerts.add(tx, alert)
        ((clinic_id, found),) = incidents.unseen_emergencies(tx, "unseen", now)
        assert (clinic_id, found.id) == (anna.clinic_id, alert.id)
        assert incidents.begin(tx, clinic_id, "unseen", alert.id.hex, now)
        assert not incidents.begin(tx, clinic_id, "unseen", alert.id.hex, now)
        assert incidents.unseen_emergencies(tx, "unseen", now) == []
        newest = incidents.newest(tx, clinic_id, "unseen")
        assert newest is not None
        incidents.set_ended(tx, newest.id, now)
        again = incidents.newest(tx, clinic_id, "unseen")
        assert again is not None
        assert again.ended_at == now
        assert incidents.oldest_queued(tx, prepared.BOT) is None
