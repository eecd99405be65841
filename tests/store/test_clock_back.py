"""The clock is set back an hour: what waits, what is in hand and what was asked for is not an hour late."""

import datetime as dt
import uuid
from collections.abc import Iterator
from dataclasses import dataclass

import pytest

from bot.domain.delivery import Kind
from bot.service.accept import Received
from bot.store import budget, chats, inbox, outbox
from bot.store.base import Store
from bot.store.outbox import Letter, Taken
from tests.fixtures.clock import MovableClock
from tests.fixtures.databases import Fresh
from tests.store import prepared
from tests.store.prepared import BOT

ONE, TWO = uuid.UUID(int=1), uuid.UUID(int=2)
URGENT = (Kind.ADVICE, Kind.ALERT, Kind.REPLY)


@dataclass
class Post:
    store: Store
    clock: MovableClock

    def put(self, kind: Kind = Kind.REPLY, not_before: dt.datetime | None = None, chat: int = 7_000) -> None:
        now = self.clock.now()
        with self.store.begin() as tx:
            found = chats.chat_of(tx, BOT, chat, now)
            letter = Letter(uuid.uuid4().hex, found.id, None, kind, {}, not_before=not_before)
            outbox.put(tx, letter, now)

    def take(self, worker: uuid.UUID = ONE) -> list[Taken]:
        with self.store.begin() as tx:
            return outbox.take(tx, BOT, worker, URGENT, 10, self.clock.now())

    def back(self) -> None:
        self.clock.move(hours=-1)
        with self.store.begin() as tx:
            outbox.follow_clock_back(tx, BOT, self.clock.now())

    def permits(self) -> int | None:
        with self.store.begin() as tx:
            return budget.permits(tx, BOT, 30.0, 0.8, False, 10, self.clock.now())


@pytest.fixture
def post(fresh_database: Fresh, clock: MovableClock) -> Iterator[Post]:
    store = prepared.open_store(fresh_database(prepared.at_head), clock.now())
    yield Post(store, clock)
    store.close()


def test_a_reply_put_before_goes_at_once(post: Post) -> None:
    post.put()
    post.back()
    assert len(post.take()) == 1


def test_what_was_put_off_on_purpose_stays_so(post: Post) -> None:
    post.put(not_before=post.clock.now() + dt.timedelta(hours=2))
    post.back()
    assert post.take() == []
    post.clock.move(hours=2, minutes=59)
    assert post.take() == []
    post.clock.move(minutes=1)
    assert len(post.take()) == 1


def test_a_dead_workers_lease_ends_within_its_time(post: Post) -> None:
    post.put(Kind.ALERT)
    (taken,) = post.take()
    post.back()
    with post.store.begin() as tx:
        assert outbox.stranded(tx, BOT, post.clock.now()) == []
    post.clock.move(seconds=11)
    with post.store.begin() as tx:
        assert [one.id for one in outbox.stranded(tx, BOT, post.clock.now())] == [taken.id]


def test_a_pause_that_the_platform_asked_for_is_no_longer_than_that(post: Post) -> None:
    post.put()
    post.take()
    with post.store.begin() as tx:
        budget.hold(tx, BOT, post.clock.now() + dt.timedelta(seconds=30))
    post.back()
    assert post.permits() is None
    post.clock.move(seconds=31)
    assert post.permits() == 10


def test_an_update_in_a_dead_workers_hands_is_free(post: Post) -> None:
    with post.store.begin() as tx:
        inbox.accept(tx, BOT, [Received(5, 7_000, b"5"), Received(6, 7_000, b"6")], post.clock.now())
        assert prepared.claim(tx, BOT, ONE, post.clock.now()) is not None
    post.clock.move(hours=-1)
    with post.store.begin() as tx:
        again = prepared.claim(tx, BOT, TWO, post.clock.now())
    assert again is not None
    assert again.raw == b"5"
