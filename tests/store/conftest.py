"""A store with its tables, on SQLite and on PostgreSQL."""

from collections.abc import Iterator

import pytest

from bot.store.base import Store
from tests.fixtures import postgresql
from tests.fixtures.clock import MovableClock
from tests.fixtures.databases import Fresh
from tests.store import prepared


@pytest.fixture
def sqlite_store(fresh_sqlite: Fresh, clock: MovableClock) -> Iterator[Store]:
    """An empty store in an SQLite file."""
    store = prepared.open_store(fresh_sqlite(prepared.at_head), clock.now())
    yield store
    store.close()


@pytest.fixture(scope="session")
def _postgresql_tables(postgresql_server: postgresql.Server) -> str:
    url = postgresql_server.url(postgresql_server.create())
    prepared.at_head(url)
    return url


@pytest.fixture
def postgresql_store(_postgresql_tables: str, clock: MovableClock) -> Iterator[Store]:
    """An empty store on PostgreSQL. Emptying one database is five times quicker than making one."""
    store = prepared.open_store(_postgresql_tables, clock.now(), empty=True)
    yield store
    store.close()


@pytest.fixture(params=["sqlite", "postgresql"])
def store(request: pytest.FixtureRequest) -> Store:
    """An empty store; the test runs once on each engine."""
    store: Store = request.getfixturevalue(f"{request.param}_store")
    return store
