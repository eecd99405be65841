"""What the verbs that write to the database share."""

import asyncio
from collections.abc import Iterator
from contextlib import contextmanager

from bot import clock, serve, settings
from bot.rules.own_signs import OwnSigns
from bot.service.setup import NewInvite
from bot.store.base import Begin


@contextmanager
def database() -> Iterator[tuple[Begin, clock.Clock]]:
    """The database of the settings, at the right schema, and the clock."""
    now = clock.SystemClock()
    store = serve.open_store(settings.read(settings.DatabaseSettings), now)
    try:
        yield store.begin, now
    finally:
        store.close()


def own_signs() -> OwnSigns:
    """The warning signs in force, with the clinic's own file where the settings name one."""
    return serve.own_signs(settings.read(settings.DatabaseSettings))


def print_invite(made: NewInvite) -> None:
    """The link to hand over, until when it works, and the digits to say aloud.

    The link carries the bot's name, which the platform is asked for; without BOT_TOKEN, or when it cannot be
    reached, the line to send to the bot is printed instead.
    """
    name = asyncio.run(serve.bot_name(settings.read(settings.LinkSettings)))
    if name is None:
        print(f"invite: in a private chat with your bot, send  /start {made.code}")
    else:
        print(f"invite: https://t.me/{name}?start={made.code}")
    if made.digits is not None:
        print(f"tell her aloud, in the room: {made.digits}")
    print(f"works once, until {made.expires_at:%Y-%m-%d %H:%M} UTC")
