"""Receiving: fetched over HTTP, stored and acknowledged; and handled, one transaction each."""

import asyncio
import json
import sqlite3
import tempfile
import time
from pathlib import Path
from typing import Any

import httpx

from bot.jobs.running import Running
from bot.store.base import Tx
from bot.transport import bots, parse, poll
from tests.benchmarks import _clinic, _platform
from tests.benchmarks._clinic import FIRST_PERSON, NOW, TOKEN
from tests.jobs.conftest import nothing_fetched


def updates(number: int) -> list[dict[str, Any]]:
    """A report by as many clients."""
    made = []
    for place in range(number):
        person = FIRST_PERSON + place
        chat = {"id": person, "type": "private", "first_name": "A"}
        sender = {"id": person, "is_bot": False, "first_name": "A"}
        date = int(NOW.timestamp())
        message = {"message_id": 5, "from": sender, "chat": chat, "date": date, "text": "one more"}
        made.append({"update_id": place + 1, "message": message})
    return made


def _peer(rows: list[dict[str, Any]]) -> float:
    """Single-row commits by hand, with the same pragmas."""
    with tempfile.TemporaryDirectory() as folder:
        connection = sqlite3.connect(Path(folder) / "peer.sqlite", isolation_level=None)
        connection.execute("PRAGMA journal_mode=WAL")
        connection.execute("PRAGMA synchronous=FULL")
        connection.execute("CREATE TABLE inbox (update_id INTEGER PRIMARY KEY, raw BLOB NOT NULL)")
        began_s = time.perf_counter()
        for row in rows:
            connection.execute("BEGIN IMMEDIATE")
            connection.execute("INSERT INTO inbox VALUES (?, ?)", (row["update_id"], json.dumps(row)))
            connection.execute("COMMIT")
        took_s = time.perf_counter() - began_s
        connection.close()
        return took_s


def _count(tx: Tx, state: str) -> int:
    query = f"SELECT count(*) FROM inbox WHERE state = '{state}'"  # noqa: S608 - a word of ours
    return int(tx.connection.exec_driver_sql(query).scalar() or 0)


async def _ours(clinic: _clinic.Clinic, url: str, number: int) -> tuple[float, float]:
    """Seconds to accept them all, and to handle them all."""

    async def unsent(out: object) -> Any:
        raise AssertionError(out)

    running = Running(clinic.office, unsent, nothing_fetched, parse.parse, 1.0)
    poller = poll.Poller(bots.make_line, f"{url}/bot{TOKEN}", running.accept)
    began_s = time.perf_counter()
    polling = asyncio.create_task(poller.run())
    seen = 0
    while seen < number:
        await asyncio.sleep(0.01)
        with clinic.office.begin() as tx:
            seen = _count(tx, "new")
    accepted_s = time.perf_counter() - began_s
    polling.cancel()
    await asyncio.gather(polling, return_exceptions=True)
    began_s = time.perf_counter()
    handled = await running.handle_all()
    handled_s = time.perf_counter() - began_s
    await running.finish(5)
    with clinic.office.begin() as tx:
        if not handled == _count(tx, "handled") == number:
            raise AssertionError(f"{handled} of {number} handled")
    return accepted_s, handled_s


def measure(quick: bool) -> dict[str, Any]:
    """Accepted and handled in a second, beside single-row commits by hand."""
    number = 300 if quick else 3_000
    rows = updates(number)
    with _platform.running() as url:
        httpx.post(f"{url}/arm", json=rows, trust_env=False)
        clinic = _clinic.open_clinic(_clinic.fresh(number, 0))
        try:
            accepted_s, handled_s = asyncio.run(_ours(clinic, url, number))
        finally:
            clinic.store.close()
    peer_s = _peer(rows)
    return {
        "inbound_vs_commit": round(peer_s / accepted_s, 3),
        "inbound_per_s": round(number / accepted_s, 1),
        "handled_per_s": round(number / handled_s, 1),
        "inbound": {
            "ours_s": accepted_s,
            "peer_s": peer_s,
            "handled_s": handled_s,
            "n": number,
            "conditions": "reports by as many clients, fetched over HTTP in hundreds, sealed and committed;"
            " handled: read, effects, reply and mark in one transaction each; SQLite, synchronous FULL; peer:"
            " one row a commit by hand, same pragmas, nothing sealed",
        },
    }
