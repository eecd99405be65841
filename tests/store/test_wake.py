"""Workers on one PostgreSQL database hear of each other's work once it is committed."""

import threading
import uuid

from bot.domain.delivery import Kind
from bot.service.accept import Received
from bot.store import chats, inbox, outbox, wake
from bot.store.base import read_url
from bot.store.outbox import Letter
from tests.fixtures.clock import MovableClock
from tests.fixtures.databases import Fresh
from tests.store import prepared
from tests.store.prepared import BOT

WITHIN_S = 20


def test_another_worker_is_woken_by_what_is_stored(fresh_postgresql: Fresh, clock: MovableClock) -> None:
    url = fresh_postgresql(prepared.at_head)
    store = prepared.open_store(url, clock.now())
    heard: dict[str, threading.Event] = {wake.INBOX: threading.Event(), wake.OUTBOX: threading.Event()}
    stop = threading.Event()
    listener = threading.Thread(
        target=wake.listen, args=(read_url(url), lambda name: heard[name].set(), stop)
    )
    listener.start()
    try:
        for event in heard.values():  # told once at the start, for what came while nobody listened
            assert event.wait(WITHIN_S)
            event.clear()
        with store.begin() as tx:
            inbox.accept(tx, BOT, [Received(5, 7_000, b"5")], clock.now())
            assert not heard[wake.INBOX].wait(0.2)  # not before the commit
        assert heard[wake.INBOX].wait(WITHIN_S)
        with store.begin() as tx:
            chat = chats.chat_of(tx, BOT, 7_000, clock.now())
            outbox.put(tx, Letter(uuid.uuid4().hex, chat.id, None, Kind.NUDGE, {}), clock.now())
        assert not heard[wake.OUTBOX].wait(0.2)  # a nudge hurries nobody
        with store.begin() as tx:
            outbox.put(tx, Letter(uuid.uuid4().hex, chat.id, None, Kind.ALERT, {}), clock.now())
        assert heard[wake.OUTBOX].wait(WITHIN_S)
    finally:
        stop.set()
        listener.join(WITHIN_S)
        store.close()
    assert not listener.is_alive()
