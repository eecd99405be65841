"""`selfcheck`: every broken set-up is named in one line each, and nothing is made or changed by looking."""

import asyncio
import datetime as dt
import shutil
import threading
from collections.abc import Callable, Iterator
from contextlib import closing
from dataclasses import dataclass
from email.utils import format_datetime
from pathlib import Path

import pytest
import sqlalchemy as sa

from bot import commands
from bot.rules import in_force, own_signs
from bot.service import approval, checkup
from bot.store import migrate, people, tables, vault
from bot.store.base import open_engine, read_url
from tests.fixtures.clock import MovableClock
from tests.store import prepared
from tests.transport.scripted import answering, page

TOKEN = "4200001:made-up-for-this-test"  # noqa: S105 - opens nothing
ME = '{"ok": true, "result": {"id": 4200001, "is_bot": true, "first_name": "Bot", "username": "room_bot"}}'


class Platform:
    """A platform on this machine that answers every question alike."""

    def __init__(self) -> None:
        self._loop = asyncio.new_event_loop()
        self._thread = threading.Thread(target=self._loop.run_forever, daemon=True)
        self._thread.start()
        self._open: list[object] = []

    def answers(self, answer: bytes) -> str:
        """Its address."""
        manager = answering([answer])
        self._open.append(manager)
        return asyncio.run_coroutine_threadsafe(manager.__aenter__(), self._loop).result(10).url

    def close(self) -> None:
        for manager in self._open:
            end = manager.__aexit__(None, None, None)  # type: ignore[attr-defined] # what answering() gives
            asyncio.run_coroutine_threadsafe(end, self._loop).result(10)
        self._loop.call_soon_threadsafe(self._loop.stop)
        self._thread.join()
        self._loop.close()


def me(at: dt.datetime | None = None) -> bytes:
    """A good answer, with the platform's own time."""
    whole = page(200, ME, "application/json")
    date = format_datetime(at or dt.datetime.now(dt.UTC), usegmt=True)  # noqa: TID251 - compared with the real clock
    return whole.replace(b"\r\n", f"\r\nDate: {date}\r\n".encode(), 1)


@dataclass
class SetUp:
    """A good set-up, to be broken in one place."""

    database: Path
    keys: str
    platform: Platform
    env: pytest.MonkeyPatch

    def engine(self) -> sa.Engine:
        return open_engine(read_url(f"sqlite:///{self.database}"))

    def change(self, statement: object) -> None:
        engine = self.engine()
        with engine.begin() as connection:
            connection.execute(statement)  # type: ignore[call-overload] # any statement
        engine.dispose()


@pytest.fixture
def platform() -> Iterator[Platform]:
    made = Platform()
    yield made
    made.close()


@pytest.fixture
def good(tmp_path: Path, monkeypatch: pytest.MonkeyPatch, clock: MovableClock, platform: Platform) -> SetUp:
    database, keys = tmp_path / "data" / "programme.sqlite3", vault.new_master_key()
    database.parent.mkdir()
    prepared.at_head(f"sqlite:///{database}")
    with closing(prepared.open_store(f"sqlite:///{database}", clock.now(), keys)) as store:
        with store.begin() as tx:
            people.add_clinic(tx, prepared.clinic(clock.now()), clock.now())
        known = in_force.contents(own_signs.load(None))
        approval.sign(store.begin, clock, known, "Oona Quillfeather", "REG 0001", clock.now().date())
    for name, value in {
        "DATABASE_URL": f"sqlite:///{database}",
        "DATA_KEYS": keys,
        "BOT_TOKEN": TOKEN,
        "BOT_API_URL": platform.answers(me()),
        "ERASURES_FILE": str(tmp_path / "erasures.txt"),
    }.items():
        monkeypatch.setenv(name, value)
    return SetUp(database, keys, platform, monkeypatch)


def test_a_good_set_up_is_well(good: SetUp, capsys: pytest.CaptureFixture[str]) -> None:
    del good
    assert commands.run(["selfcheck"]) == 0
    assert capsys.readouterr().out.splitlines() == [
        "well: settings",
        "well: database, schema, keys, time-zone data, sign-off, disk",
        "well: list of erasures",
        "well: token: the bot is room_bot",
        "well: clock",
    ]


