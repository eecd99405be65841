"""The outbox: put once, most urgent first, at the platform's pace, settled by whoever holds it."""

import dataclasses
import datetime as dt
import random
import uuid
from collections import deque
from collections.abc import Iterable, Sequence
from typing import Any

import pytest
import sqlalchemy as sa

from bot.domain.delivery import CHAT_SPACING, POLICIES, Fate, Kind, State
from bot.domain.people import Role
from bot.store import budget, chats, outbox, tables
from bot.store.base import Store, open_engine, read_url
from bot.store.outbox import LEASE, Letter, Stranded, Taken
from bot.store.vault import new_master_key, parse_master_keys
from tests.fixtures.clock import MovableClock
from tests.fixtures.databases import Fresh
from tests.store import plans, prepared
from tests.store.prepared import BOT
from tests.store.workers import Crew, posts

ONE, TWO = uuid.UUID(int=1), uuid.UUID(int=2)
URGENT = (Kind.ADVICE, Kind.ALERT, Kind.REPLY, Kind.TOUCH)
BULK = (Kind.NUDGE, Kind.DIGEST)
EVERY = tuple(Kind)
SENT = Fate(State.SENT)
SECOND = dt.timedelta(seconds=1)
RATE, SHARE = 30.0, 0.8  # the platform's figure for one bot, and the part of it for nudges and digests
_OUTBOX = tables.outbox.c


class Post:
    """The outbox of one bot at the clock's time; a message holds its own key."""

    def __init__(self, store: Store, clock: MovableClock, people: int = 3) -> None:
        self.store = store
        self.clock = clock
        with store.begin() as tx:
            self.chats = [chats.chat_of(tx, BOT, 7_001 + n, clock.now()).id for n in range(people)]

    def put(self, kind: Kind, key: str, person: int = 0, **changes: Any) -> bool:
        letter = Letter(key, self.chats[person], None, kind, {"key": key})
        with self.store.begin() as tx:
            return outbox.put(tx, dataclasses.replace(letter, **changes), self.clock.now())

    def take(self, limit: int = 10, kinds: Sequence[Kind] = EVERY, worker: uuid.UUID = ONE) -> list[Taken]:
        with self.store.begin() as tx:
            return outbox.take(tx, BOT, worker, kinds, limit, self.clock.now())

    def keys(self, limit: int = 10, kinds: Sequence[Kind] = EVERY) -> list[str]:
        """Send what can be sent now; answers the keys."""
        with self.store.begin() as tx:
            taken = outbox.take(tx, BOT, ONE, kinds, limit, self.clock.now())
            for one in taken:
                assert outbox.settle(tx, one.id, ONE, SENT, self.clock.now())
        return [one.content["key"] for one in taken]

    def settle(self, taken: Taken, fate: Fate = SENT, worker: uuid.UUID = ONE, **told: Any) -> bool:
        with self.store.begin() as tx:
            return outbox.settle(tx, taken.id, worker, fate, self.clock.now(), **told)

    def permits(self, wanted: int = 100, *, bulk: bool = False, bot: str = BOT) -> int:
        with self.store.begin() as tx:
            return budget.permits(tx, bot, RATE, SHARE, bulk, wanted, self.clock.now()) or 0

    def hold(self, **length: float) -> None:
        with self.store.begin() as tx:
            budget.hold(tx, BOT, self.clock.now() + dt.timedelta(**length))

    def next_at(self) -> dt.datetime | None:
        with self.store.begin() as tx:
            return outbox.next_at(tx, BOT, self.clock.now())

    def expire(self) -> int:
        with self.store.begin() as tx:
            return outbox.expire(tx, BOT, self.clock.now())

    def stranded(self, others_than: uuid.UUID | None = None) -> list[Stranded]:
        with self.store.begin() as tx:
            return outbox.stranded(tx, BOT, self.clock.now(), others_than)

    def row(self, key: str) -> Any:
        with self.store.begin() as tx:
            return tx.connection.execute(sa.select(tables.outbox).where(_OUTBOX.key == key)).one()

    def set_gone(self, person: int, *, gone: bool) -> None:
        with self.store.begin() as tx:
            chats.set_gone(tx, self.chats[person], self.clock.now() if gone else None)


