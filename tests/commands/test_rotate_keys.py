"""Changing the master key, also when it is cut off in the middle."""

import json
import os
import subprocess
import sys
import uuid
from contextlib import closing
from pathlib import Path

import pytest

from bot.errors import RefusedError
from bot.service import keys
from bot.store import vault
from bot.store.types import SealedBytes
from bot.store.vault import Place
from tests.fixtures.clock import MovableClock
from tests.fixtures.databases import Fresh
from tests.store import prepared

CHECKOUT = Path(__file__).resolve().parents[2]
MANY = 2 * keys.BATCH + 50


def place(owner: uuid.UUID) -> Place:
    return Place("client", owner, "initials")


def fill(url: str, clock: MovableClock, old: str) -> dict[uuid.UUID, SealedBytes]:
    """Something sealed for many owners, each with a data key of its own."""
    store = prepared.open_store(url, clock.now(), old)
    sealed = {}
    with store.begin() as tx:
        for number in range(MANY):
            owner = uuid.UUID(int=1000 + number)
            tx.make_key(owner, clock.now())
            sealed[owner] = tx.seal(owner, place(owner), f"said {number}")
    store.close()
    return sealed


def all_open(url: str, clock: MovableClock, keys_text: str, sealed: dict[uuid.UUID, SealedBytes]) -> None:
    with closing(prepared.open_store(url, clock.now(), keys_text)) as store, store.begin() as tx:
        tx.check_keys()
        read = [tx.open_text(place(owner), value) for owner, value in sealed.items()]
    assert read == [f"said {number}" for number in range(MANY)]


def run(program: list[str], url: str, keys_text: str) -> subprocess.CompletedProcess[str]:
    surroundings = os.environ | {"DATABASE_URL": url, "DATA_KEYS": keys_text, "PYTHONPATH": str(CHECKOUT)}
    return subprocess.run(
        [sys.executable, *program], env=surroundings, check=False, capture_output=True, text=True, timeout=60
    )


@pytest.mark.parametrize("engine", ["sqlite", pytest.param("postgresql", marks=pytest.mark.slow)])
def test_rotation_killed_in_the_middle_and_resumed_leaves_all_readable(
    engine: str, request: pytest.FixtureRequest, clock: MovableClock
) -> None:
    """SIGKILL at the second batch: both keys open all; after the next run the new one alone does."""
    fresh: Fresh = request.getfixturevalue(f"fresh_{engine}")
    url = fresh(prepared.at_head)
    old, new = vault.new_master_key(), vault.new_master_key()
    sealed = fill(url, clock, old)

    dying = [str(CHECKOUT / "tests/commands/dying_verb.py")]
    # Commits before: the check of the keys, the question for the key's name, one batch.
    cut = run([*dying, "4", "rotate-keys"], url, f"{new} {old}")
    assert cut.returncode == -9, cut.stderr
    assert f"wrapped with {new[:8]}: {keys.BATCH}, left: {MANY + 1 - keys.BATCH}" in cut.stderr
    all_open(url, clock, f"{new} {old}", sealed)
    with pytest.raises(RefusedError):
        all_open(url, clock, new, sealed)

    done = run(["-m", "bot", "rotate-keys", "--json"], url, f"{new} {old}")
    assert done.returncode == 0, done.stderr
    assert json.loads(done.stdout) == {"key": new[:8], "wrapped": MANY + 1 - keys.BATCH, "left": 0}
    all_open(url, clock, new, sealed)


def test_with_nothing_to_wrap_it_says_so(sqlite_url: str, clock: MovableClock) -> None:
    prepared.at_head(sqlite_url)
    with closing(prepared.open_store(sqlite_url, clock.now())) as store:
        assert list(keys.rotate(store.begin)) == [(0, 0)]


def test_without_the_old_key_nothing_is_touched(sqlite_url: str, clock: MovableClock) -> None:
    prepared.at_head(sqlite_url)
    old, new = vault.new_master_key(), vault.new_master_key()
    sealed = fill(sqlite_url, clock, old)
    refused = run(["-m", "bot", "rotate-keys"], sqlite_url, new)
    assert refused.returncode == 2
    assert refused.stderr.splitlines() == [f"DATA_KEYS: key {old[:8]} is missing; data was wrapped with it"]
    all_open(sqlite_url, clock, old, sealed)
