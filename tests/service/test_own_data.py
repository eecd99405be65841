"""What is kept of a client: she sees all of it, and it goes at her word, save what the clinic must keep."""

import datetime as dt
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
import sqlalchemy as sa

from bot.domain.people import Stage
from bot.rules import signs
from bot.service import deliver, erasing, erasures
from bot.service.deliver import Outgoing
from bot.store import chats, copying, erase, people, tables
from bot.store.vault import SealError
from tests.fixtures.clock import MovableClock
from tests.fixtures.databases import Fresh
from tests.fixtures.household import ORLA, THERAPIST, Household, document
from tests.rules.checkout import ROOT
from tests.store import prepared


@pytest.fixture
def house(fresh_sqlite: Fresh, clock: MovableClock) -> Iterator[Household]:
    """A client in Dublin with a plan, and her therapist."""
    store = prepared.open_store(fresh_sqlite(prepared.at_head), clock.now())
    made = Household(store, clock, signs.load())
    made.enrol(document(ROOT / "demo/prescriptions/K1.toml"))
    yield made
    store.close()


@pytest.fixture
def files(monkeypatch: pytest.MonkeyPatch) -> list[Outgoing]:
    """The documents that were sent."""
    sent: list[Outgoing] = []
    settle = deliver.settle

    def watch(office: Any, ended: Any) -> None:
        sent.extend(one.sent for one in ended if one.sent.method == "document")
        settle(office, ended)

    monkeypatch.setattr(deliver, "settle", watch)
    return sent


def erase_now(house: Household) -> int:
    """The tick that erases, a little later."""
    house.clock.move(minutes=2)
    return erasing.run(house.office)


def stage(house: Household) -> Stage:
    with house.store.begin() as tx:
        return people.client_by_id(tx, house.client_id).stage


def leave(house: Household) -> str:
    house.say("/privacy")
    house.press("Erase it")
    (last,) = house.press("Yes, erase")
    return last


def test_she_gets_all_that_is_kept_as_a_file(house: Household, files: list[Outgoing]) -> None:
    house.say("2")
    house.say("my zebra sings at night")
    (shown,) = house.say("/privacy")
    assert "The company that runs this chat app can read these messages too." in shown
    assert "Ask your clinic how long it keeps its record." in shown
    house.press("Send me what is kept")
    (file,) = files
    assert file.file_name == "what-is-kept.txt"
    assert file.keep_private
    assert file.picture is not None
    text = file.picture.decode()
    assert "'my zebra sings at night'" in text
    assert "total 2" in text
    assert '"sets_a_day"' in text


def test_the_clinics_retention_is_shown(house: Household) -> None:
    with house.store.begin() as tx:
        client = people.client_by_id(tx, house.client_id)
        erase.set_retention(tx, client.clinic_id, 8, house.clock.now())
    assert "your clinic keeps its record for 8 years" in house.say("/privacy")[0]


def test_erased_means_that_nothing_of_hers_is_left(house: Household) -> None:
    house.say("2")
    house.say("my zebra sings at night")
    assert leave(house).startswith("It will be gone in a few minutes.")
    assert "asked for her data to be erased" in house.shown[THERAPIST][-1].text
    assert erasing.run(house.office) == 0  # her last message is on its way
    assert erase_now(house) == 1
    with house.store.begin() as tx:
        client = people.client_by_id(tx, house.client_id)
        assert (client.stage, client.initials) == (Stage.ERASED, None)
        assert chats.chat_of_owner(tx, client.id) is None
        with pytest.raises(SealError):
            tx.key_of(client.id)
        left = {
            name: [line for line in copying.lines(tx, name) if client.id.hex in line]
            for name in copying.names()
        }
        kept = erase.record_of(tx, client.id)
        inboxes = tx.connection.scalars(sa.select(tables.inbox.c.sender_hash)).all()
    # What her therapist was told stays in her own messages, until those are let go of.
    assert {name for name, lines in left.items() if lines} == {"client", "consent", "erasure", "outbox"}
    assert "zebra" not in str(kept)
    assert kept["prescriptions"][0]["document"]["programme"]
    assert inboxes.count(None) >= 5
    salt, known = erasures.read(house.office.erasures)
    assert list(known) == [erasures.salted(salt, house.client_id)]


def test_whoever_writes_after_it_is_a_stranger(house: Household) -> None:
    leave(house)
    erase_now(house)
    (answer,) = house.say("hello, I changed my mind")
    assert "invite" in answer
    assert erase_now(house) == 0


def test_an_open_warning_is_waited_for(house: Household) -> None:
    house.say("I soaked two pads in an hour")
    assert leave(house).startswith("I write no more. It is erased once your therapist has dealt with")
    assert erase_now(house) == 0
    assert stage(house) is Stage.WITHDRAWN
    with house.store.begin() as tx:
        tx.connection.execute(sa.update(tables.alert).values(closed_at=house.clock.now(), outcome="spoke"))
    assert erase_now(house) == 1
    with house.store.begin() as tx:
        kept = erase.record_of(tx, house.client_id)
    assert [alert["level"] for alert in kept["alerts"]] == ["emergency"]
    assert "soaked" not in str(kept)


def test_one_who_left_may_still_see_and_erase(house: Household) -> None:
    house.say("/stop")
    house.press("Yes, stop")
    assert "What is kept" in house.say("/privacy")[0]
    house.press("Erase it")
    house.press("No, keep it")
    assert erase_now(house) == 0
    leave(house)
    assert erase_now(house) == 1


def test_a_list_that_cannot_be_written_erases_nothing(house: Household, tmp_path: Path) -> None:
    """Else a restore could bring her back; the next run tries again."""
    taken = tmp_path / "taken"
    taken.write_text("", encoding="ascii")
    listed = house.office.erasures
    object.__setattr__(house.office, "erasures", taken / "erasures.txt")
    leave(house)
    with pytest.raises(Exception, match="ERASURES_FILE"):
        erase_now(house)
    assert stage(house) is Stage.WITHDRAWN
    object.__setattr__(house.office, "erasures", listed)
    assert erase_now(house) == 1


def test_locked_records_go_when_the_clinics_time_is_over(house: Household) -> None:
    leave(house)
    erase_now(house)
    with house.store.begin() as tx:
        clinic_id = people.client_by_id(tx, house.client_id).clinic_id
    house.clock.move(days=365 * 30)
    erasing.run(house.office)
    with house.store.begin() as tx:
        assert erase.record_of(tx, house.client_id) is not None  # the clinic has not said for how long
        erase.set_retention(tx, clinic_id, 8, house.clock.now())
    erasing.run(house.office)
    with house.store.begin() as tx:
        assert erase.record_of(tx, house.client_id) is None
    assert house.shown[ORLA][-1].at < house.clock.now() - dt.timedelta(days=1)
