"""A clinic in the chat room: the bot as its own process, real HTTP, a real database, a clock that we move."""

import datetime as dt
import sqlite3
from collections.abc import Callable, Iterator, Sequence
from contextlib import ExitStack
from dataclasses import dataclass, field
from pathlib import Path

import pytest

from bot.store.base import Store
from demo import cast
from demo.room_client import RoomClient, Shown, start_room

MONDAY = dt.datetime(2026, 3, 2, 7, 0, tzinfo=dt.UTC)
BOT = ("-m", "demo.bot")


@dataclass
class Scene:
    """One clinic with its therapist and fallback contact in the room."""

    room: RoomClient
    store: Store
    folder: Path
    environment: dict[str, str]
    clinic: cast.Clinic
    stop_bot: Callable[[], None]
    clients: dict[str, int] = field(default_factory=dict)

    def enrol(self, code: str = "K1", name: str = "Aoife") -> int:
        """A client who has been through consent and her local time."""
        invited = self.clinic.add_client(self.prescription(code))
        self.clients[code] = self.clinic.enrol(invited, name)
        return self.clients[code]

    def prescription(self, code: str) -> Path:
        """The demo's first prescription, for a client of another code."""
        text = (cast.PRESCRIPTIONS / "K1.toml").read_text(encoding="utf-8")
        file = self.folder / f"{code}.toml"
        file.write_text(text.replace('client = "K1"', f'client = "{code}"'), encoding="utf-8")
        return file

    def texts(self, person: int) -> list[str]:
        """Everything the bot has said to somebody, oldest first."""
        return [shown.text for shown in self.room.from_bot(person)]

    def last(self, person: int) -> str:
        """The newest thing the bot has said to somebody."""
        return self.texts(person)[-1]

    def after(self, person: int, act: Callable[[], object]) -> list[Shown]:
        """What the bot says to somebody because of an act."""
        before = len(self.room.from_bot(person))
        act()
        return self.room.from_bot(person)[before:]

    def said(self, person: int, text: str) -> list[str]:
        """The bot's answers to a text."""
        return [shown.text for shown in self.after(person, lambda: self.room.say(person, text))]

    def sql(self, query: str) -> list[tuple[object, ...]]:
        """Rows of the database, read beside the bot."""
        with sqlite3.connect(self.folder / "programme.sqlite3") as connection:
            return connection.execute(query).fetchall()


@pytest.fixture
def open_scene(tmp_path: Path) -> Iterator[Callable[..., Scene]]:
    """Opens a scene, with a start-up file of the test's own where it brings one."""
    with ExitStack() as stack:

        def make(at: dt.datetime = MONDAY, command: Sequence[str] = BOT) -> Scene:
            room = stack.enter_context(start_room(frozen=True, at=at, record=tmp_path / "record.jsonl"))
            environment = cast.bot_environment(tmp_path, room.url)
            store = cast.open_store(environment)
            stack.callback(store.close)
            running = ExitStack()
            stack.push(running)
            running.enter_context(cast.running_bot(environment, room.url, command))
            clinic = cast.Clinic(store, room)
            clinic.open()
            return Scene(room, store, tmp_path, environment, clinic, running.close)

        yield make


@pytest.fixture
def scene(open_scene: Callable[..., Scene]) -> Scene:
    """A clinic on a Monday morning, before the first nudge."""
    return open_scene()
