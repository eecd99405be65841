"""How the queries of every turn find their rows: what they cost must not grow with the number of clients."""

import re
import uuid
from collections.abc import Iterator
from contextlib import contextmanager
from typing import Any

import pytest
from sqlalchemy import Connection, event

from bot.conversation.speech import Say, to_json
from bot.domain.delivery import Kind
from bot.service import deliver
from bot.service.office import Office
from bot.store import chats, outbox
from bot.store.base import Store
from bot.store.outbox import Letter
from tests.fixtures import offices
from tests.fixtures.clock import MovableClock
from tests.fixtures.databases import Fresh
from tests.store import prepared

# Every row of a table, or all chats of a bot: at a hundred thousand clients each took up to half a second.
TOO_MANY = re.compile(r"^SCAN (outbox|chat|inbox)\b|SEARCH chat .*\(bot=\?\)$")


@pytest.fixture
def store(fresh_sqlite: Fresh, clock: MovableClock) -> Iterator[Store]:
    store = prepared.open_store(fresh_sqlite(prepared.at_head), clock.now())
    yield store
    store.close()


@contextmanager
def listened(store: Store) -> Iterator[list[tuple[str, Any]]]:
    said: list[tuple[str, Any]] = []

    def hear(
        connection: Connection, cursor: object, statement: str, values: Any, context: object, many: bool
    ) -> None:
        del connection, cursor, context
        said.append((statement, values[0] if many else values))

    event.listen(store.engine, "before_cursor_execute", hear)
    try:
        yield said
    finally:
        event.remove(store.engine, "before_cursor_execute", hear)


def plans(store: Store, said: list[tuple[str, Any]]) -> Iterator[str]:
    with store.begin() as tx:
        for statement, values in said:
            if statement.split()[0] in {"SELECT", "UPDATE", "WITH"}:
                asked = f"EXPLAIN QUERY PLAN {statement}"
                yield from (row[3] for row in tx.connection.exec_driver_sql(asked, values))


def every_turn(office: Office) -> None:
    deliver.sweep(office, [uuid.uuid4()])
    for kinds in (deliver.URGENT, deliver.BULK):
        deliver.turn_over(office, (), kinds, 30.0)


def test_no_turn_of_the_outbox_reads_all_chats_or_all_messages(store: Store, clock: MovableClock) -> None:
    office = offices.make(store, clock)
    now = clock.now()
    with store.begin() as tx:
        chat = chats.chat_of(tx, prepared.BOT, 7_000_000_001, now)
        outbox.put(tx, Letter("nudge:1", chat.id, None, Kind.NUDGE, to_json(Say("stranger"))), now)
    with listened(store) as said:
        every_turn(office)
    found = list(plans(store, said))
    assert any("ix_outbox_state_priority_id" in step for step in found)
    assert [step for step in found if TOO_MANY.search(step)] == []
