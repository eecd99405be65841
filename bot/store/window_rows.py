"""What a digest is made from, as it is read: rows without behaviour."""

import datetime as dt
import uuid
from collections.abc import Hashable
from dataclasses import dataclass
from typing import Any, NamedTuple

from bot.domain.alerts import Outcome
from bot.domain.levels import Level


class Heard(NamedTuple):
    """When a client was last heard of, and when her nudges last began."""

    last_heard_at: dt.datetime
    restarted_at: dt.datetime


class Plans(NamedTuple):
    """A client's prescriptions. documents: number and document of each, oldest first."""

    first_starts_on: dt.date
    documents: list[tuple[int, dict[str, Any]]]


@dataclass(frozen=True, slots=True)
class AlertRow:
    """An alert without what was written."""

    level: Level
    handling: str
    raised_at: dt.datetime
    seen_at: dt.datetime | None
    client_at: dt.datetime | None
    closed_at: dt.datetime | None
    outcome: Outcome | None
    unreached: bool = False


Key = Hashable
"""A client's id as the driver gives it; every row of hers is found by it."""


class ClientRow(NamedTuple):
    """A client and what a digest shows her as. initials: None unless they were asked for."""

    key: Key
    id: uuid.UUID
    therapist_id: uuid.UUID
    code: str
    initials: str | None
    zone: str
    joined_at: dt.datetime
