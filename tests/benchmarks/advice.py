"""Advice while a heap of nudges is queued: from what she wrote to the platform having taken the advice.

`python -m tests.benchmarks.advice [--quick] [--json]`. The room keeps the platform's limits, the clock is the
real one, the bot is `serve` as in production on SQLite. Times come from the room's record. The peer answers
the same messages from a bare polling loop, with nothing queued and nothing kept.
"""

import argparse
import contextlib
import datetime as dt
import json
import os
import sqlite3
import statistics
import subprocess
import sys
import tempfile
import threading
import time
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import httpx
from sqlalchemy import select

from bot.clock import SystemClock
from bot.conversation.speech import Button, Say, to_json
from bot.domain.delivery import Kind
from bot.domain.people import Role
from bot.store import migrate, outbox, tables, vault
from bot.store.base import Store, open_engine, read_url
from bot.store.outbox import Letter
from demo import cast
from demo.room_client import CHECKOUT, TOKEN, RoomClient, read_record, start_room
from tests.benchmarks import progress
from tests.fixtures import crowd

BOT = TOKEN.partition(":")[0]
WORDS = "blood is pouring out of me and i feel faint"
ADVICE = "Call 112 now."
PACE_S = 1.1  # the therapist's chat takes about one alert a second
GOAL_S = 1.0
AT_ONCE = 1_000
NUDGES, QUICK_NUDGES = 10_000, 200
MESSAGES, QUICK_MESSAGES = 110, 4


def measure(quick: bool) -> dict[str, Any]:
    """Median, 99th percentile and longest time to advice in seconds; nudges still queued at the end."""
    nudges, messages = (QUICK_NUDGES, QUICK_MESSAGES) if quick else (NUDGES, MESSAGES)
    ours, left = _ours(nudges, messages)
    progress(f"advice: {_p99(ours):.3f} s at the 99th percentile, {left} nudges left")
    peer = _peer(messages)
    return {
        "advice_p50_s": round(statistics.median(ours), 3),
        "advice_p99_s": round(_p99(ours), 3),
        "advice_longest_s": round(max(ours), 3),
        "advice_over_1_s": sum(taken > GOAL_S for taken in ours),
        "advice_nudges_left": left,
        "advice": {
            "ours_s": round(_p99(ours), 3),
            "peer_s": round(_p99(peer), 3),
            "n": len(ours),
            "conditions": f"{nudges} nudges queued at the start, {left} at the end, one message every "
            f"{PACE_S} s, the platform's limits, SQLite; 99th percentile",
        },
    }


