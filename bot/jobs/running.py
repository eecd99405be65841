"""The parts of a running service: what each tick and each wake does, on worker threads."""

import asyncio
import datetime as dt
import functools
from collections.abc import Awaitable, Callable, Coroutine, Sequence
from concurrent.futures import ThreadPoolExecutor
from contextlib import AsyncExitStack
from dataclasses import dataclass
from typing import Any, TypeVar

from bot.errors import DeadTokenError
from bot.jobs.sending import Send, Sending
from bot.logs import get, place
from bot.service import (
    accept,
    agenda,
    alerts,
    deliver,
    digests,
    erasing,
    files,
    gauges,
    handle,
    housekeeping,
    idle,
    incidents,
    letting_go,
)
from bot.service.handle import Parse
from bot.service.office import Office

THREADS = 8  # on a database that takes several writers
HANDLED_AT_ONCE = 3  # updates of different persons
BATCH = 25  # clients or alerts looked at in one transaction
FIRST_BATCH = 5  # clients looked at first of all when the service starts
MOST_STEPS = 2000  # of letting go, in one run of housekeeping
MOST_ON_THE_WAY = 20  # urgent messages whose answer is awaited at the same time
log = get()

T = TypeVar("T")
Fetch = Callable[[str, int], Awaitable[files.Result]]
Work = Callable[[], Awaitable[object]]


@dataclass(frozen=True, slots=True)
class Quiet:
    """What a run of the ticks came to: how much they found, and when something will be due again."""

    work: int
    next_at: dt.datetime | None


