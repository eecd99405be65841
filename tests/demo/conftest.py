"""A chat room for all tests here, and the bot library's own client talking to it over HTTP."""

import asyncio
import datetime as dt
from collections.abc import Iterator
from pathlib import Path

import pytest
import telegram

from demo.room_client import RoomClient, start_room
from tests.demo.running import Run

START = "2026-03-02T09:00:00Z"  # a Monday


@pytest.fixture(scope="session")
def record_file(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return tmp_path_factory.mktemp("room") / "record.jsonl"


@pytest.fixture(scope="session")
def shared_room(record_file: Path) -> Iterator[RoomClient]:
    """One process for all tests: starting it costs half a second."""
    with start_room(frozen=True, at=START, record=record_file) as room:
        yield room


@pytest.fixture
def room(shared_room: RoomClient) -> RoomClient:
    """A room with a standing clock in which nothing waits: two days later, limits full, no faults ordered."""
    shared_room.clear_faults()
    shared_room.set_driver("")
    shared_room.move(to=shared_room.now().replace(microsecond=0) + dt.timedelta(days=2))
    return shared_room


@pytest.fixture(scope="session")
def runner() -> Iterator[asyncio.Runner]:
    with asyncio.Runner() as runner:
        yield runner


@pytest.fixture(scope="session")
def run(runner: asyncio.Runner) -> Run:
    """Waits for a coroutine of the bot library."""
    return runner.run


@pytest.fixture(scope="session")
def shared_bot(shared_room: RoomClient, run: Run) -> Iterator[telegram.Bot]:
    bot = telegram.Bot(
        shared_room.token, base_url=shared_room.bot_url, base_file_url=shared_room.bot_file_url
    )
    run(bot.initialize())
    yield bot
    run(bot.shutdown())


@pytest.fixture
def bot(shared_bot: telegram.Bot, room: RoomClient) -> telegram.Bot:
    """The library's client in a quiet room."""
    del room
    return shared_bot


@pytest.fixture
def orla(room: RoomClient, bot: telegram.Bot, run: Run) -> int:
    """Somebody who has pressed Start, which the bot has heard already."""
    person = room.person("Orla")
    room.start(person)
    (heard,) = run(bot.get_updates())
    run(bot.get_updates(offset=heard.update_id + 1))
    return person
