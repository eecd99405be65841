"""Starting: from the end of imports to the first nudge, against a scheduled job for each client and time."""

import json
import os
import subprocess
import sys
import tempfile
from pathlib import Path
from typing import Any

from tests.benchmarks import _clinic

MIB = 1024 * 1024
TIMES = 3


def _child(module: str, *arguments: str, **environment: str) -> dict[str, float]:
    done = subprocess.run(
        [sys.executable, "-m", f"tests.benchmarks.{module}", *arguments],
        cwd=Path(__file__).resolve().parents[2],
        env={**os.environ, **environment},
        check=True,
        stdout=subprocess.PIPE,
        text=True,
    )
    found: dict[str, float] = json.loads(done.stdout.strip().splitlines()[-1])
    return found


def _ours(clients: int, due: int) -> dict[str, float]:
    with tempfile.TemporaryDirectory() as folder:
        return _child(
            "_start_ours",
            BOT_TOKEN=_clinic.TOKEN,
            DATABASE_URL=_clinic.fresh(clients, due),
            DATA_KEYS=_clinic.KEYS,
            ERASURES_FILE=str(Path(folder) / "erasures"),
        )


def measure(quick: bool) -> dict[str, Any]:
    """The better of two starts of ours (quick: one); the peer's takes long enough to be taken once."""
    clients, due = (10_000, 200) if quick else (100_000, 1_000)
    stored = 60 if quick else 5_000 // TIMES
    ours = min((_ours(clients, due) for _ in range(1 if quick else 2)), key=lambda one: one["s"])
    peer = _child("_start_peer", str(clients))
    with tempfile.TemporaryDirectory() as folder:
        database = _child("_start_peer", str(stored), f"sqlite:///{folder}/jobs.sqlite")
    return {
        "start_ratio": round(peer["s"] / ours["s"], 2),
        "memory_ratio": round(peer["rss"] / max(ours["rss"], MIB), 2),
        "start": {
            "ours_s": ours["s"],
            "peer_s": peer["s"],
            "ours_mib": round(ours["rss"] / MIB, 1),
            "peer_mib": round(peer["rss"] / MIB, 1),
            "ours_guidance_s": ours["guidance_s"],
            "ours_settled_mib": round(ours["settled_rss"] / MIB, 1),
            "n": clients * TIMES,
            "database_store_peer_s": database["s"],
            "database_store_n": stored * TIMES,
            "conditions": f"{clients} clients with {TIMES} times a day, {due} due at once, SQLite; peer: a"
            " cron job for each client and time in the scheduler's memory; both from the end of imports",
        },
    }
