"""Fetching a file that somebody sent, as long as it is small."""

import asyncio

from telegram import Bot
from telegram.error import BadRequest, Forbidden, TelegramError

from bot.service.files import Fetched, NotFetched, Result, TooLarge
from bot.transport.bots import dead_token, token_is_dead

WITHIN_S = 20.0  # all in all; a file is claimed for half a minute


async def fetch(bot: Bot, file_id: str, most_bytes: int, within_s: float = WITHIN_S) -> Result:
    """The bytes of a file of at most so many; its size is asked first, and a larger one stays there.

    Never raises for what the platform or the network does, but for a dead token.
    """
    try:
        async with asyncio.timeout(within_s):
            found = await bot.get_file(file_id)
            if found.file_size is None or found.file_size > most_bytes:
                return TooLarge()
            return Fetched(bytes(await found.download_as_bytearray()))
    except TimeoutError:
        return NotFetched(final=False)
    except TelegramError as error:
        if token_is_dead(error):
            raise dead_token() from None
        return NotFetched(final=isinstance(error, BadRequest | Forbidden))
