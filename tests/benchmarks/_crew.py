"""One worker of several on PostgreSQL: its share of the agenda, then of the inbox, and how much it was."""

import json
import sys
import time
from collections.abc import Callable

from bot.jobs.running import BATCH
from bot.service import agenda, handle
from bot.transport import parse
from tests.benchmarks import _clinic


def main(url: str) -> None:
    """Twice: wait for the word, work until nothing is left, tell how many and from when to when."""
    clinic = _clinic.open_clinic(url)
    with clinic.office.begin() as tx:
        tx.connection.exec_driver_sql("SELECT 1")
    shares: list[Callable[[], int]] = [
        lambda: agenda.run(clinic.office, BATCH),
        lambda: handle.handle_some(clinic.office, parse.parse),
    ]
    for work in shares:
        print("ready", flush=True)
        sys.stdin.readline()
        began_s, done = time.monotonic(), 0
        while count := work():
            done += count
        told = {"done": done, "began_s": began_s, "ended_s": time.monotonic()}
        print(json.dumps(told), flush=True)
    clinic.store.close()


if __name__ == "__main__":
    main(sys.argv[1])
