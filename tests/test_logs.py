"""Logs: a fixed event and fields from a short list. Marked secrets go in everywhere and come out nowhere."""

import ast
import asyncio
import io
import json
import logging
import subprocess
import sys
import threading
import uuid
import warnings
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
import sqlalchemy as sa
import uvicorn
from httpx import AsyncClient
from starlette.applications import Starlette
from starlette.requests import Request
from starlette.responses import Response
from starlette.routing import Route
from telegram.request import HTTPXRequest

from bot import logs
from bot.domain.delivery import Kind
from bot.errors import DeadTokenError
from bot.jobs.running import Running
from bot.jobs.ticks import make_ticker
from bot.service.accept import Received
from bot.service.deliver import Outgoing
from bot.store.base import Store, open_engine, read_url
from bot.transport import bots, face
from bot.transport.parse import parse
from bot.transport.poll import Pace, Poller
from bot.transport.send import send
from demo.room_client import RoomClient, start_room
from tests.fixtures import offices
from tests.fixtures.clock import MovableClock
from tests.fixtures.databases import Fresh
from tests.fixtures.waiting import until
from tests.store import prepared

CHECKOUT = Path(__file__).resolve().parents[1]
TOKEN = "4200001:kanarienvogel-token"  # noqa: S105 - opens nothing but a room of this test
NAME = "Kanarina"
TEXT = "kanarienvogel sitzt auf der stange"
SECRET = "kanarienvogel-secret"  # noqa: S105 - made up
CANARIES = ("kanari", "Kanari", "4200001:", str(5_000_000_001))


class Written:
    """Everything that was written so far, to standard error or output."""

    def __init__(self, capsys: pytest.CaptureFixture[str]) -> None:
        self._capsys = capsys
        self._text = ""

    @property
    def text(self) -> str:
        """All of it."""
        self._text += "".join(self._capsys.readouterr())
        return self._text


@pytest.fixture
def written(capsys: pytest.CaptureFixture[str]) -> Iterator[Written]:
    """What is logged, down to DEBUG; afterwards logging is as it was."""
    root = logging.getLogger()
    handlers, level, hooks = root.handlers[:], root.level, (sys.excepthook, threading.excepthook)
    levels = {name: logging.getLogger(name).level for name in logging.root.manager.loggerDict}
    logs.set_up("debug")
    yield Written(capsys)
    logging.captureWarnings(capture=False)
    root.handlers[:], (sys.excepthook, threading.excepthook) = handlers, hooks
    root.setLevel(level)
    for name in logging.root.manager.loggerDict:
        logging.getLogger(name).setLevel(levels.get(name, logging.NOTSET))
    logs._configure(logging.WARNING)


def lines(written: Written) -> list[dict[str, Any]]:
    """What was logged; every line has to be JSON."""
    return [json.loads(line) for line in written.text.splitlines()]


def events(written: Written) -> set[str]:
    """The events that were logged, those of libraries with the library's name."""
    return {
        line["logger"].partition(".")[0] if line["event"] == "library_log" else line["event"]
        for line in lines(written)
    }


def assert_silent(written: Written, *more: str) -> None:
    """Nothing marked was written."""
    for canary in (*CANARIES, *more):
        assert canary not in written.text, canary


def _fail() -> None:
    raise ValueError(TEXT)


# --- what a line may hold ---


def test_a_line_holds_its_event_and_the_fields_on_the_list(written: Written) -> None:
    logs.get().warning("not_sent", message="019cad8f", kind="nudge", name=NAME, text=TEXT, chat=5_000_000_001)
    (line,) = lines(written)
    assert line.pop("timestamp").endswith("Z")
    assert line == {"event": "not_sent", "level": "warning", "message": "019cad8f", "kind": "nudge"}


@pytest.mark.parametrize("value", [ValueError(TEXT), {"text": TEXT}, [TEXT], b"kanarienvogel", object()])
def test_objects_are_named_by_their_kind_alone(written: Written, value: object) -> None:
    logs.get().error("failed", error=value)
    assert lines(written)[0]["error"] == f"<{type(value).__name__}>"


def test_plain_values_stay_what_they_are(written: Written) -> None:
    logs.get().info("x", count=3, seconds=1.5, state=None, mode=True, kind=Kind.NUDGE)
    line = lines(written)[0]
    assert [line[name] for name in ("count", "seconds", "state", "mode", "kind")] == [
        3,
        1.5,
        None,
        True,
        "nudge",
    ]


