"""The agenda tick: its cost follows what is due, not who is enrolled."""

import time
from typing import Any

from bot.jobs.running import BATCH
from bot.service import agenda
from tests.benchmarks import _clinic


def _run(clients: int, due: int) -> float:
    clinic = _clinic.open_clinic(_clinic.fresh(clients, due))
    try:
        began_s = time.perf_counter()
        said = 0
        while count := agenda.run(clinic.office, BATCH):
            said += count
        took_s = time.perf_counter() - began_s
    finally:
        clinic.store.close()
    if said != due:
        raise AssertionError(f"{said} of {due} looked at")
    return took_s


def measure(quick: bool) -> dict[str, Any]:
    """So many due among many clients, against the same among only those; the better of two runs each."""
    many, due = (10_000, 200) if quick else (100_000, 1_000)
    _run(due, due)  # statements are compiled once for a process
    few_s = min(_run(due, due) for _ in range(2))
    many_s = min(_run(many, due) for _ in range(2))
    return {
        "tick_ratio": round(many_s / few_s, 3),
        "tick": {
            "ours_s": many_s,
            "peer_s": few_s,
            "n": due,
            "conditions": f"{due} due among {many} clients against {due} among {due}; SQLite, synchronous"
            f" FULL, {BATCH} in a transaction",
        },
    }
