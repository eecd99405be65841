"""A chat room for a module, and the library's client as the service makes it."""

import asyncio
from collections.abc import Callable, Coroutine, Iterator
from pathlib import Path
from typing import Any, TypeVar

import pytest
from telegram import Bot

from bot.transport import bots
from demo.room_client import RoomClient, start_room

T = TypeVar("T")
Run = Callable[[Coroutine[Any, Any, T]], T]

START = "2026-03-02T09:00:00Z"  # a Monday
FIRST_UPDATE = 2_000_000_000  # above every number the room may take after a silent week


@pytest.fixture(scope="module")
def record_file(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return tmp_path_factory.mktemp("room") / "record.jsonl"


@pytest.fixture(scope="module")
def module_room(record_file: Path) -> Iterator[RoomClient]:
    """One process for the module: starting it costs half a second."""
    options = ("--first-update-id", str(FIRST_UPDATE))
    with start_room(frozen=True, at=START, record=record_file, no_limits=True, options=options) as room:
        yield room


@pytest.fixture
def room(module_room: RoomClient) -> RoomClient:
    """A room with a standing clock in which nothing waits: two days later, and no faults ordered."""
    module_room.clear_faults()
    module_room.move(by_s=2 * 86_400)
    return module_room


@pytest.fixture(scope="module")
def runner() -> Iterator[asyncio.Runner]:
    with asyncio.Runner() as runner:
        yield runner


@pytest.fixture(scope="module")
def run(runner: asyncio.Runner) -> Run[Any]:
    """Waits for a coroutine and answers its result."""
    return runner.run


@pytest.fixture(scope="module")
def bot(module_room: RoomClient, run: Run[None]) -> Iterator[Bot]:
    """A client as the service makes it."""
    bot = bots.make_bot(module_room.token, module_room.url)
    run(bots.greet(bot))
    yield bot
    run(bot.shutdown())


@pytest.fixture
def orla(room: RoomClient) -> int:
    """Somebody who has pressed Start."""
    person = room.person("Orla")
    room.start(person)
    return person