@pytest.fixture
def post(store: Store, clock: MovableClock) -> Post:
    return Post(store, clock)


# Putting


def test_a_second_put_under_one_key_changes_nothing(post: Post) -> None:
    assert post.put(Kind.NUDGE, "nudge:1")
    post.clock.move(minutes=1)
    assert not post.put(Kind.NUDGE, "nudge:1", 1)
    (taken,) = post.take()
    assert (taken.chat_id, taken.content) == (post.chats[0], {"key": "nudge:1"})


def test_a_key_stays_taken_when_its_message_is_sent(post: Post) -> None:
    """A nudge goes out at most once."""
    post.put(Kind.NUDGE, "nudge:1")
    (taken,) = post.take()
    assert post.settle(taken)
    post.clock.move(days=400)
    assert not post.put(Kind.NUDGE, "nudge:1")
    assert post.take() == []


def test_a_message_comes_back_as_it_was_put(post: Post) -> None:
    content = {"copy": "nudge.first", "values": {"name": "Zoë", "sets": 3}, "rows": [[["a", "b"]]]}
    picture = bytes(range(256)) * 100
    post.put(Kind.DIGEST, "digest:1", 1, content=content, picture=picture)
    (taken,) = post.take()
    assert (taken.content, taken.picture) == (content, picture)
    assert (taken.kind, taken.attempt) == (Kind.DIGEST, 1)
    assert (taken.chat_id, taken.user_id) == (post.chats[1], 7_002)


def test_a_message_that_is_not_to_go_yet_waits(post: Post) -> None:
    at = post.clock.now() + dt.timedelta(minutes=5)
    post.put(Kind.REPLY, "later", not_before=at)
    post.clock.set(at - dt.timedelta(microseconds=1))
    assert post.take() == []
    post.clock.set(at)
    assert post.keys() == ["later"]


# Order


def test_the_most_urgent_goes_first(post: Post) -> None:
    post = Post(post.store, post.clock, len(EVERY))
    mixed = [Kind.DIGEST, Kind.REPLY, Kind.ADVICE, Kind.NUDGE, Kind.TOUCH, Kind.ALERT]
    for person, kind in enumerate(mixed):
        post.put(kind, kind.value, person)
    assert post.keys() == ["advice", "alert", "reply", "touch", "nudge", "digest"]


def test_among_equals_the_one_put_first_goes_first(post: Post) -> None:
    post = Post(post.store, post.clock, 10)
    for person in (4, 1, 9, 0, 7):
        post.put(Kind.REPLY, f"reply:{person}", person)
    assert post.keys(3) == ["reply:4", "reply:1", "reply:9"]
    assert post.keys(3) == ["reply:0", "reply:7"]


def test_advice_passes_a_long_queue_of_nudges(post: Post) -> None:
    post = fill(post, 200)
    post.keys(200, (Kind.ALERT,))
    post.clock.move(seconds=1)
    post.put(Kind.ADVICE, "advice", 199)
    assert post.keys(1) == ["advice"]
    assert post.keys(10, BULK) == [f"nudge:{person}" for person in range(10)]


def test_only_the_kinds_asked_for_are_taken(post: Post) -> None:
    post.put(Kind.NUDGE, "nudge", 0)
    post.put(Kind.REPLY, "reply", 1)
    with post.store.begin() as tx:
        now = post.clock.now()
        assert outbox.any_sendable(tx, BOT, BULK, now)
        assert outbox.any_sendable(tx, BOT, URGENT, now)
        assert not outbox.any_sendable(tx, BOT, (Kind.ADVICE,), now)
    assert post.keys(10, BULK) == ["nudge"]
    assert post.keys(10, BULK) == []
    assert post.keys(10, URGENT) == ["reply"]


def test_priorities_stand_in_rows_that_wait() -> None:
    """A change of one needs a data step in the migrations, or what waits under the old one is missed."""
    assert {kind.value: POLICIES[kind].priority for kind in Kind} == {
        "advice": 0,
        "alert": 1,
        "reply": 2,
        "touch": 3,
        "nudge": 4,
        "digest": 5,
    }


# One chat


