"""What a start does first: some of those who are due, before anything is read that they do not need."""

import asyncio
import datetime as dt
from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from threading import Barrier

import pytest

from bot.domain.delivery import State
from bot.errors import RefusedError
from bot.jobs.running import FIRST_BATCH
from bot.service.office import Guidance, ReadOnce
from tests.fixtures import crowd
from tests.jobs.conftest import BOT, House

DUE = 8


def unreadable() -> Guidance:
    raise AssertionError("a nudge needs no guidance")


def reading_once(read: Callable[[], Guidance]) -> tuple[ReadOnce, list[int]]:
    times: list[int] = []

    def counted() -> Guidance:
        times.append(1)
        return read()

    return ReadOnce(counted), times


def test_a_few_nudges_go_before_the_others_are_planned_and_without_guidance(house: House) -> None:
    now = dt.datetime(2026, 3, 3, 8, 30, tzinfo=dt.UTC)
    house.clock.set(now)
    document = crowd.document(dt.date(2026, 3, 2), dt.date(2026, 12, 1))
    day_before = now - dt.timedelta(hours=20)
    crowd.put(house.store, BOT, day_before, (1, 2), range(100, 100 + DUE), document, lambda _: now)
    service = house.running(guidance=unreadable)

    async def scene() -> None:
        await service.sweep()
        await service.first_look()
        assert house.states() == {State.QUEUED: FIRST_BATCH}
        assert service.bulk_wakes.is_set()
        assert await service.bulk() == FIRST_BATCH
        assert await service.agenda() == DUE - FIRST_BATCH

    asyncio.run(scene())


def test_guidance_is_read_once_whoever_asks(house: House) -> None:
    guidance, times = reading_once(house.office.guidance)
    together = Barrier(4)

    def ask() -> Guidance:
        together.wait(10)
        return guidance()

    with ThreadPoolExecutor(4) as askers:
        asked = [askers.submit(ask) for _ in range(4)]
        found = {id(one.result(10)) for one in asked}
    assert (len(found), len(times)) == (1, 1)


def test_guidance_that_cannot_be_read_says_so_each_time() -> None:
    def read() -> Guidance:
        raise RefusedError("OWN_SIGNS_FILE: no such file")

    guidance, times = reading_once(read)
    for _ in range(2):
        with pytest.raises(RefusedError, match="OWN_SIGNS_FILE"):
            guidance()
    assert len(times) == 2
