"""`serve` as its own process against the chat room: it starts in order, stops in order, refuses in a line."""

import asyncio
import json
import os
import signal
import socket
import sqlite3
import subprocess
import sys
import time
from collections.abc import Callable, Iterator
from contextlib import ExitStack
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import httpx
import pytest

from bot import serve, settings
from bot.clock import SystemClock
from bot.errors import RefusedError
from bot.jobs.running import Running
from demo import cast
from demo.room_client import RoomClient, read_record, start_room
from tests.store import prepared
from tests.transport.scripted import answering, ok
from tests.transport.scripted import refusal as refused

CHECKOUT = Path(__file__).resolve().parents[1]
SECRET = "a-long-made-up-secret_1"  # noqa: S105 - made up for these tests
WITHIN_S = 20.0


def until(holds: Callable[[], object]) -> None:
    """Return once it holds; the question itself takes its time."""
    end_s = time.monotonic() + WITHIN_S
    while not holds():
        assert time.monotonic() < end_s
        time.sleep(0.01)


@dataclass
class Service:
    """A service's process and the file its log goes to."""

    process: subprocess.Popen[str]
    log: Path

    def lines(self) -> list[dict[str, Any]]:
        """What it has logged: every line is JSON."""
        return [json.loads(line) for line in self.log.read_text(encoding="utf-8").splitlines()]

    def wait_for(self, event: str) -> dict[str, Any]:
        """The first line with an event, once it is there."""
        until(lambda: any(line["event"] == event for line in self.lines()) or self.process.poll() is not None)
        return next(line for line in self.lines() if line["event"] == event)

    def stop(self, number: int = signal.SIGTERM) -> float:
        """Send a signal and wait for the end, which has to be a good one; answers how long that took."""
        began_s = time.monotonic()
        self.process.send_signal(number)
        assert self.process.wait(WITHIN_S) == 0
        return time.monotonic() - began_s


@dataclass
class Place:
    """A folder with a database and a key, and a room."""

    folder: Path
    room: RoomClient
    stack: ExitStack

    def serve(self, **more: str) -> Service:
        """Start `serve`; it is killed at the end, should it still run."""
        kept = {name: value for name, value in os.environ.items() if name in {"PATH", "LANG"}}
        given = {**cast.bot_environment(self.folder, self.room.url), "LOG_LEVEL": "debug", **more}
        log = self.folder / f"log-{len(list(self.folder.iterdir()))}"
        with log.open("w", encoding="utf-8") as out:
            process = subprocess.Popen(
                [sys.executable, "-m", "bot", "serve"],
                cwd=CHECKOUT,
                env={**kept, "HOME": str(self.folder), **given},
                stdout=out,
                stderr=out,
                text=True,
            )
        self.stack.callback(process.wait)
        self.stack.callback(process.kill)
        return Service(process, log)

    def fates(self) -> list[str]:
        """The state of every message, read beside the service."""
        with sqlite3.connect(self.folder / "programme.sqlite3") as connection:
            return [row[0] for row in connection.execute("SELECT state FROM outbox ORDER BY id")]

    def record(self, what: str) -> list[dict[str, Any]]:
        """Lines of the room's record."""
        return [line for line in read_record(self.folder / "record.jsonl") if line["what"] == what]


@pytest.fixture
def place(tmp_path: Path) -> Iterator[Place]:
    prepared.at_head(f"sqlite:///{tmp_path / 'programme.sqlite3'}")
    with ExitStack() as stack:
        room = stack.enter_context(start_room(record=tmp_path / "record.jsonl", no_limits=True))
        yield Place(tmp_path, room, stack)


@pytest.fixture
def port() -> int:
    """A port that nobody listens on."""
    with socket.create_server(("127.0.0.1", 0)) as free:
        return int(free.getsockname()[1])


def test_it_answers_and_on_a_signal_finishes_what_is_on_its_way(place: Place) -> None:
    room = place.room
    service = place.serve()
    assert service.wait_for("ready")["mode"] == "polling"
    orla = room.person("Orla")
    room.start(orla)
    room.wait_for(orla, lambda shown: bool(shown.text), WITHIN_S)

    second = place.serve()
    assert second.process.wait(WITHIN_S) == 2
    assert "one at a time on SQLite" in second.log.read_text(encoding="utf-8")

    room.fault("sendMessage", "slow", seconds=1.5)
    room.say(orla, "hello")
    until(lambda: place.fates().count("sending") == 1)
    assert service.stop() < 10
    assert len(room.from_bot(orla)) == 2
    assert place.fates() == ["sent", "sent"]
    assert [line["fate"] for line in place.record("update-end")] == ["confirmed"] * len(
        {line["update_id"] for line in place.record("update-end")}
    )
    ends = [(line["event"], line.get("signal")) for line in service.lines()][-2:]
    assert ends == [("stopping", "SIGTERM"), ("stopped", None)]
    assert "Orla" not in service.log.read_text(encoding="utf-8")


