"""The platform's client library, set up our way."""

import asyncio
import contextlib
import warnings

from telegram import Bot
from telegram.error import InvalidToken, TelegramError
from telegram.request import HTTPXRequest
from telegram.warnings import PTBUserWarning

from bot.errors import RefusedError
from bot.logs import get

__all__ = ["Bot", "ask_for_webhook", "greet", "leave_webhook", "make_bot", "name"]

SEND_CONNECTIONS = 16
READ_TIMEOUT_S = 25.0
GREETING_PAUSE_S = 2.0
log = get()
POLL_CONNECTIONS = 4  # a half-open connection must not fill the pool


def make_bot(token: str, api_url: str) -> Bot:
    """A client for a token; `api_url` is the server's address without the token."""
    base = api_url.rstrip("/")
    with warnings.catch_warnings():
        warnings.simplefilter("ignore", PTBUserWarning)
        return Bot(
            token,
            base_url=f"{base}/bot",
            base_file_url=f"{base}/file/bot",
            request=HTTPXRequest(
                connection_pool_size=SEND_CONNECTIONS,
                connect_timeout=5,
                read_timeout=READ_TIMEOUT_S,
                write_timeout=READ_TIMEOUT_S,
                pool_timeout=5,
            ),
            get_updates_request=HTTPXRequest(
                connection_pool_size=POLL_CONNECTIONS,
                connect_timeout=5,
                pool_timeout=5,
            ),
        )


async def greet(bot: Bot, stopping: asyncio.Event) -> None:
    """Meet the platform; waits for it as long as it takes, but not for a token it refuses."""
    while not stopping.is_set():
        try:
            await bot.initialize()
        except InvalidToken:
            raise RefusedError("BOT_TOKEN: the platform refuses it") from None
        except TelegramError as error:
            log.warning("platform_unreachable", error=type(error).__name__)
            await asyncio.sleep(GREETING_PAUSE_S)
        else:
            return


async def leave_webhook(bot: Bot) -> None:
    """Tell the platform that we poll; what it still holds for us stays there."""
    with contextlib.suppress(TelegramError):
        await bot.delete_webhook(drop_pending_updates=False)


async def ask_for_webhook(bot: Bot, url: str, secret: str, kinds: list[str]) -> None:
    """Ask the platform to bring updates to an address; raises RefusedError when it will not."""
    try:
        await bot.set_webhook(url, secret_token=secret, allowed_updates=kinds, drop_pending_updates=False)
    except TelegramError as error:
        raise RefusedError(f"WEBHOOK_URL: the platform does not take it ({error})") from None


async def name(token: str, api_url: str) -> str | None:
    """The bot's name on the platform; None when it cannot be asked."""
    bot = make_bot(token, api_url)
    try:
        me = await bot.get_me()
    except TelegramError:
        return None
    else:
        return me.username
    finally:
        await bot.shutdown()