def test_one_message_a_chat_at_a_time_in_the_order_put(post: Post) -> None:
    for number in range(3):
        post.put(Kind.REPLY, f"a{number}", 0)
    post.put(Kind.REPLY, "b0", 1)
    assert post.keys() == ["a0", "b0"]
    assert post.keys() == []
    post.clock.move(seconds=CHAT_SPACING.total_seconds() - 0.001)
    assert post.keys() == []
    post.clock.move(seconds=0.001)
    assert post.keys() == ["a1"]
    post.clock.move(seconds=5)
    assert post.keys() == ["a2"]


def test_advice_and_alerts_skip_the_spacing(post: Post) -> None:
    post.put(Kind.REPLY, "reply", 0)
    assert post.keys() == ["reply"]
    for number in range(2):
        post.put(Kind.ADVICE, f"advice:{number}", 0)
        post.put(Kind.ALERT, f"alert:{number}", 0)
    post.put(Kind.REPLY, "next", 0)
    assert [post.keys() for _ in range(5)] == [
        ["advice:0"], ["advice:1"], ["alert:0"], ["alert:1"], [],
    ]  # fmt: skip
    post.clock.move(seconds=1)
    assert post.keys() == ["next"]


def test_a_small_act_on_the_chat_neither_waits_nor_makes_others_wait(post: Post) -> None:
    """A button's spinner stops at once, also while a reply waits for the spacing."""
    post.put(Kind.REPLY, "first", 0)
    assert post.keys() == ["first"]
    post.put(Kind.REPLY, "second", 0)
    post.put(Kind.TOUCH, "touch", 0)
    assert post.keys() == ["touch"]
    post.clock.move(seconds=1)
    assert post.keys() == ["second"]


def test_spacing_ends_also_when_the_clock_is_set_back(post: Post) -> None:
    """A pause that would end an hour from now cannot be one of a second."""
    post.put(Kind.REPLY, "first", 0)
    assert post.keys() == ["first"]
    post.clock.move(hours=-1)
    post.put(Kind.REPLY, "second", 0)
    assert post.next_at() == post.clock.now()
    assert post.keys() == ["second"]
    post.put(Kind.REPLY, "third", 0)
    assert post.keys() == []


def test_nothing_as_urgent_overtakes_what_is_on_its_way_to_the_chat(post: Post) -> None:
    """A question never arrives before its advice; advice does not wait for a nudge that hangs."""
    post.put(Kind.NUDGE, "nudge", 0)
    (nudge,) = post.take()
    post.put(Kind.REPLY, "reply", 0)
    post.clock.move(seconds=1)
    (reply,) = post.take()
    assert reply.content == {"key": "reply"}
    post.put(Kind.TOUCH, "touch", 0)
    assert post.keys() == []
    post.put(Kind.ADVICE, "advice", 0)
    (advice,) = post.take()
    assert advice.content == {"key": "advice"}
    post.put(Kind.ADVICE, "more advice", 0)
    post.put(Kind.ADVICE, "another's", 1)
    assert post.keys() == ["another's"]
    assert post.settle(advice)
    assert post.keys() == ["more advice"]
    assert post.settle(reply)
    assert post.keys() == ["touch"]
    assert post.settle(nudge)


def test_what_hangs_holds_up_its_chat_no_longer_than_its_lease(post: Post) -> None:
    post.put(Kind.ADVICE, "advice", 0)
    post.take()
    post.put(Kind.ADVICE, "more advice", 0)
    post.clock.move(seconds=LEASE.total_seconds() - 0.001)
    assert post.keys() == []
    post.clock.move(seconds=0.001)
    assert post.keys() == ["more advice"]


def test_two_workers_never_take_for_one_chat_at_once(postgresql_store: Store, clock: MovableClock) -> None:
    """While one has not committed yet the other goes by what it sees, and must pass the chat by."""
    post = Post(postgresql_store, clock)
    post.put(Kind.REPLY, "reply", 0)
    post.put(Kind.NUDGE, "nudge", 0)
    post.put(Kind.NUDGE, "other", 1)
    with postgresql_store.begin() as tx:
        urgent = outbox.take(tx, BOT, ONE, URGENT, 10, clock.now())
        assert [taken.content["key"] for taken in urgent] == ["reply"]
        assert post.keys(10, BULK) == ["other"]
    assert post.settle(urgent[0])
    assert post.keys(10, BULK) == []
    clock.move(seconds=1)
    assert post.keys(10, BULK) == ["nudge"]


