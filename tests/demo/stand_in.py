"""A stand-in for the bot's process: takes updates, offers the driver, can be a webhook."""

import json
import threading
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from http.server import BaseHTTPRequestHandler, ThreadingHTTPServer
from typing import Any

import httpx

from demo.room_client import PLAIN, RoomClient

Answer = dict[str, Any]


def until(holds: Callable[[], bool], within_s: float = 5.0) -> None:
    """Return once it holds; the question itself goes over HTTP and takes its time. Fails after `within_s`."""
    end_s = time.monotonic() + within_s
    while not holds():
        assert time.monotonic() < end_s


@dataclass
class Received:
    """One request that came in."""

    path: str
    secret: str | None
    body: Answer


@dataclass
class StandIn:
    """`answer` gets each request and gives status, headers and JSON; `received` keeps them all."""

    url: str
    answer: Callable[[Received], tuple[int, dict[str, str], Answer]]
    received: list[Received] = field(default_factory=list)
    came: threading.Condition = field(default_factory=threading.Condition)

    def wait_for(self, count: int, within_s: float = 5.0) -> list[Received]:
        """All that came, once there are at least `count`."""
        with self.came:
            assert self.came.wait_for(lambda: len(self.received) >= count, within_s), self.received
            return list(self.received)

    def runs(self) -> list[str]:
        """The instants at which the ticks were run."""
        return [str(request.body["now"]) for request in self.received if request.path == "/run"]


def idle(next_at: str | None = None, work: int = 0) -> tuple[int, dict[str, str], Answer]:
    """What a driver answers once its bot is quiet."""
    return 200, {}, {"idle": True, "next_at": next_at, "work": work}


@contextmanager
def listening(answer: Callable[[Received], tuple[int, dict[str, str], Answer]]) -> Iterator[StandIn]:
    """A stand-in that listens on this machine until the block ends."""

    class Handler(BaseHTTPRequestHandler):
        protocol_version = "HTTP/1.0"  # no kept connections that would outlive the test

        def do_POST(self) -> None:
            body = json.loads(self.rfile.read(int(self.headers["Content-Length"])))
            request = Received(self.path, self.headers.get("X-Telegram-Bot-Api-Secret-Token"), body)
            status, headers, told = stand_in.answer(request)
            with stand_in.came:
                stand_in.received.append(request)
                stand_in.came.notify_all()
            data = json.dumps(told).encode()
            self.send_response(status)
            for name, value in {"Content-Length": str(len(data)), **headers}.items():
                self.send_header(name, value)
            self.end_headers()
            self.wfile.write(data)

        def log_message(self, format: str, *args: object) -> None:  # noqa: A002 - the base class names it so
            del format, args

    with ThreadingHTTPServer(("127.0.0.1", 0), Handler) as server:
        stand_in = StandIn(f"http://127.0.0.1:{server.server_port}", answer)
        thread = threading.Thread(target=server.serve_forever, args=(0.01,))
        thread.start()
        yield stand_in
        server.shutdown()
        thread.join()


@contextmanager
def polling(room: RoomClient) -> Iterator[list[Answer]]:
    """Take updates by long polling, as a bot does, until the block ends; answers the list it fills."""
    taken: list[Answer] = []
    stop = threading.Event()

    def poll() -> None:
        offset = 0
        with httpx.Client(base_url=f"{room.bot_url}{room.token}", trust_env=False, verify=PLAIN) as client:
            while not stop.is_set():
                answer = client.get("/getUpdates", params={"offset": offset, "timeout": 1})
                for update in answer.json().get("result", []):  # none where another poll ended this one
                    taken.append(update)
                    offset = update["update_id"] + 1

    thread = threading.Thread(target=poll)
    thread.start()
    try:
        yield taken
    finally:
        stop.set()
        httpx.get(
            f"{room.bot_url}{room.token}/getUpdates", params={"limit": 1}, trust_env=False, verify=PLAIN
        )
        thread.join()
