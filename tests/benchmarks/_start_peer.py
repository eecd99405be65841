"""The peer: one cron job for each client and time in a scheduler, in memory or in its database store."""

import asyncio
import datetime as dt
import json
import os
import sys
import time
import warnings

import httpx
import psutil
from apscheduler.jobstores.sqlalchemy import SQLAlchemyJobStore
from apscheduler.schedulers.asyncio import AsyncIOScheduler

TIMES = ((8, 30), (13, 0), (18, 30))


async def nudge(client: int) -> None:
    """Hand the first nudge to the HTTP client, and be done."""
    httpx.Request("POST", "http://127.0.0.1/sendMessage", json={"chat_id": client, "text": "Time for a set."})
    rss = psutil.Process().memory_info().rss - RSS
    print(json.dumps({"s": time.perf_counter() - BEGAN_S, "rss": rss}), flush=True)
    os._exit(0)


async def main(clients: int, url: str) -> None:
    """Put the jobs in, one of them due at once, and start."""
    stores = {"default": SQLAlchemyJobStore(url=url)} if url else {}
    scheduler = AsyncIOScheduler(timezone="Europe/Dublin", jobstores=stores)
    now = dt.datetime.now(dt.UTC)  # noqa: TID251 - the peer reads the clock
    for client in range(clients):
        for place, (hour, minute) in enumerate(TIMES):
            first = {"next_run_time": now} if client == clients // 2 and place == 0 else {}
            scheduler.add_job(
                nudge, "cron", hour=hour, minute=minute, args=[client], misfire_grace_time=None, **first
            )
    scheduler.start()
    await asyncio.sleep(3600)


warnings.simplefilter("ignore")
BEGAN_S, RSS = time.perf_counter(), psutil.Process().memory_info().rss
if __name__ == "__main__":
    asyncio.run(main(int(sys.argv[1]), sys.argv[2] if len(sys.argv) > 2 else ""))
