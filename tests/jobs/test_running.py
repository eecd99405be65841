"""The running parts: ticks, wakes, sending, stopping. Real database, real threads, sending by hand."""

import asyncio
import json
import time
import uuid
from collections.abc import AsyncIterator, Callable, Coroutine, Iterator
from contextlib import asynccontextmanager, contextmanager
from dataclasses import replace
from typing import Any

import pytest

from bot.domain.delivery import Kind, NotSent, Refused, RetryAfter, State
from bot.errors import DeadTokenError
from bot.jobs.running import MOST_ON_THE_WAY, Quiet, Running
from bot.jobs.ticks import EVERY_S, make_ticker
from bot.service.deliver import MOST_AT_ONCE
from bot.store.base import Tx
from tests.fixtures.waiting import until
from tests.jobs.conftest import ORLA, House, update

OFTEN = dict.fromkeys(EVERY_S, 0.02)


def run(scene: Callable[[], Coroutine[Any, Any, None]]) -> None:
    asyncio.run(scene())


@asynccontextmanager
async def ticking(service: Running) -> AsyncIterator[None]:
    """The ticker at work, fifty times a second; at the end of the block it is cut off, whatever it does."""
    ticker = make_ticker(service.ticks(), OFTEN)
    ticker.start()
    try:
        yield
    finally:
        ticker.shutdown(wait=False)


class Failing:
    """Stands in for a database that fails some times first."""

    def __init__(self, house: House, times: int, error: Exception) -> None:
        self._house = house
        self._times = times
        self._error = error

    @contextmanager
    def begin(self, *, flushed: bool = True) -> Iterator[Tx]:
        """A transaction, later on."""
        if self._times:
            self._times -= 1
            raise self._error
        with self._house.store.begin(flushed=flushed) as tx:
            yield tx


# --- ticks and wakes ---


def test_every_tick_has_its_interval_and_the_other_way_round(house: House) -> None:
    assert house.running().ticks().keys() == EVERY_S.keys()


def test_with_every_wake_lost_the_ticks_do_the_work(house: House) -> None:
    async def scene() -> None:
        service = house.running()
        async with ticking(service):
            await service.accept([update(1), update(2, sender=ORLA + 1)])
            service.inbox_wakes.clear()
            await until(lambda: len(house.post.arrived) == 2)
        await service.finish(5)
        assert house.inbox_states() == ["handled", "handled"]
        assert house.states() == {State.SENT: 2}

    run(scene)


def test_a_wake_alone_does_the_work_too(house: House) -> None:
    async def scene() -> None:
        service = house.running()
        loops = [
            asyncio.create_task(service.on_wake("inbox", service.inbox_wakes)),
            asyncio.create_task(service.on_wake("urgent", service.urgent_wakes)),
        ]
        await service.accept([update(1)])
        await until(lambda: house.post.arrived)
        await service.finish(5)
        await asyncio.wait_for(asyncio.gather(*loops), 5)

    run(scene)


def test_a_tick_that_is_still_at_work_is_not_begun_again() -> None:
    async def scene() -> None:
        begun, at_work, most, gate = 0, 0, 0, asyncio.Event()

        async def tick() -> None:
            nonlocal begun, at_work, most
            begun += 1
            at_work += 1
            most = max(most, at_work)
            await gate.wait()
            at_work -= 1

        ticker = make_ticker({"urgent": tick}, OFTEN)
        ticker.start()
        await until(lambda: begun == 1)
        due = asyncio.get_running_loop().time() + 5 * OFTEN["urgent"]
        await until(lambda: asyncio.get_running_loop().time() > due)
        assert begun == 1
        gate.set()
        await until(lambda: begun > 3)
        assert most == 1
        ticker.shutdown(wait=False)

    run(scene)


@pytest.mark.parametrize("kind", [Kind.NUDGE, Kind.REPLY])
def test_ticks_wakes_and_companion_never_send_one_message_twice(either_house: House, kind: Kind) -> None:
    async def scene() -> None:
        house = either_house
        for chat in range(24):
            house.put(ORLA + chat, kind)
        service = house.running()
        lane = service.bulk if kind is Kind.NUDGE else service.urgent
        await asyncio.gather(*(lane() for _ in range(5)), service.run_until_idle())
        await service.arrived()
        assert sorted(out.chat for out in house.post.arrived) == [ORLA + chat for chat in range(24)]
        assert house.states() == {State.SENT: 24}

    run(scene)


def test_updates_are_handled_once_however_many_ask(either_house: House) -> None:
    async def scene() -> None:
        service = either_house.running()
        await service.accept([update(number, sender=ORLA + number % 5) for number in range(1, 26)])
        counts = await asyncio.gather(*(service.inbox() for _ in range(4)))
        assert sum(counts) == 25
        assert either_house.inbox_states() == ["handled"] * 25

    run(scene)


