"""Four weeks of six clients and their therapist, played through the chat room, and the figures of it.

The room's clock stands still and is moved from one act to the next, so that a run takes seconds and its
figures depend on the seed alone, not on the machine.
"""

import datetime as dt
import json
import shutil
import sys
import tempfile
import time
import tomllib
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from functools import partial
from pathlib import Path
from zoneinfo import ZoneInfo

from demo import cast, checker, lives
from demo.playing import Client, Closing, Stage, Therapist, newest
from demo.room_client import RoomClient, RoomError, start_room

START = dt.datetime(2026, 3, 2, 7, 0, tzinfo=dt.UTC)
OPENS_AT = dt.time(9, 30)  # after this week's hour of the digest, so that the first one has a week to show
LOOKS_AT = (dt.time(9, 5), dt.time(12, 40), dt.time(16, 30))  # when the therapist takes up her telephone
READS_AT = dt.time(9, 25)
AFTER = dt.timedelta(minutes=5)  # for what the last deed leads to
RESUMES_ON = 4  # the day on which she starts the programme of the client with the bad night again
RESUMES_AT = dt.time(14, 0)
REVIEWED = "Seen at the emergency department on 4 March; her GP agreed by phone today that she may go on"
CLOSINGS = (
    ("K4", Closing("Spoke to her")),
    ("K4", Closing("Passed on to …", "Letter to her GP about the leaks, she has a copy")),
    ("K4", Closing("Spoke to her")),
)
OWN_FILES = ("record.jsonl", "programme.sqlite3", "data.key", checker.ACCOUNT)


@dataclass(frozen=True)
class Moment:
    """Something that happens at an instant; `do` makes it happen."""

    at: dt.datetime
    do: Callable[[], None]


def run(seed: int = 1, keep: Path | None = None, *, as_json: bool = False, weeks: int = 4) -> int:
    """Play the weeks, leave the last digest in a folder named on standard output, and print the figures.

    keep: record file and database stay there too. as_json: the last line is one JSON object. Answers 0, or 1
    where the checker found something amiss. Raises RoomError where the run could not be made.
    """
    with _folder(keep) as folder:
        shown = keep or Path(tempfile.mkdtemp(prefix="programme-demo-"))
        _play(folder, shown, seed, weeks)
        found = checker.check(folder)
    print(f"the last digest is in {shown}: digest.txt and digest.png")
    for fault in found.faults:
        print(fault, file=sys.stderr)
    print(json.dumps(found.figures) if as_json else found.table(), flush=True)
    return 1 if found.faults else 0


@contextmanager
def _folder(keep: Path | None) -> Iterator[Path]:
    """Where record and database live: for good, or only while the run lasts."""
    if keep is None:
        folder = Path(tempfile.mkdtemp(prefix="programme-demo-"))
        try:
            yield folder
        finally:
            shutil.rmtree(folder, ignore_errors=True)
        return
    keep.mkdir(parents=True, exist_ok=True)
    if any((keep / name).exists() for name in OWN_FILES):
        raise RoomError(f"{keep}: a run is kept there already; choose another folder")
    yield keep


def _play(folder: Path, shown: Path, seed: int, weeks: int) -> None:
    with start_room(record=folder / "record.jsonl", frozen=True, at=START) as room:
        environment = cast.bot_environment(folder, room.url)
        store = cast.open_store(environment)
        try:
            with cast.running_bot(environment, room.url):
                clinic = cast.Clinic(store, room)
                _Run(room, clinic, seed, weeks).play(folder)
                _save_digest(room, clinic.therapist, shown)
        finally:
            store.close()


