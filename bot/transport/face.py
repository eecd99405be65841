"""The small HTTP face: is it alive, is it ready, and the webhook where one is used."""

import contextlib
import hmac
import json
from collections.abc import Awaitable, Callable, Iterator

import uvicorn
from starlette.applications import Starlette
from starlette.requests import Request
from starlette.responses import PlainTextResponse, Response
from starlette.routing import Route

from bot.logs import get
from bot.service.accept import Received
from bot.transport.poll import received

LARGEST_BODY_BYTES = 1024 * 1024
SECRET_HEADER = "X-Telegram-Bot-Api-Secret-Token"  # noqa: S105 - a header's name
RETRY_AFTER_S = "3"
log = get()

Accept = Callable[[list[Received]], Awaitable[None]]
Ready = Callable[[], Awaitable[list[str]]]


def make_face(ready: Ready, accept: Accept | None = None, secret: str = "") -> Starlette:
    """The application.

    ready gives what is amiss, a line each; none means ready. With `accept`, POST /updates takes the
    platform's updates: 200 only after the commit, 503 when it could not be stored.
    """

    async def alive(request: Request) -> Response:
        del request
        return PlainTextResponse("alive\n")

    async def is_ready(request: Request) -> Response:
        del request
        amiss = await ready()
        return PlainTextResponse("\n".join(amiss or ["ready"]) + "\n", 503 if amiss else 200)

    async def updates(request: Request) -> Response:
        if accept is None or not hmac.compare_digest(request.headers.get(SECRET_HEADER, ""), secret):
            return PlainTextResponse("refused\n", 403)
        body = b""
        async for chunk in request.stream():
            body += chunk
            if len(body) > LARGEST_BODY_BYTES:
                return PlainTextResponse("too large\n", 413)
        try:
            update = received(json.loads(body))
        except (ValueError, KeyError, TypeError):
            # Not an update: keeping it would only make the platform send it again and again.
            log.warning("webhook_unreadable")
            return PlainTextResponse("not an update\n", 200)
        try:
            await accept([update])
        except Exception as error:  # noqa: BLE001 - whatever kept it from being stored, it must come again
            log.error("webhook_not_stored", error=type(error).__name__)  # noqa: TRY400 - no texts in logs
            return PlainTextResponse("try again\n", 503, headers={"Retry-After": RETRY_AFTER_S})
        return PlainTextResponse("stored\n")

    routes = [Route("/health/live", alive), Route("/health/ready", is_ready)]
    if accept is not None:
        routes.append(Route("/updates", updates, methods=["POST"]))
    return Starlette(routes=routes)


class _Quiet(uvicorn.Server):
    """A server that leaves the signals to whoever runs it."""

    def install_signal_handlers(self) -> None:
        """Ours are enough."""

    @contextlib.contextmanager
    def capture_signals(self) -> Iterator[None]:
        """The same for newer releases of the library."""
        yield


def make_server(face: Starlette, host: str, port: int) -> uvicorn.Server:
    """The server of the face; started with `serve()`, stopped by `should_exit`."""
    return _Quiet(
        uvicorn.Config(face, host=host, port=port, log_config=None, access_log=False, lifespan="off"),
    )
