"""Nudges put in the outbox, one for each of so many clients."""

import datetime as dt

from sqlalchemy import select

from bot.conversation import counting
from bot.conversation.speech import Button, Say, to_json
from bot.domain.delivery import Kind
from bot.domain.people import Role
from bot.store import outbox, tables
from bot.store.outbox import Letter
from tests.benchmarks._clinic import NOW, Clinic

AT_ONCE = 1_000


def nudge() -> Say:
    """What a client reads in the morning, with its buttons."""
    day = counting.day_text(NOW.date())
    names = {"done": f"done:{day}:1", "later": f"later:{day}:1", "no_more": f"nomore:{day}"}
    row = tuple(Button(f"nudge.button.{name}", data) for name, data in names.items())
    return Say("nudge.first", {"done": 0, "sets": 3, "cue": ""}, (row,), kind=Kind.NUDGE)


def put_nudges(clinic: Clinic, number: int) -> None:
    """Queue so many nudges, one for each client, then a second one for each, and so on."""
    content = to_json(nudge())
    chat = tables.chat.c
    query = select(chat.id, chat.owner_id).where(chat.role == Role.CLIENT.value).limit(number)
    with clinic.office.begin() as tx:
        chats = tx.connection.execute(query).all()
    now = clinic.clock.now()
    for first in range(0, number, AT_ONCE):
        with clinic.office.begin() as tx:
            for place in range(first, min(first + AT_ONCE, number)):
                row, key = chats[place % len(chats)], f"bench:{place}"
                letter = Letter(key, row.id, row.owner_id, Kind.NUDGE, content)
                outbox.put(tx, letter, now - dt.timedelta(seconds=1))
