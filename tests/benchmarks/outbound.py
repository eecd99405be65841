"""Sending: from the queue to the platform and marked as sent, against bare posts of the same messages."""

import asyncio
import time
from typing import Any

import httpx

from bot.jobs.running import Running
from bot.transport import bots, parse, send
from tests.benchmarks import _clinic, _platform, _queue
from tests.jobs.conftest import nothing_fetched

NO_RATE = 1e9
PARALLEL = (1, 4, 16)


def _peer(url: str, number: int) -> float:
    """Posts one at a time over one kept-alive connection."""
    body = {
        "chat_id": 1000,
        "text": "Time for a set. 0 of 3 so far.",
        "reply_markup": {"inline_keyboard": []},
    }
    with httpx.Client(trust_env=False) as client:
        address = f"{url}/bot{_clinic.TOKEN}/sendMessage"
        client.post(address, json=body)
        began_s = time.perf_counter()
        for _ in range(number):
            assert client.post(address, json=body).json()["ok"]
        return time.perf_counter() - began_s


async def _send_all(clinic: _clinic.Clinic, url: str, number: int, parallel: int) -> float:
    bot = bots.make_bot(_clinic.TOKEN, url)
    await bot.initialize()
    gate = asyncio.Semaphore(parallel)

    async def send_one(out: Any) -> Any:
        async with gate:
            return await send.send(bot, out)

    running = Running(clinic.office, send_one, nothing_fetched, parse.parse, NO_RATE)
    try:
        began_s = time.perf_counter()
        sent = await running.bulk()
        took_s = time.perf_counter() - began_s
    finally:
        await running.finish(5)
        await bot.shutdown()
    with clinic.office.begin() as tx:
        marked = tx.connection.exec_driver_sql("SELECT count(*) FROM outbox WHERE state = 'sent'").scalar()
    if not sent == marked == number:
        raise AssertionError(f"{sent} sent, {marked} marked, {number} queued")
    return took_s


def _ours(url: str, number: int, parallel: int) -> float:
    clinic = _clinic.open_clinic(_clinic.fresh(number, 0))
    try:
        _queue.put_nudges(clinic, number)
        return asyncio.run(_send_all(clinic, url, number, parallel))
    finally:
        clinic.store.close()


def measure(quick: bool) -> dict[str, Any]:
    """The best of some numbers in parallel, and all of them beside it."""
    number = 300 if quick else 3_000
    with _platform.running() as url:
        peer_s = min(_peer(url, number) for _ in range(2))
        took_s = {parallel: _ours(url, number, parallel) for parallel in PARALLEL}
    best_s = min(took_s.values())
    return {
        "outbound_vs_http": round(peer_s / best_s, 3),
        "outbound_per_s": round(number / best_s, 1),
        "outbound": {
            "ours_s": best_s,
            "peer_s": peer_s,
            "n": number,
            "in_parallel": {str(parallel): round(number / s, 1) for parallel, s in took_s.items()},
            "conditions": "nudges to as many chats, rate and spacing off, SQLite with synchronous FULL,"
            " at most 10 marked as sending in one commit; peer: bare httpx, one at a time, one kept-alive"
            " connection to the same server process",
        },
    }
