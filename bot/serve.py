"""Wiring: one place that builds the parts, starts them in order and stops them in order."""

import asyncio
import signal
import uuid
from collections.abc import Awaitable, Callable
from dataclasses import dataclass
from typing import IO

import uvicorn

from bot.clock import Clock
from bot.errors import RefusedError
from bot.jobs.running import Running
from bot.jobs.ticks import make_ticker
from bot.logs import get
from bot.rules import signs
from bot.service.office import Office
from bot.settings import DatabaseSettings, LinkSettings, ServeSettings
from bot.store import lock, migrate, vault
from bot.store.base import Store, failures_named, open_engine, read_url
from bot.transport import bots, parse, poll, send
from bot.transport.face import make_face

STOP_WITHIN_S = 10.0
log = get()

Companion = Callable[[Running], Awaitable[None]]


def open_store(settings: DatabaseSettings, clock: Clock) -> Store:
    """The database; raises RefusedError unless its schema is this program's."""
    url = read_url(settings.database_url.get_secret_value())
    masters = vault.parse_master_keys(settings.keys_text())
    engine = open_engine(url)
    store = Store(engine, masters)
    with failures_named(engine):
        migrate.demand_head(engine)
        with store.begin() as tx:
            tx.prepare_installation(clock.now())
            tx.check_keys()
    return store


def open_office(settings: ServeSettings, clock: Clock, store: Store) -> Office:
    """The office every use case is handed."""
    return Office(
        begin=store.begin,
        clock=clock,
        rules=signs.load(),
        bot=settings.bot_token.get_secret_value().partition(":")[0],
        worker=uuid.uuid4(),
        alone=store.engine.dialect.name == "sqlite",
    )


@dataclass(frozen=True, slots=True)
class Wiring:
    """What a caller may bring: its own clock and a companion, both only outside production."""

    clock: Clock
    companion: Companion | None = None


async def serve(settings: ServeSettings, wiring: Wiring) -> None:
    """Run the service until it is told to stop.

    Start: lock, schema, platform, receiver, ticks. Stop (SIGTERM or SIGINT): nothing new is taken, what is
    in hand is finished within ten seconds; a second signal ends it at once.
    """
    held = lock.hold(read_url(settings.database_url.get_secret_value()))
    try:
        store = open_store(settings, wiring.clock)
        try:
            await _run(settings, wiring, open_office(settings, wiring.clock, store))
        finally:
            store.close()
    finally:
        _release(held)


def _release(held: IO[bytes] | None) -> None:
    if held is not None:
        held.close()


async def _run(settings: ServeSettings, wiring: Wiring, office: Office) -> None:
    token = settings.bot_token.get_secret_value()

    def make_bot() -> bots.Bot:
        return bots.make_bot(token, str(settings.bot_api_url))

    bot = make_bot()
    running = Running(office, lambda out: send.send(bot, out), parse.parse, settings.send_rate)
    _listen_for_signals(running.stopping)
    await bots.greet(bot, running.stopping)
    await running.sweep()
    tasks = [
        asyncio.create_task(running.on_wake(running.inbox_wakes, running.inbox), name="inbox"),
        asyncio.create_task(running.on_wake(running.urgent_wakes, running.urgent), name="urgent"),
    ]
    server: uvicorn.Server | None = None
    if settings.webhook_url is None:
        await bots.leave_webhook(bot)
        poller = poll.Poller(make_bot, running.accept)
        tasks.append(asyncio.create_task(poller.run(), name="poll"))
    if settings.webhook_url is not None or "listen" in settings.model_fields_set:
        server = await _show_face(settings, running, bot, tasks)
    if wiring.companion is not None:
        tasks.append(asyncio.create_task(_accompany(wiring.companion, running), name="companion"))
    ticker = make_ticker(running.ticks())
    ticker.start()
    running.inbox_wakes.set()
    running.urgent_wakes.set()
    log.info(
        "ready", mode="polling" if settings.webhook_url is None else "webhook", rules=office.rules.version
    )
    stopped = asyncio.create_task(running.stopping.wait())
    done, _ = await asyncio.wait({stopped, *tasks}, return_when=asyncio.FIRST_COMPLETED)
    running.stopping.set()
    ticker.shutdown(wait=False)
    await _wind_down(running, tasks, server)
    await bot.shutdown()
    for task in done - {stopped}:
        task.result()
    if running.dead_token is not None:
        raise RefusedError(str(running.dead_token))
    log.info("stopped")


async def _accompany(companion: Companion, running: Running) -> None:
    await companion(running)


async def _wind_down(
    running: Running, tasks: list[asyncio.Task[None]], server: uvicorn.Server | None
) -> None:
    if server is not None:
        server.should_exit = True
    for task in tasks:
        if task.get_name() != "face":
            task.cancel()
    await asyncio.wait(tasks, timeout=STOP_WITHIN_S)
    await asyncio.get_running_loop().run_in_executor(None, running.close)


def _listen_for_signals(stopping: asyncio.Event) -> None:
    loop = asyncio.get_running_loop()

    def stop(name: str) -> None:
        log.info("stopping", signal=name)
        stopping.set()
        for number in (signal.SIGTERM, signal.SIGINT):
            loop.remove_signal_handler(number)  # a second signal ends it at once

    for number in (signal.SIGTERM, signal.SIGINT):
        loop.add_signal_handler(number, stop, number.name)


async def _show_face(
    settings: ServeSettings,
    running: Running,
    bot: bots.Bot,
    tasks: list[asyncio.Task[None]],
) -> uvicorn.Server:
    secret = settings.webhook_secret.get_secret_value() if settings.webhook_secret else ""
    webhook = settings.webhook_url is not None
    face = make_face(running.amiss, running.accept if webhook else None, secret)
    host, _, port = settings.listen.rpartition(":")
    config = uvicorn.Config(
        face, host=host, port=int(port), log_config=None, access_log=False, lifespan="off"
    )
    server = uvicorn.Server(config)
    server.install_signal_handlers = lambda: None  # type: ignore[attr-defined] # ours are enough
    tasks.append(asyncio.create_task(server.serve(), name="face"))
    if webhook:
        await bots.ask_for_webhook(bot, str(settings.webhook_url), secret, poll.KINDS)
    return server


async def bot_name(settings: LinkSettings) -> str | None:
    """The bot's name on the platform, for invite links; None when the platform cannot be asked."""
    if settings.bot_token is None:
        return None
    return await bots.name(settings.bot_token.get_secret_value(), str(settings.bot_api_url))
