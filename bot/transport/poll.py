"""Receiving by long polling: an update is stored before the platform is told that we have it."""

import asyncio
import json
import time
import warnings
from collections.abc import Awaitable, Callable
from typing import Any

from telegram import Bot
from telegram.error import Conflict, InvalidToken, NetworkError, RetryAfter, TelegramError, TimedOut
from telegram.warnings import PTBUserWarning

from bot.errors import DeadTokenError
from bot.logs import get
from bot.service.accept import Received
from bot.transport.parse import sender_of

POLL_S = 30
READ_MARGIN_S = 10
LONGEST_PAUSE_S = 30.0
STALLED_AFTER_S = 3 * POLL_S  # no answered poll for so long: the connections are rebuilt
KINDS = ["message", "edited_message", "callback_query", "my_chat_member"]
log = get()

Accept = Callable[[list[Received]], Awaitable[None]]


def received(update: dict[str, Any]) -> Received:
    """An update as the inbox takes it."""
    raw = json.dumps(update, ensure_ascii=False).encode()
    return Received(int(update["update_id"]), sender_of(update), raw)


class Poller:
    """The polling loop.

    1. Fetch. 2. Store and commit. 3. Only then ask for what comes after. It starts without an offset, since
    the inbox drops what it has, and goes on only past what was stored.
    """

    def __init__(self, make_bot: Callable[[], Bot], accept: Accept) -> None:
        self._make_bot = make_bot
        self._accept = accept
        self._answered_at = time.monotonic()

    async def run(self) -> None:
        """Poll until cancelled; raises DeadTokenError when the platform refuses the token."""
        offset: int | None = None
        failures = 0
        bot = self._make_bot()
        await bot.initialize()
        try:
            while True:
                try:
                    batch = await self._fetch(bot, offset)
                except InvalidToken as error:
                    raise DeadTokenError("BOT_TOKEN: the platform refuses it") from error
                except TelegramError as error:
                    failures += 1
                    await self._rest(error, failures)
                    if time.monotonic() - self._answered_at > STALLED_AFTER_S:
                        log.warning("poll_rebuilt")
                        await bot.shutdown()
                        bot = self._make_bot()
                        await bot.initialize()
                        self._answered_at = time.monotonic()
                    continue
                failures = 0
                self._answered_at = time.monotonic()
                if batch:
                    await self._accept([received(update) for update in batch])
                    offset = max(int(update["update_id"]) for update in batch) + 1
        finally:
            await bot.shutdown()

    async def _fetch(self, bot: Bot, offset: int | None) -> list[dict[str, Any]]:
        asked: dict[str, Any] = {"timeout": POLL_S, "limit": 100, "allowed_updates": KINDS}
        if offset is not None:
            asked["offset"] = offset
        with warnings.catch_warnings():
            # The library would rather parse the updates itself, and fail a whole batch for one it cannot.
            warnings.simplefilter("ignore", PTBUserWarning)
            batch: list[dict[str, Any]] = await bot.do_api_request(
                "getUpdates",
                api_kwargs=asked,
                read_timeout=POLL_S + READ_MARGIN_S,
            )
        return batch

    async def _rest(self, error: TelegramError, failures: int) -> None:
        if isinstance(error, RetryAfter):
            pause = error.retry_after
            seconds = float(pause) if isinstance(pause, int) else pause.total_seconds()
        else:
            seconds = min(LONGEST_PAUSE_S, 0.2 * 2.0**failures)
        if isinstance(error, Conflict):
            log.warning("poll_conflict")
        elif not isinstance(error, TimedOut | NetworkError):
            log.warning("poll_failed", error=type(error).__name__)
        await asyncio.sleep(seconds)
