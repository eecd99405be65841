"""Worker threads at a queue, and what they did in which order."""

import functools
import sqlite3
import threading
import uuid
from collections.abc import Callable, Iterator, Mapping, Sequence
from contextlib import contextmanager
from dataclasses import dataclass, field

from sqlalchemy import event

from bot.store import inbox
from bot.store.base import Store, open_engine
from tests.fixtures.clock import MovableClock
from tests.store import prepared
from tests.store.prepared import BOT

WITHIN_S = 60


@dataclass
class Record:
    """What a crew did.

    numbers: in the order they were handled. overlapping: those that met another one of their sender in hand.
    """

    numbers: list[int] = field(default_factory=list)
    overlapping: list[int] = field(default_factory=list)
    workers: set[int] = field(default_factory=set)


class Crew:
    """Threads that do the same work until there is none left. A fault in one is raised by `run`."""

    def __init__(self, size: int) -> None:
        self.changed = threading.Condition()
        self._size = size
        self._failed: list[BaseException] = []

    def run(self, work: Callable[[int], None]) -> None:
        """Run `work(place)` in every thread, all beginning together."""
        start = threading.Barrier(self._size, timeout=WITHIN_S)

        def guarded(place: int) -> None:
            try:
                start.wait()
                work(place)
            except BaseException as error:  # noqa: BLE001 - shown by the test
                self._failed.append(error)
            finally:
                with self.changed:
                    self.changed.notify_all()

        threads = [threading.Thread(target=guarded, args=(place,)) for place in range(self._size)]
        for thread in threads:
            thread.start()
        for thread in threads:
            thread.join(WITHIN_S)
        if self._failed:
            raise self._failed[0]
        assert not any(thread.is_alive() for thread in threads)


@contextmanager
def posts(store: Store, size: int) -> Iterator[list[Store]]:
    """A store for each worker: on PostgreSQL the same one, on SQLite each with a connection of its own.

    SQLite's are spared the wait for the disk, which these tests do not need.
    """
    if store.engine.dialect.name != "sqlite":
        yield [store] * size
        return
    stores = [Store(open_engine(store.engine.url), store._masters) for _ in range(size)]
    for each in stores:
        event.listen(each.engine, "connect", _do_not_wait_for_the_disk)
    yield stores
    for each in stores:
        each.close()


def _do_not_wait_for_the_disk(connection: sqlite3.Connection, record: object) -> None:
    del record
    connection.execute("PRAGMA synchronous=OFF")


def run_inbox_workers(stores: Sequence[Store], clock: MovableClock, senders: Mapping[int, int]) -> Record:
    """A worker for each store claims and settles until nothing waits.

    Raw updates are their own numbers; `senders` tells whose.
    """
    crew = Crew(len(stores))
    record = Record()
    in_hand: set[int] = set()

    def handle(number: int, place: int) -> None:
        sender = senders[number]
        with crew.changed:
            record.workers.add(place)
            if sender in in_hand:
                record.overlapping.append(number)
            in_hand.add(sender)
        with crew.changed:
            in_hand.discard(sender)
            record.numbers.append(number)

    def work(place: int) -> None:
        worker, store = uuid.UUID(int=place + 1), stores[place]
        while True:
            handled = len(record.numbers)
            with store.begin() as tx:
                stored = prepared.claim(tx, BOT, worker, clock.now())
                left = 0 if stored is not None else inbox.waiting(tx)
            if stored is not None:
                handle(int(stored.raw), place)
                with store.begin() as tx:
                    assert inbox.settle(tx, stored.id, worker, "handled", clock.now())
                with crew.changed:
                    crew.changed.notify_all()
            elif left:  # all that is left is in hand, or behind what is
                with crew.changed:
                    crew.changed.wait_for(functools.partial(moved_on, record, handled), timeout=1)
            else:
                return

    crew.run(work)
    return record


def moved_on(record: Record, since: int) -> bool:
    """Whether more has been handled than there was."""
    return len(record.numbers) > since