def _p99(times: list[float]) -> float:
    return sorted(times)[-(-99 * len(times) // 100) - 1]


def _ours(nudges: int, messages: int) -> tuple[list[float], int]:
    with (
        tempfile.TemporaryDirectory(prefix="advice-") as name,
        start_room(record=Path(name) / "record") as room,
    ):
        folder = Path(name)
        people = [room.person(f"Client {number}") for number in range(1, nudges + 1)]
        staff = (room.person("Nuala Brackenfield"), room.person("Tom Aldershaw"))
        for person in (*people, *staff):
            room.start(person, settle=False)
        _drain(room.url)
        given = cast.bot_environment(folder, room.url)
        _prepare(given, people, staff)
        command = [sys.executable, "-m", "bot", "serve"]
        with (folder / "log").open("w") as log:
            process = subprocess.Popen(
                command,
                cwd=CHECKOUT,
                env={**os.environ, **given, "LOG_LEVEL": "info"},
                stdout=log,
                stderr=log,
            )
        try:
            _wait_for_nudges(folder)
            _write(room, people[-messages:])
            left = _queued(folder)
        finally:
            process.terminate()
            process.wait(30)
        return _times(folder / "record", messages), left


def _drain(url: str) -> None:
    """Take the updates of everybody's opening, so that the bot meets people it knows."""
    offset = 0
    with httpx.Client(base_url=f"{url}/bot{TOKEN}/", trust_env=False, timeout=30) as client:
        while got := client.post("getUpdates", json={"offset": offset, "timeout": 0}).json()["result"]:
            offset = got[-1]["update_id"] + 1


def _prepare(given: dict[str, str], people: list[int], staff: tuple[int, int]) -> None:
    """A database with everybody in it and a nudge for each queued."""
    now = SystemClock().now()
    engine = open_engine(read_url(given["DATABASE_URL"]))
    migrate.upgrade(engine)
    keys = Path(given["DATA_KEYS_FILE"]).read_text(encoding="utf-8")
    store = Store(engine, vault.parse_master_keys(keys))
    plan = crowd.document(now.date(), now.date() + dt.timedelta(days=60))
    crowd.put(store, BOT, now, staff, people, plan, lambda _: None)
    row = (Button("nudge.button.done", f"done:{now:%Y%m%d}:1"),)
    content = to_json(Say("nudge.first", {"done": 0, "sets": 3, "cue": ""}, (row,), kind=Kind.NUDGE))
    chat = tables.chat.c
    with store.begin() as tx:
        query = select(chat.id, chat.owner_id).where(chat.role == Role.CLIENT.value)
        chats = tx.connection.execute(query).all()
    for first in range(0, len(chats), AT_ONCE):
        with store.begin() as tx:
            for one in chats[first : first + AT_ONCE]:
                letter = Letter(f"bench:{one.id.hex}", one.id, one.owner_id, Kind.NUDGE, content)
                outbox.put(tx, letter, now)
    store.close()


def _rows(folder: Path, query: str) -> int:
    with contextlib.closing(sqlite3.connect(folder / "programme.sqlite3")) as connection:
        return int(connection.execute(query).fetchone()[0])


def _queued(folder: Path) -> int:
    return _rows(folder, "SELECT count(*) FROM outbox WHERE kind = 'nudge' AND state = 'queued'")


def _wait_for_nudges(folder: Path) -> None:
    """Until the service is ready and at it."""
    sent = "SELECT count(*) FROM outbox WHERE kind = 'nudge' AND state = 'sent'"
    for _ in range(1200):
        if '"ready"' in (folder / "log").read_text(encoding="utf-8") and _rows(folder, sent) > 0:
            return
        time.sleep(0.1)
    raise RuntimeError("no nudge was sent within two minutes")


def _write(room: RoomClient, people: list[int]) -> None:
    """One message from each of some people, evenly spaced; the last one's answer is waited for."""
    began_s = time.monotonic()
    for number, person in enumerate(people):
        time.sleep(max(0.0, began_s + number * PACE_S - time.monotonic()))
        room.say(person, WORDS, settle=False)
    room.wait_for(people[-1], lambda shown: shown.text.startswith(ADVICE), 30.0)


def _times(record: Path, messages: int) -> list[float]:
    """From each person's message to the call that brought her the advice, by the room's own watch."""
    said: dict[object, float] = {}
    found: dict[object, float] = {}
    for line in read_record(record):
        if line["what"] == "action" and line["content"].get("text") == WORDS:
            said[line["chat"]] = line["wall"]
        elif line["what"] == "call" and line["taken"] and str(line.get("text") or "").startswith(ADVICE):
            found.setdefault(line["chat"], line["wall"])
    times = [found[chat] - at for chat, at in said.items()]
    if len(times) != messages:
        raise RuntimeError(f"{len(times)} of {messages} messages were answered")
    return times


@contextlib.contextmanager
def _answering(url: str) -> Iterator[None]:
    """A bare loop: asks for updates, answers each message at once."""
    over = threading.Event()

    def run() -> None:
        offset = 0
        with httpx.Client(base_url=f"{url}/bot{TOKEN}/", trust_env=False, timeout=30) as client:
            while not over.is_set():
                got = client.post("getUpdates", json={"offset": offset, "timeout": 1}).json()["result"]
                for update in got:
                    offset = update["update_id"] + 1
                    chat = update.get("message", {}).get("chat", {}).get("id")
                    if chat is not None:
                        client.post("sendMessage", json={"chat_id": chat, "text": ADVICE})

    thread = threading.Thread(target=run)
    thread.start()
    try:
        yield
    finally:
        over.set()
        thread.join()


def _peer(messages: int) -> list[float]:
    with (
        tempfile.TemporaryDirectory(prefix="advice-") as name,
        start_room(record=Path(name) / "record") as room,
    ):
        people = [room.person(f"Client {number}") for number in range(1, messages + 1)]
        for person in people:
            room.start(person, settle=False)
        _drain(room.url)
        with _answering(room.url):
            began_s = time.monotonic()
            for number, person in enumerate(people):
                time.sleep(max(0.0, began_s + number * PACE_S / 10 - time.monotonic()))
                room.say(person, WORDS, settle=False)
            room.wait_for(people[-1], lambda shown: shown.text.startswith(ADVICE), 30.0)
        return _peer_times(Path(name) / "record")


def _peer_times(record: Path) -> list[float]:
    said: dict[object, float] = {}
    times = []
    for line in read_record(record):
        if line["what"] == "action" and line["content"].get("text") == WORDS:
            said[line["chat"]] = line["wall"]
        elif line["what"] == "call" and line["taken"] and line.get("text") == ADVICE and line["chat"] in said:
            times.append(line["wall"] - said.pop(line["chat"]))
    return times


def main() -> int:
    """Measure and print."""
    parser = argparse.ArgumentParser(prog="python -m tests.benchmarks.advice", description=__doc__)
    parser.add_argument("--quick", action="store_true", help="fewer nudges and messages")
    parser.add_argument("--json", action="store_true", help="one JSON object")
    options = parser.parse_args()
    figures = measure(options.quick)
    if options.json:
        print(json.dumps(figures))
    else:
        print("\n".join(f"{name}: {value}" for name, value in figures.items()))
    return 0


if __name__ == "__main__":
    sys.exit(main())
