"""How a programme ends: with maintenance, which she opts into, and at last with a discharge."""

import datetime as dt
import uuid
from dataclasses import dataclass
from enum import StrEnum

LONGEST_MAINTENANCE_DAYS = 366  # common practice, no source
SHORTEST_REASON = 4  # characters; "." is no reason


class EndingKind(StrEnum):
    """A step towards the end."""

    OFFERED = "offered"  # maintenance is offered; nothing changes until she takes it
    MAINTENANCE = "maintenance"  # she has taken it: one message a week, until a day
    DECLINED = "declined"
    OVER = "over"  # maintenance has come to its end date
    DISCHARGED = "discharged"


@dataclass(frozen=True, slots=True)
class Ending:
    """One such step.

    until: the last local day of maintenance. owner: who looks after it (staff id). by: who did it, None for
    the client herself or the calendar. reason: of a discharge, as it was written.
    """

    kind: EndingKind
    at: dt.datetime
    until: dt.date | None = None
    owner: uuid.UUID | None = None
    by: uuid.UUID | None = None
    reason: str = ""