def test_a_token_is_blotted_out_in_whatever_it_stands(written: Written) -> None:
    logs.get().info("x", error=f"https://host/bot{TOKEN}/getMe failed", address=TOKEN)
    assert (lines(written)[0]["error"], lines(written)[0]["address"]) == (
        "https://host/bot[token]/getMe failed",
        "[token]",
    )


def test_no_value_can_begin_a_line_of_its_own(written: Written) -> None:
    logs.get().info("x", error='one\n{"event": "forged"}\r\u2028', kind="y" * 10_000)
    (line,) = lines(written)
    assert line["error"].startswith("one\n")
    assert len(line["kind"]) == logs.LONGEST_VALUE


def test_the_level_asked_for_is_the_lowest_written(written: Written) -> None:
    logs.get().debug("seen")
    logs.set_up("warning")
    logs.get().info("unseen")
    logs.get().warning("seen_too")
    assert [line["event"] for line in lines(written)] == ["seen", "seen_too"]


@pytest.mark.parametrize("error", [OSError(28, "No space left on device"), ValueError("closed file")])
def test_a_full_disk_behind_the_log_stops_no_work(
    written: Written, monkeypatch: pytest.MonkeyPatch, error: Exception
) -> None:
    class Full(io.StringIO):
        def write(self, text: str) -> int:
            del text
            raise error

    with monkeypatch.context() as patched:
        patched.setattr(sys, "stderr", Full())
        logs.get().error("failed")
        logging.getLogger("some_library").error("failed")
    assert written.text == ""


def test_every_log_call_of_ours_has_a_fixed_event_and_listed_fields() -> None:
    """A field that is not on the list would be dropped without a word, a made-up event could hold a text."""
    found = 0
    for path in (CHECKOUT / "bot").rglob("*.py"):
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
            match node:
                case ast.Call(func=ast.Attribute(value=ast.Name(id="log"), attr=level), args=[first, *rest]):
                    where = f"{path.relative_to(CHECKOUT)}:{node.lineno}"
                    assert level in {"debug", "info", "warning", "error", "critical"}, where
                    assert isinstance(first, ast.Constant), where
                    assert not rest, where
                    assert {keyword.arg for keyword in node.keywords} <= logs.FIELDS, where
                    found += 1
                case _:
                    pass
    assert found > 20


# --- libraries ---


def test_what_libraries_log_is_cut_down_to_its_kind(written: Written) -> None:
    logging.getLogger("some_library").warning("update %s", TEXT)
    try:
        _fail()
    except ValueError:
        logging.getLogger("some_library").exception("failed on %s", TEXT)
    logging.getLogger('odd"name').error(TEXT)
    first, second, third = lines(written)
    assert first == {"event": "library_log", "logger": "some_library", "level": "warning"}
    assert (second["level"], second["error"]) == ("error", "ValueError")
    assert second["where"].startswith("test_logs.py:")
    assert third["logger"] == 'odd"name'
    assert_silent(written)


def test_libraries_that_tell_every_request_are_silent_below_errors(written: Written) -> None:
    for name in ("httpx", "httpcore.http11", "telegram.Bot", "apscheduler.scheduler", "uvicorn.access"):
        logging.getLogger(name).warning("https://host/bot%s/getMe", TOKEN)
        logging.getLogger(name).debug(TEXT)
    logging.getLogger("sqlalchemy.engine").info(TEXT)
    assert written.text == ""


def test_a_warning_of_a_library_is_cut_down_too(written: Written) -> None:
    with warnings.catch_warnings():
        warnings.simplefilter("always")
        warnings.warn(TEXT, stacklevel=1)
    assert lines(written) == [{"event": "library_log", "logger": "py.warnings", "level": "warning"}]


def test_a_crash_says_where_and_not_what(tmp_path: Path) -> None:
    program = tmp_path / "crash.py"
    program.write_text(
        f"from bot import logs, settings\nlogs.set_up('debug')\nsettings._demand_keys({TEXT!r})\n",
        encoding="utf-8",
    )
    command = [sys.executable, str(program)]
    done = subprocess.run(
        command, env={"PYTHONPATH": str(CHECKOUT)}, capture_output=True, text=True, timeout=30, check=False
    )
    assert done.returncode == 1
    (line,) = [json.loads(line) for line in done.stderr.splitlines()]
    assert (line["event"], line["level"], line["error"]) == ("crashed", "critical", "ValueError")
    assert line["where"].startswith("bot/settings.py:")


