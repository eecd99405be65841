"""The inbox: kept once, handed out in order for each person, settled by whoever holds it."""

import datetime as dt
import random
import uuid
from collections.abc import Iterator
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path
from typing import Any

import pytest
import sqlalchemy as sa

from bot.domain.people import Role
from bot.store import chats, inbox, tables
from bot.store.base import INSTALLATION, Store, open_engine, read_url
from bot.store.inbox import LEASE, Received, Stored
from bot.store.vault import new_master_key, parse_master_keys
from tests.fixtures.clock import MovableClock
from tests.fixtures.databases import Fresh
from tests.store import plans, prepared
from tests.store.prepared import BOT
from tests.store.workers import posts, run_inbox_workers

ANNA, BETH, CARA = 7_001, 7_002, 7_003
ONE, TWO = uuid.UUID(int=1), uuid.UUID(int=2)
_INBOX = tables.inbox.c


class Inbox:
    """The inbox of one bot, at the clock's time; raw updates are their own numbers."""

    def __init__(self, store: Store, clock: MovableClock) -> None:
        self.store = store
        self.clock = clock

    def accept(self, *updates: tuple[int, int | None], bot: str = BOT) -> None:
        batch = [Received(number, sender, str(number).encode()) for number, sender in updates]
        with self.store.begin() as tx:
            inbox.accept(tx, bot, batch, self.clock.now())

    def claim(self, worker: uuid.UUID = ONE) -> Stored | None:
        with self.store.begin() as tx:
            return prepared.claim(tx, BOT, worker, self.clock.now())

    def some(self, most: int, worker: uuid.UUID = ONE) -> list[int]:
        """The update numbers of the next claim of several."""
        with self.store.begin() as tx:
            claimed = inbox.claim_some(tx, BOT, worker, self.clock.now(), most)
        return [int(stored.raw) for stored in claimed]

    def number(self, worker: uuid.UUID = ONE) -> int | None:
        """The update number of the next claim."""
        stored = self.claim(worker)
        return None if stored is None else int(stored.raw)

    def settle(self, stored: Stored | None, worker: uuid.UUID = ONE, state: str = "handled") -> bool:
        assert stored is not None
        with self.store.begin() as tx:
            return inbox.settle(tx, stored.id, worker, state, self.clock.now())

    def push_back(self, stored: Stored | None, worker: uuid.UUID = ONE, **until: float) -> None:
        assert stored is not None
        with self.store.begin() as tx:
            inbox.push_back(tx, stored.id, worker, self.clock.now() + dt.timedelta(**until))

    def next_at(self) -> dt.datetime | None:
        with self.store.begin() as tx:
            return inbox.next_at(tx)

    def rows(self) -> list[Any]:
        with self.store.begin() as tx:
            return list(tx.connection.execute(sa.select(tables.inbox).order_by(_INBOX.id)))


@pytest.fixture
def box(store: Store, clock: MovableClock) -> Inbox:
    return Inbox(store, clock)


# Accepting


def test_an_update_is_kept_once_however_often_it_comes(box: Inbox) -> None:
    box.accept((5, ANNA), (6, ANNA))
    box.clock.move(minutes=1)
    box.accept((6, ANNA), (7, ANNA), (7, ANNA))
    rows = box.rows()
    assert [row.update_id for row in rows] == [5, 6, 7]
    assert rows[1].received_at == box.clock.now() - dt.timedelta(minutes=1)


def test_a_repeat_does_not_wake_what_is_settled(box: Inbox) -> None:
    box.accept((5, ANNA))
    assert box.settle(box.claim())
    box.accept((5, ANNA))
    assert box.claim() is None


def test_two_bots_may_use_the_same_number(box: Inbox) -> None:
    box.accept((5, ANNA))
    box.accept((5, ANNA), bot="4343")
    assert len(box.rows()) == 2
    assert [box.number(), box.number()] == [5, None]  # each bot has its own order, and its own workers


def test_an_empty_batch_is_harmless(box: Inbox) -> None:
    box.accept()
    assert box.rows() == []


def test_a_batch_is_kept_whole_or_not_at_all(box: Inbox) -> None:
    """The platform is told only after the commit."""

    def fail() -> None:
        with box.store.begin() as tx:
            inbox.accept(tx, BOT, [Received(5, ANNA, b"5")], box.clock.now())
            raise RuntimeError("before the commit")

    with pytest.raises(RuntimeError):
        fail()
    assert box.rows() == []


