"""Ids: the layout of RFC 9562, and the order in which they were made."""

import datetime as dt
import random
import threading
import uuid

import pytest
import uuid6

from bot.store.ids import new_id

NOW = dt.datetime(2026, 3, 2, 8, 15, 30, 123_000, tzinfo=dt.UTC)
EPOCH = dt.datetime(1970, 1, 1, tzinfo=dt.UTC)


def test_the_fields_are_those_of_version_7() -> None:
    """RFC 9562, 5.7 (from memory): 48 bits of milliseconds, version 0111, 12 bits, variant 10, 62 bits."""
    made = new_id(NOW)
    assert f"{made.int:0128b}"[48:52] == "0111"
    assert f"{made.int:0128b}"[64:66] == "10"
    assert made.int >> 80 == 1_772_439_330_123
    assert (made.version, made.variant) == (7, uuid.RFC_4122)


def test_the_uuid6_library_reads_the_same_instant() -> None:
    """Every millisecond: a float would be one short for some of them."""
    chance = random.Random(9562)
    for _ in range(2_000):
        since_ms = chance.randrange(4_000_000_000_000)
        at = EPOCH + dt.timedelta(milliseconds=since_ms)
        read = uuid6.UUID(int=new_id(at).int)
        assert (read.version, read.time) == (7, since_ms)


def test_the_zone_an_instant_is_written_in_does_not_matter() -> None:
    abroad = NOW.astimezone(dt.timezone(dt.timedelta(hours=9)))
    assert new_id(abroad).int >> 80 == new_id(NOW).int >> 80


def test_a_later_instant_sorts_later() -> None:
    instants = [NOW + dt.timedelta(milliseconds=step) for step in range(200)]
    made = [new_id(at) for at in instants]
    assert made == sorted(made)


def test_under_a_clock_that_stands_ids_keep_their_order() -> None:
    """More than the 4,096 that the counter of one millisecond holds."""
    at = NOW + dt.timedelta(hours=1)
    made = [new_id(at) for _ in range(10_000)]
    assert made == sorted(made)
    assert len(set(made)) == 10_000
    # The further ones borrow from the next milliseconds, and no more than they need.
    assert {one.int >> 80 for one in made} == {new_id(at).int + (n << 80) >> 80 for n in range(-2, 1)}


def test_work_at_another_instant_does_not_disturb_the_order() -> None:
    """Two threads take turns, each with the instant its own work began at."""
    one, other = NOW + dt.timedelta(hours=2), NOW + dt.timedelta(hours=2, seconds=3)
    made = [(new_id(one), new_id(other)) for _ in range(50)]
    for mine in zip(*made, strict=True):
        assert list(mine) == sorted(mine)


def test_threads_never_get_the_same_id() -> None:
    at = NOW + dt.timedelta(hours=3)
    made: list[list[uuid.UUID]] = [[] for _ in range(6)]

    def run(mine: list[uuid.UUID]) -> None:
        mine.extend(new_id(at) for _ in range(500))

    threads = [threading.Thread(target=run, args=(mine,)) for mine in made]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join(20)
    assert all(mine == sorted(mine) for mine in made)
    everything = [one.int >> 64 for mine in made for one in mine]
    assert len(set(everything)) == 3_000  # told apart by the counter alone, without the random part


def test_a_naive_instant_is_refused() -> None:
    with pytest.raises(TypeError):
        new_id(NOW.replace(tzinfo=None))
