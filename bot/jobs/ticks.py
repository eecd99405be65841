"""The ticker: a handful of intervals in each process. What is due stands in the database, not here."""

from collections.abc import Awaitable, Callable, Mapping

from apscheduler.schedulers.asyncio import AsyncIOScheduler

Tick = Callable[[], Awaitable[object]]

EVERY_S: Mapping[str, float] = {
    "inbox": 2,
    "agenda": 2,
    "alerts": 2,
    "urgent": 1,
    "bulk": 1,
    "sweep": 0.5,  # a dead worker's messages are taken over within its lease and a second
    "files": 2,
    "digests": 20,
    "erasing": 30,
    "watching": 30,
    "housekeeping": 3600,
}


def make_ticker(ticks: Mapping[str, Tick], every_s: Mapping[str, float] = EVERY_S) -> AsyncIOScheduler:
    """A scheduler that runs each tick at its interval, never twice at once, and never drops a late run."""
    scheduler = AsyncIOScheduler(timezone="UTC")
    for name, tick in ticks.items():
        scheduler.add_job(
            tick,
            "interval",
            seconds=every_s[name],
            id=name,
            coalesce=True,
            max_instances=1,
            misfire_grace_time=None,
        )
    return scheduler