def test_nothing_is_sent_to_a_chat_that_is_gone_and_nothing_is_lost(post: Post) -> None:
    post.set_gone(0, gone=True)
    post.put(Kind.ADVICE, "advice", 0)
    post.put(Kind.ADVICE, "other", 1)
    assert post.keys() == ["other"]
    with post.store.begin() as tx:
        assert not outbox.any_sendable(tx, BOT, EVERY, post.clock.now())
    assert post.next_at() is None
    post.set_gone(0, gone=False)
    assert post.next_at() == post.clock.now()
    assert post.keys() == ["advice"]


# Too late


def test_a_late_message_is_let_go_and_an_urgent_one_never_is(post: Post) -> None:
    for person, kind in enumerate((Kind.NUDGE, Kind.REPLY, Kind.ADVICE)):
        post.put(kind, kind.value, person)
    lifetime = POLICIES[Kind.NUDGE].lifetime
    assert lifetime is not None
    post.clock.move(seconds=lifetime.total_seconds() - 1)
    assert post.expire() == 0
    post.clock.move(seconds=1)
    assert post.expire() == 1
    assert post.row("nudge").state == State.EXPIRED
    post.clock.move(days=30)
    assert post.expire() == 1
    assert post.keys() == ["advice"]


def test_a_late_message_is_not_sent_before_the_sweep_either(post: Post) -> None:
    """After the machine slept the sender may be quicker than the sweep."""
    post.put(Kind.NUDGE, "nudge", expires_at=post.clock.now() + dt.timedelta(minutes=20))
    post.clock.move(minutes=20)
    with post.store.begin() as tx:
        assert not outbox.any_sendable(tx, BOT, BULK, post.clock.now())
    assert post.take() == []


def test_what_is_being_sent_does_not_expire(post: Post) -> None:
    post.put(Kind.NUDGE, "nudge")
    (taken,) = post.take()
    post.clock.move(hours=5)
    assert post.expire() == 0
    assert post.settle(taken)


# Settling


def test_only_the_holder_settles_and_only_once(post: Post) -> None:
    post.put(Kind.REPLY, "reply")
    (taken,) = post.take()
    assert not post.settle(taken, worker=TWO)
    assert post.row("reply").state == State.SENDING
    post.clock.move(seconds=2)
    assert post.settle(taken, message_id=812)
    assert not post.settle(taken, Fate(State.REFUSED))
    row = post.row("reply")
    assert (row.state, row.message_id, row.settled_at) == (State.SENT, 812, post.clock.now())
    assert (row.worker, row.lease_until, row.reason) == (None, None, None)
    with post.store.begin() as tx:
        assert outbox.sent_message(tx, "reply") == 812
        assert outbox.sent_message(tx, "unknown key") is None


def test_a_message_queued_again_is_tried_again_when_told(post: Post) -> None:
    post.put(Kind.REPLY, "reply")
    (taken,) = post.take()
    again_at = post.clock.now() + dt.timedelta(seconds=8)
    assert post.settle(taken, Fate(State.QUEUED, again_at), reason="no connection, " * 20)
    row = post.row("reply")
    assert (row.settled_at, len(row.reason)) == (None, 80)
    assert post.next_at() == again_at
    post.clock.set(again_at)
    (taken,) = post.take(worker=TWO)
    assert taken.attempt == 2
    assert not post.settle(taken)  # ONE held it once, which does not count any more
    assert post.settle(taken, worker=TWO)


def test_messages_whose_sender_died_are_found_when_their_lease_is_over(post: Post) -> None:
    post.put(Kind.NUDGE, "nudge", 0)
    post.put(Kind.ALERT, "alert", 1)
    taken = post.take()
    post.clock.move(seconds=LEASE.total_seconds() - 0.001)
    assert post.stranded() == []
    post.clock.move(seconds=0.001)
    assert sorted(post.stranded(), key=lambda lost: lost.kind) == [
        Stranded(taken[0].id, Kind.ALERT, 1, ONE),
        Stranded(taken[1].id, Kind.NUDGE, 1, ONE),
    ]
    assert post.settle(taken[1], Fate(State.UNKNOWN))
    assert [lost.kind for lost in post.stranded()] == [Kind.ALERT]


