"""Wiring: one place that builds the parts, starts them in order and stops them in order."""

import asyncio
import signal
import socket
import threading
import uuid
from collections.abc import Awaitable, Callable, Coroutine, Iterator
from contextlib import contextmanager
from dataclasses import dataclass, replace
from pathlib import Path
from typing import IO, Any

from bot.clock import Clock
from bot.errors import DeadTokenError, RefusedError
from bot.jobs.running import Running
from bot.jobs.ticks import make_ticker
from bot.logs import get
from bot.rules import in_force, rulebook
from bot.rules import own_signs as own_signs_file
from bot.rules.own_signs import OwnSigns
from bot.service import accept, checkup, erasures
from bot.service.approval import Approval, SignedOff
from bot.service.office import Guidance, Office, ReadOnce
from bot.settings import DatabaseSettings, LinkSettings, ServeSettings
from bot.settings import read as read_settings
from bot.store import lock, migrate, vault, wake
from bot.store.base import Store, failures_named, open_engine, read_url
from bot.store.spool import Spool
from bot.transport import bots, face, fetch, meet, parse, poll, send

STOP_WITHIN_S = 10.0
log = get()

Companion = Callable[[Running], Awaitable[None]]


def open_store(settings: DatabaseSettings, clock: Clock, *, checkpoints: bool = False) -> Store:
    """The database; raises RefusedError unless it can be used and its schema is this program's.

    checkpoints: for the running service alone; see `base.open_engine`.
    """

    def ready(store: Store) -> None:
        migrate.demand_head(store.engine)
        with store.begin() as tx:
            tx.prepare_installation(clock.now())
            tx.check_keys()

    return _opened(settings, ready, checkpoints=checkpoints)


def open_empty(settings: DatabaseSettings) -> Store:
    """A database to restore into, its tables made; raises RefusedError unless it can be used."""
    return _opened(settings, lambda store: migrate.upgrade(store.engine), checkpoints=True)


def _opened(settings: DatabaseSettings, ready: Callable[[Store], None], *, checkpoints: bool) -> Store:
    """The database of the settings once `ready` has looked at it; let go of again when that fails."""
    url = read_url(settings.database_url.get_secret_value())
    masters = vault.parse_master_keys(settings.keys_text())
    with _file_faults_named():
        engine = open_engine(url, checkpoints=checkpoints)
    store = Store(engine, masters)
    try:
        with failures_named(engine):
            ready(store)
    except BaseException:
        store.close()
        raise
    return store


@contextmanager
def _file_faults_named() -> Iterator[None]:
    try:
        yield
    except OSError as error:
        raise RefusedError(f"DATABASE_URL: the file cannot be used ({error.strerror})") from None


def check(clock: Clock) -> tuple[list[str], list[str]]:
    """A set-up looked at in one go: what is well, and what is not, a line each.

    Malformed settings leave nothing else to look at. Everything after them is looked at, whatever else fails.
    """
    settings = read_settings(ServeSettings)
    well, faults = ["settings"], []

    def look(what: str, found: Callable[[], list[str]]) -> None:
        try:
            wrong = found()
        except RefusedError as error:
            wrong = list(error.faults)
        faults.extend(wrong)
        if not wrong:
            well.append(what)

    def stored() -> list[str]:
        url = read_url(settings.database_url.get_secret_value())
        place = Path(str(url.database))
        if url.drivername == "sqlite" and not place.exists():
            return [f"DATABASE_URL: there is no file {place}; make it with `programme-bot migrate`"]
        store = open_store(settings, clock)
        try:
            with store.begin() as tx:
                lines = [*checkup.zones(tx), *checkup.clinics(tx)]
                known = in_force.contents(own_signs(settings))
                lines += SignedOff(known).missing(tx, known.language)
        finally:
            store.close()
        return lines + (checkup.disk(place.parent) if url.drivername == "sqlite" else [])

    def listed() -> list[str]:
        erasures.prepare(settings.erasures_file)
        return []

    met = asyncio.run(meet.meet(settings.bot_token.get_secret_value(), str(settings.bot_api_url)))
    look("database, schema, keys, time-zone data, sign-off, disk", stored)
    look("list of erasures", listed)
    look(f"token: the bot is {met.name}", lambda: [met.fault] if met.fault else [])
    look("clock", lambda: checkup.clock(clock.now(), met.at))
    return well, faults


def own_signs(settings: DatabaseSettings) -> OwnSigns:
    """The warning signs in force, with the clinic's own file where the settings name one."""
    return own_signs_file.load(settings.own_signs_file)