def _stamp(good: SetUp, revision: str) -> None:
    good.change(sa.text(f"UPDATE alembic_version SET version_num = '{revision}'"))  # noqa: S608 - ours


def _overwrite(good: SetUp) -> None:
    """Something else in the file's place, and no log of what was there before."""
    good.database.write_bytes(b"nonsense" * 600)
    for path in good.database.parent.glob(f"{good.database.name}-*"):
        path.unlink()


BROKEN: dict[str, tuple[Callable[[SetUp], object], str]] = {
    "no token": (lambda good: good.env.delenv("BOT_TOKEN"), "BOT_TOKEN: missing; expected a bot token"),
    "no key": (lambda good: good.env.delenv("DATA_KEYS"), "DATA_KEYS: missing; give it or DATA_KEYS_FILE"),
    "another key": (
        lambda good: good.env.setenv("DATA_KEYS", vault.new_master_key()),
        "is missing; data was wrapped with it",
    ),
    "no database": (
        lambda good: good.database.unlink(),
        "; make it with `programme-bot migrate`",
    ),
    "not a database": (
        _overwrite,
        "cannot be used (file is not a database)",
    ),
    "an older schema": (lambda good: _stamp(good, "0001"), "run `programme-bot migrate`"),
    "a newer schema": (lambda good: _stamp(good, "9999"), "install the newer program"),
    "token refused": (
        lambda good: good.env.setenv(
            "BOT_API_URL", good.platform.answers(page(401, '{"ok": false}', "application/json"))
        ),
        "BOT_TOKEN: the platform refuses it",
    ),
    "nobody there": (
        lambda good: good.env.setenv("BOT_API_URL", "http://127.0.0.1:9"),
        "BOT_API_URL: the platform cannot be reached (ConnectError)",
    ),
    "another site": (
        lambda good: good.env.setenv("BOT_API_URL", good.platform.answers(page(200, "<h1>Welcome</h1>"))),
        "BOT_API_URL: no bot platform answers there (status 200)",
    ),
    "a clock an hour ahead": (
        lambda good: good.env.setenv(
            "BOT_API_URL",
            good.platform.answers(me(dt.datetime.now(dt.UTC) - dt.timedelta(hours=1))),  # noqa: TID251 - as above
        ),
        "s from the platform's; expected within 30 s",
    ),
    "a zone that is gone": (
        lambda good: good.change(sa.update(tables.clinic).values(zone="Europe/Atlantis")),
        "time-zone data: Europe/Atlantis is in use and not known here; install a newer tzdata",
    ),
    "no sign-off": (lambda good: good.change(sa.delete(tables.sign_off)), "carry no sign-off"),
    "no clinic": (
        lambda good: good.change(sa.delete(tables.clinic)),
        "clinic: none yet; make one with `programme-bot add-clinic`",
    ),
    "a list of erasures that is none": (
        lambda good: (good.database.parent.parent / "erasures.txt").write_text("hello\n"),
        "line 1: no salt",
    ),
    "a list that cannot be written": (
        lambda good: good.env.setenv("ERASURES_FILE", f"{good.database}/below/it.txt"),
        "ERASURES_FILE: ",
    ),
}


@pytest.mark.parametrize("name", BROKEN)
def test_a_broken_set_up_is_named_in_one_line(
    name: str, good: SetUp, capsys: pytest.CaptureFixture[str]
) -> None:
    breaks, expected = BROKEN[name]
    breaks(good)
    assert commands.run(["selfcheck"]) == 2
    (line,) = capsys.readouterr().err.splitlines()
    assert expected in line
    assert TOKEN not in line
    assert good.keys not in line


def test_a_full_disk_is_named(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    usage = shutil.disk_usage(tmp_path)
    monkeypatch.setattr(shutil, "disk_usage", lambda _: usage._replace(free=5 * 1024**2))
    assert checkup.disk(tmp_path) == [f"disk: 5 MiB free in {tmp_path}; expected at least 200 MiB"]


def test_several_faults_are_told_in_one_go(good: SetUp, capsys: pytest.CaptureFixture[str]) -> None:
    _stamp(good, "0001")
    good.env.setenv("BOT_API_URL", "http://127.0.0.1:9")
    assert commands.run(["selfcheck"]) == 2
    assert len(capsys.readouterr().err.splitlines()) == 2
    engine = good.engine()
    assert migrate.current(engine) == "0001"
    engine.dispose()