def test_with_one_writer_whatever_another_was_sending_is_stranded_at_once(post: Post) -> None:
    post.put(Kind.NUDGE, "nudge", 0)
    (taken,) = post.take()
    assert post.stranded(others_than=ONE) == []
    assert [lost.id for lost in post.stranded(others_than=TWO)] == [taken.id]


def test_two_sweeps_do_not_decide_on_the_same_message(postgresql_store: Store, clock: MovableClock) -> None:
    post = Post(postgresql_store, clock)
    post.put(Kind.ALERT, "alert")
    post.take()
    clock.move(minutes=2)
    with postgresql_store.begin() as tx:
        assert len(outbox.stranded(tx, BOT, clock.now())) == 1
        assert post.stranded() == []


def test_messages_are_counted_by_where_they_stand(post: Post) -> None:
    for person in range(3):
        post.put(Kind.REPLY, f"reply:{person}", person)
    assert post.settle(post.take(1)[0])
    post.take(1)
    with post.store.begin() as tx:
        assert outbox.counts(tx) == {"sent": 1, "sending": 1, "queued": 1}


def test_a_message_tells_whom_it_is_for(post: Post) -> None:
    with post.store.begin() as tx:
        now = post.clock.now()
        (anna,) = prepared.enrol(tx, now)
        chats.link(tx, chats.chat_of(tx, BOT, 7_001, now), Role.CLIENT, anna.id, now)
    post.put(Kind.REPLY, "hers", 0, owner_id=anna.id)
    post.put(Kind.REPLY, "a stranger's", 1)
    hers, other = post.take()
    with post.store.begin() as tx:
        assert outbox.recipient(tx, hers.id) == outbox.Recipient("hers", post.chats[0], Role.CLIENT, anna.id)
        assert outbox.recipient(tx, other.id).role is Role.STRANGER


# What does not open


def test_a_message_whose_key_is_destroyed_is_refused_and_holds_nobody_up(post: Post) -> None:
    with post.store.begin() as tx:
        (anna,) = prepared.enrol(tx, post.clock.now())
    post.put(Kind.NUDGE, "hers", 0, owner_id=anna.id)
    post.put(Kind.NUDGE, "another's", 1)
    with post.store.begin() as tx:
        tx.connection.execute(sa.delete(tables.data_key).where(tables.data_key.c.owner_id == anna.id))
    post.store.forget_keys()
    assert post.keys() == ["another's"]
    row = post.row("hers")
    assert (row.state, row.reason) == (State.REFUSED, "does not open")


def test_a_message_that_wrong_keys_do_not_open_waits_for_the_right_ones(
    fresh_database: Fresh, clock: MovableClock
) -> None:
    url = fresh_database(prepared.at_head)
    first, second = new_master_key(), new_master_key()
    prepared.open_store(url, clock.now(), first).close()
    right = Store(open_engine(read_url(url)), parse_master_keys(f"{second} {first}"))
    wrong = Store(open_engine(read_url(url)), parse_master_keys(first))
    post = Post(right, clock)
    with right.begin() as tx:
        (anna,) = prepared.enrol(tx, clock.now())
    post.put(Kind.ALERT, "alert", 0, owner_id=anna.id)
    with wrong.begin() as tx:
        assert outbox.take(tx, BOT, TWO, EVERY, 10, clock.now()) == []
    assert post.row("alert").state == State.QUEUED
    clock.move(minutes=1)
    assert post.keys() == ["alert"]
    right.close()
    wrong.close()


# The platform's pace


def test_a_second_has_so_many_permits_and_no_more(post: Post) -> None:
    post = fill(post, 80)
    assert post.permits(10) == 10  # asking alone uses none
    assert post.permits() == 30
    assert len(post.take(30, (Kind.ALERT,))) == 30
    assert post.permits() == 0
    post.clock.move(seconds=0.999)
    assert post.permits() == 0
    post.clock.move(seconds=0.001)
    assert post.permits() == 30


def fill(post: Post, people: int) -> Post:
    """An alert and a nudge for each of many people."""
    post = Post(post.store, post.clock, people)
    with post.store.begin() as tx:
        for person, chat_id in enumerate(post.chats):
            for kind in (Kind.ALERT, Kind.NUDGE):
                key = f"{kind.value}:{person}"
                outbox.put(tx, Letter(key, chat_id, None, kind, {"key": key}), post.clock.now())
    return post


