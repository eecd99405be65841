"""One, two and four workers on PostgreSQL: what they do in a second, and that nothing is done twice."""

import contextlib
import json
import os
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path
from typing import Any

from bot.service import accept
from bot.transport.poll import received
from tests.benchmarks import _clinic, inbound, progress
from tests.fixtures import postgresql

CREWS = (1, 2, 4)
CHECKOUT = Path(__file__).resolve().parents[2]
Worker = Any  # a process with both its pipes open


@contextlib.contextmanager
def _crew(size: int, url: str) -> Iterator[list[Worker]]:
    command = [sys.executable, "-m", "tests.benchmarks._crew", url]
    environment = {**os.environ, "BENCHMARK_KEYS": _clinic.KEYS}
    pipes = {"stdin": subprocess.PIPE, "stdout": subprocess.PIPE}
    crew = [
        subprocess.Popen(command, cwd=CHECKOUT, env=environment, text=True, **pipes)  # type: ignore[call-overload] # the pipes are named above
        for _ in range(size)
    ]
    try:
        yield crew
    finally:
        for worker in crew:
            worker.stdin.close()
            worker.wait(20)
            worker.stdout.close()


def _work(crew: list[Worker]) -> tuple[int, float]:
    """Let them do the next thing together: how many were done by all, and in how many seconds."""
    for worker in crew:
        assert worker.stdout.readline().strip() == "ready"
    for worker in crew:
        worker.stdin.write("go\n")
        worker.stdin.flush()
    told = [json.loads(worker.stdout.readline()) for worker in crew]
    took_s = max(one["ended_s"] for one in told) - min(one["began_s"] for one in told)
    return sum(one["done"] for one in told), took_s


def measure(quick: bool) -> dict[str, Any]:
    """Rates by the number of workers, with what was done twice."""
    number = 100 if quick else 1_000
    rows: list[dict[str, Any]] = []
    with postgresql.running() as server:
        template = server.create()
        _clinic.put_crowd(server.url(template), number, number)
        for size in CREWS:
            progress(f"{size} workers")
            url = server.url(server.create(template))
            clinic = _clinic.open_clinic(url)
            with _crew(size, url) as crew:
                looked, agenda_s = _work(crew)
                accept.accept(clinic.office, [received(update) for update in inbound.updates(number)])
                handled, inbox_s = _work(crew)
            with clinic.office.begin() as tx:
                ask = tx.connection.exec_driver_sql
                nudges = ask("SELECT count(*) FROM outbox WHERE kind = 'nudge'").scalar() or 0
                reports = ask("SELECT count(*) FROM set_report").scalar() or 0
            clinic.store.close()
            rows.append(
                {
                    "workers": size,
                    "agenda_per_s": round(number / agenda_s, 1),
                    "inbound_per_s": round(number / inbox_s, 1),
                    "duplicates": (looked - number)
                    + (handled - number)
                    + (nudges - number)
                    + (reports - number),
                    "ours_s": agenda_s + inbox_s,
                    "peer_s": rows[0]["ours_s"] if rows else agenda_s + inbox_s,
                    "n": number,
                    "conditions": f"PostgreSQL without fsync on {os.cpu_count()} cores, which the server and"
                    " all workers share: the cores bound it, not the database; peer: one worker",
                }
            )
    return {"workers": rows}
