"""The parts of a running service: what each tick and each wake does, on worker threads."""

import asyncio
import datetime as dt
from collections.abc import Awaitable, Callable, Sequence
from concurrent.futures import ThreadPoolExecutor
from contextlib import AsyncExitStack
from dataclasses import dataclass
from typing import TypeVar

from bot.domain.delivery import Kind, Result
from bot.errors import DeadTokenError
from bot.logs import get
from bot.service import accept, agenda, alerts, deliver, digests, handle, housekeeping, idle
from bot.service.handle import Parse
from bot.service.office import Office

THREADS = 8  # on a database that takes several writers
log = get()

T = TypeVar("T")
Send = Callable[[deliver.Outgoing], Awaitable[Result]]


@dataclass(frozen=True, slots=True)
class Quiet:
    """What a run of the ticks came to: how much they found, and when something will be due again."""

    work: int
    next_at: dt.datetime | None


class Running:
    """The parts of a running service. `run_until_idle` is for a companion that moves the clock itself."""

    def __init__(self, office: Office, send: Send, parse: Parse, rate: float) -> None:
        self.office = office
        self._send_out = send
        self._parse = parse
        self._rate = rate
        self._work = ThreadPoolExecutor(1 if office.alone else THREADS, "work")
        self._drawing = ThreadPoolExecutor(1, "draw")
        self._locks = {name: asyncio.Lock() for name in ("inbox", "urgent", "bulk", "digests")}
        self.inbox_wakes = asyncio.Event()
        self.urgent_wakes = asyncio.Event()
        self.dead_token: DeadTokenError | None = None
        self.stopping = asyncio.Event()

    async def in_thread(self, work: Callable[[], T]) -> T:
        """Run a use case in a worker thread; a transaction that has begun is always ended."""
        return await asyncio.shield(asyncio.get_running_loop().run_in_executor(self._work, work))

    async def accept(self, batch: Sequence[accept.Received]) -> None:
        """Store updates; wakes whoever handles them."""
        await self.in_thread(lambda: accept.accept(self.office, batch))
        self.inbox_wakes.set()

    async def inbox(self) -> int:
        """Handle every update that can be handled now; tells how many."""
        count = 0
        async with self._locks["inbox"]:
            while await self.in_thread(lambda: handle.handle_next(self.office, self._parse)):
                count += 1
                self.urgent_wakes.set()
                if self.stopping.is_set():
                    break
        if count:
            await self.agenda()
        return count

    async def agenda(self) -> int:
        """Say what is due."""
        return await self._all(lambda: agenda.run(self.office))

    async def alerts(self) -> int:
        """Tell alerts that are due again."""
        count = await self._all(lambda: alerts.watch(self.office))
        if count:
            self.urgent_wakes.set()
        return count

    async def sweep(self) -> int:
        """Decide on what is late or stranded."""
        return await self.in_thread(lambda: deliver.sweep(self.office))

    async def housekeeping(self) -> int:
        """Let go of what is kept no longer."""
        return await self.in_thread(lambda: housekeeping.run(self.office))

    async def digests(self) -> int:
        """Draw and put the digests that are due."""
        async with self._locks["digests"]:
            loop = asyncio.get_running_loop()
            return await loop.run_in_executor(self._drawing, lambda: digests.run(self.office))

    async def urgent(self) -> int:
        """Send advice, alerts, replies."""
        return await self._deliver("urgent", deliver.URGENT)

    async def bulk(self) -> int:
        """Send nudges and digests."""
        return await self._deliver("bulk", deliver.BULK)

    async def _all(self, once: Callable[[], int]) -> int:
        total = 0
        while count := await self.in_thread(once):
            total += count
            if self.stopping.is_set():
                break
        return total

    async def _deliver(self, lane: str, kinds: Sequence[Kind]) -> int:
        total = 0
        async with self._locks[lane]:
            while not self.stopping.is_set():
                batch = await self.in_thread(lambda: deliver.take(self.office, kinds, self._rate))
                if not batch:
                    break
                await asyncio.gather(*(self._send(out) for out in batch))
                total += len(batch)
        return total

    async def _send(self, out: deliver.Outgoing) -> None:
        try:
            result = await self._send_out(out)
        except DeadTokenError as error:
            self.dead_token = error
            self.stopping.set()
            return
        await self.in_thread(lambda: deliver.settle(self.office, out, result))

    async def run_until_idle(self) -> Quiet:
        """Run every tick until nothing is due; tells how much was found and when something will be due."""
        ticks = (self.inbox, self.alerts, self.agenda, self.digests, self.sweep, self.urgent, self.bulk)
        work = 0
        while True:
            next_at = await self._next_at()
            if next_at is None or next_at > self.office.clock.now():
                return Quiet(work, next_at)
            found = sum([await tick() for tick in ticks])
            if not found:
                return Quiet(work, next_at)
            work += found

    async def _next_at(self) -> dt.datetime | None:
        """When there is something to do again, asked while nothing is in hand: what is in hand is not due."""
        async with AsyncExitStack() as held:
            for lock in self._locks.values():
                await held.enter_async_context(lock)
            return await self.in_thread(lambda: idle.next_at(self.office))

    async def amiss(self) -> list[str]:
        """What keeps the service from being ready."""
        return await self.in_thread(lambda: idle.amiss(self.office))

    async def on_wake(self, event: asyncio.Event, work: Callable[[], Awaitable[object]]) -> None:
        """Do some work whenever an event is set; the ticks do it too, should a wake be lost."""
        while not self.stopping.is_set():
            await event.wait()
            event.clear()
            try:
                await work()
            except Exception as error:  # noqa: BLE001 - the tick comes round again
                log.error("work_failed", error=type(error).__name__)  # noqa: TRY400 - no texts in logs

    def close(self) -> None:
        """Wait for what is in hand and let the threads go."""
        self._drawing.shutdown(wait=True)
        self._work.shutdown(wait=True)

    def ticks(self) -> dict[str, Callable[[], Awaitable[object]]]:
        """Every tick by its name, for the ticker."""
        return {
            "inbox": self.inbox,
            "agenda": self.agenda,
            "alerts": self.alerts,
            "urgent": self.urgent,
            "bulk": self.bulk,
            "sweep": self.sweep,
            "digests": self.digests,
            "housekeeping": self.housekeeping,
        }
