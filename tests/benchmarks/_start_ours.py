"""Ours: the service on a database that holds everybody, up to the first nudge handed to the HTTP client.

What it reads only then, to hear and judge what people write, is measured apart: `guidance_s`, `settled_rss`.
"""

import asyncio
import json
import os
import sys
import time

import psutil
from telegram import Bot
from telegram.request import BaseRequest

from bot import serve, settings
from bot.jobs.running import Running
from bot.service.office import Office
from bot.transport import parse, send
from tests.benchmarks import _clinic
from tests.fixtures.clock import MovableClock
from tests.jobs.conftest import nothing_fetched


class _First(BaseRequest):
    """Tells when the first message is handed to it."""

    read_timeout = None

    def __init__(self) -> None:
        self.office: Office | None = None

    async def initialize(self) -> None:
        """Nothing to open."""

    async def shutdown(self) -> None:
        """Nothing to close."""

    async def do_request(self, url: str, *request: object, **more: object) -> tuple[int, bytes]:
        """The end of the measurement."""
        del request, more
        if url.endswith("sendMessage"):
            told = {"s": time.perf_counter() - BEGAN_S, "rss": psutil.Process().memory_info().rss - RSS}
            assert self.office is not None
            began_s = time.perf_counter()
            self.office.guidance()
            told["guidance_s"] = time.perf_counter() - began_s
            told["settled_rss"] = psutil.Process().memory_info().rss - RSS
            print(json.dumps(told), flush=True)
            os._exit(0)
        return 200, b'{"ok":true,"result":{"id":4200001,"is_bot":true,"first_name":"b","username":"b_bot"}}'


async def main() -> None:
    """Open the database, check it, and let the ticks run as `serve` does."""
    known = settings.read(settings.ServeSettings)
    clock = MovableClock(_clinic.NOW)
    store = serve.open_store(known, clock, checkpoints=True)
    office = serve.open_office(known, serve.Wiring(clock), store)
    first = _First()
    first.office = office
    bot = Bot(_clinic.TOKEN, request=first, get_updates_request=_First())
    running = Running(office, lambda out: send.send(bot, out), nothing_fetched, parse.parse, known.send_rate)
    await bot.initialize()
    await running.sweep()
    bulk = asyncio.create_task(running.on_wake("bulk", running.bulk_wakes))
    await running.first_look()
    await bulk


BEGAN_S, RSS = time.perf_counter(), psutil.Process().memory_info().rss
if __name__ == "__main__":
    sys.exit(asyncio.run(main()))