def test_a_tick_that_fails_is_told_without_texts_and_the_next_one_works(
    house: House, capsys: pytest.CaptureFixture[str]
) -> None:
    async def scene() -> None:
        fault = ValueError("Orla wrote: 2 and a bit sore")
        service = house.running()
        await service.accept([update(1)])
        service = house.running(begin=Failing(house, 12, fault).begin)
        async with ticking(service):
            await until(lambda: house.post.arrived)
        await service.finish(5)

    run(scene)
    told = capsys.readouterr()
    assert "sore" not in told.out + told.err
    lines = [json.loads(line) for line in told.err.splitlines()]
    failed = [line for line in lines if line["event"] == "tick_failed"]
    assert len(failed) == 12
    assert {line["error"] for line in failed} == {"ValueError"}
    assert {line["kind"] for line in failed} <= EVERY_S.keys()
    assert all(line["where"].startswith("bot/") for line in failed)


# --- sending ---


def test_a_message_that_hangs_holds_up_nobody_elses_advice(house: House) -> None:
    async def scene() -> None:
        service = house.running()
        house.post.hangs.add(ORLA)
        house.put(ORLA)
        assert await service.urgent() == 1
        await until(lambda: house.post.on_the_way == 1)
        house.put(ORLA + 1, Kind.ADVICE)
        assert await service.urgent() == 1
        await until(lambda: house.post.arrived)
        assert [(out.chat, out.kind) for out in house.post.arrived] == [(ORLA + 1, Kind.ADVICE)]
        await service.finish(0.1)

    run(scene)


def test_so_many_may_be_on_their_way_and_no_more(house: House) -> None:
    async def scene() -> None:
        service = house.running()
        house.post.gate = asyncio.Event()
        for chat in range(28):
            house.put(ORLA + chat)
        sending = asyncio.create_task(service.urgent())
        await until(lambda: house.post.on_the_way == MOST_ON_THE_WAY)
        house.post.gate.set()
        assert await sending == 28
        await service.arrived()
        assert house.post.most_at_once == MOST_ON_THE_WAY

    run(scene)


def test_nudges_go_in_one_batch_after_the_other(house: House) -> None:
    """So that a kill leaves at most one batch of unknown fate."""

    async def scene() -> None:
        service = house.running()
        house.post.gate = asyncio.Event()
        for chat in range(2 * MOST_AT_ONCE + 1):
            house.put(ORLA + chat, Kind.NUDGE)
        sending = asyncio.create_task(service.bulk())
        await until(lambda: house.post.on_the_way == MOST_AT_ONCE)
        again = asyncio.create_task(service.bulk())
        await asyncio.sleep(0)
        await service.sweep()  # the one worker thread has then seen whatever the second one asked of it
        assert house.states() == {State.SENDING: MOST_AT_ONCE, State.QUEUED: MOST_AT_ONCE + 1}
        house.post.gate.set()
        assert await sending + await again == 2 * MOST_AT_ONCE + 1
        assert house.post.most_at_once == MOST_AT_ONCE

    run(scene)


def test_a_fault_of_ours_in_sending_leaves_the_others_alone(
    house: House, capsys: pytest.CaptureFixture[str]
) -> None:
    async def scene() -> None:
        service = house.running()
        house.post.error = KeyError("2 and a bit sore")
        house.put(ORLA, Kind.NUDGE)
        house.put(ORLA + 1, Kind.NUDGE)
        assert await service.bulk() == 2
        assert house.states() == {State.UNKNOWN: 2}

    run(scene)
    told = capsys.readouterr().err
    assert "sore" not in told
    assert told.count('"send_failed"') == 2


def test_a_dead_token_stops_the_service_and_loses_nothing(house: House) -> None:
    async def scene() -> None:
        service = house.running()
        house.post.error = DeadTokenError("BOT_TOKEN: refused")
        house.put(ORLA, Kind.NUDGE)
        house.put(ORLA + 1)
        await service.bulk()
        assert service.stopping.is_set()
        assert service.dead_token is house.post.error
        assert await service.urgent() == 0
        assert house.states() == {State.QUEUED: 2}

    run(scene)


@pytest.mark.parametrize(
    ("result", "left"),
    [
        (RetryAfter(17), {State.QUEUED: 1}),
        (NotSent("ConnectError"), {State.QUEUED: 1}),
        (Refused("bad request", gone=False), {State.REFUSED: 1}),
    ],
)
def test_what_became_of_it_is_written_down(
    house: House, result: RetryAfter | NotSent | Refused, left: dict[State, int]
) -> None:
    async def scene() -> None:
        house.post.result = result
        house.put(ORLA)
        service = house.running()
        await service.urgent()
        await service.arrived()
        assert house.states() == left

    run(scene)


