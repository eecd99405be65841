"""No client is enrolled before a clinician has signed exactly what is in force."""

import dataclasses
import datetime as dt
from collections.abc import Iterator

import pytest

from bot.errors import RefusedError
from bot.rules import in_force, own_signs
from bot.service import approval
from bot.service.approval import SignedOff
from bot.store.base import Store
from tests.fixtures.clock import MovableClock
from tests.fixtures.databases import Fresh
from tests.store import prepared

DAY = dt.date(2026, 3, 1)


@pytest.fixture
def store(fresh_database: Fresh, clock: MovableClock) -> Iterator[Store]:
    made = prepared.open_store(fresh_database(prepared.at_head), clock.now())
    yield made
    made.close()


def missing(store: Store, known: in_force.Contents, language: str = "en") -> tuple[str, ...]:
    with store.begin() as tx:
        return SignedOff(known).missing(tx, language)


def test_a_sign_off_opens_the_door_and_a_change_shuts_it(store: Store, clock: MovableClock) -> None:
    known = in_force.contents(own_signs.load(None))
    (line,) = missing(store, known)
    assert line == (
        f"rules, gates and texts in force (en {known.version}, {known.digest[:12]}) carry no sign-off; "
        "sign with `programme-bot sign-off`"
    )
    approval.sign(store.begin, clock, known, "Nuala Brackenfield", "DEMO-0001", DAY)
    assert missing(store, known) == ()
    changed = dataclasses.replace(known, parts={**known.parts, "gates": "0" * 64})
    (line,) = missing(store, changed)
    assert "have changed since the sign-off of 2026-03-01 (gates)" in line
    approval.sign(store.begin, clock, changed, "Nuala Brackenfield", "DEMO-0001", DAY)
    assert missing(store, changed) == ()
    # What was signed stays on record, and signed.
    assert missing(store, known) == ()
    assert [one.digest for one in approval.signed(store.begin)] == [known.digest, changed.digest]
    assert approval.signed(store.begin)[0].registration == "DEMO-0001"


def test_a_language_without_signed_rules_cannot_be_enrolled(store: Store, clock: MovableClock) -> None:
    known = in_force.contents(own_signs.load(None))
    approval.sign(store.begin, clock, known, "Nuala Brackenfield", "DEMO-0001", DAY)
    assert missing(store, known, "ga") == ("language ga: there are no signed-off rules; expected en",)


def test_a_signature_needs_a_person_a_number_and_a_day(store: Store, clock: MovableClock) -> None:
    known = in_force.contents(own_signs.load(None))
    with pytest.raises(RefusedError) as caught:
        approval.sign(store.begin, clock, known, "Nuala", "none", clock.now().date() + dt.timedelta(days=9))
    assert [fault.partition(":")[0] for fault in caught.value.faults] == ["--name", "--registration", "--on"]
    assert approval.signed(store.begin) == []
