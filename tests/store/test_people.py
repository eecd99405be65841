"""Clinics, staff and clients come back as they were put, each within their own clinic."""

import dataclasses
import datetime as dt

import pytest
import sqlalchemy as sa

from bot.domain.people import Clinic, Role, Staff, Stage
from bot.domain.prescription import Contractions, InForce, Position, Prescription
from bot.store import people, tables
from bot.store.base import Store, Tx
from tests.fixtures.clock import MovableClock
from tests.store import plans, prepared

DAY = dt.timedelta(days=1)


def two_clinics(tx: Tx, now: dt.datetime) -> tuple[tuple[Clinic, Staff], tuple[Clinic, Staff]]:
    """Two clinics, each with a therapist T1."""
    found = []
    for code in ("harbour", "lighthouse"):
        clinic = prepared.clinic(now, code)
        assert people.add_clinic(tx, clinic, now)
        therapist = prepared.staff(now, clinic.id)
        assert people.add_staff(tx, therapist, None, None, now)
        found.append((clinic, therapist))
    return found[0], found[1]


def test_a_clinic_comes_back_as_it_was_put(store: Store, clock: MovableClock) -> None:
    clinic = prepared.clinic(clock.now())
    with store.begin() as tx:
        assert people.add_clinic(tx, clinic, clock.now())
    with store.begin() as tx:
        assert people.clinic_by_code(tx, "harbour") == clinic
        assert people.clinic_by_id(tx, clinic.id) == clinic
        assert people.clinic_by_code(tx, "Harbour") is None


def test_a_clinic_shut_all_week_comes_back_too(store: Store, clock: MovableClock) -> None:
    clinic = prepared.clinic(clock.now())
    clinic = dataclasses.replace(
        clinic, card=dataclasses.replace(clinic.card, hours={}, closures=frozenset())
    )
    with store.begin() as tx:
        assert people.add_clinic(tx, clinic, clock.now())
        assert people.clinics(tx) == [clinic]


def test_a_clinic_code_is_taken_once(store: Store, clock: MovableClock) -> None:
    now = clock.now()
    with store.begin() as tx:
        assert people.add_clinic(tx, prepared.clinic(now, "b"), now)
        assert people.add_clinic(tx, prepared.clinic(now, "a"), now)
        assert not people.add_clinic(tx, prepared.clinic(now, "b"), now)
        assert [clinic.code for clinic in people.clinics(tx)] == ["a", "b"]


def test_staff_come_back_and_are_told_apart_by_role(store: Store, clock: MovableClock) -> None:
    now = clock.now()
    with store.begin() as tx:
        clinic = prepared.clinic(now)
        people.add_clinic(tx, clinic, now)
        second, first = (prepared.staff(now, clinic.id, code) for code in ("T2", "T1"))
        stand_in = prepared.staff(now, clinic.id, "F1", Role.FALLBACK)
        for person in (second, first, stand_in):
            assert people.add_staff(tx, person, "REG 0001", now + DAY, now)
    with store.begin() as tx:
        assert people.staff_of(tx, clinic.id, Role.THERAPIST) == [first, second]
        assert people.staff_of(tx, clinic.id, Role.FALLBACK) == [stand_in]
        assert people.staff_by_code(tx, clinic.id, "F1") == stand_in
        assert people.staff_by_id(tx, first.id) == first
        assert not people.add_staff(tx, prepared.staff(now, clinic.id, "T1"), None, None, now)


def test_a_client_comes_back_as_she_was_put(store: Store, clock: MovableClock) -> None:
    now = clock.now()
    with store.begin() as tx:
        (_, therapist), _ = two_clinics(tx, now)
        named = prepared.client(now, therapist, "C2")
        nameless = dataclasses.replace(
            prepared.client(now, therapist, "C1"), initials=None, stage=Stage.INVITED, baby_at_home=False
        )
        assert people.add_client(tx, named, now)
        assert people.add_client(tx, nameless, now)
    with store.begin() as tx:
        assert people.client_by_id(tx, named.id) == named
        assert people.client_by_code(tx, therapist.clinic_id, "C1") == nameless
        assert people.clients_of(tx, therapist.id) == [nameless, named]
        assert people.clients_by_id(tx, [named.id, therapist.id]) == {named.id: named}
        assert people.clients_by_id(tx, []) == {}


def test_the_same_codes_in_two_clinics_are_two_people(store: Store, clock: MovableClock) -> None:
    """Nobody is found under another clinic's name."""
    now = clock.now()
    with store.begin() as tx:
        (here, our), (there, their) = two_clinics(tx, now)
        ours, theirs = prepared.client(now, our), prepared.client(now, their)
        assert people.add_client(tx, ours, now)
        assert people.add_client(tx, theirs, now)
        assert not people.add_client(tx, prepared.client(now, our), now)
    with store.begin() as tx:
        assert people.client_by_code(tx, here.id, "C1") == ours
        assert people.client_by_code(tx, there.id, "C1") == theirs
        assert people.staff_by_code(tx, here.id, "T1") == our
        assert people.staff_by_code(tx, there.id, "T1") == their
        assert people.clients_of(tx, our.id) == [ours]
        assert people.staff_of(tx, there.id, Role.THERAPIST) == [their]


