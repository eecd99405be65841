"""Several workers on one PostgreSQL database wake each other when there is something to do.

Telling is part of the transaction (`Tx.wake`), so nobody is woken for what is not there yet. It only saves
time: whoever missed it finds the work at the next tick.
"""

from collections.abc import Callable
from threading import Event

import psycopg
from sqlalchemy.engine import URL

from bot.logs import get

INBOX, OUTBOX = "inbox", "outbox"
LOOKS_UP_EVERY_S = 0.5  # whether it is to stop
TRIES_AGAIN_AFTER_S = 5.0
log = get()


def listen(url: URL, heard: Callable[[str], None], stop: Event) -> None:
    """Tell of each channel that was woken, until `stop`; a lost connection is made again."""
    where = url.set(drivername="postgresql").render_as_string(hide_password=False)
    while not stop.is_set():
        try:
            with psycopg.connect(where, autocommit=True, connect_timeout=10) as connection:
                connection.execute(f"LISTEN {INBOX}; LISTEN {OUTBOX}")
                for channel in (INBOX, OUTBOX):  # something may have come while nobody listened
                    heard(channel)
                while not stop.is_set():
                    for told in connection.notifies(timeout=LOOKS_UP_EVERY_S):
                        heard(told.channel)
                        if stop.is_set():
                            return
        except psycopg.Error as error:
            log.warning("not_listening", error=type(error).__name__)
            stop.wait(TRIES_AGAIN_AFTER_S)
