"""What the verbs that write to the database share."""

import argparse
import asyncio
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from pathlib import Path

from bot import clock, serve, settings
from bot.domain.people import Role
from bot.errors import RefusedError
from bot.rules import rulebook
from bot.rules.in_force import Contents
from bot.rules.rulebook import Rulebook
from bot.service import setup
from bot.service.setup import NewInvite
from bot.store import migrate
from bot.store.base import Begin, Tx
from bot.store.snapshot import taken


@contextmanager
def database() -> Iterator[tuple[Begin, clock.Clock]]:
    """The database of the settings, at the right schema, and the clock."""
    now = clock.SystemClock()
    store = serve.open_store(settings.read(settings.DatabaseSettings), now)
    try:
        yield store.begin, now
    finally:
        store.close()


@contextmanager
def snapshot(folder: Path) -> Iterator[tuple[Tx, str, clock.Clock]]:
    """One state of the database to read from, the schema's revision, and the clock."""
    now = clock.SystemClock()
    store = serve.open_store(settings.read(settings.DatabaseSettings), now)
    try:
        with taken(store, folder) as tx:
            yield tx, migrate.head(), now
    finally:
        store.close()


@contextmanager
def new_database(revision: str) -> Iterator[tuple[Begin, Path, clock.Clock]]:
    """An empty database with its tables, the list of erasures, and the clock.

    Raises RefusedError for a revision that is not this program's, and while `serve` runs on the file.
    """
    if revision != migrate.head():
        raise RefusedError(
            f"the backup is of schema {revision}, this program's is {migrate.head()}; "
            "restore it with the program that made it, then run `programme-bot migrate` with this one"
        )
    known = settings.read(settings.DatabaseSettings)
    now = clock.SystemClock()
    store = serve.open_empty(known)
    try:
        yield store.begin, known.erasures_file, now
    finally:
        store.close()


def contents() -> Contents:
    """What is in force, as a clinician signs it."""
    return serve.contents(settings.read(settings.DatabaseSettings))


def rules(own: Path | None = None) -> Rulebook:
    """Exercises, limits and figures in force: of a file that is named, else of the settings."""
    return rulebook.with_own(own or settings.read(settings.DatabaseSettings).own_exercises_file)


def add_staff(args: argparse.Namespace, role: Role, said: str) -> int:
    """Add somebody of the clinic who has a code and a name, say so, and print her invite."""
    with database() as (begin, clock):
        made = setup.add_staff(begin, clock, args.clinic, setup.NewStaff(args.code, args.name, role))
    print(said)
    print_invite(made)
    return 0


def print_invites(made: Sequence[tuple[str, NewInvite]]) -> None:
    """A line for each client: her code, the link to hand over, the digits to tell her aloud, until when."""
    name = asyncio.run(serve.bot_name(settings.read(settings.LinkSettings)))
    for code, invite in made:
        link = f"/start {invite.code}" if name is None else f"https://t.me/{name}?start={invite.code}"
        print(f"{code}  {link}  {invite.digits}  until {invite.expires_at:%Y-%m-%d %H:%M} UTC")
    if name is None:
        print("the links are to be sent to the bot, in a private chat")


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
    print(f"tell her aloud, in the room: {made.digits}")
    print(f"works once, until {made.expires_at:%Y-%m-%d %H:%M} UTC")
