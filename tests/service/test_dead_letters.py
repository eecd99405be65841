"""Dead letters: shown without their words, queued again with their tries begun anew, nudges never."""

import datetime as dt
import uuid
from collections.abc import Iterator
from dataclasses import dataclass

import pytest

from bot.domain.delivery import Fate, Kind, State
from bot.errors import RefusedError
from bot.service import dead_letters
from bot.service.accept import Received
from bot.store import chats, inbox, outbox
from bot.store.base import Store
from bot.store.outbox import Letter
from tests.fixtures.clock import MovableClock
from tests.fixtures.databases import Fresh
from tests.store import prepared
from tests.store.prepared import BOT

WORKER = uuid.UUID(int=1)


@dataclass
class Letters:
    store: Store
    clock: MovableClock

    def end(self, kind: Kind, state: State, chat: int = 7_000) -> uuid.UUID:
        """A message that was tried once and ended so."""
        now = self.clock.now()
        with self.store.begin() as tx:
            found = chats.chat_of(tx, BOT, chat, now)
            outbox.put(tx, Letter(uuid.uuid4().hex, found.id, None, kind, {"words": "a bit sore"}), now)
        with self.store.begin() as tx:
            (taken,) = outbox.take(tx, BOT, WORKER, (kind,), 1, now)
            assert outbox.settle(tx, taken.id, WORKER, Fate(state), now, reason="bad request")
        self.clock.move(seconds=2)
        return taken.id

    def again(self, *ids: uuid.UUID) -> None:
        dead_letters.send_again(self.store.begin, self.clock, ids)

    def ids(self) -> list[uuid.UUID]:
        return [letter.id for letter in dead_letters.listed(self.store.begin, 50)]


@pytest.fixture
def letters(fresh_database: Fresh, clock: MovableClock) -> Iterator[Letters]:
    store = prepared.open_store(fresh_database(prepared.at_head), clock.now())
    yield Letters(store, clock)
    store.close()


def test_what_ended_badly_is_listed_and_nothing_else(letters: Letters) -> None:
    refused = letters.end(Kind.REPLY, State.REFUSED)
    letters.end(Kind.REPLY, State.SENT)
    unknown = letters.end(Kind.NUDGE, State.UNKNOWN)
    letters.end(Kind.TOUCH, State.UNKNOWN)  # a spinner that turned a little longer is no letter
    assert letters.ids() == [refused, unknown]
    assert "sore" not in repr(dead_letters.listed(letters.store.begin, 50))


def test_one_that_is_sent_again_goes_out_once_more(letters: Letters) -> None:
    refused = letters.end(Kind.REPLY, State.REFUSED)
    letters.clock.move(days=3)
    letters.again(refused)
    assert letters.ids() == []
    with letters.store.begin() as tx:
        outbox.expire(tx, BOT, letters.clock.now() + dt.timedelta(hours=23))
        (taken,) = outbox.take(tx, BOT, WORKER, (Kind.REPLY,), 10, letters.clock.now())
    assert (taken.id, taken.attempt) == (refused, 1)


def test_a_nudge_is_never_sent_again_and_then_nothing_is(letters: Letters) -> None:
    refused, nudge = letters.end(Kind.ALERT, State.REFUSED), letters.end(Kind.NUDGE, State.UNKNOWN)
    with pytest.raises(RefusedError, match="sent once at most"):
        letters.again(refused, nudge)
    assert letters.ids() == [refused, nudge]


def test_what_is_no_dead_letter_is_refused(letters: Letters) -> None:
    sent = letters.end(Kind.REPLY, State.SENT)
    with pytest.raises(RefusedError, match="expected a dead letter"):
        letters.again(sent)
    with pytest.raises(RefusedError, match="no dead letter has this id"):
        letters.again(uuid.uuid4())


def test_an_update_that_was_set_aside_is_shown_and_can_be_tried_again(letters: Letters) -> None:
    now = letters.clock.now()
    with letters.store.begin() as tx:
        inbox.accept(tx, BOT, [Received(5, 7_000, b"{}")], now)
        stored = prepared.claim(tx, BOT, WORKER, now)
        assert stored is not None
        assert inbox.settle(tx, stored.id, WORKER, "set_aside", now)
    (shown,) = dead_letters.listed(letters.store.begin, 50)
    assert (shown.id, shown.kind, shown.state) == (stored.id, "update", "set_aside")
    letters.again(stored.id)
    assert letters.ids() == []
    with letters.store.begin() as tx:
        claimed = prepared.claim(tx, BOT, WORKER, now)
    assert claimed is not None
    assert (claimed.id, claimed.tries) == (stored.id, 1)
