"""The bot beside the chat room: the same service as in production, with a clock that follows the room's.

`python -m demo.bot --room http://127.0.0.1:PORT`; everything else comes from the bot's own settings. A small
HTTP face on this machine lets the room bring the bot in step: see `demo/room/driver.py`.
"""

import argparse
import asyncio
import datetime as dt
import os
import socket
import sys
import time

import httpx
from starlette.applications import Starlette
from starlette.requests import Request
from starlette.responses import JSONResponse, Response
from starlette.routing import Route

from bot import logs, serve, settings
from bot.errors import BotError, RefusedError
from bot.jobs.running import Running
from bot.transport.face import make_server
from demo.exempt import Exempt


class FollowingClock:
    """The room's clock as the bot sees it: set at each move, and running by itself where the room's does."""

    def __init__(self, at: dt.datetime, *, frozen: bool) -> None:
        self._at = at
        self._frozen = frozen
        self._anchor_s = time.monotonic()

    def now(self) -> dt.datetime:
        """The instant, aware and in UTC."""
        passed_s = 0.0 if self._frozen else time.monotonic() - self._anchor_s
        return self._at + dt.timedelta(seconds=passed_s)

    def set(self, at: dt.datetime) -> None:
        """Take over the room's instant."""
        self._at = at.astimezone(dt.UTC)
        self._anchor_s = time.monotonic()


def follow(room_url: str) -> FollowingClock:
    """A clock that starts where the room's stands."""
    told = httpx.get(f"{room_url}/room/clock", trust_env=False).raise_for_status().json()
    at = dt.datetime.fromisoformat(told["now"]).astimezone(dt.UTC)
    return FollowingClock(at, frozen=bool(told["frozen"]))


class Companion:
    """Runs beside the service and lets the room run its ticks."""

    def __init__(self, room_url: str, clock: FollowingClock) -> None:
        self._room_url = room_url
        self._clock = clock
        self._one_at_a_time = asyncio.Lock()

    async def __call__(self, running: Running) -> None:
        """Serve the face until the service stops."""

        async def run(request: Request) -> Response:
            told = await request.json()
            async with self._one_at_a_time:
                self._clock.set(dt.datetime.fromisoformat(told["now"]))
                quiet = await running.run_until_idle()
            shown = None if quiet.next_at is None else quiet.next_at.isoformat()
            return JSONResponse({"idle": True, "next_at": shown, "work": quiet.work})

        with _listening() as listening:
            port = listening.getsockname()[1]
            server = make_server(Starlette(routes=[Route("/run", run, methods=["POST"])]), "127.0.0.1", port)
            serving = asyncio.create_task(server.serve(sockets=[listening]))
            async with httpx.AsyncClient(trust_env=False) as room:
                answer = await room.post(
                    f"{self._room_url}/room/driver", json={"url": f"http://127.0.0.1:{port}"}
                )
                answer.raise_for_status()
            print("ready", flush=True)
            try:
                await serving
            finally:
                server.should_exit = True


def _listening() -> socket.socket:
    """Any free port of this machine."""
    # Named as TCP, or the event loop does not switch small-packet delays off: 40 ms on every answer.
    listening = socket.socket(socket.AF_INET, socket.SOCK_STREAM, socket.IPPROTO_TCP)
    listening.bind(("127.0.0.1", 0))
    return listening


def main() -> int:
    """Run the bot until it is told to stop."""
    parser = argparse.ArgumentParser(prog="python -m demo.bot", description=__doc__)
    parser.add_argument("--room", required=True, help="address of the chat room")
    args = parser.parse_args()
    try:
        known = settings.read(settings.ServeSettings)
        logs.set_up(os.environ.get("LOG_LEVEL", "warning"))
        clock = follow(args.room)
        asyncio.run(serve.serve(known, serve.Wiring(clock, Companion(args.room, clock), Exempt())))
    except RefusedError as error:
        print("\n".join(error.faults), file=sys.stderr)
        return 2
    except BotError as error:
        print(error, file=sys.stderr)
        return 2
    return 0


if __name__ == "__main__":
    sys.exit(main())