def test_what_a_client_sends_is_sealed_with_her_own_key(box: Inbox) -> None:
    """So that destroying her key erases it; a stranger's is sealed with the installation's."""
    now = box.clock.now()
    with box.store.begin() as tx:
        (anna,) = prepared.enrol(tx, now)
        chats.link(tx, chats.chat_of(tx, BOT, ANNA, now), Role.CLIENT, anna.id, now)
    box.accept((5, ANNA), (6, BETH), (7, None))
    assert [row.raw[1:17] for row in box.rows()] == [
        owner.bytes for owner in (anna.id, INSTALLATION, INSTALLATION)
    ]
    assert [box.number(), box.number(), box.number()] == [5, 6, 7]


def test_an_update_is_kept_also_when_her_key_is_gone(box: Inbox) -> None:
    now = box.clock.now()
    with box.store.begin() as tx:
        (anna,) = prepared.enrol(tx, now)
        chats.link(tx, chats.chat_of(tx, BOT, ANNA, now), Role.CLIENT, anna.id, now)
    destroy_key(box.store, anna.id)
    box.accept((5, ANNA))
    assert box.number() == 5


def destroy_key(store: Store, owner: uuid.UUID) -> None:
    with store.begin() as tx:
        tx.connection.execute(sa.delete(tables.data_key).where(tables.data_key.c.owner_id == owner))
    store.forget_keys()


def test_the_file_shows_neither_what_she_wrote_nor_who_she_is(
    sqlite_store: Store, clock: MovableClock
) -> None:
    """The file and its log, as somebody would find them on a stolen disk."""
    raw = b'{"from": {"id": 7700900123, "first_name": "Plantedname"}, "text": "planted heaviness words"}'
    with sqlite_store.begin() as tx:
        inbox.accept(tx, BOT, [Received(5, 7_700_900_123, raw)], clock.now())
    path = Path(str(sqlite_store.engine.url.database))
    files = [path, path.with_name(path.name + "-wal")]
    found = b"".join(file.read_bytes() for file in files)
    assert BOT.encode() in found  # what is not private can be seen, so this looks in the right place
    for planted in (b"Plantedname", b"planted", b"heaviness", b"7700900123"):
        assert planted not in found


# Order


def test_the_lowest_number_goes_first_whenever_it_came(box: Inbox) -> None:
    box.accept((9, ANNA), (7, BETH))
    box.accept((8, CARA))
    assert [box.number(), box.number(), box.number(), box.number()] == [7, 8, 9, None]


def test_her_next_update_waits_until_the_earlier_one_is_settled(box: Inbox) -> None:
    box.accept((1, ANNA), (2, ANNA), (3, BETH))
    first = box.claim(ONE)
    assert box.number(TWO) == 3
    assert box.claim(TWO) is None
    assert box.settle(first, ONE)
    assert box.number(TWO) == 2


def test_an_earlier_number_that_comes_late_waits_for_the_one_in_hand(box: Inbox) -> None:
    """One update at a time for each sender, in whatever order they come."""
    box.accept((5, ANNA))
    fifth = box.claim(ONE)
    box.accept((3, ANNA))
    assert box.claim(TWO) is None
    assert box.settle(fifth, ONE)
    assert box.number(TWO) == 3


def test_updates_without_a_sender_wait_for_nobody(box: Inbox) -> None:
    box.accept((1, None), (2, None), (3, ANNA))
    assert [box.number(ONE), box.number(TWO), box.number(TWO)] == [1, 2, 3]


def test_an_update_set_aside_lets_her_next_one_through(box: Inbox) -> None:
    box.accept((1, ANNA), (2, ANNA))
    assert box.settle(box.claim(), state="set_aside")
    assert box.number() == 2


def test_an_update_pushed_back_holds_her_next_one_until_it_is_tried_again(box: Inbox) -> None:
    box.accept((1, ANNA), (2, ANNA), (3, BETH))
    box.push_back(box.claim(), seconds=2)
    assert box.number() == 3
    assert box.claim() is None
    box.clock.move(seconds=2)
    again = box.claim()
    assert again is not None
    assert (again.raw, again.tries) == (b"1", 2)
    assert box.settle(again)
    assert box.number() == 2


# Leases


def test_a_claim_ends_with_its_lease_and_counts_as_a_try(box: Inbox) -> None:
    box.accept((1, ANNA))
    first = box.claim(ONE)
    box.clock.move(seconds=LEASE.total_seconds() - 0.001)
    assert box.claim(TWO) is None
    box.clock.move(seconds=0.001)
    second = box.claim(TWO)
    assert first is not None
    assert second is not None
    assert (first.id, first.tries, second.tries) == (second.id, 1, 2)


