"""Delivery by webhook: posts each update, keeps order within a lane, tries again after a failure."""

import asyncio
import datetime as dt
import re
from dataclasses import dataclass
from urllib.parse import urlsplit

import httpx

from demo.room import outgoing, wire
from demo.room.room import Room
from demo.room.shapes import Json, bad_request
from demo.room.updates import Pending

SECRET_HEADER = "X-Telegram-Bot-Api-Secret-Token"  # noqa: S105 - the header's public name
LONGEST_WAIT_S = 64  # waits double up to this
LONGEST_RETRY_AFTER_S = 3600  # a Retry-After beyond it is cut
DEFAULT_CONNECTIONS = 40  # Bot API, setWebhook
ANSWER_WITHIN_S = 30.0
_SECRET = re.compile(r"[A-Za-z0-9_-]{1,256}")  # Bot API, setWebhook
_LOOPBACK = ("127.0.0.1", "localhost", "::1")


@dataclass
class _Lane:
    busy: bool = False
    failures: int = 0
    not_before: dt.datetime | None = None


class Webhook:
    """The webhook that is set, and the task that delivers to it."""

    def __init__(self, room: Room) -> None:
        self._room = room
        self._url = ""
        self._secret = ""
        self._connections = DEFAULT_CONNECTIONS
        self._lanes: dict[tuple[str, int], _Lane] = {}
        self._last_error: Json = {}
        self._sends: set[asyncio.Task[None]] = set()

    @property
    def is_set(self) -> bool:
        """Whether updates go to a webhook."""
        return bool(self._url)

    def set(self, url: str, secret: str, connections: int) -> None:
        """Set the webhook. Raises a 400. Only this machine is allowed, with plain HTTP and on any port."""
        address = urlsplit(url)
        if address.scheme not in ("http", "https"):
            raise bad_request("bad webhook: An HTTPS URL must be provided for webhook")
        if address.hostname not in _LOOPBACK:
            raise bad_request("bad webhook: the local room delivers to this machine only")
        if secret and not _SECRET.fullmatch(secret):
            raise bad_request("secret token contains unallowed characters")
        self._url, self._secret, self._connections = url, secret, min(max(connections, 1), 100)
        self._lanes, self._last_error = {}, {}
        self._room.stir.ring()

    def remove(self) -> None:
        """Back to polling."""
        self._url = ""
        self._room.stir.ring()

    def info(self) -> Json:
        """What getWebhookInfo answers."""
        return {
            "url": self._url,
            "has_custom_certificate": False,
            "pending_update_count": len(self._room.updates.waiting(self._room.now())),
            "max_connections": self._connections,
            "allowed_updates": list(self._room.updates.allowed),
            **self._last_error,
        }

    def next_try_at(self) -> dt.datetime | None:
        """When the next delivery is due that has failed before; None if there is none."""
        if not self.is_set:
            return None
        lanes = {pending.lane for pending in self._room.updates.waiting(self._room.now())}
        times = [self._lanes[lane].not_before for lane in lanes if lane in self._lanes]
        return min((at for at in times if at is not None), default=None)

    async def run(self) -> None:
        """Deliver until cancelled."""
        async with outgoing.client(ANSWER_WITHIN_S) as client:
            try:
                while True:
                    self._start_sends(client)
                    due_at = self.next_try_at()
                    busy = bool(self._sends)
                    # A finished send rings the bell itself, so waiting without an end is safe.
                    wait_s = None if due_at is None or busy else self._room.clock.real_wait_s(due_at)
                    if wait_s == 0:
                        continue
                    await self._room.stir.wait(wait_s)
            finally:
                for send in self._sends:
                    send.cancel()

    def _start_sends(self, client: httpx.AsyncClient) -> None:
        if not self.is_set:
            return
        now = self._room.now()
        seen: set[tuple[str, int]] = set()
        for pending in self._room.updates.waiting(now):
            lane = self._lanes.setdefault(pending.lane, _Lane())
            first = pending.lane not in seen
            seen.add(pending.lane)
            waits = lane.not_before is not None and lane.not_before > now
            if not first or lane.busy or waits or len(self._sends) >= self._connections:
                continue
            lane.busy = True
            send = asyncio.create_task(self._send(client, pending, lane))
            self._sends.add(send)
            send.add_done_callback(self._send_done)

    def _send_done(self, send: asyncio.Task[None]) -> None:
        self._sends.discard(send)
        self._room.stir.ring()

    async def _send(self, client: httpx.AsyncClient, pending: Pending, lane: _Lane) -> None:
        headers = {SECRET_HEADER: self._secret} if self._secret else {}
        self._room.record_handed(pending, "webhook")
        retry_after_s: int | None = None
        try:
            answer = await client.post(self._url, json=pending.wire(), headers=headers)
            if answer.is_success:
                lane.failures, lane.not_before = 0, None
                self._room.updates.delivered(pending)
                return
            why = f"Wrong response from the webhook: {answer.status_code} {answer.reason_phrase}"
            given = answer.headers.get("retry-after", "")
            retry_after_s = min(int(given), LONGEST_RETRY_AFTER_S) if given.isdigit() else None
        except httpx.HTTPError as error:
            why = f"Connection failed: {type(error).__name__}"
        finally:
            lane.busy = False
        now = self._room.now()
        lane.failures += 1
        wait_s = min(2**lane.failures, LONGEST_WAIT_S) if retry_after_s is None else retry_after_s
        lane.not_before = now + dt.timedelta(seconds=wait_s)
        self._last_error = {"last_error_date": wire.seconds(now), "last_error_message": why}
