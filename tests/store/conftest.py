"""A store with its tables, on SQLite and on PostgreSQL."""

from collections.abc import Iterator

import pytest
import sqlalchemy as sa

from bot.store.base import Store, open_engine, read_url
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
def _postgresql_engine(postgresql_server: postgresql.Server) -> Iterator[sa.Engine]:
    url = postgresql_server.url(postgresql_server.create())
    prepared.at_head(url)
    engine = open_engine(read_url(url))
    yield engine
    engine.dispose()


@pytest.fixture
def postgresql_store(_postgresql_engine: sa.Engine, clock: MovableClock) -> Store:
    """An empty store on PostgreSQL. Emptying one database is many times quicker than making one."""
    return prepared.empty_store(_postgresql_engine, clock.now())


@pytest.fixture(params=["sqlite", "postgresql"])
def store(request: pytest.FixtureRequest) -> Store:
    """An empty store; the test runs once on each engine."""
    store: Store = request.getfixturevalue(f"{request.param}_store")
    return store
