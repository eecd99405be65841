"""A therapist's note to a client: when it may be written, and what became of it."""

import datetime as dt
import uuid
from collections.abc import Sequence
from dataclasses import dataclass
from enum import StrEnum

from bot.domain.alerts import ORDINARY, SAFEGUARDING, Alert
from bot.domain.people import Stage

LONGEST = 1000
"""Characters of a note; with what stands around it, it fits the platform (common practice, no source)."""


class Refusal(StrEnum):
    """Why nothing may be written to a client."""

    NOT_JOINED = "not_joined"
    ENDED = "ended"
    SENSITIVE = "sensitive"
    UNREACHABLE = "unreachable"


class Fate(StrEnum):
    """What became of a note."""

    WAITING = "waiting"
    SENT = "sent"
    LOST = "lost"  # refused, too late, or nobody can know


@dataclass(frozen=True, slots=True)
class SentNote:
    """A note on record. by: the code of who wrote it. at: from when on it was to reach her."""

    id: uuid.UUID
    text: str
    by: str
    written_at: dt.datetime
    at: dt.datetime
    fate: Fate


def refusal(stage: Stage, alerts: Sequence[Alert], *, reachable: bool) -> Refusal | None:
    """Why a client may not be written to, None if she may; `alerts`: all of hers, open or closed.

    Somebody else may read her telephone: after a safeguarding alert nothing is pushed to her any more, and
    while a sensitive one is open neither.
    """
    if stage in {Stage.WITHDRAWN, Stage.DISCHARGED, Stage.ERASED}:
        return Refusal.ENDED
    if stage is not Stage.ACTIVE:
        return Refusal.NOT_JOINED
    for alert in alerts:
        if alert.handling == SAFEGUARDING or (alert.handling != ORDINARY and alert.closed_at is None):
            return Refusal.SENSITIVE
    return None if reachable else Refusal.UNREACHABLE
