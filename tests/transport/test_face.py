"""The HTTP face: health, and the webhook that answers 200 only after the commit."""

import asyncio
import json
import socket
from collections.abc import AsyncIterator, Callable, Sequence
from contextlib import asynccontextmanager
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

import httpx
import pytest
from starlette.applications import Starlette
from telegram import Bot

from bot.errors import RefusedError
from bot.service.accept import Received
from bot.transport import bots, face
from bot.transport.poll import KINDS
from demo.room_client import RoomClient, read_record
from tests.fixtures.waiting import until
from tests.transport.conftest import Run

SECRET = "a-long-made-up-secret_1"  # noqa: S105 - made up for these tests
HEADER = "X-Telegram-Bot-Api-Secret-Token"
UPDATE = {"update_id": 5, "message": {"text": "2 and a bit sore", "from": {"id": 9}}}


@dataclass
class Inbox:
    """Takes updates; `error` is what keeps them from being stored, `gate` holds the commit back."""

    error: Exception | None = None
    gate: asyncio.Event | None = None
    stored: list[Received] = field(default_factory=list)

    async def accept(self, batch: list[Received]) -> None:
        """Store a batch."""
        if self.gate is not None:
            await self.gate.wait()
        if self.error is not None:
            raise self.error
        self.stored += batch


def ready_when(*amiss: str) -> Callable[[], Any]:
    """A readiness that tells these lines."""

    async def ready() -> list[str]:
        return list(amiss)

    return ready


def ask(app: Starlette, method: str, path: str, **more: Any) -> httpx.Response:
    """One request, answered in this process."""

    async def asked() -> httpx.Response:
        transport = httpx.ASGITransport(app, raise_app_exceptions=False)
        async with httpx.AsyncClient(transport=transport, base_url="http://face") as client:
            return await client.request(method, path, **more)

    return asyncio.run(asked())


def bring(
    inbox: Inbox, body: bytes | None = None, headers: dict[str, str] | None = None, **more: Any
) -> httpx.Response:
    """An update brought to the webhook, with the right secret unless told otherwise."""
    app = face.make_face(ready_when(), inbox.accept, SECRET)
    content = json.dumps(UPDATE).encode() if body is None else body
    return ask(app, "POST", "/updates", content=content, headers=headers or {HEADER: SECRET}, **more)


# --- health ---


def test_alive_says_so_whatever_is_amiss() -> None:
    app = face.make_face(ready_when("inbox: stuck"))
    assert (ask(app, "GET", "/health/live").status_code, ask(app, "GET", "/health/live").text) == (
        200,
        "alive\n",
    )


def test_ready_gives_every_reason_against_it() -> None:
    good = ask(face.make_face(ready_when()), "GET", "/health/ready")
    assert (good.status_code, good.text) == (200, "ready\n")
    bad = ask(face.make_face(ready_when("inbox: stuck", "alerts: 1 undelivered")), "GET", "/health/ready")
    assert (bad.status_code, bad.text) == (503, "inbox: stuck\nalerts: 1 undelivered\n")


def test_a_database_that_fails_is_not_ready_and_quotes_nothing() -> None:
    async def ready() -> list[str]:
        raise ConnectionError("postgresql://bot:hunter2@db")

    answer = ask(face.make_face(ready), "GET", "/health/ready")
    assert (answer.status_code, answer.text) == (503, "database: no answer (ConnectionError)\n")


def test_without_a_webhook_nothing_takes_updates() -> None:
    answer = ask(face.make_face(ready_when()), "POST", "/updates", json=UPDATE, headers={HEADER: ""})
    assert answer.status_code == 404


def test_a_webhook_without_a_secret_is_not_opened() -> None:
    with pytest.raises(ValueError, match="needs a secret"):
        face.make_face(ready_when(), Inbox().accept, "")


# --- the webhook ---


@pytest.mark.parametrize(
    "kind",
    [
        "application/json",
        "application/json; charset=utf-8",
        "application/json;charset=UTF-8",
        "text/plain",
        None,
    ],
)
def test_an_update_is_stored_whatever_its_type_is_called(kind: str | None) -> None:
    inbox = Inbox()
    headers = {HEADER: SECRET} | ({"Content-Type": kind} if kind else {})
    assert bring(inbox, headers=headers).status_code == 200
    (stored,) = inbox.stored
    assert (stored.update_id, stored.sender, json.loads(stored.raw)) == (5, 9, UPDATE)