class Running:
    """The parts of a running service. `run_until_idle` is for a companion that moves the clock itself."""

    def __init__(
        self,
        office: Office,
        send: Send,
        fetch: Fetch,
        parse: Parse,
        rate: float,
        reception: accept.Reception | None = None,
    ) -> None:
        self.office = office
        self._fetch = fetch
        self._parse = parse
        self._rate = rate
        self._reception = reception or accept.Reception()
        self._work = ThreadPoolExecutor(1 if office.alone else THREADS, "work")
        self._drawing = ThreadPoolExecutor(1, "draw")
        self._in_hand: set[asyncio.Task[None]] = set()
        self._on_the_way: set[asyncio.Task[None]] = set()
        self._look_again = False  # something may have waited behind what was on its way
        self.inbox_wakes = asyncio.Event()
        self.urgent_wakes = asyncio.Event()
        self.bulk_wakes = asyncio.Event()
        self.stopping = asyncio.Event()
        self._sending = Sending(send, self._write_down, self.stopping)
        self._ticks: dict[str, Callable[[], Awaitable[int]]] = {
            "inbox": self.inbox,
            "agenda": self.agenda,
            "alerts": self.alerts,
            "urgent": self.urgent,
            "bulk": self.bulk,
            "sweep": self.sweep,
            "files": self.files,
            "digests": self.digests,
            "erasing": self.erasing,
            "watching": self.watching,
            "housekeeping": self.housekeeping,
        }
        self._alone = {name: asyncio.Lock() for name in self._ticks}

    async def in_thread(self, work: Callable[[], T], pool: ThreadPoolExecutor | None = None) -> T:
        """Run a use case in a worker thread; a transaction that has begun is always ended."""
        done = asyncio.get_running_loop().run_in_executor(pool or self._work, work)
        done.add_done_callback(_heard)
        return await asyncio.shield(done)

    async def accept(self, batch: Sequence[accept.Received]) -> None:
        """Store updates; wakes whoever handles them."""
        await self.in_thread(lambda: self._reception.accept(self.office, batch))
        self.inbox_wakes.set()

    async def inbox(self) -> int:
        """Handle every update that can be handled now, and what follows from that; tells how many."""
        count = await self.handle_all()
        if count and not self.stopping.is_set():
            await self.agenda()
            await self.files()
        return count

    async def handle_all(self) -> int:
        """Handle every update that can be handled now; several persons' at once where the database can."""

        async def handle_some() -> int:
            count = 0
            while done := await self.in_thread(lambda: handle.handle_some(self.office, self._parse)):
                count += done
                self.urgent_wakes.set()
                if self.stopping.is_set():
                    break
            return count

        async with self._alone["inbox"]:
            at_once = 1 if self.office.alone else HANDLED_AT_ONCE
            return sum(await asyncio.gather(*(handle_some() for _ in range(at_once))))

    async def agenda(self) -> int:
        """Say what is due."""
        return await self._all("agenda", lambda: self._look_at(BATCH))

    async def first_look(self) -> None:
        """A few of those who are due when the service starts wait neither for the others nor for the tick."""

        async def look() -> None:
            async with self._alone["agenda"]:
                await self._look_at(FIRST_BATCH)

        await self._guarded("agenda", look)

    async def look(self) -> None:
        """Say what is due; a failure is left to the tick."""
        await self._guarded("agenda", self.agenda)

    async def _look_at(self, most: int) -> int:
        count = await self.in_thread(lambda: agenda.run(self.office, most))
        if count:
            self.bulk_wakes.set()
        return count

    async def alerts(self) -> int:
        """Tell alerts that are due again."""
        count = await self._all("alerts", lambda: self.in_thread(lambda: alerts.watch(self.office, BATCH)))
        if count:
            self.urgent_wakes.set()
        return count

    async def sweep(self) -> int:
        """Decide on what is late or stranded."""
        async with self._alone["sweep"]:
            freed = await self.in_thread(lambda: self._reception.replay(self.office))
            freed += await self.in_thread(lambda: handle.take_over(self.office))
            if freed:
                self.inbox_wakes.set()
            in_hand = frozenset(self._sending.in_hand)
            return freed + await self.in_thread(lambda: deliver.sweep(self.office, in_hand))

    async def erasing(self) -> int:
        """Erase who asked for it and can be; tells how many."""
        async with self._alone["erasing"]:
            return await self.in_thread(lambda: erasing.run(self.office))

    async def watching(self) -> int:
        """Tell an administrator of what is amiss, and therapists of notes that did not arrive."""
        async with self._alone["watching"]:
            count = await self.in_thread(lambda: incidents.run(self.office))
        if count:
            self.urgent_wakes.set()
        return count

    async def files(self) -> int:
        """Fetch the prescription files that therapists sent, one after the other, and read them."""
        count = 0
        async with self._alone["files"]:
            while not self.stopping.is_set():
                file = await self.in_thread(lambda: files.take(self.office))
                if file is None:
                    break
                try:
                    result = await self._fetch(file.file_id, files.MOST_BYTES)
                except DeadTokenError as error:
                    self._sending.dead_token = error
                    self.stopping.set()
                    break
                await self.in_thread(functools.partial(files.settle, self.office, file, result))
                self.urgent_wakes.set()
                count += 1
        return count

    async def housekeeping(self) -> int:
        """Let go of what is kept no longer; others' work gets in between the steps."""
        async with self._alone["housekeeping"]:
            found, left = await self.in_thread(lambda: housekeeping.run(self.office)), MOST_STEPS
            while left and not self.stopping.is_set():
                left = left - 1 if await self.in_thread(lambda: letting_go.step(self.office)) else 0
            return found

    async def digests(self) -> int:
        """Draw and put the digests that are due."""
        async with self._alone["digests"]:
            return await self.in_thread(lambda: digests.run(self.office), self._drawing)

    async def urgent(self) -> int:
        """Send advice, alerts, replies on their way; tells how many.

        Their answers are not waited for: a message that hangs must not hold up another one's emergency
        advice. `arrived` waits for them.
        """
        total = 0
        async with self._alone["urgent"]:
            while not self.stopping.is_set():
                if len(self._on_the_way) + deliver.MOST_AT_ONCE > MOST_ON_THE_WAY:
                    await asyncio.wait(self._on_the_way, return_when=asyncio.FIRST_COMPLETED)
                    continue
                batch = await self.in_thread(lambda: deliver.take(self.office, deliver.URGENT, self._rate))
                if not batch:
                    self._look_again = bool(self._on_the_way)
                    break
                for out in batch:
                    sending = self._keep(self._send(out))
                    self._on_the_way.add(sending)
                    sending.add_done_callback(self._landed)
                total += len(batch)
        return total

    def _landed(self, sending: asyncio.Task[None]) -> None:
        """The last message has landed: what waited behind one of them in the same chat may go."""
        self._on_the_way.discard(sending)
        if self._look_again and not self._on_the_way:
            self._look_again = False
            self.urgent_wakes.set()

    async def arrived(self) -> None:
        """Wait until no urgent message is on its way."""
        while self._on_the_way:
            await asyncio.wait(self._on_the_way)

    async def bulk(self) -> int:
        """Send nudges and digests, one batch after the other: a kill leaves at most one of unknown fate.

        What became of a batch is written down in the commit that marks the next one.
        """
        total = 0
        async with self._alone["bulk"]:
            batch = await self._turn_over(())
            while batch:
                total += len(batch)
                ended = await asyncio.gather(*(self._sending.result(out) for out in batch))
                batch = await self._turn_over(ended)
        return total

    async def _turn_over(self, ended: Sequence[deliver.Ended]) -> list[deliver.Outgoing]:
        """Settle a batch and take the next, or settle it alone when the service stops or that fails."""
        try:
            if not self.stopping.is_set():
                taken = await self.in_thread(
                    lambda: deliver.turn_over(self.office, ended, deliver.BULK, self._rate)
                )
                self._sending.in_hand.difference_update(one.sent.id for one in ended)
                return taken
        except Exception as error:
            if not ended:
                raise
            log.error("not_turned_over", error=type(error).__name__, where=place(error))  # noqa: TRY400 - no texts in logs
        await asyncio.gather(*(self._sending.settle(one) for one in ended))
        return []

    async def _write_down(self, ended: deliver.Ended) -> None:
        await self.in_thread(lambda: deliver.settle(self.office, (ended,)))

    @property
    def dead_token(self) -> DeadTokenError | None:
        """What the platform said when it refused the token; None as long as it has not."""
        return self._sending.dead_token

    async def _all(self, name: str, once: Callable[[], Awaitable[int]]) -> int:
        total = 0
        async with self._alone[name]:
            while count := await once():
                total += count
                if count < BATCH or self.stopping.is_set():
                    break
        return total

    async def _send(self, out: deliver.Outgoing) -> None:
        """Send one message and write down what became of it; never raises."""
        await self._sending.settle(await self._sending.result(out))

    def _keep(self, work: Coroutine[Any, Any, None]) -> asyncio.Task[None]:
        """Begin something that a stop waits for."""
        task = asyncio.create_task(work)
        self._in_hand.add(task)
        task.add_done_callback(self._in_hand.discard)
        return task

    async def run_until_idle(self) -> Quiet:
        """Do what is due until nothing is; tells how much was found and when something will be due again."""
        work, in_vain = 0, 0
        while True:
            due_at = await self._due_at()
            now = self.office.clock.now()
            due = [name for name, at in due_at.items() if at <= now]
            if not due or in_vain > 1:
                return Quiet(work, min(due_at.values(), default=None))
            found = 0
            for name in due:
                found += await (self._outbox() if name == "outbox" else self._ticks[name]())
            # What was due may have been done by a wake meanwhile: it is asked again before anybody is told.
            in_vain = 0 if found else in_vain + 1
            work += found

    async def _outbox(self) -> int:
        """Send what may go, urgent messages first; only what cannot go any more is left to the sweep."""
        found = await self.urgent()
        await self.arrived()
        found += await self.bulk()
        return found or await self.sweep()

    async def _due_at(self) -> dict[str, dt.datetime]:
        """When there is something to do again, asked while nothing is in hand: what is in hand is not due."""
        async with AsyncExitStack() as held:
            for lock in self._alone.values():
                await held.enter_async_context(lock)
            await self.arrived()
            return await self.in_thread(lambda: idle.due_at(self.office))

    async def amiss(self) -> list[str]:
        """What keeps the service from being ready."""
        return await self.in_thread(lambda: idle.amiss(self.office))

    async def figures(self) -> gauges.Gauges:
        """How the service stands, in figures."""
        return await self.in_thread(lambda: gauges.read(self.office))

    async def on_wake(self, name: str, event: asyncio.Event) -> None:
        """Run a tick whenever an event is set; the ticker runs it too, should a wake be lost."""
        while not self.stopping.is_set():
            await event.wait()
            event.clear()
            await self._guarded(name, self._ticks[name])

    async def _guarded(self, name: str, work: Work) -> None:
        """Run a tick so that whoever asked may be cut off but not the tick, and its failure ends nothing."""
        if self.stopping.is_set():
            return

        async def logged() -> None:
            try:
                await work()
            except Exception as error:  # noqa: BLE001 - the tick comes round again
                log.error("tick_failed", kind=name, error=type(error).__name__, where=place(error))  # noqa: TRY400 - no texts in logs

        await asyncio.shield(self._keep(logged()))

    async def finish(self, within_s: float) -> None:
        """Stop: nothing new is begun, what is in hand comes to its end, the rest is broken off in time.

        Broken off, a message stays `sending`; the next start decides on it by its kind.
        """
        self.stopping.set()
        for event in (self.inbox_wakes, self.urgent_wakes, self.bulk_wakes):
            event.set()
        loop = asyncio.get_running_loop()
        until_s = loop.time() + within_s
        while self._in_hand and loop.time() < until_s:
            await asyncio.wait(self._in_hand, timeout=until_s - loop.time())
        if self._in_hand:
            log.warning("broken_off", count=len(self._in_hand))
            for task in self._in_hand:
                task.cancel()
            await asyncio.wait(self._in_hand)
        await loop.run_in_executor(None, self.close)

    def close(self) -> None:
        """Wait for the transactions under way and let the threads go."""
        for pool in (self._drawing, self._work):
            pool.shutdown(wait=True, cancel_futures=True)

    def ticks(self) -> dict[str, Work]:
        """Every tick by its name, for the ticker; none of them raises."""
        return {name: functools.partial(self._guarded, name, work) for name, work in self._ticks.items()}


def _heard(done: asyncio.Future[T]) -> None:
    """A failure that nobody waits for any more is not complained about once again."""
    if not done.cancelled():
        done.exception()