def test_settling_what_somebody_else_took_over_answers_no(box: Inbox) -> None:
    box.accept((1, ANNA))
    first = box.claim(ONE)
    box.clock.move(seconds=LEASE.total_seconds())
    second = box.claim(TWO)
    assert not box.settle(first, ONE)
    assert box.settle(second, TWO)
    assert not box.settle(second, TWO)  # once is enough


def test_a_lease_that_is_over_may_still_be_settled_by_its_holder(box: Inbox) -> None:
    """As long as nobody took it over, the work was done once."""
    box.accept((1, ANNA))
    late = box.claim(ONE)
    box.clock.move(minutes=5)
    assert box.settle(late, ONE)
    assert box.claim(TWO) is None


def test_pushing_back_what_somebody_else_holds_changes_nothing(box: Inbox) -> None:
    box.accept((1, ANNA))
    first = box.claim(ONE)
    box.clock.move(seconds=LEASE.total_seconds())
    second = box.claim(TWO)
    box.push_back(first, ONE, seconds=0)
    assert box.claim(ONE) is None
    assert box.settle(second, TWO)


def test_when_there_is_something_again(box: Inbox) -> None:
    """None also while one is free now, whatever else is in hand."""
    assert box.next_at() is None
    box.accept((1, ANNA))
    assert box.next_at() is None
    box.claim()
    ends_at = box.clock.now() + LEASE
    assert box.next_at() == ends_at
    box.accept((2, ANNA))
    assert box.next_at() == ends_at  # hers has to wait
    box.accept((3, BETH))
    assert box.next_at() is None
    box.push_back(box.claim(), seconds=2)
    assert box.next_at() == box.clock.now() + dt.timedelta(seconds=2)


def test_what_waits_is_counted_and_dated(box: Inbox) -> None:
    came_at = box.clock.now()
    box.accept((1, ANNA))
    box.clock.move(seconds=90)
    box.accept((2, BETH))
    with box.store.begin() as tx:
        assert (inbox.waiting(tx), inbox.oldest_waiting(tx)) == (2, came_at)
    assert box.settle(box.claim())
    with box.store.begin() as tx:
        assert (inbox.waiting(tx), inbox.oldest_waiting(tx)) == (1, box.clock.now())
    assert box.settle(box.claim())
    with box.store.begin() as tx:
        assert (inbox.waiting(tx), inbox.oldest_waiting(tx)) == (0, None)


# The platform's numbers


def release(box: Inbox) -> None:
    with box.store.begin() as tx:
        inbox.release_keys(tx, box.clock.now())


def test_a_number_is_free_again_after_three_days_and_the_row_stays(box: Inbox) -> None:
    """After a silent week the platform may begin anew with any number (its handbook, read)."""
    box.accept((500, ANNA))
    assert box.settle(box.claim())
    box.clock.move(days=3, seconds=-1)
    release(box)
    box.accept((500, ANNA))
    assert box.claim() is None  # within three days it is a repeat
    box.clock.move(seconds=1)
    release(box)
    box.accept((500, BETH))
    assert box.number() == 500
    assert [row.update_id for row in box.rows()] == [None, 500]


def test_a_reused_lower_number_goes_its_way_beside_released_ones(box: Inbox) -> None:
    box.accept((900, ANNA), (901, ANNA))
    for _ in range(2):
        assert box.settle(box.claim())
    box.clock.move(days=8)
    release(box)
    box.accept((11, ANNA), (12, ANNA), (900, ANNA))
    for expected in (b"11", b"12", b"900"):
        stored = box.claim()
        assert stored is not None
        assert stored.raw == expected
        assert box.settle(stored)


def test_the_number_of_an_update_that_still_waits_is_kept(box: Inbox) -> None:
    """It is not handled yet: the same number is the same update."""
    box.accept((5, ANNA))
    box.clock.move(days=10)
    release(box)
    box.accept((5, ANNA))
    assert [row.update_id for row in box.rows()] == [5]
    assert box.number() == 5


# What does not open


def test_an_update_whose_key_is_destroyed_is_set_aside_and_holds_nobody_up(box: Inbox) -> None:
    now = box.clock.now()
    with box.store.begin() as tx:
        (anna,) = prepared.enrol(tx, now)
        chats.link(tx, chats.chat_of(tx, BOT, ANNA, now), Role.CLIENT, anna.id, now)
    box.accept((1, ANNA), (2, ANNA), (3, BETH))
    destroy_key(box.store, anna.id)
    assert box.number() == 3
    assert [row.state for row in box.rows()] == ["set_aside", "set_aside", "new"]


