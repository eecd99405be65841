"""A chat room for a module, and the bot library's own client talking to it over HTTP."""

import asyncio
from collections.abc import Iterator
from pathlib import Path

import pytest
import telegram

from demo.room_client import RoomClient, start_room
from tests.demo.running import Run

START = "2026-03-02T09:00:00Z"  # a Monday


@pytest.fixture(scope="module")
def record_file(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return tmp_path_factory.mktemp("room") / "record.jsonl"


@pytest.fixture(scope="module")
def module_room(record_file: Path) -> Iterator[RoomClient]:
    """One process for the module: starting it costs half a second."""
    with start_room(frozen=True, at=START, record=record_file) as room:
        yield room


@pytest.fixture
def room(module_room: RoomClient) -> RoomClient:
    """A room with a standing clock in which nothing waits: two days later, limits full, no faults ordered."""
    module_room.clear_faults()
    module_room.set_driver("")
    module_room.move(by_s=2 * 86_400)
    return module_room


@pytest.fixture(scope="module")
def runner() -> Iterator[asyncio.Runner]:
    with asyncio.Runner() as runner:
        yield runner


@pytest.fixture(scope="module")
def run(runner: asyncio.Runner) -> Run:
    """Waits for a coroutine of the bot library."""
    return runner.run


@pytest.fixture(scope="module")
def module_bot(module_room: RoomClient, run: Run) -> Iterator[telegram.Bot]:
    bot = telegram.Bot(
        module_room.token, base_url=module_room.bot_url, base_file_url=module_room.bot_file_url
    )
    run(bot.initialize())
    yield bot
    run(bot.shutdown())


@pytest.fixture
def bot(module_bot: telegram.Bot, room: RoomClient) -> telegram.Bot:
    """The library's client in a quiet room."""
    del room
    return module_bot


@pytest.fixture
def orla(room: RoomClient, bot: telegram.Bot, run: Run) -> int:
    """Somebody who has pressed Start, which the bot has heard already."""
    person = room.person("Orla")
    room.start(person)
    (heard,) = run(bot.get_updates())
    run(bot.get_updates(offset=heard.update_id + 1))
    return person
