"""The platform's client library, set up our way, and the few questions that come before any message."""

import asyncio
import datetime as dt
import os
from collections.abc import Awaitable, Callable, Sequence

from telegram import Bot
from telegram.error import BadRequest, InvalidToken, RetryAfter, TelegramError
from telegram.request import HTTPXRequest

from bot.errors import DeadTokenError, RefusedError
from bot.logs import get
from bot.service.pauses import pause_after
from bot.transport.line import CONNECT_WITHIN_S, SendLine

SEND_CONNECTIONS = 32  # more than may be in hand at once, so that a slow message holds up no other
POLL_CONNECTIONS = 4  # a half-open connection must not fill the pool
FIRST_PAUSE_S = 0.5
LONGEST_PAUSE_S = 30.0
log = get()
Client = Bot
# The library then gives spans of time the way its next release will, instead of warning of that each time.
os.environ.setdefault("PTB_TIMEDELTA", "true")


def address(token: str, api_url: str) -> str:
    """Where a bot's methods are called; `api_url` is the server's address without the token."""
    return f"{api_url.rstrip('/')}/bot{token}"


def make_bot(token: str, api_url: str) -> Bot:
    """A client for a token."""
    return Bot(
        token,
        base_url=f"{api_url.rstrip('/')}/bot",
        base_file_url=f"{api_url.rstrip('/')}/file/bot",
        request=SendLine(SEND_CONNECTIONS),
        get_updates_request=SendLine(1),  # not used: polls have their own line
    )


def make_line() -> HTTPXRequest:
    """The connections that polls use, apart from those of sending."""
    return HTTPXRequest(
        connection_pool_size=POLL_CONNECTIONS,
        connect_timeout=CONNECT_WITHIN_S,
        pool_timeout=CONNECT_WITHIN_S,
    )


def token_is_dead(error: BaseException | None) -> bool:
    """Whether the platform itself refuses the token.

    The library says so of every 401 and 404, and once more on top when it was greeting. One that is not in
    the platform's own shape has a cause: it comes from something in between and may pass.
    """
    while isinstance(error, InvalidToken):
        if error.__cause__ is None:
            return True
        error = error.__cause__
    return False


def dead_token() -> DeadTokenError:
    """The error to raise then."""
    return DeadTokenError("BOT_TOKEN: the platform refuses it; get a new one and start again")


def asked_pause_s(error: RetryAfter) -> float:
    """How long the platform asks us to wait, in seconds."""
    pause = error.retry_after
    return pause.total_seconds() if isinstance(pause, dt.timedelta) else float(pause)


def pause_s(error: Exception, failures: int) -> float:
    """How long to wait after the `failures`-th failure in a row: what was asked for, or ever longer."""
    if isinstance(error, RetryAfter):
        return asked_pause_s(error)
    return pause_after(failures, FIRST_PAUSE_S, LONGEST_PAUSE_S)


async def _until_answered(question: Callable[[], Awaitable[object]]) -> None:
    """Ask until the platform answers. Raises DeadTokenError, and BadRequest for a plain no."""
    failures = 0
    while True:
        try:
            await question()
        except BadRequest:
            raise
        except TelegramError as error:
            if token_is_dead(error):
                raise dead_token() from None  # the library's text shows the token
            failures += 1
            log.warning("platform_unreachable", error=type(error).__name__, tries=failures)
            await asyncio.sleep(pause_s(error, failures))
        else:
            return


async def greet(bot: Bot) -> None:
    """Meet the platform; waits for it as long as it takes. Raises DeadTokenError."""
    await _until_answered(bot.initialize)


async def leave_webhook(bot: Bot) -> None:
    """Tell the platform that we poll; what it still holds for us stays there."""
    await _until_answered(lambda: bot.delete_webhook(drop_pending_updates=False))


async def ask_for_webhook(bot: Bot, url: str, secret: str, kinds: Sequence[str]) -> None:
    """Ask the platform to bring updates to an address; raises RefusedError when it will not."""
    try:
        await _until_answered(
            lambda: bot.set_webhook(
                url, secret_token=secret, allowed_updates=kinds, drop_pending_updates=False
            ),
        )
    except BadRequest as error:
        raise RefusedError(f"WEBHOOK_URL: the platform does not take it ({error.message})") from None


async def name(token: str, api_url: str) -> str | None:
    """The bot's name on the platform; None when it cannot be asked."""
    bot = make_bot(token, api_url)
    try:
        await bot.initialize()
    except TelegramError:
        return None
    else:
        return bot.username
    finally:
        await bot.shutdown()
