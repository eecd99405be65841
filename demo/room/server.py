"""Serving the room over HTTP on this machine, and cutting a connection when a fault asks for it."""

import asyncio
import socket
from typing import Any

import uvicorn
from starlette.types import Scope
from uvicorn.protocols.http.h11_impl import H11Protocol

from demo.room import app
from demo.room.room import Room


class Connections:
    """The open connections by the caller's address, so that one of them can be cut."""

    def __init__(self) -> None:
        self._open: dict[tuple[str, int], asyncio.Transport] = {}

    def protocol(self) -> type[H11Protocol]:
        """The server's HTTP protocol, taught to report its connections here."""
        opened = self._open

        class Watched(H11Protocol):
            def connection_made(self, transport: Any) -> None:  # noqa: ANN401 - as the server library types it
                self.watched_peer = transport.get_extra_info("peername")
                opened[self.watched_peer] = transport
                super().connection_made(transport)

            def connection_lost(self, exc: Exception | None) -> None:
                opened.pop(self.watched_peer, None)
                super().connection_lost(exc)

        return Watched

    def cut(self, scope: Scope) -> None:
        """Cut the connection this request came over; the caller gets no answer."""
        if (transport := self._open.get(tuple(scope["client"]))) is not None:
            transport.abort()


class Server(uvicorn.Server):
    """Says when it listens, and lets go of waiting callers before it stops."""

    def __init__(self, config: uvicorn.Config, room: Room, url: str) -> None:
        super().__init__(config)
        self._room = room
        self._url = url

    async def startup(self, sockets: list[socket.socket] | None = None) -> None:
        """Start and say so on standard output, for whoever started us and waits."""
        await super().startup(sockets)
        print(f"ready {self._url}", flush=True)

    async def shutdown(self, sockets: list[socket.socket] | None = None) -> None:
        """Stop without waiting for polls and pages that would go on for ever."""
        self._room.close()
        await super().shutdown(sockets)


def serve(room: Room, port: int) -> None:
    """Serve until a signal comes. port 0 takes any free one."""
    # Named as TCP, or the event loop does not switch small-packet delays off: 40 ms on every answer.
    listener = socket.socket(socket.AF_INET, socket.SOCK_STREAM, socket.IPPROTO_TCP)
    listener.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
    listener.bind(("127.0.0.1", port))
    connections = Connections()
    config = uvicorn.Config(
        app.build(room, connections.cut),
        http=connections.protocol(),
        ws="none",
        lifespan="on",
        log_level="warning",
        access_log=False,
        timeout_graceful_shutdown=1,
        timeout_keep_alive=75,
    )
    host, real_port = listener.getsockname()
    Server(config, room, f"http://{host}:{real_port}").run(sockets=[listener])
