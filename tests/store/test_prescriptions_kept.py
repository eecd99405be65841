"""Any valid prescription survives file, model, database and file unchanged."""

import datetime as dt
import itertools
from collections.abc import Iterator
from typing import Any

import pytest
from hypothesis import HealthCheck, given, settings

from bot.domain.people import Client
from bot.domain.prescription import InForce
from bot.rules import prescription_file
from bot.store import people
from bot.store.base import Store
from tests.fixtures.documents import documents
from tests.fixtures.plans import RULES
from tests.store import prepared

NOW = dt.datetime(2026, 3, 2, 8, tzinfo=dt.UTC)
NUMBERS = itertools.count(1)


@pytest.fixture(scope="module")
def kept(tmp_path_factory: pytest.TempPathFactory) -> Iterator[tuple[Store, Client]]:
    """A database with one client, for all examples."""
    url = f"sqlite:///{tmp_path_factory.mktemp('kept') / 'programme.sqlite3'}"
    prepared.at_head(url)
    store = prepared.open_store(url, NOW)
    with store.begin() as tx:
        (client,) = prepared.enrol(tx, NOW)
    yield store, client
    store.close()


@settings(
    max_examples=40, deadline=None, suppress_health_check=[HealthCheck.too_slow, HealthCheck.data_too_large]
)
@given(documents())
def test_any_prescription_comes_back_from_the_database(
    kept: tuple[Store, Client], document: dict[str, Any]
) -> None:
    store, client = kept
    file = prescription_file.from_document(document, "K.toml", RULES)
    version = InForce(next(NUMBERS), prescription_file.prescription(file))
    with store.begin() as tx:
        people.add_prescription(
            tx, client.id, version, prescription_file.to_document(file), client.therapist_id, NOW
        )
    with store.begin() as tx:
        number, found = people.prescription_documents(tx, [client.id])[client.id][-1]
    assert number == version.version
    again = prescription_file.from_document(found, "stored")
    assert again == file
    assert prescription_file.to_text(again) == prescription_file.to_text(file)