def test_a_verb_that_sets_nothing_up_keeps_standard_output_clean() -> None:
    code = f"from bot import logs; logs.get().warning('zone_lost', zone='Mars/Base', text={TEXT!r})"
    done = subprocess.run(
        [sys.executable, "-c", code], cwd=CHECKOUT, capture_output=True, text=True, timeout=30, check=True
    )
    assert done.stdout == ""
    assert TEXT not in done.stderr
    assert json.loads(done.stderr)["zone"] == "Mars/Base"


# --- flows, with faults at every end ---


@pytest.fixture
def room() -> Iterator[RoomClient]:
    """A room whose bot has the marked token."""
    with start_room(frozen=True, no_limits=True, options=("--token", TOKEN)) as room:
        yield room


def outgoing(chat: int) -> Outgoing:
    """A message with the marked text."""
    rows = (((TEXT, "data:kanarienvogel"),),)
    return Outgoing(
        id=uuid.uuid4(),
        kind=Kind.REPLY,
        attempt=1,
        chat=chat,
        method="text",
        text=TEXT,
        rows=rows,
        silent=False,
        keep_private=False,
        message_id=None,
        press_id="",
        commands=(),
        picture=None,
    )


def test_sending_and_polling_give_nothing_away(room: RoomClient, written: Written) -> None:
    person = room.person(NAME)
    room.start(person)
    room.say(person, TEXT)

    async def scene() -> None:
        bot = bots.make_bot(TOKEN, room.url)
        room.fault("getMe", "500", description=TEXT)
        await bots.greet(bot)
        for kind in ("400", "403", "429", "500", "502-html", "drop-after"):
            room.fault("sendMessage", kind, description=TEXT)
            await send(bot, outgoing(person))
        await send(bot, outgoing(person))
        stranger = bots.make_bot("4200001:kanarienvogel-revoked", room.url)
        with pytest.raises(DeadTokenError):
            await bots.greet(stranger)
        await stranger.shutdown()
        stored: list[Received] = []

        async def accept(batch: list[Received]) -> None:
            stored.extend(batch)
            if len(stored) < 6:
                raise ConnectionError(TEXT)

        pace = Pace(wait_s=0, margin_s=0.3, pause=lambda *_: 0.01)
        for kind in ("500", "502-html", "drop-before", "429"):
            room.fault("getUpdates", kind, description=TEXT)
        polls = asyncio.create_task(Poller(bots.make_line, bots.address(TOKEN, room.url), accept, pace).run())
        await until(lambda: room.stats()["waiting_updates"] == [])
        polls.cancel()
        await asyncio.wait([polls])
        await bot.shutdown()

    asyncio.run(scene())
    assert {"platform_unreachable", "poll_failed", "telegram"} <= events(written)
    assert_silent(written, str(person))


def test_the_face_gives_nothing_away(written: Written) -> None:
    async def accept(batch: list[Received]) -> None:
        raise ConnectionError(f"{NAME}: {TEXT} {batch}")

    async def broken(request: Request) -> Response:
        raise ValueError(f"{TEXT} {await request.body()!r}")

    async def ready() -> list[str]:
        raise OSError(TEXT)

    async def scene() -> None:
        app = face.make_face(ready, accept, SECRET)
        app.router.routes.append(Route("/broken", broken, methods=["POST"]))
        async with shown(app) as url, AsyncClient(trust_env=False, base_url=url) as client:
            headers = {face.SECRET_HEADER: SECRET}
            for content in (TEXT, json.dumps({"update_id": 1, "text": TEXT}), "x" * 2_000_000):
                await client.post("/updates", content=content.encode(), headers=headers)
            await client.post("/updates", content=TEXT.encode(), headers={face.SECRET_HEADER: TEXT})
            assert (await client.post("/broken", content=TEXT.encode())).status_code == 500
            await client.get("/health/ready", params={"text": TEXT})

    asyncio.run(scene())
    assert {"webhook_unreadable", "webhook_not_stored", "webhook_too_large", "uvicorn"} <= events(written)
    assert_silent(written)