def contents(settings: DatabaseSettings) -> in_force.Contents:
    """What is in force and carries a sign-off, with the clinic's own files where the settings name them."""
    return in_force.contents(own_signs(settings), settings.own_exercises_file)


def open_office(settings: ServeSettings, wiring: "Wiring", store: Store) -> Office:
    """The office every use case is handed; raises RefusedError for faults in a clinic's own files."""
    guidance = ReadOnce(lambda: _guidance(settings, wiring))
    if settings.own_signs_file is not None or settings.own_exercises_file is not None:
        guidance()
    erasures.prepare(settings.erasures_file)
    return Office(
        begin=store.begin,
        clock=wiring.clock,
        guidance=guidance,
        bot=settings.bot_token.get_secret_value().partition(":")[0],
        worker=uuid.uuid4(),
        alone=store.engine.dialect.name == "sqlite",
        erasures=settings.erasures_file,
        unseen_alert_minutes=settings.unseen_alert_minutes,
        late_delivery_minutes=settings.late_delivery_minutes,
        message_days=settings.message_days,
    )


def _guidance(settings: ServeSettings, wiring: "Wiring") -> Guidance:
    own = own_signs(settings)
    return Guidance(
        rules=own.rules,
        approval=wiring.approval or SignedOff(in_force.contents(own, settings.own_exercises_file)),
        own_advice=own.advice,
        book=rulebook.with_own(settings.own_exercises_file),
    )


@dataclass(frozen=True, slots=True)
class Wiring:
    """What a caller may bring: outside production its own clock, a companion, and another approval.

    approval: who says whether a client may be enrolled; None for the recorded sign-offs.
    """

    clock: Clock
    companion: Companion | None = None
    approval: Approval | None = None


async def serve(settings: ServeSettings, wiring: Wiring) -> None:
    """Run the service until it is told to stop.

    Start: lock, schema, port, platform, receiver, ticks. Stop (SIGTERM or SIGINT): nothing new is taken, what
    is in hand is finished within ten seconds; a second signal ends it at once.
    Raises RefusedError when it cannot start, or when the platform refuses the token later on.
    """
    with _file_faults_named():
        held = lock.hold(read_url(settings.database_url.get_secret_value()))
    try:
        store = open_store(settings, wiring.clock, checkpoints=True)
        try:
            await _run(settings, wiring, open_office(settings, wiring, store))
        finally:
            store.close()
    except DeadTokenError as error:
        raise RefusedError(str(error)) from None
    finally:
        _release(held)


def _release(held: IO[bytes] | None) -> None:
    if held is not None:
        held.close()


async def _run(settings: ServeSettings, wiring: Wiring, office: Office) -> None:
    # Without a webhook the pages are shown only where somebody said where.
    shown = settings.webhook_url is not None or "listen" in settings.model_fields_set
    listening = face.open_port(*settings.listen_at) if shown else None
    bot = bots.make_bot(settings.bot_token.get_secret_value(), str(settings.bot_api_url))
    running = Running(
        office,
        lambda out: send.send(bot, out),
        lambda file_id, most_bytes: fetch.fetch(bot, file_id, most_bytes),
        parse.parse,
        settings.send_rate,
        accept.Reception(_spool(settings, office)),
    )
    ticker = make_ticker(running.ticks())

    async def work() -> None:
        await _work(settings, wiring, running, bot, listening, ticker.start)

    with _signals_heard(running.stopping):
        try:
            await _until_stopped(running.stopping, work())
        finally:
            await running.finish(STOP_WITHIN_S - face.FINISH_WITHIN_S)
            if ticker.running:
                ticker.shutdown(wait=False)
            await bot.shutdown()
            if listening is not None:
                listening.close()
    if running.dead_token is not None:
        raise running.dead_token
    log.info("stopped")


def _spool(settings: ServeSettings, office: Office) -> Spool:
    """Where updates wait while the database is gone: beside the list of erasures, apart from the data."""
    masters = vault.parse_master_keys(settings.keys_text())
    return Spool(settings.erasures_file.parent, office.bot, office.worker, masters)


@contextmanager
def _signals_heard(stopping: asyncio.Event) -> Iterator[None]:
    loop = asyncio.get_running_loop()
    numbers = (signal.SIGTERM, signal.SIGINT)

    def let_go() -> None:
        for number in numbers:
            loop.remove_signal_handler(number)

    def stop(name: str) -> None:
        log.info("stopping", signal=name)
        stopping.set()
        let_go()  # a second signal ends it at once

    for number in numbers:
        loop.add_signal_handler(number, stop, number.name)
    try:
        yield
    finally:
        let_go()


