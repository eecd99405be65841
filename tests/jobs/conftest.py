"""An office with a real database, and a running service whose sending is in the test's hands."""

import asyncio
import json
import uuid
from collections.abc import Iterator
from contextlib import ExitStack
from dataclasses import dataclass, field, replace
from typing import Any

import pytest

from bot.conversation.speech import Say, to_json
from bot.domain.delivery import Kind, Result, Sent, State
from bot.domain.warning_signs import SignRules
from bot.jobs.running import Running
from bot.rules import signs
from bot.service.accept import Received
from bot.service.deliver import Outgoing
from bot.service.files import NotFetched
from bot.service.office import Office
from bot.store import chats, outbox, tables
from bot.store.base import Store
from bot.store.outbox import Letter
from bot.transport.parse import parse, sender_of
from tests.fixtures import offices
from tests.fixtures.clock import MovableClock
from tests.fixtures.databases import Fresh
from tests.store import prepared

BOT = "4200001"
ORLA = 5_000_000_001


@dataclass
class Post:
    """The way to the platform. With `gate` closed messages stay on their way; `hangs` never arrive."""

    gate: asyncio.Event | None = None
    hangs: set[int] = field(default_factory=set)
    result: Result | None = None
    error: Exception | None = None
    begun: list[Outgoing] = field(default_factory=list)
    arrived: list[Outgoing] = field(default_factory=list)
    most_at_once: int = 0

    @property
    def on_the_way(self) -> int:
        """How many messages are on their way."""
        return len(self.begun) - len(self.arrived)

    async def send(self, out: Outgoing) -> Result:
        """Take a message."""
        self.begun.append(out)
        self.most_at_once = max(self.most_at_once, self.on_the_way)
        if out.chat in self.hangs:
            await asyncio.Event().wait()
        if self.gate is not None:
            await self.gate.wait()
        else:
            await asyncio.sleep(0)
        self.arrived.append(out)
        if self.error is not None:
            raise self.error
        return self.result or Sent(len(self.arrived))


@dataclass
class House:
    """A service's parts, and what a test does from outside."""

    store: Store
    clock: MovableClock
    office: Office
    post: Post
    stack: ExitStack

    def running(self, **more: Any) -> Running:
        """A running service on this database; `more` replaces parts of the office."""
        service = Running(replace(self.office, **more), self.post.send, nothing_fetched, parse, rate=30.0)
        self.stack.callback(service.close)
        return service

    def put(self, chat: int, kind: Kind = Kind.REPLY, times: int = 1) -> None:
        """Messages for a chat, ready to go."""
        now = self.clock.now()
        with self.store.begin() as tx:
            found = chats.chat_of(tx, BOT, chat, now)
            for _ in range(times):
                content = to_json(Say("stranger"))
                outbox.put(tx, Letter(uuid.uuid4().hex, found.id, None, kind, content), now)

    def states(self) -> dict[State, int]:
        """How many messages stand in each state."""
        with self.store.begin() as tx:
            return {State(state): count for state, count in outbox.counts(tx).items()}

    def inbox_states(self) -> list[str]:
        """The state of every update, by number."""
        with self.store.begin() as tx:
            table = tables.inbox
            rows = tx.connection.execute(table.select().order_by(table.c.update_id))
            return [row.state for row in rows]


def update(number: int, text: str = "hello", sender: int = ORLA) -> Received:
    """A text somebody sent."""
    person = {"id": sender, "is_bot": False, "first_name": "Orla"}
    message = {
        "message_id": number,
        "from": person,
        "chat": {"id": sender, "type": "private"},
        "date": 1_772_438_400,
        "text": text,
    }
    document = {"update_id": number, "message": message}
    return Received(number, sender_of(document), json.dumps(document).encode())


async def nothing_fetched(file_id: str, most_bytes: int) -> NotFetched:
    """No file can be fetched here."""
    del file_id, most_bytes
    return NotFetched(final=True)


@pytest.fixture(scope="session")
def rules() -> SignRules:
    return signs.load()


def _house(url: str, clock: MovableClock, rules: SignRules, stack: ExitStack) -> House:
    store = prepared.open_store(url, clock.now())
    office = offices.make(store, clock, rules=rules, bot=BOT)
    return House(store, clock, office, Post(), stack)


@pytest.fixture
def house(fresh_sqlite: Fresh, clock: MovableClock, rules: SignRules) -> Iterator[House]:
    """A house on SQLite."""
    with ExitStack() as stack:
        made = _house(fresh_sqlite(prepared.at_head), clock, rules, stack)
        yield made
        stack.close()
        made.store.close()


@pytest.fixture
def either_house(fresh_database: Fresh, clock: MovableClock, rules: SignRules) -> Iterator[House]:
    """A house on SQLite, then on PostgreSQL with several threads at work."""
    with ExitStack() as stack:
        made = _house(fresh_database(prepared.at_head), clock, rules, stack)
        yield made
        stack.close()
        made.store.close()