def test_an_update_that_wrong_keys_do_not_open_waits_for_the_right_ones(
    fresh_database: Fresh, clock: MovableClock
) -> None:
    """Nothing she wrote is given up because a process was started with the wrong settings."""
    url = fresh_database(prepared.at_head)
    first, second = new_master_key(), new_master_key()
    prepared.open_store(url, clock.now(), first).close()
    right = Store(open_engine(read_url(url)), parse_master_keys(f"{second},{first}"))
    wrong = Store(open_engine(read_url(url)), parse_master_keys(first))
    with right.begin() as tx:
        now = clock.now()
        (anna,) = prepared.enrol(tx, now)
        chats.link(tx, chats.chat_of(tx, BOT, ANNA, now), Role.CLIENT, anna.id, now)
    box = Inbox(right, clock)
    box.accept((1, ANNA), (2, BETH))
    for _ in range(5):
        assert Inbox(wrong, clock).number() in {2, None}
        clock.move(minutes=2)
    stored = box.claim()
    assert stored is not None
    assert (stored.raw, stored.tries) == (b"1", 1)
    right.close()
    wrong.close()


# Several at once


def test_a_late_lower_number_is_not_handled_beside_one_being_claimed(
    postgresql_store: Store, clock: MovableClock
) -> None:
    """The claim of 5 is not committed yet, so that nobody else can see it; 3 has to wait all the same."""
    box = Inbox(postgresql_store, clock)
    box.accept((5, ANNA))
    with ThreadPoolExecutor(1) as thread:
        with postgresql_store.begin() as tx:
            claimed = prepared.claim(tx, BOT, ONE, clock.now())
            box.accept((3, ANNA))
            beside = thread.submit(box.number, TWO)
            prepared.wait_until_blocked(postgresql_store)
        assert claimed is not None
        assert claimed.raw == b"5"
        assert beside.result(20) is None


def shuffled(count: int, senders: int, seed: int) -> Iterator[list[tuple[int, int]]]:
    """Updates of some senders in batches, with neighbours out of order here and there."""
    chance = random.Random(seed)
    updates = [(number, 7_000 + chance.randrange(senders)) for number in range(1, count + 1)]
    while updates:
        size = min(len(updates), chance.randint(1, 8))
        batch, updates = updates[:size], updates[size:]
        chance.shuffle(batch)
        yield batch


def test_six_workers_handle_every_update_once_and_nobody_out_of_order(
    store: Store, clock: MovableClock
) -> None:
    box = Inbox(store, clock)
    batches = list(shuffled(2_000, 60, seed=1))
    box.accept(*(update for batch in batches for update in batch))
    senders = {number: sender for batch in batches for number, sender in batch}
    with store.begin() as tx:
        tx.connection.exec_driver_sql("ANALYZE")  # as the server does by itself on a table in use
    with posts(store, 6) as stores:
        record = run_inbox_workers(stores, clock, senders)
    assert sorted(record.numbers) == list(range(1, 2_001))
    assert record.overlapping == []
    assert len(record.workers) > 1
    by_sender: dict[int, list[int]] = {}
    for number in record.numbers:
        by_sender.setdefault(senders[number], []).append(number)
    assert len(by_sender) == 60
    assert all(numbers == sorted(numbers) for numbers in by_sender.values())
    assert box.claim() is None