async def _until_stopped(stopping: asyncio.Event, work: Coroutine[Any, Any, None]) -> None:
    """Do some work until the service is to stop or the work fails; raises what it raises."""
    stopped = asyncio.create_task(stopping.wait())
    working = asyncio.create_task(work)
    both = {stopped, working}
    try:
        await asyncio.wait(both, return_when=asyncio.FIRST_COMPLETED)
    finally:
        for task in both:
            task.cancel()
        await asyncio.wait(both)
    if not working.cancelled():
        working.result()


async def _work(
    settings: ServeSettings,
    wiring: Wiring,
    running: Running,
    bot: bots.Client,
    listening: socket.socket | None,
    start_ticks: Callable[[], None],
) -> None:
    """All parts side by side, until cancelled or until one of them fails."""
    webhook_url = settings.webhook_url
    secret = settings.webhook_secret.get_secret_value() if settings.webhook_secret else ""
    line = bots.address(settings.bot_token.get_secret_value(), str(settings.bot_api_url))
    poller = poll.Poller(bots.make_line, line, running.accept)
    met, ready = asyncio.Event(), asyncio.Event()

    async def amiss() -> list[str]:
        lines = await running.amiss()
        if not met.is_set():
            return [*lines, "platform: not reached yet"]
        if not ready.is_set():
            return [*lines, "rules and texts: not read yet"]
        return lines if webhook_url is not None else [*lines, *poller.amiss()]

    try:
        async with asyncio.TaskGroup() as parts:
            if listening is not None:
                take = running.accept if webhook_url is not None else None
                app = face.make_face(amiss, take, secret, running.figures)
                parts.create_task(_show(app, listening), name="face")
            await bots.greet(bot)
            if webhook_url is not None:
                await bots.ask_for_webhook(bot, str(webhook_url), secret, poll.KINDS)
            else:
                await bots.leave_webhook(bot)
            running.office = replace(running.office, bot_name=bot.username)
            met.set()
            await running.sweep()
            parts.create_task(running.on_wake("inbox", running.inbox_wakes), name="inbox")
            parts.create_task(running.on_wake("urgent", running.urgent_wakes), name="urgent")
            parts.create_task(running.on_wake("bulk", running.bulk_wakes), name="bulk")
            if not running.office.alone:
                parts.create_task(_hear_others(settings, running), name="wakes")
            if webhook_url is None:
                parts.create_task(poller.run(), name="poll")
            start_ticks()
            for wakes in (running.urgent_wakes, running.bulk_wakes, running.inbox_wakes):
                wakes.set()
            # The first nudges leave before what they do not need is read, the other nudges beside that.
            await running.first_look()
            parts.create_task(running.look(), name="agenda")
            await asyncio.to_thread(running.office.guidance)
            for missing in await running.in_thread(lambda: _missing(running.office)):
                log.warning("enrols_nobody_new", missing=missing)
            if wiring.companion is not None:
                parts.create_task(_accompany(wiring.companion, running), name="companion")
            ready.set()
            mode = "polling" if webhook_url is None else "webhook"
            log.info("ready", mode=mode, rules=running.office.rules.version)
    except BaseExceptionGroup as failures:
        raise failures.exceptions[0] from None


def _missing(office: Office) -> tuple[str, ...]:
    """What is not signed; who was enrolled is served in any case, nobody new is while that stands."""
    with office.begin() as tx:
        return office.approval.missing(tx, office.rules.language)


async def _hear_others(settings: ServeSettings, running: Running) -> None:
    """Wake up when another worker stores something; the ticks find it too, only later."""
    url = read_url(settings.database_url.get_secret_value())
    wakes = {wake.INBOX: running.inbox_wakes, wake.OUTBOX: running.urgent_wakes}
    loop = asyncio.get_running_loop()
    stop = threading.Event()

    def heard(channel: str) -> None:
        loop.call_soon_threadsafe(wakes[channel].set)

    listening = loop.run_in_executor(None, wake.listen, url, heard, stop)
    try:
        await asyncio.shield(listening)
    finally:
        stop.set()


async def _accompany(companion: Companion, running: Running) -> None:
    await companion(running)


async def _show(app: face.App, listening: socket.socket) -> None:
    """Serve the face; when cancelled, it ends in order."""
    server = face.make_server(app, *listening.getsockname()[:2])
    serving = asyncio.create_task(server.serve(sockets=[listening]))
    try:
        await asyncio.shield(serving)
    finally:
        server.should_exit = True
        await serving


async def bot_name(settings: LinkSettings) -> str | None:
    """The bot's name on the platform, for invite links; None when the platform cannot be asked."""
    if settings.bot_token is None:
        return None
    return await bots.name(settings.bot_token.get_secret_value(), str(settings.bot_api_url))
