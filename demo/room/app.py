"""One application out of the room's parts."""

import asyncio
from collections.abc import AsyncIterator
from contextlib import asynccontextmanager, suppress
from pathlib import Path

from starlette.applications import Starlette
from starlette.requests import Request
from starlette.responses import FileResponse, Response
from starlette.routing import Mount, Route
from starlette.staticfiles import StaticFiles

from demo.room.api import Api, Cut
from demo.room.control import Control
from demo.room.driver import Driver
from demo.room.room import Room
from demo.room.webhook import Webhook

PAGE = Path(__file__).parent / "page"
POLICY = (
    "default-src 'self'; img-src 'self' data:; frame-ancestors 'none'; base-uri 'none'; form-action 'none'"
)


def build(room: Room, cut: Cut) -> Starlette:
    """The application. `cut` ends the connection a request came over (for faults on order)."""
    webhook = Webhook(room)
    api = Api(room, webhook, cut)
    driver = Driver(room, webhook)
    control = Control(room, webhook, driver)

    @asynccontextmanager
    async def lifespan(app: Starlette) -> AsyncIterator[None]:
        del app
        delivery = asyncio.create_task(webhook.run())
        yield
        delivery.cancel()
        with suppress(asyncio.CancelledError):
            await delivery
        await driver.close()
        room.record.close()

    async def index(request: Request) -> Response:
        del request
        return FileResponse(PAGE / "index.html", headers={"Content-Security-Policy": POLICY})

    return Starlette(
        routes=[
            Route("/bot{token}/{method}", api.call, methods=["GET", "POST"]),
            Route("/file/bot{token}/{path:path}", api.download, methods=["GET"]),
            *control.routes(),
            Route("/", index),
            Mount("/page", StaticFiles(directory=PAGE)),
        ],
        lifespan=lifespan,
    )
