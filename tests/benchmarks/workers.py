"""One, two and four workers on PostgreSQL: what they do in a second, and that nothing is done twice."""

import contextlib
import multiprocessing
import os
from collections.abc import Iterator
from typing import Any

from bot.service import accept
from bot.transport.poll import received
from tests.benchmarks import _clinic, inbound, progress
from tests.benchmarks import _crew as _crew_module
from tests.fixtures import postgresql

CREWS = (1, 2, 4)
Line = Any  # one end of a pipe


@contextlib.contextmanager
def _crew(size: int, url: str) -> Iterator[list[Line]]:
    """So many workers at their database, and the lines to them."""
    forks = multiprocessing.get_context("forkserver")
    forks.set_forkserver_preload([_crew_module.__name__])
    lines, workers = [], []
    for _ in range(size):
        ours, theirs = forks.Pipe()
        worker = forks.Process(target=_crew_module.work, args=(url, _clinic.KEYS, theirs), daemon=True)
        worker.start()
        theirs.close()
        lines.append(ours)
        workers.append(worker)
    try:
        yield lines
        for worker in workers:
            worker.join(20)
    finally:
        for worker in workers:
            worker.kill()
        for line in lines:
            line.close()


def _work(crew: list[Line]) -> tuple[int, float]:
    """Let them do the next thing together: how many were done by all, and in how many seconds."""
    for line in crew:
        assert line.recv() == "ready"
    for line in crew:
        line.send("go")
    told = [line.recv() for line in crew]
    took_s = max(ended_s for _, _, ended_s in told) - min(began_s for _, began_s, _ in told)
    return sum(done for done, _, _ in told), took_s


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
