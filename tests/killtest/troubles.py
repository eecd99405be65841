"""What else comes upon a running bot: the disk is full, the database is gone, the clock jumps."""

import datetime as dt
import os
import resource
import time
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass, field
from pathlib import Path

import httpx

from tests.fixtures import postgresql
from tests.killtest.run import Begin, Scene
from tests.killtest.workers import Trouble, Worker

ON_FOR_S = 3.0  # people have begun to act, or go on for a while afterwards
HOUR = dt.timedelta(hours=1)
SECRET_HEADER = "X-Telegram-Bot-Api-Secret-Token"  # noqa: S105 - the header's public name


class OneAfterTheOther(Trouble):
    """Several troubles in turn."""

    def __init__(self, troubles: Sequence[Trouble]) -> None:
        super().__init__()
        self._troubles = troubles

    def come(self) -> None:
        """Each in its turn."""
        for trouble in self._troubles:
            trouble.come()
            self.done += trouble.done


class _Lasting(Trouble):
    """A trouble of some seconds, in a scene, for all workers."""

    def __init__(self, scene: Scene, workers: list[Worker], seconds: float) -> None:
        super().__init__()
        self._scene = scene
        self._workers = workers
        self._seconds = seconds


class NoFileGrows(_Lasting):
    """No file of any worker may be written to for some seconds, as on a disk that is full."""

    def come(self) -> None:
        """Full, and free again."""
        time.sleep(ON_FOR_S)
        with self._full():
            self._scene.room.say(self._scene.therapist, "/clients", settle=False)
            time.sleep(self._seconds)
            assert self._scene.room.stats()["waiting_updates"]  # nothing was acknowledged
        self.done = len(self._workers)
        time.sleep(ON_FOR_S)
        assert all(worker.pid for worker in self._workers)

    @contextmanager
    def _full(self) -> Iterator[None]:
        before = [resource.prlimit(worker.pid, resource.RLIMIT_FSIZE) for worker in self._workers]
        for worker, (_, hard) in zip(self._workers, before, strict=True):
            resource.prlimit(worker.pid, resource.RLIMIT_FSIZE, (0, hard))
        try:
            yield
        finally:
            for worker, limits in zip(self._workers, before, strict=True):
                resource.prlimit(worker.pid, resource.RLIMIT_FSIZE, limits)


class FullDisk(NoFileGrows):
    """A small file system of the database's own is filled up for some seconds."""

    def __init__(self, scene: Scene, workers: list[Worker], seconds: float, folder: Path) -> None:
        super().__init__(scene, workers, seconds)
        self._ballast = folder / "ballast"

    @contextmanager
    def _full(self) -> Iterator[None]:
        with self._ballast.open("wb", buffering=0) as ballast:
            for block in (1024 * 1024, 4096, 1):
                fill(ballast.fileno(), block)
        try:
            yield
        finally:
            self._ballast.unlink()


def fill(descriptor: int, block: int) -> None:
    """Write until nothing more fits."""
    try:
        while os.write(descriptor, bytes(block)):
            pass
    except OSError:
        return


@dataclass
class Told:
    """What the webhook answered while the database was gone: status and Retry-After, by the second."""

    answers: list[tuple[float, int, str | None]] = field(default_factory=list)
    spooled: int = 0


class DatabaseGone(_Lasting):
    """The database server is stopped for some seconds, while updates go on coming to the webhook."""

    def __init__(
        self, scene: Scene, workers: list[Worker], server: postgresql.Server, seconds: float, told: Told
    ) -> None:
        super().__init__(scene, workers, seconds)
        self._server = server
        self._told = told

    def come(self) -> None:
        """Gone, and back."""
        time.sleep(ON_FOR_S)
        self._server.stop()
        began_s = time.monotonic()
        try:
            while time.monotonic() - began_s < self._seconds:
                self._knock(time.monotonic() - began_s)
                time.sleep(1.0)
            self._told.spooled = len(list(self._scene.plan.folder.glob("spool-*")))
        finally:
            self._server.start()
        self.done = len(self._workers)
        time.sleep(ON_FOR_S)
        assert all(worker.pid for worker in self._workers)

    def _knock(self, at_s: float) -> None:
        """An update that means nothing to anybody: a poll's state."""
        url, secret = self._scene.webhook
        answer = httpx.post(
            url,
            json={"update_id": 7, "poll": {}},
            headers={SECRET_HEADER: secret},
            trust_env=False,
            timeout=30,
        )
        self._told.answers.append((at_s, answer.status_code, answer.headers.get("retry-after")))


class ClockJumps(_Lasting):
    """The workers' clock jumps an hour ahead, back, an hour behind, and back."""

    def come(self) -> None:
        """Both ways."""
        for ahead in (HOUR, dt.timedelta(), -HOUR, dt.timedelta()):
            time.sleep(self._seconds)
            self._scene.set_clock(ahead)
        self.done = len(self._workers)
        time.sleep(ON_FOR_S)
        assert all(worker.pid for worker in self._workers)


def in_turn(*begins: Begin) -> Begin:
    """One trouble after the other."""
    return lambda scene, workers: OneAfterTheOther([begin(scene, workers) for begin in begins])


def no_file_grows(seconds: float) -> Begin:
    """Files cannot be written for so long."""
    return lambda scene, workers: NoFileGrows(scene, workers, seconds)


def full_disk(seconds: float, folder: Path) -> Begin:
    """The file system of `folder` is full for so long."""
    return lambda scene, workers: FullDisk(scene, workers, seconds, folder)


def database_gone(seconds: float, server: postgresql.Server, told: Told) -> Begin:
    """The server is down for so long."""
    return lambda scene, workers: DatabaseGone(scene, workers, server, seconds, told)


def clock_jumps(seconds: float) -> Begin:
    """Each way, for so long."""
    return lambda scene, workers: ClockJumps(scene, workers, seconds)
