"""One worker of several on PostgreSQL: its share of the agenda, then of the inbox, and how much it was.

Forked from a process that has imported and read everything, so that only the work is measured and waited for.
"""

import time
from collections.abc import Callable
from multiprocessing.connection import Connection

from bot.jobs.running import BATCH
from bot.rules import signs
from bot.service import agenda, handle
from bot.transport import parse
from tests.benchmarks import _clinic

signs.load()  # kept, for all that are forked from here

Share = tuple[int, float, float]
"""How many were done, and from when to when on the machine's own watch."""


def work(url: str, keys: str, line: Connection) -> None:
    """Twice: say that it is ready, wait for the word, work until nothing is left, tell its share."""
    clinic = _clinic.open_clinic(url, keys)
    with clinic.office.begin() as tx:
        tx.connection.exec_driver_sql("SELECT 1")
    shares: list[Callable[[], int]] = [
        lambda: agenda.run(clinic.office, BATCH),
        lambda: handle.handle_some(clinic.office, parse.parse),
    ]
    for share in shares:
        line.send("ready")
        line.recv()
        began_s, done = time.monotonic(), 0
        while count := share():
            done += count
        line.send((done, began_s, time.monotonic()))
    clinic.store.close()
