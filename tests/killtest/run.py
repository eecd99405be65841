"""The scripted run: fifty clients answer their nudges while their bot is killed again and again."""

import contextlib
import datetime as dt
import itertools
import json
import random
import sys
import time
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from pathlib import Path

import psycopg

from bot.store import migrate, vault
from bot.store.base import Store, open_engine, read_url
from demo.room_client import TOKEN, RoomClient, RoomError, start_room
from tests.fixtures import crowd
from tests.killtest.checker import Rows
from tests.killtest.shared_clock import SharedClock
from tests.killtest.workers import Killer, Trouble, Worker, door, free_port

FIRST_DAY = dt.date(2026, 3, 2)
SLOTS = (dt.time(8, 30), dt.time(13), dt.time(18, 30), dt.time(20, 30))  # UTC, which is Dublin's in March
REPORT = "one more"
ALARM = "blood is pouring out of me"
ADVICE = "Call 112 now."
MOST_ALARMS = 14
END_WITHIN_S = 12.0
NUDGED_WITHIN_S = 6.0
PACE_S = 0.04  # between two people's acts, so that the kills fall among them


@dataclass(frozen=True)
class Plan:
    """What to run. workers: 1 on SQLite. rounds: at least so many times of day.

    quiet_within_s: how long people wait at each for everything to come to rest, before time goes on anyway.
    """

    kills: int
    database: str
    workers: int
    folder: Path
    clients: int = 50
    seed: int = 1
    rounds: int = 8
    quiet_within_s: float = 12.0


Begin = Callable[["Scene", list[Worker]], Trouble]


def _kills(scene: "Scene", workers: list[Worker]) -> Trouble:
    return Killer(workers, scene.plan.kills, scene.plan.seed)


def run(plan: Plan, trouble: Begin = _kills) -> None:
    """Carry a run out; leaves the record, the account and, on SQLite, the database in the plan's folder.

    trouble: what comes upon the workers meanwhile; it is made once they are at work.
    """
    with start_room(at=_at(FIRST_DAY, dt.time(8)), record=plan.folder / "record.jsonl") as room:
        scene = Scene(plan, room)
        with contextlib.closing(scene), scene.workers() as workers:
            killer = trouble(scene, workers)
            killer.start()
            scene.play(killer)
            for worker in workers:
                worker.wait_ready()
            scene.end()
            for worker in workers:
                worker.stop()
        scene.account(killer.done)


