"""A client handed over to a colleague, for good or until a day."""

import datetime as dt
import uuid
from dataclasses import dataclass
from enum import StrEnum

LONGEST_DAYS = 180
"""Days ahead that a hand-over may come back from (common practice, no source)."""


@dataclass(frozen=True, slots=True)
class HandOver:
    """One client, from whom to whom, and who decided it when.

    until_on: the last day the colleague has her, in the clinic's zone; None for good. ended_by, ended_at:
    when she went back, at the end or before, and through whom.
    """

    id: uuid.UUID
    client_id: uuid.UUID
    from_id: uuid.UUID
    to_id: uuid.UUID
    until_on: dt.date | None
    made_by: str
    made_at: dt.datetime
    ended_by: str | None
    ended_at: dt.datetime | None


class Refusal(StrEnum):
    """Why clients are not handed over."""

    HERSELF = "herself"
    NO_THERAPIST = "no_therapist"
    NOT_LINKED = "not_linked"
    LEAVING = "leaving"
    ON_LEAVE = "on_leave"
    DAY = "day"
    NOBODY = "nobody"


@dataclass(frozen=True, slots=True)
class Taker:
    """The colleague who is to have them. leaves_on: her last day; None while none is set."""

    is_giver: bool
    is_therapist: bool
    linked: bool
    on_leave: bool
    leaves_on: dt.date | None


def refusal(taker: Taker, clients: int, until_on: dt.date | None, today: dt.date) -> Refusal | None:
    """Why so many clients cannot go to a colleague until a day (None: for good); None where they can."""
    if taker.is_giver:
        return Refusal.HERSELF
    if not taker.is_therapist:
        return Refusal.NO_THERAPIST
    if not taker.linked:
        return Refusal.NOT_LINKED
    if taker.on_leave:
        return Refusal.ON_LEAVE
    if until_on is not None and not 0 <= (until_on - today).days <= LONGEST_DAYS:
        return Refusal.DAY
    if taker.leaves_on is not None and (until_on is None or taker.leaves_on <= until_on):
        return Refusal.LEAVING
    return None if clients else Refusal.NOBODY
