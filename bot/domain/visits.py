"""Visits and reviews: whether she came, what was found, and what the therapist decided."""

import datetime as dt
import uuid
from collections.abc import Sequence
from dataclasses import dataclass
from enum import StrEnum


class Attendance(StrEnum):
    """Whether a visit took place."""

    ATTENDED = "attended"
    CANCELLED = "cancelled"
    DID_NOT_ATTEND = "did-not-attend"


class ReviewOutcome(StrEnum):
    """What a review ends in. The last two need a reason in words."""

    HOLD = "hold"
    PROGRESS = "progress"
    REGRESS = "regress"
    REFER = "refer"
    DISCHARGE = "discharge"

    @property
    def needs_reason(self) -> bool:
        """Whether it stands only with a reason."""
        return self in {ReviewOutcome.REFER, ReviewOutcome.DISCHARGE}


@dataclass(frozen=True, slots=True)
class Visit:
    """A visit as it was recorded; `by` is the code of who recorded it."""

    id: uuid.UUID
    on: dt.date
    attendance: Attendance
    by: str
    recorded_at: dt.datetime


@dataclass(frozen=True, slots=True)
class Review:
    """What a review ended in. next_on: the next review date it set, None for none."""

    on: dt.date
    outcome: ReviewOutcome
    reason: str
    next_on: dt.date | None
    by: str
    recorded_at: dt.datetime


def moved_review(
    planned_on: dt.date, starts_on: dt.date, reviews: Sequence[tuple[dt.date, dt.date | None]]
) -> dt.date:
    """The review date of a version: what the newest review since its start says, else what was planned.

    reviews: the day of each, and the next date it set, oldest first.
    """
    said = [next_on for on, next_on in reviews if on >= starts_on and next_on]
    return said[-1] if said else planned_on
