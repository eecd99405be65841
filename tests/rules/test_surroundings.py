"""What the tests stand on does what it says: databases, clock, browser, and the closed door."""

import asyncio
import contextlib
import datetime as dt
import socket
import sqlite3
from pathlib import Path

import psycopg
import pytest
from playwright.sync_api import Error, Page

from bot.clock import Clock
from tests.fixtures import guard
from tests.fixtures.clock import MovableClock
from tests.fixtures.databases import Fresh

ELSEWHERE = "192.0.2.1"  # an address kept for documentation (RFC 5737; from memory)


def rows(url: str, statement: str) -> list[tuple[object, ...]]:
    """Run one statement on either engine, committed."""
    if url.startswith("postgresql:"):
        with psycopg.connect(url) as there:
            answer = there.execute(statement.encode())
            return answer.fetchall() if answer.description else []
    with contextlib.closing(sqlite3.connect(url.removeprefix("sqlite:///"))) as here, here:
        return here.execute(statement).fetchall()


def test_a_database_is_empty_and_the_tests_own(database_url: str) -> None:
    rows(database_url, "CREATE TABLE note (words TEXT)")  # the second engine's run would fail on a shared one
    rows(database_url, "INSERT INTO note VALUES ('here')")
    assert rows(database_url, "SELECT words FROM note") == [("here",)]


def test_a_prepared_database_is_prepared_once_and_copied(fresh_database: Fresh) -> None:
    prepared: list[str] = []

    def prepare(url: str) -> None:
        prepared.append(url)
        rows(url, "CREATE TABLE note (words TEXT)")

    first, second = fresh_database(prepare), fresh_database(prepare)
    rows(first, "INSERT INTO note VALUES ('first')")
    assert rows(second, "SELECT words FROM note") == []
    assert rows(first, "SELECT words FROM note") == [("first",)]
    assert len(prepared) == 1
    assert len({first, second, *prepared}) == 3


def test_the_clock_stands_still_until_it_is_moved(clock: MovableClock) -> None:
    as_the_program_sees_it: Clock = clock
    assert as_the_program_sees_it.now() == dt.datetime(2026, 3, 2, 8, tzinfo=dt.UTC)
    assert clock.move(hours=1, minutes=30) == dt.datetime(2026, 3, 2, 9, 30, tzinfo=dt.UTC)
    clock.set(dt.datetime.fromisoformat("2026-03-29T03:00:00+02:00"))
    assert as_the_program_sees_it.now() == dt.datetime(2026, 3, 29, 1, tzinfo=dt.UTC)
    with pytest.raises(ValueError, match="has no zone"):
        clock.set(dt.datetime(2026, 3, 2, 8))  # noqa: DTZ001 - the fault under test


def test_no_test_reaches_another_machine() -> None:
    with socket.socket() as stream, pytest.raises(guard.ReachedOutError):
        stream.connect((ELSEWHERE, 443))
    with socket.socket() as stream, pytest.raises(guard.ReachedOutError):
        stream.connect_ex((ELSEWHERE, 443))
    with socket.socket(type=socket.SOCK_DGRAM) as datagram, pytest.raises(guard.ReachedOutError):
        datagram.sendto(b"words", (ELSEWHERE, 53))
    with pytest.raises(guard.ReachedOutError):
        socket.getaddrinfo("example.org", 443)
    with pytest.raises(guard.ReachedOutError):
        asyncio.run(asyncio.wait_for(asyncio.open_connection(ELSEWHERE, 443), 5))


def test_a_test_reaches_its_own_machine(tmp_path: Path) -> None:
    with socket.create_server(("127.0.0.1", 0)) as server:
        port = server.getsockname()[1]
        for host in ("127.0.0.1", "localhost"):
            socket.create_connection((host, port), timeout=5).close()
    with socket.socket(socket.AF_UNIX) as server, socket.socket(socket.AF_UNIX) as client:
        server.bind(str(tmp_path / "s"))
        server.listen()
        client.connect(str(tmp_path / "s"))


def test_the_browser_shows_a_page_and_stays_on_this_machine(page: Page) -> None:
    page.set_content("<p>How did today go?</p>")
    assert page.inner_text("p") == "How did today go?"
    with pytest.raises(Error, match="ERR_NAME_NOT_RESOLVED"):
        page.goto("http://example.org/")
    with pytest.raises(Error, match=r"ERR_NAME_NOT_RESOLVED|ERR_ADDRESS_UNREACHABLE"):
        page.goto(f"http://{ELSEWHERE}/", timeout=5000)