def test_her_stage_and_zone_can_change(store: Store, clock: MovableClock) -> None:
    with store.begin() as tx:
        one, other = prepared.enrol(tx, clock.now(), ("C1", "C2"))
        people.set_stage(tx, one.id, Stage.WITHDRAWN)
        people.set_zone(tx, one.id, "America/Argentina/ComodRivadavia")
    with store.begin() as tx:
        changed = dataclasses.replace(one, stage=Stage.WITHDRAWN, zone="America/Argentina/ComodRivadavia")
        assert people.clients_of(tx, one.therapist_id) == [changed, other]


def test_the_first_consent_given_counts(store: Store, clock: MovableClock) -> None:
    with store.begin() as tx:
        one, other = prepared.enrol(tx, clock.now(), ("C1", "C2"))
        people.add_consent(tx, one.id, "1", False, clock.now())
        first_at = clock.move(hours=1)
        people.add_consent(tx, one.id, "1", True, first_at)
        people.add_consent(tx, one.id, "1", False, clock.move(days=3))
        people.add_consent(tx, one.id, "2", True, clock.move(days=3))
        people.add_consent(tx, other.id, "1", False, clock.now())
        assert people.consented_at(tx, [one.id, other.id]) == {one.id: first_at}
        assert people.consented_at(tx, []) == {}


def version(number: int, starts_on: dt.date) -> InForce:
    contractions = Contractions("pelvic-floor-long", 8, 6, 6, Position.LYING)
    times = (dt.time(9), dt.time(13), dt.time(20))
    prescription = Prescription(
        contractions=(contractions,),
        sets_a_day=3,
        days=frozenset(range(7)),
        nudge_times=times,
        quiet_from=dt.time(21),
        quiet_to=dt.time(7),
        round_up_at=dt.time(20, 30),
        check_in_day=2,
        check_in_questions=("leaks",),
        starts_on=starts_on,
        review_on=starts_on + 28 * DAY,
    )
    return InForce(number, prescription)


def test_every_version_of_a_prescription_is_kept_in_order(store: Store, clock: MovableClock) -> None:
    today = clock.now().date()
    with store.begin() as tx:
        one, other = prepared.enrol(tx, clock.now(), ("C1", "C2"))
        for client, number in ((one, 2), (other, 1), (one, 1)):
            document = {"client": client.code, "version": number, "note": "Grüße, 3 Sätze"}
            people.add_prescription(
                tx, client.id, version(number, today), document, client.therapist_id, clock.now()
            )
    with store.begin() as tx:
        assert people.prescription_documents(tx, [one.id, other.id]) == {
            one.id: [(n, {"client": "C1", "version": n, "note": "Grüße, 3 Sätze"}) for n in (1, 2)],
            other.id: [(1, {"client": "C2", "version": 1, "note": "Grüße, 3 Sätze"})],
        }
        assert people.prescription_documents(tx, []) == {}
        with pytest.raises(sa.exc.IntegrityError):  # a version is never written over
            people.add_prescription(tx, one.id, version(2, today), {}, one.therapist_id, clock.now())


def test_digests_that_are_due_come_earliest_first(store: Store, clock: MovableClock) -> None:
    now = clock.now()
    with store.begin() as tx:
        clinic = prepared.clinic(now)
        people.add_clinic(tx, clinic, now)
        late, early, coming, never = (prepared.staff(now, clinic.id, f"T{n}") for n in range(4))
        for person, at in ((late, now), (early, now - DAY), (coming, now + DAY), (never, None)):
            people.add_staff(tx, person, None, at, now)
        assert people.digests_due(tx, now, 10) == [(early, now - DAY), (late, now)]
        assert people.digests_due(tx, now, 1) == [(early, now - DAY)]
        assert people.next_digest_at(tx) == now - DAY


def test_a_digest_is_moved_on_by_one_of_two(store: Store, clock: MovableClock) -> None:
    """Compare and set: whoever comes second is told so."""
    now = clock.now()
    due_at = now + dt.timedelta(microseconds=123_456)
    with store.begin() as tx:
        clinic = prepared.clinic(now)
        people.add_clinic(tx, clinic, now)
        therapist = prepared.staff(now, clinic.id)
        people.add_staff(tx, therapist, None, due_at, now)
    with store.begin() as tx:
        assert people.move_digest(tx, therapist.id, due_at, due_at + 7 * DAY)
        assert not people.move_digest(tx, therapist.id, due_at, due_at + 14 * DAY)
        assert people.next_digest_at(tx) == due_at + 7 * DAY
        people.digest_at(tx, therapist.id, now)
        assert people.next_digest_at(tx) == now


def test_a_caseload_is_read_in_one_query(store: Store, clock: MovableClock) -> None:
    """However many clients there are; their keys are in memory after the first time."""
    with store.begin() as tx:
        clients = prepared.enrol(tx, clock.now(), tuple(f"C{n:02}" for n in range(25)))
    with store.begin() as tx, plans.watched(store) as seen:
        assert people.clients_of(tx, clients[0].therapist_id) == clients
        assert len(people.clients_by_id(tx, [client.id for client in clients])) == 25
    assert len(seen) == 2


def test_an_unknown_therapist_cannot_have_clients(store: Store, clock: MovableClock) -> None:
    """Foreign keys hold on both engines."""
    with store.begin() as tx:
        (one,) = prepared.enrol(tx, clock.now())
        stray = dataclasses.replace(one, id=one.clinic_id, therapist_id=one.id, code="C9")
        values = {c.name: getattr(stray, c.name, None) for c in tables.client.c if c.name != "initials"}
        values |= {"stage": "active", "made_at": clock.now()}
        with pytest.raises(sa.exc.IntegrityError):
            tx.connection.execute(sa.insert(tables.client).values(values))
