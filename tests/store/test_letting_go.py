"""What went through the chat is let go of in time: what is done, in parts, the record untouched."""

import datetime as dt
import uuid
from collections.abc import Iterator

import pytest
import sqlalchemy as sa

from bot.domain.delivery import Kind
from bot.domain.people import Client, Role
from bot.service import letting_go as service
from bot.store import chats, diary, inbox, letting_go, outbox, people, tables
from bot.store.base import Store
from bot.store.inbox import Received
from bot.store.letting_go import MESSAGES, UPDATES
from bot.store.outbox import Letter
from bot.store.vault import Place
from tests.fixtures import offices
from tests.fixtures.clock import MovableClock
from tests.fixtures.databases import Fresh
from tests.store import prepared

OLD = dt.datetime(2026, 3, 2, 8, tzinfo=dt.UTC)
NOW = OLD + dt.timedelta(days=91)
YOUNG = NOW - dt.timedelta(days=89)
SENDER = 7_700_900_123
STATES = ("new", "handled", "set_aside"), ("queued", "sending", "sent", "refused", "unknown", "expired")


@pytest.fixture
def store(fresh_database: Fresh, clock: MovableClock) -> Iterator[Store]:
    """Old and young rows of every state, on each engine."""
    clock.set(OLD)
    made = prepared.open_store(fresh_database(prepared.at_head), OLD)
    with made.begin() as tx:
        (client,) = prepared.enrol(tx, OLD)
        chats.link(tx, chats.chat_of(tx, prepared.BOT, SENDER, OLD), Role.CLIENT, client.id, OLD)
    for number, at in enumerate((OLD, YOUNG)):
        for place, state in enumerate(STATES[0]):
            update(made, 100 * number + place, state, at)
        for state in STATES[1]:
            message(made, client, f"{number}:{state}", state, at)
    clock.set(NOW)
    yield made
    made.close()


def update(store: Store, number: int, state: str, at: dt.datetime) -> None:
    with store.begin() as tx:
        inbox.accept(tx, prepared.BOT, [Received(number, SENDER, f"raw {number}".encode())], at)
        here = tables.inbox.c.update_id == number
        tx.connection.execute(sa.update(tables.inbox).where(here).values(state=state))


def message(store: Store, client: Client, key: str, state: str, at: dt.datetime) -> None:
    with store.begin() as tx:
        chat = chats.chat_of_owner(tx, client.id)
        assert chat is not None
        letter = Letter(key, chat.id, client.id, Kind.REPLY, {"said": key}, picture=b"png")
        outbox.put(tx, letter, at)
        tx.connection.execute(sa.update(tables.outbox).where(tables.outbox.c.key == key).values(state=state))


def emptied(store: Store) -> tuple[set[int], set[str]]:
    """The numbers of the updates and the keys of the messages that hold nothing any more."""
    with store.begin() as tx:
        updates = {
            row.update_id
            for row in tx.connection.execute(sa.select(tables.inbox)).all()
            if tx.open(Place("inbox", row.id, "raw"), row.raw) == b""
        }
        messages = {
            row.key
            for row in tx.connection.execute(sa.select(tables.outbox)).all()
            if tx.open_json(Place("outbox", row.id, "content"), row.content) == {} and row.picture is None
        }
    return updates, messages


def run(store: Store, clock: MovableClock, most: int = 100) -> int:
    office = offices.make(store, clock, message_days=90)
    steps = 0
    while steps < most and service.step(office):
        steps += 1
    return steps


def test_only_what_is_old_and_done_is_let_go_of(store: Store, clock: MovableClock) -> None:
    run(store, clock)
    assert emptied(store) == ({1}, {"0:sent"})


def test_a_limit_of_more_days_lets_go_of_nothing(store: Store, clock: MovableClock) -> None:
    office = offices.make(store, clock, message_days=92)
    assert service.step(office) == 0
    assert emptied(store) == (set(), set())


def test_in_parts_and_where_it_left_off(store: Store, clock: MovableClock) -> None:
    """Cut off after any transaction, the next run goes on; nothing is done twice."""
    before = NOW - dt.timedelta(days=90)
    for expected in ({1}, {1}):
        with store.begin() as tx:
            assert letting_go.batch(tx, UPDATES, before, 2, NOW) in {1, 2}
        assert emptied(store)[0] == expected
    with store.begin() as tx:
        assert letting_go.batch(tx, UPDATES, before, 2, NOW) == 0

    def cut_off() -> None:
        with store.begin() as tx:
            letting_go.batch(tx, MESSAGES, before, 100, NOW)
            raise RuntimeError

    with pytest.raises(RuntimeError):
        cut_off()
    assert emptied(store)[1] == set()
    run(store, clock)
    assert emptied(store) == ({1}, {"0:sent"})


def test_what_comes_to_its_end_later_is_found_in_the_next_round(store: Store, clock: MovableClock) -> None:
    run(store, clock)
    with store.begin() as tx:
        here = tables.inbox.c.update_id == 2
        tx.connection.execute(sa.update(tables.inbox).where(here).values(state="handled"))
    run(store, clock)
    assert emptied(store)[0] == {1}
    clock.set(NOW + letting_go.ROUND)
    run(store, clock)
    run(store, clock)
    assert {1, 2} <= emptied(store)[0]
    assert 0 not in emptied(store)[0]


def test_the_record_and_what_keeps_things_single_are_untouched(store: Store, clock: MovableClock) -> None:
    with store.begin() as tx:
        (clinic,) = people.clinics(tx)
        client = people.client_by_code(tx, clinic.id, "C1")
        assert client is not None
        first = tx.connection.scalar(sa.select(tables.inbox.c.id).where(tables.inbox.c.update_id == 1))
        assert isinstance(first, uuid.UUID)
        diary.file_note(tx, client.id, first, "her own words", OLD, OLD)
    run(store, clock)
    with store.begin() as tx:
        assert [note.text for note in diary.unread_notes(tx, [client.id])] == ["her own words"]
        assert outbox.is_there(tx, "0:sent")
        inbox.accept(tx, prepared.BOT, [Received(1, SENDER, b"again")], NOW)
    with store.begin() as tx:
        number = sa.select(sa.func.count()).where(tables.inbox.c.update_id == 1)
        assert tx.connection.scalar(number) == 1
    assert emptied(store)[0] == {1}


def test_nothing_of_it_is_left_in_the_file(fresh_sqlite: Fresh, clock: MovableClock) -> None:
    """The sealed bytes themselves are gone from the file of SQLite, its log included."""
    clock.set(OLD)
    url = fresh_sqlite(prepared.at_head)
    store = prepared.open_store(url, OLD)
    with store.begin() as tx:
        (client,) = prepared.enrol(tx, OLD)
        chats.link(tx, chats.chat_of(tx, prepared.BOT, SENDER, OLD), Role.CLIENT, client.id, OLD)
    update(store, 1, "handled", OLD)
    with store.begin() as tx:
        sealed = tx.connection.scalar(sa.select(tables.inbox.c.raw))
    assert isinstance(sealed, bytes)
    clock.set(NOW)
    run(store, clock)
    with store.engine.connect() as connection:
        connection.exec_driver_sql("COMMIT")
        connection.exec_driver_sql("PRAGMA wal_checkpoint(TRUNCATE)")
    store.close()
    path = url.removeprefix("sqlite:///")
    with open(path, "rb") as file:  # noqa: PTH123 - a path of the address
        assert sealed not in file.read()
