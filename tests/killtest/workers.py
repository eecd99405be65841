"""The processes under test: started, killed, started again; and the door the platform knocks at."""

import asyncio
import contextlib
import os
import random
import signal
import socket
import subprocess
import sys
import threading
import time
from collections.abc import Iterator, Mapping
from pathlib import Path

from tests.killtest.checker import CHECKOUT

WORKER = Path(__file__).with_name("worker.py")
READY_WITHIN_S = 240.0  # also on a machine with much else to do
STOP_WITHIN_S = 15.0
WHILE_STARTING = 0.15  # of the kills hit a process that is not ready yet
LONGEST_LIFE_S = 2.5  # once ready, before it is killed


class Worker:
    """One worker's place: whichever process fills it now."""

    def __init__(self, environment: Mapping[str, str], clock: Path, log: Path) -> None:
        self._environment = {**os.environ, **environment}
        self._clock = clock
        self._log = log
        self._ready = threading.Event()
        self._process: subprocess.Popen[str] | None = None

    def start(self) -> None:
        """Start a process; `wait_ready` tells when it is at work."""
        self._ready = threading.Event()
        with self._log.open("a", encoding="utf-8") as log:
            self._process = subprocess.Popen(
                [sys.executable, str(WORKER), str(self._clock)],
                cwd=CHECKOUT,
                env=self._environment,
                stdout=subprocess.PIPE,
                stderr=log,
                text=True,
            )
        threading.Thread(target=_hear, args=(self._process, self._ready), daemon=True).start()

    def wait_ready(self) -> None:
        """Wait until it is at work; raises RuntimeError for one that ends by itself or takes too long."""
        until_s = time.monotonic() + READY_WITHIN_S
        while not self._ready.wait(0.05):
            if self._running().poll() is not None or time.monotonic() > until_s:
                raise RuntimeError(f"a worker did not start; see {self._log}")

    def kill(self) -> None:
        """End it as a power cut would."""
        os.kill(self.pid, signal.SIGKILL)
        self._let_go()

    def stop(self) -> float:
        """End it in order; tells how many seconds it took. Raises RuntimeError when it takes too long."""
        process = self._running()
        began_s = time.monotonic()
        process.terminate()
        try:
            process.wait(STOP_WITHIN_S)
        except subprocess.TimeoutExpired:
            process.kill()
            raise RuntimeError(f"a worker did not stop within {STOP_WITHIN_S:.0f} s") from None
        finally:
            self._let_go()
        return time.monotonic() - began_s

    @property
    def pid(self) -> int:
        """The process that runs now; raises RuntimeError for one that ended by itself."""
        process = self._running()
        if process.poll() is not None:
            raise RuntimeError(f"a worker ended by itself ({process.returncode}); see {self._log}")
        return process.pid

    def close(self) -> None:
        """Leave nothing running."""
        if self._process is not None and self._process.poll() is None:
            self._process.kill()
            self._let_go()

    def _running(self) -> subprocess.Popen[str]:
        if self._process is None:
            raise RuntimeError("no process was started")
        return self._process

    def _let_go(self) -> None:
        process = self._running()
        process.wait()


def _hear(process: subprocess.Popen[str], ready: threading.Event) -> None:
    with contextlib.suppress(ValueError):
        for line in process.stdout or ():
            if line.strip() == "ready":
                ready.set()
    if process.stdout is not None:
        process.stdout.close()


class Trouble(threading.Thread):
    """What comes upon the workers while people go on. done: how often a worker was hit."""

    def __init__(self) -> None:
        super().__init__(daemon=True)
        self.done = 0
        self.failure: Exception | None = None

    def run(self) -> None:
        """Let it come; what goes wrong is told to whoever waits for us."""
        try:
            self.come()
        except Exception as error:  # noqa: BLE001 - told to whoever waits for us
            self.failure = error

    def come(self) -> None:
        """All of it, from beginning to end."""
        raise NotImplementedError


class Killer(Trouble):
    """Kills workers one after the other, at random moments, and starts each again at once."""

    def __init__(self, workers: list[Worker], kills: int, seed: int) -> None:
        super().__init__()
        self._workers = workers
        self._kills = kills
        self._random = random.Random(seed)

    def come(self) -> None:
        """Kill until all kills are made."""
        for _ in range(self._kills):
            worker = self._random.choice(self._workers)
            if self._random.random() >= WHILE_STARTING:
                worker.wait_ready()
            time.sleep(self._random.uniform(0.0, LONGEST_LIFE_S))
            worker.kill()
            self.done += 1
            worker.start()


def free_port() -> int:
    """A port of this machine that is free now."""
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        port: int = probe.getsockname()[1]
        return port


@contextlib.contextmanager
def door(ports: list[int]) -> Iterator[int]:
    """A port that passes each connection on to one of the workers that answers, as a proxy in front would."""
    loop = asyncio.new_event_loop()
    first = iter(range(10**9))

    async def serve(reader: asyncio.StreamReader, writer: asyncio.StreamWriter) -> None:
        start = next(first)
        for place in range(len(ports)):
            port = ports[(start + place) % len(ports)]
            with contextlib.suppress(OSError):
                inner = await asyncio.open_connection("127.0.0.1", port)
                await asyncio.gather(_pass_on(reader, inner[1]), _pass_on(inner[0], writer))
                return
        writer.close()

    server = loop.run_until_complete(asyncio.start_server(serve, "127.0.0.1", 0))

    async def hang_up() -> None:
        passing = asyncio.all_tasks() - {asyncio.current_task()}
        for task in passing:
            task.cancel()
        await asyncio.gather(*passing, return_exceptions=True)

    def run() -> None:
        loop.run_forever()
        loop.run_until_complete(hang_up())
        loop.close()

    thread = threading.Thread(target=run, daemon=True)
    thread.start()
    try:
        yield server.sockets[0].getsockname()[1]
    finally:
        loop.call_soon_threadsafe(server.close)
        loop.call_soon_threadsafe(loop.stop)
        thread.join(5)


async def _pass_on(reader: asyncio.StreamReader, writer: asyncio.StreamWriter) -> None:
    with contextlib.suppress(OSError):
        while data := await reader.read(65536):
            writer.write(data)
            await writer.drain()
    with contextlib.suppress(OSError):
        writer.close()