class shown:  # noqa: N801 - a block, like the others
    """The face on this machine until the block ends; answers its address."""

    def __init__(self, app: Starlette) -> None:
        self._listening = face.open_port("127.0.0.1", 0)
        self._server: uvicorn.Server = face.make_server(app, *self._listening.getsockname())
        self._serving: asyncio.Task[None] | None = None

    async def __aenter__(self) -> str:
        self._serving = asyncio.create_task(self._server.serve(sockets=[self._listening]))
        await until(lambda: self._server.started)
        return f"http://127.0.0.1:{self._listening.getsockname()[1]}"

    async def __aexit__(self, *_: object) -> None:
        self._server.should_exit = True
        assert self._serving is not None
        await self._serving


@pytest.fixture
def store(fresh_sqlite: Fresh, clock: MovableClock) -> Iterator[Store]:
    store = prepared.open_store(fresh_sqlite(prepared.at_head), clock.now())
    yield store
    store.close()


def test_handling_and_ticks_give_nothing_away(store: Store, clock: MovableClock, written: Written) -> None:
    person = {"id": 5_000_000_001, "first_name": NAME}
    message = {"from": person, "chat": {**person, "type": "private"}, "date": 1_772_438_400}
    garbage = {"update_id": 1, "message": {"from": person, "chat": TEXT, "text": TEXT}}
    good = {"update_id": 2, "message": {**message, "message_id": 1, "text": TEXT}}

    async def refuse(out: Outgoing) -> Any:
        raise ValueError(f"{out.chat}: {out.text} {TEXT}")

    async def no_file(file_id: str, most_bytes: int) -> Any:
        raise ValueError(f"{file_id}: {most_bytes}")

    async def scene() -> None:
        office = offices.make(store, clock, bot="4200001")
        service = Running(office, refuse, no_file, parse, 30.0)
        batch = [Received(number, 7, json.dumps(raw).encode()) for number, raw in ((1, garbage), (2, good))]
        await service.accept(batch)
        for _ in range(4):
            await service.inbox()
            clock.move(seconds=3)
        await service.urgent()
        await service.arrived()

        async def broken() -> None:
            raise ValueError(TEXT)

        ticker = make_ticker({"inbox": broken}, {"inbox": 0.01})
        ticker.start()
        await until(lambda: "apscheduler" in events(written))
        ticker.shutdown(wait=False)
        await service.finish(1)

    asyncio.run(scene())
    assert {"update_failed", "update_set_aside", "send_failed", "apscheduler"} <= events(written)
    assert_silent(written)


def test_the_database_gives_nothing_away(sqlite_url: str, written: Written) -> None:
    engine = open_engine(read_url(sqlite_url))
    insert = sa.text("INSERT INTO t VALUES (:x)"), {"x": TEXT}
    with engine.begin() as connection:
        connection.execute(sa.text("CREATE TABLE t (x TEXT UNIQUE)"))
        connection.execute(*insert)
    with pytest.raises(sa.exc.IntegrityError) as caught, engine.begin() as connection:
        connection.execute(*insert)
    logging.getLogger("sqlalchemy.pool").error("failed", exc_info=caught.value)
    logs.get().error("failed", error=str(caught.value), where=logs.place(caught.value))
    engine.dispose()
    assert {"sqlalchemy", "failed"} <= events(written)
    assert_silent(written)


def test_what_nobody_waits_for_gives_nothing_away(written: Written) -> None:
    async def lost() -> None:
        _fail()

    async def scene() -> None:
        task = asyncio.create_task(lost())
        await asyncio.wait([task])
        asyncio.get_running_loop().call_soon(_fail)
        await asyncio.sleep(0)

    asyncio.run(scene())
    assert events(written) == {"asyncio"}
    assert_silent(written)


def test_a_thread_that_fails_gives_nothing_away(written: Written) -> None:
    thread = threading.Thread(target=_fail)
    thread.start()
    thread.join()
    assert events(written) == {"crashed"}
    assert_silent(written)


def test_a_request_with_the_token_in_its_address_is_not_told(room: RoomClient, written: Written) -> None:
    """The library's own client logs each address; the token is part of it."""

    async def scene() -> None:
        line = HTTPXRequest()
        await line.retrieve(f"{bots.address(TOKEN, room.url)}/getMe")
        await line.shutdown()

    asyncio.run(scene())
    assert written.text == ""