class _Run:
    """One run: everybody joins on the first day, then moment follows moment."""

    def __init__(self, room: RoomClient, clinic: cast.Clinic, seed: int, weeks: int) -> None:
        self._clinic = clinic
        self._seed = seed
        self._days = weeks * lives.WEEK
        self._stage = Stage(room)
        self._zone = ZoneInfo(str(cast.CLINIC["zone"]))
        self._started_s = time.monotonic()

    def play(self, folder: Path) -> None:
        """Play everything and write down what the people meant."""
        self._stage.at(self._at_clinic(0, OPENS_AT))
        self._clinic.open()
        therapist = Therapist(self._stage, self._clinic.therapist, CLOSINGS)
        clients = [_Joining(life, self._stage) for life in lives.LIVES]
        moments = [*self._of_therapist(therapist), *(at for one in clients for at in self._of_client(one))]
        told = 0
        for moment in sorted(moments, key=lambda moment: moment.at):
            day = (moment.at.astimezone(self._zone).date() - lives.FIRST_DAY).days
            if day > told:
                self._tell(told)
                told = day
            self._stage.at(moment.at)
            moment.do()
        self._stage.at(self._stage.now + AFTER)
        account = {
            "clients": {one.client.life.code: one.client.account() for one in clients},
            "alerts_seen": therapist.alerts_seen,
            "digests": self._days // lives.WEEK,
            "mishaps": self._stage.mishaps,
        }
        (folder / checker.ACCOUNT).write_text(json.dumps(account, indent=1) + "\n", encoding="utf-8")

    def _at_clinic(self, day: int, at: dt.time) -> dt.datetime:
        on = lives.FIRST_DAY + dt.timedelta(days=day)
        return dt.datetime.combine(on, at, self._zone).astimezone(dt.UTC)

    def _of_client(self, one: "_Joining") -> Iterator[Moment]:
        joins_at = self._at_clinic(0, one.client.life.joins_at)
        yield Moment(joins_at, lambda: one.join(self._clinic))
        for act in lives.plan(one.client.life, self._seed, self._days):
            at = one.client.instant(act)
            if at > joins_at:
                yield Moment(at, partial(one.client.play, act))

    def _of_therapist(self, therapist: Therapist) -> Iterator[Moment]:
        for day in range(1, self._days + 1):
            if day % lives.WEEK in (lives.SAT, lives.SUN):
                continue
            for at in LOOKS_AT if day < self._days else LOOKS_AT[:1]:
                yield Moment(self._at_clinic(day, at), therapist.look)
            if day % lives.WEEK == lives.MON:
                yield Moment(self._at_clinic(day, READS_AT), therapist.read_digest)
        resumes_at = self._at_clinic(RESUMES_ON, RESUMES_AT)
        yield Moment(resumes_at, lambda: therapist.say("/resume K5"))
        yield Moment(resumes_at, lambda: therapist.say(REVIEWED))

    def _tell(self, day: int) -> None:
        on = lives.FIRST_DAY + dt.timedelta(days=day)
        took_s = time.monotonic() - self._started_s
        print(f"day {day + 1} of {self._days}, {on:%a} {on.day} {on:%B}, {took_s:.0f} s", file=sys.stderr)


class _Joining:
    """A client before and after her first visit."""

    def __init__(self, life: lives.Life, stage: Stage) -> None:
        self._file = cast.PRESCRIPTIONS / f"{life.code}.toml"
        zone = ZoneInfo(str(tomllib.loads(self._file.read_text(encoding="utf-8"))["zone"]))
        self.client = Client(life, zone, stage)

    def join(self, clinic: cast.Clinic) -> None:
        """Her therapist enrols her, she opens the invite."""
        self.client.person = clinic.enrol(clinic.add_client(self._file), self.client.life.name)


def _save_digest(room: RoomClient, therapist: int, folder: Path) -> None:
    chat = room.from_bot(therapist)
    picture = newest(chat, lambda shown: shown.media == "photo")
    text = newest(chat, lambda shown: shown.media is None and shown.message_id < picture.message_id)
    (folder / "digest.txt").write_text(text.text + "\n", encoding="utf-8")
    (folder / "digest.png").write_bytes(room.file(picture))