def lives(box: Inbox, seed: int, steps: int) -> None:
    """Workers that claim, settle, fail and vanish, while updates come in and the clock moves."""
    chance = random.Random(seed)
    coming = [update for batch in shuffled(steps // 4, 4, seed) for update in batch]
    senders = dict(coming)
    held: dict[uuid.UUID, tuple[Stored, dt.datetime]] = {}
    last_claim: dict[uuid.UUID, uuid.UUID] = {}
    unsettled: set[int] = set()
    settled: list[int] = []
    while coming or unsettled:
        box.clock.move(seconds=chance.choice((0, 0, 0, 1, 4, 11)))
        if coming and chance.random() < 0.3:
            box.accept(coming[0])
            unsettled.add(coming.pop(0)[0])
        worker = uuid.UUID(int=chance.randint(1, 3))
        if worker not in held:
            stored = box.claim(worker)
            if stored is None:
                continue
            number = int(stored.raw)
            hers = {other for other in unsettled if senders[other] == senders[number]}
            assert number == min(hers)
            for other, ends_at in held.values():
                assert senders[int(other.raw)] != senders[number] or ends_at <= box.clock.now()
            held[worker] = stored, box.clock.now() + LEASE
            last_claim[stored.id] = worker
            continue
        stored, _ = held.pop(worker)
        match chance.choice(("settle", "settle", "settle", "fail", "vanish")):
            case "settle":
                is_ours = last_claim.get(stored.id) == worker
                assert box.settle(stored, worker) == is_ours
                if is_ours:
                    settled.append(int(stored.raw))
                    unsettled.discard(int(stored.raw))
                    del last_claim[stored.id]
            case "fail":
                box.push_back(stored, worker, seconds=2)
                if last_claim.get(stored.id) == worker:
                    del last_claim[stored.id]
            case "vanish":
                pass  # its lease will be over some day
    assert sorted(settled) == sorted(senders)


def test_workers_that_fail_and_vanish_lose_nothing(box: Inbox) -> None:
    lives(box, seed=3, steps=180)


@pytest.mark.slow
@pytest.mark.parametrize("seed", range(10))
def test_workers_that_fail_and_vanish_lose_nothing_in_many_lives(box: Inbox, seed: int) -> None:
    lives(box, seed, steps=1_000)


# Cost


def test_no_query_reads_the_whole_inbox(box: Inbox) -> None:
    """The inbox keeps every row for good; what is done every second must not grow with it."""
    for _ in range(3):
        first = len(box.rows())
        box.accept(*((first + n, 7_000 + n % 50) for n in range(500)))
        with box.store.begin() as tx:
            tx.connection.execute(sa.update(tables.inbox).values(state="handled"))
    box.accept(*((10_000 + n, 7_000 + n % 50) for n in range(100)))
    with plans.watched(box.store) as seen:
        assert box.settle(box.claim())
        box.next_at()
        with box.store.begin() as tx:
            inbox.waiting(tx)
            inbox.oldest_waiting(tx)
    assert len(seen) >= 5
    assert plans.read_whole(box.store, seen, "inbox", "earlier", "leased") == []


def test_a_whole_read_is_noticed(box: Inbox) -> None:
    """The check above can fail."""
    box.accept(*((n, ANNA) for n in range(500)))
    with plans.watched(box.store) as seen, box.store.begin() as tx:
        tx.connection.execute(sa.select(_INBOX.id).where(_INBOX.tries == 7)).all()
    assert len(plans.read_whole(box.store, seen, "inbox")) == 1


def test_the_cost_of_accepting_does_not_grow_with_the_senders(box: Inbox) -> None:
    """One look-up for all of them."""
    box.accept((1, ANNA))  # finds the key that hashes
    counts = []
    for first, senders in ((100, 1), (1_000, 80)):
        with plans.watched(box.store) as seen:
            box.accept(*((first + n, 8_000 + n) for n in range(senders)))
        counts.append(len([text for text, _ in seen if text.startswith("SELECT")]))
    assert counts[0] == counts[1]


# Several at once


def test_several_are_taken_one_of_each_sender_lowest_first(box: Inbox) -> None:
    box.accept((5, BETH), (6, ANNA), (7, ANNA), (8, None), (9, CARA))
    assert box.some(3) == [5, 6, 8]
    assert box.some(3) == [9]  # 7 waits behind 6
    assert box.some(3) == []


def test_what_is_tried_again_is_taken_by_itself(box: Inbox) -> None:
    """An update that ends the process must not count tries against those that were taken with it."""
    box.accept((5, ANNA), (6, BETH), (7, CARA))
    assert box.some(8) == [5, 6, 7]
    box.clock.move(seconds=LEASE.total_seconds())  # the process died with all three
    box.accept((8, None))
    assert box.some(8, TWO) == [5]
    assert box.some(8, TWO) == [6]
    assert box.some(8, TWO) == [7]
    assert box.some(8, TWO) == [8]
    assert [row.tries for row in box.rows()] == [2, 2, 2, 1]


def test_what_comes_after_a_second_try_is_left_untouched(box: Inbox) -> None:
    box.accept((5, ANNA), (6, BETH))
    box.push_back(box.claim(), seconds=0)
    assert box.some(8) == [5]
    (_, beth) = box.rows()
    assert (beth.tries, beth.worker, beth.lease_until) == (0, None, None)
