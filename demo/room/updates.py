"""The queue of updates that wait for the bot: numbering, expiry, confirmation."""

import datetime as dt
import random
from collections.abc import Callable, Iterable
from dataclasses import dataclass
from typing import Literal

from demo.room.bell import Bell
from demo.room.shapes import Json

MESSAGE_LIFE = dt.timedelta(hours=24)  # undelivered texts, edits and block notices
PRESS_LIFE = dt.timedelta(seconds=150)  # undelivered button presses
RENUMBER_AFTER = dt.timedelta(days=7)  # Bot API, Update: after a silent week the next number is random
RENUMBER_BELOW = 2**30

Kind = Literal["message", "edited_message", "callback_query", "my_chat_member"]
KINDS: tuple[Kind, ...] = ("message", "edited_message", "callback_query", "my_chat_member")
Fate = Literal["confirmed", "expired", "dropped"]


@dataclass
class Pending:
    """An update that the bot has not confirmed yet. repeats: how often it comes again after confirmation."""

    update_id: int
    kind: Kind
    body: Json
    chat_id: int
    person_id: int
    made_at: dt.datetime
    expires_at: dt.datetime
    handed: int = 0
    repeats: int = 0

    def wire(self) -> Json:
        """The Update object."""
        return {"update_id": self.update_id, self.kind: self.body}

    @property
    def lane(self) -> tuple[str, int]:
        """Order is kept within a lane only: texts of a chat, presses of a person (as over a webhook)."""
        if self.kind == "callback_query":
            return ("press", self.person_id)
        return ("chat", self.chat_id)


class Updates:
    """What waits, oldest first. `on_end` hears the fate of each update when it leaves the queue."""

    def __init__(self, first_id: int, seed: int, bell: Bell, on_end: Callable[[Pending, Fate], None]) -> None:
        self._bell = bell  # rings when something came or left
        self.allowed: tuple[str, ...] = KINDS
        self._next_id = first_id
        self._random = random.Random(seed)  # noqa: S311 - numbering, not secrecy
        self._last_at: dt.datetime | None = None
        self._waiting: dict[int, Pending] = {}
        self._on_end = on_end

    def __len__(self) -> int:
        return len(self._waiting)

    def __contains__(self, update_id: int) -> bool:
        return update_id in self._waiting

    def allow(self, kinds: list[str]) -> None:
        """The kinds to queue from now on; an empty list means all that the room makes."""
        self.allowed = tuple(kinds) or KINDS

    def add(self, kind: Kind, body: Json, chat_id: int, person_id: int, now: dt.datetime) -> Pending | None:
        """Queue an update; None if the bot asked not to get this kind."""
        if kind not in self.allowed:
            return None
        if self._last_at is not None and now - self._last_at >= RENUMBER_AFTER:
            self._next_id = self._random.randrange(1, RENUMBER_BELOW)
        self._last_at = now
        life = PRESS_LIFE if kind == "callback_query" else MESSAGE_LIFE
        pending = Pending(self._next_id, kind, body, chat_id, person_id, now, now + life)
        self._next_id += 1
        self._waiting[pending.update_id] = pending
        self._bell.ring()
        return pending

    def waiting(self, now: dt.datetime) -> list[Pending]:
        """What the bot can still get, in order of arrival; what is too old leaves the queue here."""
        for pending in [item for item in self._waiting.values() if item.expires_at <= now]:
            self._end(pending, "expired")
        return list(self._waiting.values())

    def confirm_below(self, offset: int) -> None:
        """The bot has everything below `offset`."""
        self._end_all((item for item in self._waiting.values() if item.update_id < offset), "confirmed")

    def keep_last(self, count: int) -> None:
        """Forget all but the newest `count` (a negative offset does this)."""
        self._end_all(list(self._waiting.values())[:-count], "dropped")

    def drop_all(self) -> None:
        """Forget everything (`drop_pending_updates`)."""
        self._end_all(self._waiting.values(), "dropped")

    def delivered(self, pending: Pending) -> None:
        """A webhook took it."""
        if pending.update_id in self._waiting:
            self._end(pending, "confirmed")

    def _end_all(self, items: Iterable[Pending], fate: Fate) -> None:
        for pending in list(items):
            self._end(pending, fate)

    def _end(self, pending: Pending, fate: Fate) -> None:
        if fate == "confirmed" and pending.repeats > 0:
            pending.repeats -= 1
        else:
            del self._waiting[pending.update_id]
        self._on_end(pending, fate)
        self._bell.ring()
