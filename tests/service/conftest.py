"""A client's home on a database, for tests that read what she is told."""

from collections.abc import Iterator

import pytest

from bot.domain.warning_signs import SignRules
from bot.rules import signs
from tests.fixtures.clock import MovableClock
from tests.fixtures.databases import Fresh
from tests.fixtures.household import Household, document
from tests.rules.checkout import ROOT
from tests.store import prepared

PLAN = ROOT / "demo/prescriptions/K1.toml"


@pytest.fixture(scope="session")
def rules() -> SignRules:
    return signs.load()


@pytest.fixture
def home(fresh_sqlite: Fresh, clock: MovableClock, rules: SignRules) -> Iterator[Household]:
    """A client in Dublin on Monday 2 March 2026 at 08:00, half an hour before her first nudge."""
    store = prepared.open_store(fresh_sqlite(prepared.at_head), clock.now())
    made = Household(store, clock, rules)
    made.enrol(document(PLAN))
    yield made
    store.close()