def test_what_became_of_it_is_written_down_once_the_database_is_back(
    house: House, capsys: pytest.CaptureFixture[str]
) -> None:
    async def scene() -> None:
        service = await both_on_their_way(house, failures=5)
        await service.arrived()
        await until(lambda: house.states() == {State.SENT: 2})

    run(scene)
    told = capsys.readouterr().err
    assert "sore" not in told
    assert '"not_settled"' in told


def test_a_database_that_stays_away_leaves_it_to_the_sweep(house: House) -> None:
    """The message stays `sending`; when its lease is over the sweep decides by its kind."""

    async def scene() -> None:
        service = await both_on_their_way(house, failures=10**6)
        await service.finish(1)
        assert house.states() == {State.SENDING: 2}
        house.clock.move(seconds=11)
        await house.running().sweep()
        assert house.states() == {State.UNKNOWN: 1, State.QUEUED: 1}

    run(scene)


async def both_on_their_way(house: House, failures: int) -> Running:
    """A nudge and a reply that have left just when the database goes away for so many tries."""
    house.put(ORLA, Kind.NUDGE)
    house.put(ORLA + 1, Kind.REPLY)
    service = house.running()
    house.post.gate = asyncio.Event()
    sending = asyncio.gather(service.bulk(), service.urgent())
    await until(lambda: house.post.on_the_way == 2)
    failing = Failing(house, failures, OSError("2 and a bit sore"))
    service.office = replace(service.office, begin=failing.begin)
    house.post.gate.set()
    await asyncio.wait([sending], timeout=0.5)
    return service


# --- stopping ---


@pytest.mark.parametrize(("kind", "most"), [(Kind.NUDGE, MOST_AT_ONCE), (Kind.REPLY, MOST_ON_THE_WAY)])
def test_a_stop_finishes_what_is_in_hand_and_begins_nothing(house: House, kind: Kind, most: int) -> None:
    async def scene() -> None:
        service = house.running()
        house.post.gate = asyncio.Event()
        for chat in range(most + 5):
            house.put(ORLA + chat, kind)
        async with ticking(service):
            await until(lambda: house.post.on_the_way == most)
        finishing = asyncio.create_task(service.finish(5))
        await until(service.stopping.is_set)
        house.post.gate.set()
        await finishing
        assert len(house.post.arrived) == most
        assert house.states() == {State.SENT: most, State.QUEUED: 5}

    run(scene)


def test_a_stop_between_two_updates_leaves_the_second_for_the_next_start(house: House) -> None:
    async def scene() -> None:
        service = house.running()
        await service.accept([update(1), update(2), update(3)])
        service.stopping.set()
        await service.inbox()
        await service.finish(5)
        assert house.inbox_states() == ["handled", "new", "new"]

    run(scene)


def test_what_does_not_end_is_broken_off_and_decided_at_the_next_start(house: House) -> None:
    async def scene() -> None:
        service = house.running()
        house.post.hangs = {ORLA, ORLA + 1, ORLA + 2}
        house.put(ORLA, Kind.NUDGE)
        house.put(ORLA + 1, Kind.REPLY)
        house.put(ORLA + 2, Kind.ADVICE)
        async with ticking(service):
            await until(lambda: house.post.on_the_way == 3)
        began_s = time.monotonic()
        await service.finish(0.2)
        assert time.monotonic() - began_s < 2
        assert house.states() == {State.SENDING: 3}
        later = house.running(worker=uuid.uuid4())
        assert await later.sweep() == 3
        assert house.states() == {State.UNKNOWN: 1, State.QUEUED: 2}
        await later.finish(1)

    run(scene)


def test_after_a_stop_no_tick_does_anything(house: House) -> None:
    async def scene() -> None:
        house.put(ORLA)
        service = house.running()
        await service.finish(1)
        for tick in service.ticks().values():
            await tick()
        assert house.states() == {State.QUEUED: 1}

    run(scene)


# --- beside a companion ---


def test_all_is_quiet_when_nothing_is_due_and_it_tells_when_something_will_be(house: House) -> None:
    async def scene() -> None:
        service = house.running()
        assert await service.run_until_idle() == Quiet(0, None)
        await service.accept([update(1)])
        quiet = await service.run_until_idle()
        assert (quiet.work, quiet.next_at) == (2, None)
        house.put(ORLA, times=2)
        house.clock.move(seconds=5)
        quiet = await service.run_until_idle()
        assert quiet.next_at is not None
        assert (quiet.next_at - house.clock.now()).total_seconds() == 1.0
        house.clock.move(seconds=1)
        assert await service.run_until_idle() == Quiet(1, None)
        await service.finish(1)

    run(scene)
