"""What went through the chat is let go of after some time; what stands on record stays."""

import datetime as dt

from bot.service.office import Office
from bot.store import letting_go

ROWS = 100  # in one transaction, so that nobody waits for it


def step(office: Office) -> int:
    """Let go of the contents of some old messages and updates; tells how many rows were looked at."""
    now = office.clock.now()
    before = now - dt.timedelta(days=office.message_days)
    found = 0
    for kept in letting_go.EVERY:
        with office.begin() as tx:
            found += letting_go.batch(tx, kept, before, ROWS, now)
    return found
