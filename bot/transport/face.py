"""The small HTTP face: is it alive, is it ready, and the webhook where one is used."""

import asyncio
import contextlib
import hmac
import json
import socket
from collections.abc import Awaitable, Callable, Iterator

import uvicorn
from starlette.applications import Starlette
from starlette.requests import ClientDisconnect, Request
from starlette.responses import PlainTextResponse, Response
from starlette.routing import Route

from bot.errors import RefusedError
from bot.logs import get, place
from bot.service.accept import Received
from bot.service.gauges import Gauges
from bot.transport import metrics
from bot.transport.poll import received

LARGEST_BODY_BYTES = 1024 * 1024
BODY_WITHIN_S = 10.0
READY_WITHIN_S = 5.0
FINISH_WITHIN_S = 5
SECRET_HEADER = "X-Telegram-Bot-Api-Secret-Token"  # noqa: S105 - a header's name
RETRY_AFTER_S = "3"
log = get()

Accept = Callable[[list[Received]], Awaitable[None]]
Ready = Callable[[], Awaitable[list[str]]]
Figures = Callable[[], Awaitable[Gauges]]
App = Starlette


class _TooLargeError(Exception):
    """A body beyond what any update needs."""


def make_face(
    ready: Ready, accept: Accept | None = None, secret: str = "", figures: Figures | None = None
) -> Starlette:
    """The application.

    ready gives what is amiss, a line each; none means ready. figures are what /metrics shows. With `accept`,
    POST /updates takes the platform's updates, in this order: the secret is compared, the body read, the
    update stored and committed, and only then answered with 200. Anything else makes the platform bring it
    again. Raises ValueError for `accept` without a secret: anybody could then put words into a client's
    mouth.
    """
    if accept is not None and not secret:
        raise ValueError("a webhook needs a secret")

    async def alive(request: Request) -> Response:
        del request
        return PlainTextResponse("alive\n")

    async def is_ready(request: Request) -> Response:
        del request
        try:
            async with asyncio.timeout(READY_WITHIN_S):
                amiss = await ready()
        except Exception as error:  # noqa: BLE001 - whatever it is, it is not ready
            amiss = [f"database: no answer ({type(error).__name__})"]
        return PlainTextResponse("\n".join(amiss or ["ready"]) + "\n", 503 if amiss else 200)

    async def shown(request: Request) -> Response:
        del request
        if figures is None:
            return PlainTextResponse("no figures\n", 404)
        try:
            async with asyncio.timeout(READY_WITHIN_S):
                gauges = await figures()
        except Exception as error:  # noqa: BLE001 - whatever it is, there are no figures
            return PlainTextResponse(f"database: no answer ({type(error).__name__})\n", 503)
        return Response(metrics.rendered(gauges), media_type=metrics.CONTENT_TYPE)

    routes = [Route("/health/live", alive), Route("/health/ready", is_ready), Route("/metrics", shown)]
    if accept is not None:
        routes.append(Route("/updates", _webhook(accept, secret), methods=["POST"]))
    return Starlette(routes=routes)


def _webhook(accept: Accept, secret: str) -> Callable[[Request], Awaitable[Response]]:
    expected = secret.encode()

    async def updates(request: Request) -> Response:
        # As bytes: whoever guesses may send any, and a text beyond ASCII cannot be compared in constant time.
        if not hmac.compare_digest(request.headers.get(SECRET_HEADER, "").encode(), expected):
            return PlainTextResponse("refused\n", 403)
        try:
            async with asyncio.timeout(BODY_WITHIN_S):
                body = await _body(request)
        except _TooLargeError:
            log.warning("webhook_too_large")
            return PlainTextResponse("too large\n", 413)
        except (ClientDisconnect, TimeoutError):
            return PlainTextResponse("cut off\n", 408)
        try:
            update = received(json.loads(body))
        except (ValueError, RecursionError):  # NoUpdateError among them
            # Cut short on its way, perhaps: with a refusal the platform brings it again, whole.
            log.warning("webhook_unreadable")
            return PlainTextResponse("not an update\n", 400)
        try:
            await accept([update])
        except Exception as error:  # noqa: BLE001 - whatever kept it from being stored, it must come again
            log.error("webhook_not_stored", error=type(error).__name__, where=place(error))  # noqa: TRY400 - no texts
            return PlainTextResponse("try again\n", 503, headers={"Retry-After": RETRY_AFTER_S})
        return PlainTextResponse("stored\n")

    return updates


async def _body(request: Request) -> bytes:
    told = request.headers.get("content-length", "")
    if told.isdecimal() and int(told) > LARGEST_BODY_BYTES:
        raise _TooLargeError
    body = bytearray()
    async for chunk in request.stream():
        body += chunk
        if len(body) > LARGEST_BODY_BYTES:
            raise _TooLargeError
    return bytes(body)


class _Quiet(uvicorn.Server):
    """A server that leaves the signals to whoever runs it."""

    @contextlib.contextmanager
    def capture_signals(self) -> Iterator[None]:
        """Ours are enough."""
        yield


def make_server(face: Starlette, host: str, port: int) -> uvicorn.Server:
    """The server of the face; started with `serve()`, stopped by `should_exit`."""
    return _Quiet(
        uvicorn.Config(
            face,
            host=host,
            port=port,
            log_config=None,
            access_log=False,
            lifespan="off",
            server_header=False,
            timeout_graceful_shutdown=FINISH_WITHIN_S,
        ),
    )


def open_port(host: str, port: int) -> socket.socket:
    """A listening socket for the server; raises RefusedError when the address cannot be had."""
    family = socket.AF_INET6 if ":" in host else socket.AF_INET
    # Named as TCP, or the event loop does not switch small-packet delays off.
    listening = socket.socket(family, socket.SOCK_STREAM, socket.IPPROTO_TCP)
    try:
        listening.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
        listening.bind((host, port))
        listening.listen()
    except OSError as error:
        listening.close()
        raise RefusedError(f"LISTEN: the address cannot be used ({error.strerror})") from None
    return listening