@pytest.mark.parametrize(
    "headers",
    [
        {"Other": "x"},
        {HEADER: ""},
        {HEADER: SECRET[:-1]},
        {HEADER: SECRET + "x"},
        {HEADER: SECRET.upper()},
        {HEADER: "ä" * 23},
    ],
    ids=["missing", "empty", "shorter", "longer", "upper", "beyond-ascii"],
)
def test_without_the_secret_the_body_is_not_even_read(headers: dict[str, str]) -> None:
    inbox = Inbox()
    app = face.make_face(ready_when(), inbox.accept, SECRET)
    answers: list[Any] = []

    async def receive() -> Any:
        raise AssertionError("the body was read")

    async def send(part: Any) -> None:
        answers.append(part)

    pairs = [(name.lower().encode(), value.encode("utf-8")) for name, value in headers.items()]
    scope = {
        "type": "http",
        "method": "POST",
        "path": "/updates",
        "headers": pairs,
        "query_string": b"",
        "http_version": "1.1",
        "scheme": "http",
    }
    asyncio.run(app(scope, receive, send))
    assert answers[0]["status"] == 403
    assert inbox.stored == []


def test_another_way_of_asking_is_refused() -> None:
    app = face.make_face(ready_when(), Inbox().accept, SECRET)
    assert ask(app, "GET", "/updates", headers={HEADER: SECRET}).status_code == 405


async def pieces(count: int, size: int) -> AsyncIterator[bytes]:
    """A body that does not tell its length."""
    for _ in range(count):
        yield b"x" * size


def test_a_body_beyond_any_update_is_refused() -> None:
    inbox = Inbox()
    assert bring(inbox, b"x" * (face.LARGEST_BODY_BYTES + 1)).status_code == 413
    app = face.make_face(ready_when(), inbox.accept, SECRET)
    untold = ask(app, "POST", "/updates", content=pieces(20, 65_536), headers={HEADER: SECRET})
    assert untold.status_code == 413
    assert inbox.stored == []


def test_a_large_but_possible_update_is_stored() -> None:
    inbox = Inbox()
    body = json.dumps({"update_id": 1, "message": {"text": "é" * 100_000}}).encode()
    assert bring(inbox, body).status_code == 200
    assert len(inbox.stored) == 1


@pytest.mark.parametrize(
    "body",
    [
        b"",
        b"{",
        b'{"update_id": 5, "message": {"te',
        b"[]",
        b"null",
        b"{}",
        b'{"update_id": "5"}',
        b"\xff\xfe",
        b"[" * 100_000,
    ],
    ids=["empty", "brace", "cut", "list", "null", "object", "text", "bytes", "deep"],
)
def test_what_is_no_update_is_not_acknowledged(body: bytes) -> None:
    """It may have been cut short on its way; the platform then brings it again."""
    inbox = Inbox()
    assert bring(inbox, body).status_code == 400
    assert inbox.stored == []


def test_what_nobody_can_read_but_has_a_number_is_stored() -> None:
    inbox = Inbox()
    assert bring(inbox, b'{"update_id": 5, "message": ["half \\ud83d"]}').status_code == 200
    assert inbox.stored[0].update_id == 5


def test_what_could_not_be_stored_comes_again_soon(capsys: pytest.CaptureFixture[str]) -> None:
    answer = bring(Inbox(error=ConnectionError("2 and a bit sore")))
    assert (answer.status_code, answer.headers["Retry-After"]) == (503, "3")
    assert "sore" not in answer.text + "".join(capsys.readouterr())


# --- over HTTP, with the room as the platform ---


@asynccontextmanager
async def shown(app: Starlette) -> AsyncIterator[str]:
    """The face on this machine, and its address, until the block ends."""
    listening = face.open_port("127.0.0.1", 0)
    server = face.make_server(app, "127.0.0.1", listening.getsockname()[1])
    serving = asyncio.create_task(server.serve(sockets=[listening]))
    try:
        yield f"http://127.0.0.1:{listening.getsockname()[1]}"
    finally:
        server.should_exit = True
        await serving


