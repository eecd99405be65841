"""A tick of the agenda looks at many clients together, and one whose record is broken silences no other."""

import datetime as dt

import sqlalchemy as sa

from bot.service import agenda
from bot.store import tables
from bot.store.base import Store
from tests.fixtures import crowd, offices
from tests.fixtures.clock import MovableClock
from tests.store.prepared import BOT

MORNING = dt.datetime(2026, 3, 3, 8, 30, tzinfo=dt.UTC)  # a Tuesday's first nudge


def _due(store: Store, number: int) -> crowd.Crowd:
    document = crowd.document(dt.date(2026, 3, 2), dt.date(2026, 12, 1))
    people = range(7_000, 7_000 + number)
    return crowd.put(
        store, BOT, MORNING - dt.timedelta(hours=20), (1, 2), people, document, lambda _: MORNING
    )


def _nudged(store: Store) -> set[object]:
    with store.begin() as tx:
        owners = sa.select(tables.chat.c.owner_id).join(
            tables.outbox, tables.outbox.c.chat_id == tables.chat.c.id
        )
        return set(tx.connection.scalars(owners))


def test_all_that_are_due_are_nudged_in_one_turn(store: Store) -> None:
    clients = _due(store, 4).clients
    office = offices.make(store, MovableClock(MORNING))
    assert agenda.run(office, 3) == 3
    assert len(_nudged(store)) == 3
    assert agenda.run(office, 3) == 1
    assert _nudged(store) == set(clients)
    assert agenda.run(office, 3) == 0


def test_a_record_that_does_not_open_silences_nobody_else(store: Store) -> None:
    clients = _due(store, 3).clients
    with store.begin() as tx:
        tx.destroy_key(clients[1])
    office = offices.make(store, MovableClock(MORNING))
    assert agenda.run(office, 3) == 3
    assert _nudged(store) == {clients[0], clients[2]}
    with store.begin() as tx:
        next_at = tx.connection.scalar(
            sa.select(tables.track.c.next_at).where(tables.track.c.client_id == clients[1])
        )
    assert next_at == MORNING + agenda.LOOK_AGAIN
    assert agenda.run(office, 3) == 0
