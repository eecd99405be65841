"""One worker of several on PostgreSQL: does its share of the agenda, or of the inbox, and tells how much."""

import json
import sys
import time

from bot.jobs.running import BATCH
from bot.service import agenda, handle
from bot.transport import parse
from tests.benchmarks import _clinic


def main(what: str, url: str) -> None:
    """Wait for the word, work until nothing is left, tell how many and from when to when."""
    clinic = _clinic.open_clinic(url)
    with clinic.office.begin() as tx:
        tx.connection.exec_driver_sql("SELECT 1")
    print("ready", flush=True)
    sys.stdin.readline()
    began_s, done = time.monotonic(), 0
    if what == "agenda":
        while count := agenda.run(clinic.office, BATCH):
            done += count
    else:
        while count := handle.handle_some(clinic.office, parse.parse):
            done += count
    print(json.dumps({"done": done, "began_s": began_s, "ended_s": time.monotonic()}), flush=True)
    clinic.store.close()


if __name__ == "__main__":
    main(*sys.argv[1:])