def test_nudges_and_digests_leave_room_for_the_rest(post: Post) -> None:
    """24 of 30 a second for both together, less what the rest needed."""
    post = fill(post, 60)
    assert post.permits(bulk=True) == 24
    assert len(post.take(24, BULK)) == 24
    assert post.permits(bulk=True) == 0
    assert post.permits() == 6
    assert len(post.take(6, (Kind.ALERT,))) == 6
    assert post.permits() == 0
    post.clock.move(seconds=1)
    assert len(post.take(10, (Kind.ALERT,))) == 10
    assert post.permits(bulk=True) == 14
    assert len(post.take(14, BULK)) == 14
    assert post.permits() == 6


def test_each_bot_has_a_budget_of_its_own(post: Post) -> None:
    post = fill(post, 40)
    post.take(30, (Kind.ALERT,))
    assert post.permits() == 0
    assert post.permits(bot="4343") == 30


@pytest.mark.parametrize(
    ("rate", "bulk", "every"), [(1.0, 1, 1), (1.5, 1, 1), (10.0, 8, 10), (1000.0, 800, 1000)]
)
def test_slow_and_fast_bots_have_whole_permits(post: Post, rate: float, bulk: int, every: int) -> None:
    """A share below one a second still lets a nudge through, in a longer while."""
    with post.store.begin() as tx:
        now = post.clock.now()
        assert budget.permits(tx, BOT, rate, SHARE, True, 10_000, now) == bulk
        assert budget.permits(tx, BOT, rate, SHARE, False, 10_000, now) == every


def test_one_nudge_a_second_at_most_where_the_bot_sends_one_a_second(post: Post) -> None:
    """0.8 a second: one in 1.25 s."""
    post = fill(post, 3)

    def bulk() -> int:
        with post.store.begin() as tx:
            return budget.permits(tx, BOT, 1.0, SHARE, True, 10, post.clock.now()) or 0

    post.take(1, BULK)
    post.clock.move(seconds=1.249)
    assert bulk() == 0
    post.clock.move(seconds=0.001)
    assert bulk() == 1


def test_a_pause_the_platform_asked_for_stops_everything_until_its_end(post: Post) -> None:
    post.put(Kind.ADVICE, "advice")
    post.hold(seconds=17)
    assert (post.permits(), post.permits(bulk=True), post.permits(bot="4343")) == (0, 0, 30)
    assert post.next_at() == post.clock.now() + dt.timedelta(seconds=17)
    post.clock.move(seconds=16.9)
    assert post.permits() == 0
    post.clock.move(seconds=0.1)
    assert post.permits() == 30
    assert post.next_at() == post.clock.now() - dt.timedelta(seconds=17)


def test_a_shorter_pause_does_not_end_a_longer_one(post: Post) -> None:
    """Two messages were on their way; the answers name different pauses."""
    post.permits()
    post.hold(seconds=30)
    post.hold(seconds=5)
    post.clock.move(seconds=29)
    assert post.permits() == 0
    post.hold(seconds=30)
    post.clock.move(seconds=29)
    assert post.permits() == 0
    post.clock.move(seconds=1)
    assert post.permits() == 30


def test_the_whole_rate_can_be_used(post: Post) -> None:
    """30 a second, not a batch fewer, when there is more than enough to send."""
    post = Post(post.store, post.clock, 70)
    queue(post, Kind.ALERT, range(70))
    sent = 0
    for _ in range(30):
        with post.store.begin() as tx:
            free = budget.permits(tx, BOT, RATE, SHARE, False, 10, post.clock.now()) or 0
            taken = outbox.take(tx, BOT, ONE, (Kind.ALERT,), free, post.clock.now())
        sent += len(taken)
        assert all(post.settle(message) for message in taken)
        queue(post, Kind.ALERT, [post.chats.index(message.chat_id) for message in taken])
        post.clock.move(milliseconds=100)
    assert sent == 90


