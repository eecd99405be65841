"""A store with its tables, on SQLite and on PostgreSQL."""

from collections.abc import Iterator

import pytest

from bot.store.base import Store
from tests.fixtures.clock import MovableClock
from tests.fixtures.databases import Fresh
from tests.store import prepared


@pytest.fixture
def store(fresh_database: Fresh, clock: MovableClock) -> Iterator[Store]:
    """An empty store; the test runs once on each engine."""
    store = prepared.open_store(fresh_database(prepared.at_head), clock.now())
    yield store
    store.close()


@pytest.fixture
def sqlite_store(fresh_sqlite: Fresh, clock: MovableClock) -> Iterator[Store]:
    """An empty store in an SQLite file."""
    store = prepared.open_store(fresh_sqlite(prepared.at_head), clock.now())
    yield store
    store.close()


@pytest.fixture
def postgresql_store(fresh_postgresql: Fresh, clock: MovableClock) -> Iterator[Store]:
    """An empty store on PostgreSQL."""
    store = prepared.open_store(fresh_postgresql(prepared.at_head), clock.now())
    yield store
    store.close()