def fates(path: Path, numbers: Sequence[int]) -> list[str | None]:
    """What became of some updates."""
    ends = {line["update_id"]: line["fate"] for line in read_record(path) if line["what"] == "update-end"}
    return [ends.get(number) for number in numbers]


def test_the_platform_gets_its_200_only_after_the_commit(
    room: RoomClient, bot: Bot, run: Run[None], orla: int, record_file: Path
) -> None:
    async def scene() -> None:
        inbox = Inbox(gate=asyncio.Event())
        assert inbox.gate is not None
        async with shown(face.make_face(ready_when(), inbox.accept, SECRET)) as url:
            await bots.ask_for_webhook(bot, f"{url}/updates", SECRET, KINDS)
            number = room.stats()["waiting_updates"][0]  # her /start
            handed = {"what": "update", "update_id": number, "how": "webhook"}
            await until(lambda: any(handed.items() <= line.items() for line in read_record(record_file)))
            assert fates(record_file, [number]) == [None]
            inbox.gate.set()
            await until(lambda: fates(record_file, [number]) == ["confirmed"])
            assert number in {update.update_id for update in inbox.stored}
            last = room.say(orla, "2")["update_ids"][0]
            await until(lambda: fates(record_file, [last]) == ["confirmed"])
            await bots.leave_webhook(bot)

    run(scene())


def test_the_platform_brings_again_what_was_not_stored(
    room: RoomClient, bot: Bot, run: Run[None], orla: int, record_file: Path
) -> None:
    async def scene() -> None:
        inbox = Inbox(error=ConnectionError())
        async with shown(face.make_face(ready_when(), inbox.accept, SECRET)) as url:
            await bots.ask_for_webhook(bot, f"{url}/updates", SECRET, KINDS)
            number = room.say(orla, "2")["update_ids"][0]
            await until(lambda: room.stats()["next_try_at"] is not None)
            inbox.error = None
            room.move(by_s=2)
            assert fates(record_file, [number]) == [None]
            room.move(by_s=1)  # what Retry-After asked for
            await until(lambda: fates(record_file, [number]) == ["confirmed"])
            assert number in {update.update_id for update in inbox.stored}
            await bots.leave_webhook(bot)

    run(scene())


def test_with_another_secret_the_platform_gets_nothing_in(
    room: RoomClient, bot: Bot, run: Run[None], orla: int
) -> None:
    async def scene() -> None:
        inbox = Inbox()
        async with shown(face.make_face(ready_when(), inbox.accept, SECRET)) as url:
            await bots.ask_for_webhook(bot, f"{url}/updates", SECRET[::-1], KINDS)
            room.say(orla, "2")
            await until(lambda: room.stats()["next_try_at"] is not None)
            info = await bot.get_webhook_info()
            assert info.last_error_message == "Wrong response from the webhook: 403 Forbidden"
            assert inbox.stored == []
            await bots.leave_webhook(bot)

    run(scene())


def test_a_caller_that_hangs_up_in_the_middle_leaves_nothing_behind(run: Run[None]) -> None:
    head = f"POST /updates HTTP/1.1\r\nHost: x\r\n{HEADER}: {SECRET}\r\nContent-Length: 500\r\n\r\n"

    async def scene() -> None:
        inbox = Inbox()
        async with shown(face.make_face(ready_when(), inbox.accept, SECRET)) as url:
            reader, writer = await asyncio.open_connection("127.0.0.1", int(url.rpartition(":")[2]))
            writer.write(head.encode() + json.dumps(UPDATE).encode())
            await writer.drain()
            writer.close()
            await writer.wait_closed()
            del reader
            async with httpx.AsyncClient(trust_env=False) as client:
                assert (await client.get(f"{url}/health/live")).status_code == 200
        assert inbox.stored == []

    run(scene())


def test_an_address_that_is_taken_is_refused_in_a_line() -> None:
    with socket.create_server(("127.0.0.1", 0)) as taken, pytest.raises(RefusedError) as caught:
        face.open_port("127.0.0.1", taken.getsockname()[1])
    assert caught.value.faults == ("LISTEN: the address cannot be used (Address already in use)",)