def queue(post: Post, kind: Kind, people: Iterable[int]) -> None:
    """A message of a kind for each of these, under a key of its own."""
    now = post.clock.now()
    with post.store.begin() as tx:
        for person in people:
            assert outbox.put(tx, Letter(uuid.uuid4().hex, post.chats[person], None, kind, {}), now)


class Window:
    """Counts what was taken in the last seconds of a time that only goes on, and knows the most there was."""

    def __init__(self, window_us: int) -> None:
        self._window_us = window_us
        self._taken: deque[tuple[int, int]] = deque()
        self._sum = 0
        self.most = 0

    def add(self, at_us: int, number: int) -> None:
        self._taken.append((at_us, number))
        self._sum += number
        while self._taken[0][0] <= at_us - self._window_us:
            self._sum -= self._taken.popleft()[1]
        self.most = max(self.most, self._sum)


STEPS_US = (0, 0, 1_000, 10_000, 33_333, 100_000, 250_000, 999_999, 1_000_000, 61_000_000)


def race(post: Post, seed: int, steps: int) -> None:
    """Workers take what they may while the clock creeps, leaps, and is set back now and then.

    Windows are measured in the time that went by: forward steps count, a step back takes nothing back.
    """
    chance = random.Random(seed)
    post = Post(post.store, post.clock, 50)
    every, bulk = ([Window(1_000_000), Window(60_000_000)] for _ in range(2))
    passed_us = 0
    waiting = {Kind.NUDGE: 0, Kind.ALERT: 0}
    for _ in range(steps):
        if chance.random() < 0.03:
            post.clock.move(microseconds=-chance.choice((400_000, 3_000_000, 3_600_000_000)))
            waiting = dict.fromkeys(waiting, 0)  # what waits is for a time that has yet to come again
            with post.store.begin() as tx:
                tx.connection.execute(sa.delete(tables.outbox).where(_OUTBOX.state == "queued"))
        step_us = chance.choice(STEPS_US)
        passed_us += step_us
        now = post.clock.move(microseconds=step_us)
        kind = chance.choice((Kind.NUDGE, Kind.ALERT))
        if waiting[kind] < 40:
            queue(post, kind, chance.sample(range(50), 40))
            waiting[kind] += 40
        with post.store.begin() as tx:
            worker, wanted = uuid.UUID(int=chance.randint(1, 4)), chance.randint(1, 40)
            free = budget.permits(tx, BOT, RATE, SHARE, POLICIES[kind].bulk, wanted, now) or 0
            taken = outbox.take(tx, BOT, worker, (kind,), free, now) if free else []
            assert all(outbox.settle(tx, one.id, worker, SENT, now) for one in taken)
        number = len(taken)
        waiting[kind] -= number
        for window in every:
            window.add(passed_us, number)
        for window in bulk:
            window.add(passed_us, number if POLICIES[kind].bulk else 0)
    assert every[0].most <= 30
    assert bulk[0].most <= 24
    assert every[1].most <= 1_800
    assert bulk[1].most <= 1_440
    assert every[0].most > 24  # the limits were reached
    assert bulk[0].most > 15
    # What was taken before the clock was set back counts as taken now, so a second on all is free again.
    post.permits()
    post.clock.move(seconds=2)
    assert post.permits() == 30


def test_no_second_and_no_minute_has_more_than_its_rate(post: Post) -> None:
    race(post, seed=5, steps=150)


@pytest.mark.slow
@pytest.mark.parametrize("seed", range(6))
def test_no_second_and_no_minute_has_more_than_its_rate_in_long_races(post: Post, seed: int) -> None:
    race(post, seed, steps=600)


# Several workers


def test_six_workers_take_every_message_once(store: Store, clock: MovableClock) -> None:
    """In order for each chat, one a chat at a time, no batch over its limit."""
    post = Post(store, clock, 60)
    with store.begin() as tx:
        for number in range(420):
            letter = Letter(f"{number}", post.chats[number % 60], None, Kind.ALERT, {"number": number})
            assert outbox.put(tx, letter, clock.now())
    batches: list[list[Taken]] = []
    lost: list[uuid.UUID] = []
    with posts(store, 6) as stores:

        def work(place: int) -> None:
            worker = uuid.UUID(int=place + 1)
            while True:
                with stores[place].begin() as tx:
                    taken = outbox.take(tx, BOT, worker, URGENT, 10, clock.now())
                    left = outbox.counts(tx).get("queued", 0)
                if not taken and not left:
                    return
                if taken:
                    batches.append(taken)
                with stores[place].begin() as tx:
                    lost.extend(
                        message.id
                        for message in taken
                        if not outbox.settle(tx, message.id, worker, SENT, clock.now())
                    )

        Crew(6).run(work)
    assert lost == []
    assert sorted(numbers(batches)) == list(range(420))
    assert max(map(len, batches)) == 10
    for batch in batches:
        assert len({taken.chat_id for taken in batch}) == len(batch)
    assert {row.state for row in rows(store)} == {"sent"}


