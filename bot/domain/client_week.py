"""What the digest knows of one client's week."""

import datetime as dt
from dataclasses import dataclass
from enum import StrEnum

from bot.domain import adherence as adh
from bot.domain.alerts import Outcome
from bot.domain.levels import Level
from bot.domain.progress import Judgement
from bot.domain.trend import Weekly


class StoppedBy(StrEnum):
    """What stopped a programme. LOSS and PREGNANCY are sensitive and never restart by themselves."""

    WARNING = "warning"
    LOSS = "loss"
    PREGNANCY = "pregnancy"
    REVIEW_OVERDUE = "review-overdue"
    THERAPIST = "therapist"


@dataclass(frozen=True, slots=True)
class OpenAlert:
    """An alert without an outcome.

    seen: somebody acknowledged it, which stops the repeats and closes nothing. undecided_since_at: since when
    the therapist has owed a decision on what was set aside, None if none is owed. sensitive: it may not be
    safe to call. unreached: it did not get through to somebody it was meant for.
    """

    level: Level
    raised_at: dt.datetime
    seen: bool = False
    undecided_since_at: dt.datetime | None = None
    sensitive: bool = False
    unreached: bool = False

    @property
    def pushed(self) -> bool:
        """Whether it asks for somebody now; what is kept for the next visit does not."""
        return self.level is not Level.NEXT_REVIEW


@dataclass(frozen=True, slots=True)
class ClosedAlert:
    """An alert that was closed within the week, and how; the days are hers."""

    level: Level
    raised_on: dt.date
    closed_on: dt.date
    outcome: Outcome


@dataclass(frozen=True, slots=True)
class ClientWeek:
    """What the digest knows of one client.

    code: how she is shown, never a name. today: her local day at the digest's instant. days: the seven whole
    local days before it, oldest first; fewer if she joined later. joined_on: her first day. plan_starts_on:
    the start of her first prescription, None without one. silent_days: whole local days in a row without a
    word from her, as the nudges count them. leaks: weekly episodes; heaviness and pain: weekly medians of
    0 to 10 ratings; each oldest first, this week last, None where nothing was answered.
    change_unseen_since_on: when she was told of the oldest change she has not looked at.
    unreachable_since_on: since when the platform has refused messages to her. calls_asked_at: open requests
    to be called.
    closed: alerts closed within the week, oldest first.
    gates_ready: exercises whose date and measures would now allow them and that wait for the therapist's
    release; gate_lifts_on: the next day on which a date limit ends. judgement: what to consider about her
    dose, None without a programme that has begun.
    """

    code: str
    today: dt.date
    days: tuple[adh.Day, ...]
    joined_on: dt.date
    plan_starts_on: dt.date | None
    alerts: tuple[OpenAlert, ...] = ()
    closed: tuple[ClosedAlert, ...] = ()
    stopped_by: StoppedBy | None = None
    stopped_since_on: dt.date | None = None
    paused_until_on: dt.date | None = None
    silent_days: int = 0
    leaks: Weekly = ()
    heaviness: Weekly = ()
    pain: Weekly = ()
    review_on: dt.date | None = None
    unread_notes: int = 0
    calls_asked_at: tuple[dt.datetime, ...] = ()
    unreachable_since_on: dt.date | None = None
    change_unseen_since_on: dt.date | None = None
    gates_ready: int = 0
    gate_lifts_on: dt.date | None = None
    judgement: Judgement | None = None
