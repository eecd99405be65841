"""Keeping the bot in step with the room's clock.

The bot's process offers a small HTTP face on this machine. `POST {url}/run` with `{"now": "<ISO UTC>"}`
makes it take over that instant, run its ticks until none finds work, and answer
`{"idle": true, "next_at": "<ISO UTC>" | null, "work": n}`, where `next_at` is the next instant at which it
will have something to do. A clock that moves far is walked from one such instant to the next, so that
nothing is lumped together that would come apart on a real clock.
"""

import asyncio
import datetime as dt
from collections.abc import Iterable
from contextlib import suppress
from dataclasses import dataclass

import httpx

from demo.room import outgoing
from demo.room.room import Room
from demo.room.shapes import Json, iso, parse_instant
from demo.room.webhook import Webhook

RUN_WITHIN_S = 120.0  # real seconds for one run of the ticks
FETCH_WITHIN_S = 10.0  # real seconds for the bot to take an update
SETTLE_REACH = dt.timedelta(seconds=90)  # spacing and retries count as part of what a person did
SETTLE_ROUNDS = 60
LEAST_STEP = dt.timedelta(seconds=1)  # a bot that is due now but does nothing must not hold the clock
STUCK_STEPS = 60  # steps in a row in which the bot was due, did nothing, and stayed due


class DriverError(Exception):
    """The bot could not be brought in step; the text says why."""


@dataclass(frozen=True)
class Report:
    """What one run of the bot's ticks came to."""

    next_at: dt.datetime | None
    work: int


class Driver:
    """Asks the bot to run, after what a person did and after each move of the clock. One at a time."""

    def __init__(self, room: Room, webhook: Webhook) -> None:
        self.url: str | None = None
        self.busy = False
        self._room = room
        self._webhook = webhook
        self._lock = asyncio.Lock()
        self._stop = False
        self._http = outgoing.client(RUN_WITHIN_S)

    async def close(self) -> None:
        """Close the connection to the bot."""
        await self._http.aclose()

    async def run(self) -> Report:
        """Have the bot take over the room's instant and work until it is idle. Raises DriverError."""
        now = self._room.now()
        try:
            answer = await self._http.post(f"{self.url}/run", json={"now": iso(now)})
            told = answer.raise_for_status().json()
            next_at = parse_instant(told["next_at"]) if told.get("next_at") else None
            report = Report(next_at, int(told.get("work", 0)))
        except (httpx.HTTPError, ValueError, TypeError, KeyError) as error:
            why = f"{type(error).__name__}: {error}"
            self._room.record.line("driver", {"work": None, "next_at": None, "error": why})
            raise DriverError(f"The bot did not run its ticks ({why}).") from error
        shown = iso(report.next_at) if report.next_at else None
        self._room.record.line("driver", {"work": report.work, "next_at": shown, "error": None})
        return report

    async def settle(self, update_ids: Iterable[int]) -> Json:
        """After a person acted: wait until the bot has taken the updates, then run it until all is quiet.

        Answers `settled` and, where it is false, `why`. The clock moves at most 90 s, to what is due by then.
        """
        if self.url is None:
            return {"settled": False, "why": "no bot has registered"}
        try:
            await self._wait_fetched(set(update_ids))
            async with self._lock:
                await self._quiet(self._room.now() + SETTLE_REACH)
        except DriverError as error:
            return {"settled": False, "why": str(error)}
        return {"settled": True}

    async def _wait_fetched(self, update_ids: set[int]) -> None:
        loop = asyncio.get_running_loop()
        until_s = loop.time() + FETCH_WITHIN_S
        while any(update_id in self._room.updates for update_id in update_ids):
            # A frozen webhook that waits to try again is brought there by moving the clock.
            if self._webhook.next_try_at() is not None:
                return
            if not await self._room.stir.wait(until_s - loop.time()):
                raise DriverError(f"The bot has not taken the update within {FETCH_WITHIN_S:.0f} s.")

    async def _quiet(self, until_at: dt.datetime) -> Report:
        """Run, and go on to whatever is due by `until_at`, until nothing is. Answers the last report."""
        report = await self.run()
        for _ in range(SETTLE_ROUNDS):
            due_at = self._due(report)
            if due_at is None or due_at > until_at:
                break
            self._room.move_clock(due_at)
            report = await self.run()
        return report

    def _due(self, report: Report) -> dt.datetime | None:
        """The next instant worth going to, always later than now."""
        times = [at for at in (report.next_at, self._webhook.next_try_at()) if at is not None]
        return max(min(times), self._room.now() + LEAST_STEP) if times else None

    def stop(self) -> None:
        """End the walk that is under way, after its present step."""
        self._stop = True

    async def planned(self) -> dt.datetime | None:
        """The next instant at which something will happen. Raises DriverError."""
        async with self._lock:
            return self._due(await self.run())

    async def walk(self, target_at: dt.datetime, settle_s: float) -> None:
        """Move the clock to `target_at` by way of all that is due before, then at most `settle_s` further.

        Backwards the clock jumps. Raises DriverError; the clock then stands where the bot failed.
        """
        async with self._lock:
            self.busy, self._stop = True, False
            start_at = self._room.now()
            try:
                if target_at > start_at:
                    await self._walk(start_at, target_at)
                elif target_at < start_at:
                    self._room.move_clock(target_at)
                if not self._stop:
                    await self._quiet(target_at + dt.timedelta(seconds=settle_s))
            finally:
                self.busy = False
                self._tell(start_at, target_at, done=True)

    async def _walk(self, start_at: dt.datetime, target_at: dt.datetime) -> None:
        if waiting := self._room.updates.waiting(start_at):
            # A bot that does not come for them, broken off on purpose perhaps, does not hold the clock.
            with suppress(DriverError):
                await self._wait_fetched({pending.update_id for pending in waiting})
        report = await self.run()
        stuck_steps = 0
        while not self._stop:
            due_at = self._due(report)
            overdue = report.next_at is not None and report.next_at <= self._room.now()
            stuck_steps = stuck_steps + 1 if overdue and report.work == 0 else 0
            if stuck_steps > STUCK_STEPS:
                raise DriverError("The bot says that something is due and does nothing about it.")
            at = target_at if due_at is None else min(due_at, target_at)
            self._room.move_clock(at)
            self._tell(start_at, target_at, done=False)
            if at >= target_at:
                return
            report = await self.run()

    def _tell(self, start_at: dt.datetime, target_at: dt.datetime, *, done: bool) -> None:
        now = self._room.now()
        whole_s = (target_at - start_at).total_seconds()
        share = 1.0 if done or whole_s <= 0 else (now - start_at).total_seconds() / whole_s
        news: Json = {
            "from": iso(start_at),
            "to": iso(target_at),
            "now": iso(now),
            "share": share,
            "done": done,
        }
        self._room.hub.tell("progress", news)