def numbers(batches: Iterable[list[Taken]]) -> list[int]:
    return [taken.content["number"] for batch in batches for taken in batch]


def rows(store: Store) -> list[Any]:
    with store.begin() as tx:
        return list(tx.connection.execute(sa.select(tables.outbox)))


def test_six_workers_stay_within_the_rate_and_the_spacing(store: Store, clock: MovableClock) -> None:
    """All at the same instant, with both kinds: 30 in all, of which 24 nudges, one for each chat."""
    post = fill(Post(store, clock), 60)
    taken: list[Taken] = []
    with posts(store, 6) as stores:

        def work(place: int) -> None:
            kinds = BULK if place % 2 else URGENT
            for _ in range(8):
                with stores[place].begin() as tx:
                    now = clock.now()
                    free = budget.permits(tx, BOT, RATE, SHARE, kinds is BULK, 10, now) or 0
                    if free:
                        taken.extend(outbox.take(tx, BOT, uuid.UUID(int=place + 1), kinds, free, now))

        Crew(6).run(work)
    assert len(taken) == 30
    assert len([one for one in taken if one.kind is Kind.NUDGE]) <= 24
    nudged = [one.chat_id for one in taken if one.kind is Kind.NUDGE]
    assert len(set(nudged)) == len(nudged)
    assert post.permits() == 0


# Cost


def test_no_query_reads_the_whole_outbox(post: Post) -> None:
    """The outbox keeps what was sent; what is done every second must not grow with it."""
    post = fill(post, 250)
    with post.store.begin() as tx:
        old = post.clock.now() - dt.timedelta(days=1)
        tx.connection.execute(sa.update(tables.outbox).values(state="sent", taken_at=old))
        for person, chat_id in enumerate(post.chats[:60]):
            outbox.put(tx, Letter(f"new:{person}", chat_id, None, Kind.NUDGE, {}), post.clock.now())
    with plans.watched(post.store) as seen:
        post.permits(bulk=True)
        with post.store.begin() as tx:
            outbox.any_sendable(tx, BOT, URGENT, post.clock.now())
            outbox.sent_message(tx, "new:1")
        for taken in post.take(10, BULK):
            post.settle(taken)
        post.stranded()
        post.expire()
        post.next_at()
    assert plans.read_whole(post.store, seen, "outbox", "on_the_way") == []


def test_a_burst_the_planner_has_not_heard_of_costs_no_more(
    postgresql_store: Store, clock: MovableClock
) -> None:
    """Its figures are from a quiet hour, when hardly anything was queued; now it is nine o'clock."""
    post = fill(Post(postgresql_store, clock), 40)
    with postgresql_store.begin() as tx:
        tx.connection.execute(sa.update(tables.outbox).values(state="sent"))
        tx.connection.exec_driver_sql("ANALYZE")
    post = Post(postgresql_store, clock, 600)
    queue(post, Kind.NUDGE, range(600))
    with plans.watched(postgresql_store) as seen:
        batch = post.take(10, BULK)
    assert [post.settle(taken) for taken in batch] == [True] * 10
    for statement in seen:
        with postgresql_store.begin() as tx:
            # The small table of chats may rightly be read whole.
            assert plans.rows_visited(tx, statement, "outbox", "on_the_way") < 300, statement[0]


def test_taking_looks_up_chats_once_for_a_batch(post: Post) -> None:
    counts = []
    post = fill(post, 40)
    for limit in (1, 20):
        with plans.watched(post.store) as seen:
            assert len(post.take(limit, (Kind.ALERT,))) == limit
        counts.append(len(seen))
    assert counts[0] == counts[1]
