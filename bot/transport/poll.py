"""Receiving by long polling: an update is stored before the platform is told that we have it."""

import asyncio
import contextlib
import json
import time
from collections.abc import Awaitable, Callable
from dataclasses import dataclass
from typing import Any
from urllib.parse import urlencode

from telegram.error import Conflict, TelegramError
from telegram.request import HTTPXRequest

from bot.logs import get, place
from bot.service.accept import Received
from bot.transport.bots import dead_token, pause_s, token_is_dead
from bot.transport.parse import sender_of

KINDS = ("message", "edited_message", "callback_query", "my_chat_member")
LARGEST_BATCH = 100  # Bot API, getUpdates
CLOSE_WITHIN_S = 5.0
log = get()

Accept = Callable[[list[Received]], Awaitable[None]]


class NoUpdateError(ValueError):
    """Something that has no number to confirm it by, so it is none of the platform's updates."""


def received(update: object) -> Received:
    """An update as the inbox takes it, whatever is in it; raises NoUpdateError for one without a number."""
    number = update.get("update_id") if isinstance(update, dict) else None
    if type(number) is not int:
        raise NoUpdateError
    return Received(number, sender_of(update), json.dumps(update).encode())


@dataclass(frozen=True, slots=True)
class Pace:
    """The poller's times, in seconds.

    wait_s: how long the platform may hold a poll open. margin_s: how much longer its answer may take.
    stalled_after_s: after so long without an answered poll the connections are built anew.
    pause: from the error and how many there were in a row to the wait before the next try.
    """

    wait_s: int = 30
    margin_s: float = 10.0
    stalled_after_s: float = 90.0
    pause: Callable[[Exception, int], float] = pause_s


class Poller:
    """The polling loop.

    1. Fetch. 2. Store and commit. 3. Only then ask for what comes after. It starts without an offset, since
    the inbox drops what it has, and goes on only past what was stored. Once the platform has confirmed, the
    offset is dropped again: after a silent week it numbers anew, and an old offset would wipe out what it
    had not shown us.

    What could not be stored is kept in hand and tried again beside what is handed out anew, because the
    platform lets go of a press after 150 seconds.
    """

    def __init__(
        self, open_line: Callable[[], HTTPXRequest], address: str, accept: Accept, pace: Pace | None = None
    ) -> None:
        self._open_line = open_line
        self._address = f"{address}/getUpdates"
        self._accept = accept
        self._pace = pace or Pace()
        self._line = open_line()
        self._offset: int | None = None
        self._unstored: dict[int, Received] = {}
        self._answered_s = time.monotonic()
        self._rival = False

    async def run(self) -> None:
        """Poll until cancelled; raises DeadTokenError when the platform refuses the token."""
        failures = 0
        try:
            while True:
                try:
                    await self._round()
                except Exception as error:  # noqa: BLE001 - whatever it was, polling goes on
                    if token_is_dead(error):
                        raise dead_token() from None
                    failures += 1
                    await self._rest(error, failures)
                else:
                    failures = 0
        finally:
            await self._hang_up()

    def amiss(self) -> list[str]:
        """What keeps updates from coming in, a line each."""
        silent_s = time.monotonic() - self._answered_s
        lines = []
        if self._rival:
            lines.append("polling: another program polls with this token, or a webhook is set")
        elif silent_s > self._pace.stalled_after_s:
            lines.append(f"polling: no answer from the platform for {silent_s:.0f} s")
        if self._unstored:
            lines.append(f"polling: {len(self._unstored)} updates could not be stored yet")
        return lines

    async def _round(self) -> None:
        updates = await self._fetch()
        self._answered_s = time.monotonic()
        self._rival = False
        if not updates:
            self._offset = None
        nameless = 0
        for update in updates:
            try:
                taken = received(update)
            except NoUpdateError:
                nameless += 1
            else:
                self._unstored[taken.update_id] = taken
        if self._unstored:
            await self._accept(list(self._unstored.values()))
            self._offset = max(self._unstored) + 1
            self._unstored.clear()
        if nameless:
            # It cannot be kept nor confirmed; without a pause it would be handed out again at once.
            raise NoUpdateError

    async def _fetch(self) -> list[object]:
        wait_s = 0 if self._unstored else self._pace.wait_s
        asked: dict[str, Any] = {
            "timeout": wait_s,
            "limit": LARGEST_BATCH,
            "allowed_updates": json.dumps(KINDS),
        }
        if self._offset is not None:
            asked["offset"] = self._offset
        within_s = self._pace.wait_s + self._pace.margin_s
        # The library's own method parses what it gets, and fails a whole batch for one update it cannot.
        async with asyncio.timeout(within_s + CLOSE_WITHIN_S):
            answer = await self._line.retrieve(f"{self._address}?{urlencode(asked)}", read_timeout=within_s)
        told = json.loads(answer)
        result = told.get("result") if isinstance(told, dict) else None
        if not isinstance(result, list):
            raise TypeError("not an answer to getUpdates")
        return result

    async def _rest(self, error: Exception, failures: int) -> None:
        self._rival = isinstance(error, Conflict)
        log.warning("poll_failed", error=type(error).__name__, where=place(error), tries=failures)
        await asyncio.sleep(self._pace.pause(error, failures))
        if time.monotonic() - self._answered_s > self._pace.stalled_after_s:
            log.warning("poll_rebuilt", seconds=round(time.monotonic() - self._answered_s))
            await self._hang_up()
            self._line = self._open_line()
            self._offset = None
            self._answered_s = time.monotonic()

    async def _hang_up(self) -> None:
        with contextlib.suppress(TelegramError, TimeoutError, OSError, RuntimeError):
            async with asyncio.timeout(CLOSE_WITHIN_S):
                await self._line.shutdown()