class Scene:
    """The clinic, its people in the room, and the clock that all follow."""

    def __init__(self, plan: Plan, room: RoomClient) -> None:
        self.plan = plan
        self.room = room
        self._random = random.Random(plan.seed)
        self._clock_file = plan.folder / "clock"
        self.webhook = ("", "")  # its address and secret, with several workers
        self._ahead = dt.timedelta()
        self._clock = SharedClock(self._clock_file)
        self._keys = vault.new_master_key()
        self.therapist, fallback = room.person("Nuala Brackenfield"), room.person("Tom Aldershaw")
        self.people = [room.person(f"Client {number}") for number in range(1, plan.clients + 1)]
        self._alarms = self.people[:MOST_ALARMS]
        self._silent: set[int] = set()
        engine = open_engine(read_url(plan.database))
        migrate.upgrade(engine)
        store = Store(engine, vault.parse_master_keys(self._keys))
        now = room.now()
        document = crowd.document(FIRST_DAY, FIRST_DAY + dt.timedelta(days=300))
        bot = TOKEN.split(":")[0]
        crowd.put(store, bot, now, (self.therapist, fallback), self.people, document, lambda _: now)
        store.close()
        for person in (self.therapist, fallback, *self.people):
            room.start(person, settle=False)
        self._rows = Rows(plan.database)

    def close(self) -> None:
        """Let the database go."""
        self._rows.close()

    @contextlib.contextmanager
    def workers(self) -> Iterator[list[Worker]]:
        """The workers, started; whatever is left of them is ended with the block."""
        plan = self.plan
        self._clock.set(self.room.now())
        environment = {
            "BOT_TOKEN": TOKEN,
            "BOT_API_URL": self.room.url,
            "DATABASE_URL": plan.database,
            "DATA_KEYS": self._keys,
            "ERASURES_FILE": str(plan.folder / "erasures"),
        }
        with contextlib.ExitStack() as stack:
            ports = [free_port() for _ in range(plan.workers)]
            environments = [environment] * plan.workers
            if plan.workers > 1:
                port = stack.enter_context(door(ports))
                self.webhook = (f"http://127.0.0.1:{port}/updates", "k" * 20)
                webhook = dict(zip(("WEBHOOK_URL", "WEBHOOK_SECRET"), self.webhook, strict=True))
                environments = [{**environment, **webhook, "LISTEN": f"127.0.0.1:{own}"} for own in ports]
            workers = [
                Worker(each, self._clock_file, plan.folder / f"worker-{number}.log")
                for number, each in enumerate(environments, start=1)
            ]
            for worker in workers:
                stack.callback(worker.close)
                worker.start()
            for worker in workers:
                worker.wait_ready()
            yield workers

    def play(self, killer: Trouble) -> None:
        """Live through times of day until the trouble is over and the people have had their say."""
        days = (FIRST_DAY + dt.timedelta(days=number) for number in itertools.count())
        times = ((day, slot) for day in days for slot in SLOTS)
        for number, (day, slot) in enumerate(times):
            if killer.failure is not None:
                raise killer.failure
            if not killer.is_alive() and number >= self.plan.rounds:
                return
            self._move(_at(day, slot))
            self._wait_quiet(
                min(NUDGED_WITHIN_S, self.plan.quiet_within_s)
            )  # whoever reports before her nudge needs none
            self._act(evening=slot is SLOTS[-1])
            self._wait_quiet(self.plan.quiet_within_s)
            print(f"{day} {slot:%H:%M}  {killer.done} of {self.plan.kills} kills", file=sys.stderr)

    def _move(self, at: dt.datetime) -> None:
        self.room.move(to=at, without_bot=True)
        self._clock.set(self.room.now() + self._ahead)

    def set_clock(self, ahead: dt.timedelta) -> None:
        """Let the workers' clock be so much ahead of the room's from now on."""
        self._ahead = ahead
        self._clock.set(self.room.now() + ahead)

    def _act(self, *, evening: bool) -> None:
        people = self._random.sample(self.people, len(self.people))
        for person in people:
            time.sleep(PACE_S)
            if person in self._silent:
                continue
            with contextlib.suppress(RoomError):  # no such button: the nudge was not sent, or is on its way
                if evening:
                    self.room.press(person, self._random.choice(("0", "1", "2", "3")), settle=False)
                elif self._random.random() < 0.6:
                    self.room.press(person, "Done", settle=False)
                elif self._random.random() < 0.8:
                    self.room.say(person, REPORT, settle=False)
        for person in self._alarms[:2]:
            self._alarms.remove(person)
            self._silent.add(person)
            self.room.say(person, ALARM, settle=False)
            time.sleep(PACE_S)

    def _wait_quiet(self, within_s: float) -> bool:
        """Wait until nothing is under way; tells whether it came to that."""
        until_s = time.monotonic() + within_s
        while time.monotonic() < until_s:
            if not self.room.stats()["waiting_updates"] and not self._under_way():
                return True
            time.sleep(0.1)
        return False

    def _under_way(self) -> int:
        now = self._clock.now().strftime("%Y-%m-%d %H:%M:%S.999999")
        waiting = (
            "SELECT count(*) FROM inbox WHERE state = 'new'",
            "SELECT count(*) FROM outbox WHERE state = 'sending'",
            f"SELECT count(*) FROM outbox WHERE state = 'queued' AND not_before <= '{now}'",  # noqa: S608 - an instant of our own
            f"SELECT count(*) FROM track WHERE next_at <= '{now}'",  # noqa: S608 - the same
        )
        try:
            return sum(self._rows.number(query) for query in waiting)
        except psycopg.OperationalError:  # the server is down, and whatever is under way stays so
            with contextlib.suppress(psycopg.OperationalError):
                self._rows = Rows(self.plan.database)
            return 1

    def end(self) -> None:
        """Let everything come to its end: leases run out, what waits to be tried again is tried."""
        for _ in range(10):
            if self._wait_quiet(END_WITHIN_S) and not self._rows.number(
                "SELECT count(*) FROM outbox WHERE state = 'queued'"
            ):
                return
            self._move(self.room.now() + dt.timedelta(minutes=2))

    def account(self, kills: int) -> None:
        """Write down who is who, for the checker."""
        told = {
            "kills": kills,
            "workers": self.plan.workers,
            "database": self.plan.database,
            "clients": {str(person): f"K{place}" for place, person in enumerate(self.people, start=1)},
            "report": REPORT,
            "alarm": ALARM,
            "advice": ADVICE,
        }
        (self.plan.folder / "run.json").write_text(json.dumps(told), encoding="utf-8")


def _at(day: dt.date, time_of_day: dt.time) -> dt.datetime:
    return dt.datetime.combine(day, time_of_day, dt.UTC)
