"""How soon a reply and a piece of safety advice leave while ten thousand nudges wait."""

import json
import math
import os
import random
import subprocess
import sys
import tempfile
import time
from pathlib import Path
from typing import Any
from urllib.parse import parse_qs

import httpx

from tests.benchmarks import _clinic, _platform, _queue, progress
from tests.benchmarks._clinic import FIRST_PERSON, NOW, TOKEN
from tests.killtest.shared_clock import SharedClock

CHECKOUT = Path(__file__).resolve().parents[2]
ALARM = "blood is pouring out of me"
ADVICE_SHARE = 0.3
A_SECONDS_WORTH = 24  # nudges
LONGEST_S = 10.0  # somebody without an answer by then has waited for ever
A_SECOND = 4  # updates; replies, advice, alerts and presses' answers share what nudges leave of the rate


def p99(values: list[float]) -> float:
    """The 99th percentile, by rank."""
    ordered = sorted(values)
    return ordered[math.ceil(0.99 * len(ordered)) - 1]


def _run(clients: int, queued: int, samples: int) -> dict[str, list[float]]:
    """Delays in seconds by kind."""
    url = _clinic.fresh(clients, 0)
    clinic = _clinic.open_clinic(url)
    if queued:
        _queue.put_nudges(clinic, queued)
    clinic.store.close()
    chance = random.Random(7)
    with tempfile.TemporaryDirectory() as folder, _platform.running() as address:
        SharedClock(Path(folder) / "clock").set(NOW)
        environment = {
            **os.environ,
            "BOT_TOKEN": TOKEN,
            "BOT_API_URL": address,
            "DATABASE_URL": url,
            "DATA_KEYS": _clinic.KEYS,
            "SEND_RATE": "30",
            "LOG_LEVEL": "error",
            "ERASURES_FILE": f"{folder}/erasures",
        }
        command = [sys.executable, str(CHECKOUT / "tests/killtest/worker.py"), f"{folder}/clock"]
        with subprocess.Popen(
            command, env=environment, cwd=CHECKOUT, stdout=subprocess.PIPE, text=True
        ) as ours:
            try:
                assert ours.stdout is not None
                assert ours.stdout.readline().strip() == "ready"
                _wait_for_nudges(address, queued)
                began = _say(address, clients, samples, chance)
                came = _answered(address, set(began))
            finally:
                ours.terminate()
                ours.wait(20)
    delays: dict[str, list[float]] = {"reply": [], "advice": []}
    for person, (kind, at_s) in began.items():
        delays[kind].append(came[person] - at_s if person in came else math.inf)
    return delays


def _wait_for_nudges(address: str, queued: int) -> None:
    """Until the first second's worth of nudges has left, if there are any."""
    until_s = time.monotonic() + LONGEST_S
    while len(httpx.get(f"{address}/log", trust_env=False).json()) < min(queued, A_SECONDS_WORTH):
        if time.monotonic() > until_s:
            raise AssertionError("no nudges are leaving")
        time.sleep(0.1)


def _answered(address: str, people: set[int]) -> dict[int, float]:
    """When the first answer to each of some people came in, once all have one or nobody waits any longer."""
    came: dict[int, float] = {}
    until_s = time.monotonic() + LONGEST_S
    while people - came.keys() and time.monotonic() < until_s:
        time.sleep(0.2)
        for at_s, body in httpx.get(f"{address}/log", trust_env=False).json():
            told = parse_qs(body)
            if not told["text"][0].startswith("Time"):
                came.setdefault(int(told["chat_id"][0]), at_s)
    return came


def _say(address: str, clients: int, samples: int, chance: random.Random) -> dict[int, tuple[str, float]]:
    """Clients write one after the other, those whose nudge is last in the queue; when each did, by person."""
    began = {}
    with httpx.Client(trust_env=False) as people:
        for place in range(samples):
            time.sleep(chance.uniform(0.5, 1.5) / A_SECOND)
            kind = "advice" if chance.random() < ADVICE_SHARE else "reply"
            person = FIRST_PERSON + clients - 1 - place
            chat = {"id": person, "type": "private", "first_name": "A"}
            sender = {"id": person, "is_bot": False, "first_name": "A"}
            text = ALARM if kind == "advice" else "one more"
            date = int(NOW.timestamp())
            message = {"message_id": 5, "from": sender, "chat": chat, "date": date, "text": text}
            now_s = json.loads(people.get(f"{address}/clock").content)
            people.post(f"{address}/arm", json=[{"update_id": place + 1, "message": message}])
            began[person] = (kind, now_s)
    return began


def measure(quick: bool) -> dict[str, Any]:
    """Behind a full queue, and behind none."""
    samples, clients, nudges = (12, 800, 800) if quick else (300, 10_000, 10_000)
    figures: dict[str, Any] = {}
    for name, queued in (("full", nudges), ("empty", 0)):
        if queued:
            progress(f"{queued} nudges queued")
        delays = _run(clients, queued, samples)
        figures[name] = {kind: p99(values) for kind, values in delays.items()}
        figures[name]["n"] = {kind: len(values) for kind, values in delays.items()}
    full, empty = figures["full"], figures["empty"]
    return {
        "reply_p99_s": round(full["reply"], 3),
        "advice_p99_s": round(full["advice"], 3),
        "latency": {
            "ours_s": full["reply"],
            "peer_s": empty["reply"],
            "advice_ours_s": full["advice"],
            "advice_peer_s": empty["advice"],
            "n": samples,
            "samples": full["n"],
            "conditions": f"from update to send in a real process, {nudges} nudges queued, 30 messages"
            " a second in all; peer: the same with an empty queue; SQLite, synchronous FULL",
        },
    }
