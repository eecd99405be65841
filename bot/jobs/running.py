"""The parts of a running service: what each tick and each wake does, on worker threads."""

import asyncio
import contextlib
import datetime as dt
import functools
import uuid
from collections.abc import Awaitable, Callable, Coroutine, Sequence
from concurrent.futures import ThreadPoolExecutor
from contextlib import AsyncExitStack
from dataclasses import dataclass
from typing import Any, TypeVar

from bot.domain.delivery import NotSent, Result, Unknown
from bot.errors import DeadTokenError
from bot.logs import get, place
from bot.service import (
    accept,
    agenda,
    alerts,
    deliver,
    digests,
    erasing,
    files,
    handle,
    housekeeping,
    idle,
)
from bot.service.handle import Parse
from bot.service.office import Office
from bot.service.pauses import pause_after

THREADS = 8  # on a database that takes several writers
BATCH = 50  # clients or alerts looked at in one transaction
MOST_SETTLES = 200  # tries to write down what became of a message, some ten minutes
FIRST_PAUSE_S = 0.1
LONGEST_PAUSE_S = 3.0
MOST_ON_THE_WAY = 20  # urgent messages whose answer is awaited at the same time
log = get()

T = TypeVar("T")
Send = Callable[[deliver.Outgoing], Awaitable[Result]]
Fetch = Callable[[str, int], Awaitable[files.Result]]
Work = Callable[[], Awaitable[object]]


@dataclass(frozen=True, slots=True)
class Quiet:
    """What a run of the ticks came to: how much they found, and when something will be due again."""

    work: int
    next_at: dt.datetime | None


class Running:
    """The parts of a running service. `run_until_idle` is for a companion that moves the clock itself."""

    def __init__(self, office: Office, send: Send, fetch: Fetch, parse: Parse, rate: float) -> None:
        self.office = office
        self._send_out = send
        self._fetch = fetch
        self._parse = parse
        self._rate = rate
        self._work = ThreadPoolExecutor(1 if office.alone else THREADS, "work")
        self._drawing = ThreadPoolExecutor(1, "draw")
        self._in_hand: set[asyncio.Task[None]] = set()
        self._on_the_way: set[asyncio.Task[None]] = set()
        self._sending: set[uuid.UUID] = set()  # messages whose fate is not written down yet
        self._look_again = False  # something may have waited behind what was on its way
        self.inbox_wakes = asyncio.Event()
        self.urgent_wakes = asyncio.Event()
        self.dead_token: DeadTokenError | None = None
        self.stopping = asyncio.Event()
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
        await self.in_thread(lambda: accept.accept(self.office, batch))
        self.inbox_wakes.set()

    async def inbox(self) -> int:
        """Handle every update that can be handled now; tells how many."""
        count = 0
        async with self._alone["inbox"]:
            while await self.in_thread(lambda: handle.handle_next(self.office, self._parse)):
                count += 1
                self.urgent_wakes.set()
                if self.stopping.is_set():
                    return count
        if count:
            await self.agenda()
            await self.files()
        return count

    async def agenda(self) -> int:
        """Say what is due."""
        return await self._all("agenda", lambda: agenda.run(self.office, BATCH))

    async def alerts(self) -> int:
        """Tell alerts that are due again."""
        count = await self._all("alerts", lambda: alerts.watch(self.office, BATCH))
        if count:
            self.urgent_wakes.set()
        return count

    async def sweep(self) -> int:
        """Decide on what is late or stranded."""
        async with self._alone["sweep"]:
            freed = await self.in_thread(lambda: handle.take_over(self.office))
            if freed:
                self.inbox_wakes.set()
            in_hand = frozenset(self._sending)
            return freed + await self.in_thread(lambda: deliver.sweep(self.office, in_hand))

    async def erasing(self) -> int:
        """Erase who asked for it and can be; tells how many."""
        async with self._alone["erasing"]:
            return await self.in_thread(lambda: erasing.run(self.office))

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
                    self.dead_token = error
                    self.stopping.set()
                    break
                await self.in_thread(functools.partial(files.settle, self.office, file, result))
                self.urgent_wakes.set()
                count += 1
        return count

    async def housekeeping(self) -> int:
        """Let go of what is kept no longer."""
        async with self._alone["housekeeping"]:
            return await self.in_thread(lambda: housekeeping.run(self.office))

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
                ended = await asyncio.gather(*(self._result(out) for out in batch))
                batch = await self._turn_over(ended)
        return total

    async def _turn_over(self, ended: Sequence[deliver.Ended]) -> list[deliver.Outgoing]:
        """Settle a batch and take the next, or settle it alone when the service stops or that fails."""
        try:
            if not self.stopping.is_set():
                taken = await self.in_thread(
                    lambda: deliver.turn_over(self.office, ended, deliver.BULK, self._rate)
                )
                self._sending.difference_update(one.sent.id for one in ended)
                return taken
        except Exception as error:
            if not ended:
                raise
            log.error("not_turned_over", error=type(error).__name__, where=place(error))  # noqa: TRY400 - no texts in logs
        await asyncio.gather(*(self._settle(one) for one in ended))
        return []

    async def _all(self, name: str, once: Callable[[], int]) -> int:
        total = 0
        async with self._alone[name]:
            while count := await self.in_thread(once):
                total += count
                if count < BATCH or self.stopping.is_set():
                    break
        return total

    async def _send(self, out: deliver.Outgoing) -> None:
        """Send one message and write down what became of it; never raises."""
        await self._settle(await self._result(out))

    async def _result(self, out: deliver.Outgoing) -> deliver.Ended:
        """Send one message; never raises. It stays in hand until what became of it is written down."""
        self._sending.add(out.id)
        result: Result
        try:
            result = await self._send_out(out)
        except DeadTokenError as error:
            self.dead_token = error
            self.stopping.set()
            result = NotSent("dead token")
        except Exception as error:  # noqa: BLE001 - a fault of ours; it may have left before that
            log.error("send_failed", message=str(out.id), error=type(error).__name__, where=place(error))  # noqa: TRY400 - no texts in logs
            result = Unknown(type(error).__name__)
        except BaseException:
            self._sending.discard(out.id)
            raise
        return deliver.Ended(out, result)

    async def _settle(self, ended: deliver.Ended) -> None:
        """Write down what became of a message, again and again while the database is gone; never raises."""
        failures = 0
        while True:
            try:
                await self.in_thread(lambda: deliver.settle(self.office, (ended,)))
            except Exception as error:  # noqa: BLE001 - given up, its lease ends and the sweep decides
                failures += 1
                log.error(  # noqa: TRY400 - no texts in logs
                    "not_settled",
                    message=str(ended.sent.id),
                    error=type(error).__name__,
                    where=place(error),
                    tries=failures,
                )
                if failures >= MOST_SETTLES or await self._stopping_within(
                    pause_after(failures, FIRST_PAUSE_S, LONGEST_PAUSE_S)
                ):
                    break
            else:
                break
        self._sending.discard(ended.sent.id)

    async def _stopping_within(self, seconds: float) -> bool:
        """Wait, but not longer than until the service stops; tells whether it does."""
        with contextlib.suppress(TimeoutError):
            await asyncio.wait_for(self.stopping.wait(), seconds)
        return self.stopping.is_set()

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
        for event in (self.inbox_wakes, self.urgent_wakes):
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