def test_a_webhook_from_end_to_end(place: Place, port: int) -> None:
    room, face = place.room, f"http://127.0.0.1:{port}"
    service = place.serve(
        WEBHOOK_URL=f"{face}/updates", WEBHOOK_SECRET=SECRET, LISTEN=f"127.0.0.1:{port}", LOG_LEVEL="info"
    )
    assert service.wait_for("ready")["mode"] == "webhook"
    assert httpx.get(f"{face}/health/live", trust_env=False).text == "alive\n"
    assert httpx.get(f"{face}/health/ready", trust_env=False).text == "ready\n"
    orla = room.person("Orla")
    room.start(orla)
    room.wait_for(orla, lambda shown: bool(shown.text), WITHIN_S)
    assert {line["how"] for line in place.record("update")} == {"webhook"}
    forged = httpx.post(f"{face}/updates", json={"update_id": 1}, trust_env=False)
    assert forged.status_code == 403
    assert service.stop(signal.SIGINT) < 10
    assert service.lines()[-1]["event"] == "stopped"


def test_while_the_platform_is_away_it_is_alive_not_ready_and_can_be_stopped(place: Place, port: int) -> None:
    with socket.create_server(("127.0.0.1", 0)) as free:
        nowhere = f"http://127.0.0.1:{free.getsockname()[1]}"
    service = place.serve(BOT_API_URL=nowhere, LISTEN=f"127.0.0.1:{port}")
    assert service.wait_for("platform_unreachable")["error"] == "NetworkError"
    assert httpx.get(f"http://127.0.0.1:{port}/health/live", trust_env=False).status_code == 200
    ready = httpx.get(f"http://127.0.0.1:{port}/health/ready", trust_env=False)
    assert (ready.status_code, ready.text) == (503, "platform: not reached yet\n")
    assert service.stop() < 5
    assert service.lines()[-1]["event"] == "stopped"


# In this process, to be quick; that a refusal ends a command with 2 and its lines, the settings' tests show.


def known(place: Place, monkeypatch: pytest.MonkeyPatch, **given: str) -> settings.ServeSettings:
    """The settings of a start in this process."""
    for name, value in {**cast.bot_environment(place.folder, place.room.url), **given}.items():
        monkeypatch.setenv(name, value)
    return settings.read(settings.ServeSettings)


def refusal(place: Place, monkeypatch: pytest.MonkeyPatch, **given: str) -> str:
    """The line that a start with these settings ends in."""
    read = known(place, monkeypatch, **given)
    with pytest.raises(RefusedError) as caught:
        asyncio.run(serve.serve(read, serve.Wiring(SystemClock())))
    (line,) = caught.value.faults
    return line


def test_only_the_service_moves_the_log_into_the_file(place: Place, monkeypatch: pytest.MonkeyPatch) -> None:
    for told, pages in (({}, 0), ({"checkpoints": True}, 1000)):
        store = serve.open_store(known(place, monkeypatch), SystemClock(), **told)
        with store.begin() as tx:
            assert tx.connection.exec_driver_sql("PRAGMA wal_autocheckpoint").scalar() == pages
        store.close()


def test_a_token_the_platform_refuses(place: Place, monkeypatch: pytest.MonkeyPatch) -> None:
    line = refusal(place, monkeypatch, BOT_TOKEN="4200001:revoked-long-ago")  # noqa: S106 - made up
    assert line == "BOT_TOKEN: the platform refuses it; get a new one and start again"


def test_an_address_that_is_taken(place: Place, monkeypatch: pytest.MonkeyPatch) -> None:
    with socket.create_server(("127.0.0.1", 0)) as taken:
        line = refusal(place, monkeypatch, LISTEN=f"127.0.0.1:{taken.getsockname()[1]}")
    assert line == "LISTEN: the address cannot be used (Address already in use)"


def test_a_webhook_the_platform_does_not_take(
    place: Place, monkeypatch: pytest.MonkeyPatch, port: int
) -> None:
    url = "https://bot.example.org/updates"
    line = refusal(place, monkeypatch, WEBHOOK_URL=url, WEBHOOK_SECRET=SECRET, LISTEN=f"127.0.0.1:{port}")
    why = "Bad webhook: the local room delivers to this machine only"
    assert line == f"WEBHOOK_URL: the platform does not take it ({why})"


def test_a_token_that_dies_later_ends_the_service(place: Place, monkeypatch: pytest.MonkeyPatch) -> None:
    me = {"id": 4_200_001, "is_bot": True, "first_name": "Home programme", "username": "home_bot"}

    async def scene() -> None:
        async with answering([ok(me), ok(True), refused(401, "Unauthorized")]) as platform:
            read = known(place, monkeypatch, BOT_API_URL=platform.url)
            await serve.serve(read, serve.Wiring(SystemClock()))

    with pytest.raises(RefusedError, match=r"^BOT_TOKEN: the platform refuses it"):
        asyncio.run(scene())


def test_a_part_that_fails_ends_the_service_in_order(place: Place, monkeypatch: pytest.MonkeyPatch) -> None:
    class PartError(Exception):
        pass

    async def companion(running: Running) -> None:
        assert not running.stopping.is_set()
        raise PartError

    with pytest.raises(PartError):
        asyncio.run(serve.serve(known(place, monkeypatch), serve.Wiring(SystemClock(), companion)))
    # The file is free again.
    with pytest.raises(PartError):
        asyncio.run(serve.serve(known(place, monkeypatch), serve.Wiring(SystemClock(), companion)))
