"""Who needs the therapist first this week, and why.

The order is a table of rules. A client stands where her most pressing reason puts her; all her reasons are
kept. Reasons are ids with values: their words live where the digest is written.
"""

import datetime as dt
import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from enum import IntEnum, StrEnum, auto
from fractions import Fraction
from typing import NamedTuple

from bot.domain import adherence as adh
from bot.domain.client_week import ClientWeek, OpenAlert, StoppedBy
from bot.domain.levels import Level
from bot.domain.progress import Advice
from bot.domain.trend import Span, Trend, Weekly, trend

DAY = dt.timedelta(days=1)


class Rank(IntEnum):
    """The groups of the list, most pressing first (common practice, no source).

    Open alerts and prescriptions two weeks past their review date head it. From TOO_FEW_ANSWERS on nothing
    is asked of the therapist: those clients are summed up, not listed.
    """

    ALERT = auto()
    REVIEW_LONG_OVERDUE = auto()
    STOPPED = auto()
    CALL_ASKED = auto()
    UNREACHABLE = auto()
    SILENT = auto()
    WORSE = auto()
    NOTES = auto()
    BELOW = auto()
    CHANGE_UNSEEN = auto()
    NO_PLAN = auto()
    REVIEW = auto()
    PROGRESS = auto()
    TOO_FEW_ANSWERS = auto()
    PAUSED = auto()
    NOTHING_DUE = auto()
    STEADY = auto()

    @property
    def listed(self) -> bool:
        """Whether a client here gets a line of her own."""
        return self < Rank.TOO_FEW_ANSWERS


class Reason(StrEnum):
    """Why a client is where she is; each has its sentence in the reports' words."""

    ALERT_UNSEEN = "alert-unseen"
    ALERT_OPEN = "alert-open"
    ALERT_UNDECIDED = "alert-undecided"
    ALERT_SENSITIVE = "alert-sensitive"
    ALERT_UNREACHED = "alert-unreached"
    REVIEW_LONG_OVERDUE = "review-long-overdue"
    STOPPED = "stopped"
    CALL_ASKED = "call-asked"
    UNREACHABLE = "unreachable"
    SILENT = "silent"
    LEAKS_UP = "leaks-up"
    HEAVINESS_UP = "heaviness-up"
    PAIN_UP = "pain-up"
    NOTES = "notes"
    BELOW = "below"
    CHANGE_UNSEEN = "change-unseen"
    NO_PLAN = "no-plan"
    REVIEW_OVERDUE = "review-overdue"
    REVIEW_DUE = "review-due"
    GATE_READY = "gate-ready"
    GATE_LIFTS = "gate-lifts"
    REGRESS = "regress"
    PROGRESS = "progress"
    TOO_FEW_ANSWERS = "too-few-answers"
    PAUSED = "paused"
    NOTHING_DUE = "nothing-due"
    SIGNS_FOR_REVIEW = "signs-for-review"


@dataclass(frozen=True, slots=True)
class Limits:
    """The clinic's settings for the order (all defaults: common practice, no source).

    threshold: share of the agreed sets below which a week is listed. silent_days: listed as silent from.
    ahead_days: how far ahead a review or a gate counts as this week's. long_overdue_days: a review this late
    heads the list. change_unseen_days: a change not looked at for so long is listed. leaks_up, rating_up:
    smallest rise from last week to this that is listed (episodes; points of 0 to 10).
    """

    threshold: Fraction = adh.THRESHOLD
    silent_days: int = 5
    ahead_days: int = 7
    long_overdue_days: int = 14
    change_unseen_days: int = 2
    leaks_up: float = 2
    rating_up: float = 2


Value = int | dt.date | dt.timedelta | Level | Span | StoppedBy | Trend | None
Values = tuple[tuple[str, Value], ...]


class Case(NamedTuple):
    """One client with what the rules ask about her."""

    client: ClientWeek
    figures: adh.Adherence
    now: dt.datetime
    limits: Limits

    def days_since(self, on: dt.date) -> int:
        """Whole days from `on` to her today; below 0 for a day to come."""
        return (self.client.today - on).days


class Found(NamedTuple):
    """A rule that holds: values for its sentence, and its place among others of the same rank.

    urgency: smaller goes first. lasting: at the same urgency the longer goes first.
    """

    values: Values = ()
    urgency: float = 0
    lasting: dt.timedelta = dt.timedelta(0)


Find = Callable[[Case], Found | None]


@dataclass(frozen=True, slots=True)
class Rule:
    """One row of the table: what it is called, where it puts a client, and when it holds."""

    reason: Reason
    rank: Rank
    find: Find


class Why(NamedTuple):
    """A reason that holds for a client, with the values its sentence needs."""

    reason: Reason
    values: Values = ()


@dataclass(frozen=True, slots=True)
class Line:
    """One client in the order of attention. reasons: most pressing first, empty when steady."""

    client: ClientWeek
    figures: adh.Adherence
    rank: Rank
    reasons: tuple[Why, ...] = field(default=())

    @property
    def code(self) -> str:
        """How the client is shown."""
        return self.client.code


def _alerts(pick: Callable[[OpenAlert], bool]) -> Find:
    """A rule on the open alerts that `pick` chooses: how many, the highest level, and the oldest's age.

    At the same level one that nobody has seen goes first.
    """

    def find(case: Case) -> Found | None:
        chosen = [alert for alert in case.client.alerts if pick(alert)] if case.client.alerts else []
        if not chosen:
            return None
        level = min((alert.level for alert in chosen), key=lambda level: level.rank)
        age = case.now - min(alert.raised_at for alert in chosen)
        urgency = level.rank + 0.5 * all(alert.seen for alert in chosen)
        return Found((("alerts", len(chosen)), ("level", level), ("age", age)), urgency, age)

    return find


def _undecided(case: Case) -> Found | None:
    alerts = case.client.alerts
    since = [alert.undecided_since_at for alert in alerts if alert.undecided_since_at is not None]
    if not since:
        return None
    age = case.now - min(since)
    return Found((("age", age),), Level.THERAPIST.rank, age)


def _review(first_day: Callable[[Limits], int], last_day: Callable[[Limits], float]) -> Find:
    """A rule on the days passed since the review date: from `first_day` to `last_day`, both included."""

    def find(case: Case) -> Found | None:
        if case.client.review_on is None:
            return None
        late = case.days_since(case.client.review_on)
        if not first_day(case.limits) <= late <= last_day(case.limits):
            return None
        values: Values = (("days", late), ("on", case.client.review_on))
        return Found(values, lasting=dt.timedelta(days=late))

    return find


def _since(on: dt.date, case: Case, urgency: float = 0, values: Values = ()) -> Found:
    """A reason that has held since a day: the longer, the earlier in the list."""
    return Found((*values, ("on", on)), urgency, case.days_since(on) * DAY)


def _stopped(case: Case) -> Found | None:
    client = case.client
    if client.stopped_by is None:
        return None
    urgency = list(StoppedBy).index(client.stopped_by)
    return _since(client.stopped_since_on or client.today, case, urgency, (("by", client.stopped_by),))


def _call_asked(case: Case) -> Found | None:
    if not case.client.calls_asked_at:
        return None
    age = case.now - min(case.client.calls_asked_at)
    return Found((("age", age),), lasting=age)


def _unreachable(case: Case) -> Found | None:
    since_on = case.client.unreachable_since_on
    return None if since_on is None else _since(since_on, case)


def _silent(case: Case) -> Found | None:
    client = case.client
    if client.silent_days < case.limits.silent_days or client.stopped_by is not None:
        return None
    if not any(day.due for day in client.days):
        return None
    return Found((("days", client.silent_days),), lasting=client.silent_days * DAY)


def rose(series: Weekly, by: float) -> bool:
    """Whether a weekly figure is surely higher than last week, by enough, or rises over the weeks."""
    now = series[-1] if series else None
    if now is None:
        return False
    was = series[-2] if len(series) > 1 else None
    if was is not None and now.above(was) and now.middle - was.middle >= by:
        return True
    return trend(series) is Trend.RISING


def _up(weeks: Callable[[ClientWeek], Weekly], by: Callable[[Limits], float]) -> Find:
    """A rule on a weekly figure: surely higher than last week, by enough, or rising over the weeks."""

    def find(case: Case) -> Found | None:
        series = weeks(case.client)
        if not rose(series, by(case.limits)):
            return None
        was = series[-2] if len(series) > 1 else None
        return Found((("now", series[-1]), ("was", was), ("trend", trend(series))))

    return find


def _notes(case: Case) -> Found | None:
    notes = case.client.unread_notes
    return Found((("notes", notes),), urgency=-notes) if notes else None


def _below(case: Case) -> Found | None:
    if adh.compare(case.figures, case.limits.threshold) is not adh.Standing.BELOW:
        return None
    figures = case.figures  # below something, so something was prescribed
    return Found(urgency=figures.at_most / figures.prescribed)


def _change_unseen(case: Case) -> Found | None:
    since_on = case.client.change_unseen_since_on
    if since_on is None or case.days_since(since_on) < case.limits.change_unseen_days:
        return None
    return _since(since_on, case)


def _no_plan(case: Case) -> Found | None:
    return _since(case.client.joined_on, case) if case.client.plan_starts_on is None else None


def _gate_ready(case: Case) -> Found | None:
    ready = case.client.gates_ready
    return Found((("gates", ready),), urgency=-ready) if ready else None


def _gate_lifts(case: Case) -> Found | None:
    on = case.client.gate_lifts_on
    if on is None or not 0 <= -case.days_since(on) < case.limits.ahead_days:
        return None
    return _since(on, case)


def _advised(advice: Advice) -> Find:
    """A rule on what is to be considered about the dose."""

    def find(case: Case) -> Found | None:
        judgement = case.client.judgement
        return Found() if judgement is not None and judgement.advice is advice else None

    return find


def _too_few_answers(case: Case) -> Found | None:
    figures = case.figures
    cannot_tell = adh.compare(figures, case.limits.threshold) is adh.Standing.CANNOT_TELL
    return Found() if figures.prescribed and cannot_tell else None


def _paused(case: Case) -> Found | None:
    if case.client.paused_until_on is None and not (case.figures.paused_days and not case.figures.days):
        return None
    until = case.client.paused_until_on
    return Found(() if until is None else (("until", until),))


def _nothing_due(case: Case) -> Found | None:
    if case.figures.prescribed:
        return None
    starts_on = case.client.plan_starts_on
    to_come = starts_on is not None and starts_on >= case.client.today
    return Found((("on", starts_on),) if starts_on is not None and to_come else ())


RULES = (
    Rule(Reason.ALERT_UNSEEN, Rank.ALERT, _alerts(lambda a: a.pushed and not a.seen)),
    Rule(Reason.ALERT_OPEN, Rank.ALERT, _alerts(lambda a: a.pushed and a.seen and not a.undecided_since_at)),
    Rule(Reason.ALERT_UNDECIDED, Rank.ALERT, _undecided),
    Rule(Reason.ALERT_SENSITIVE, Rank.ALERT, _alerts(lambda a: a.sensitive)),
    Rule(Reason.ALERT_UNREACHED, Rank.ALERT, _alerts(lambda a: a.unreached)),
    Rule(
        Reason.REVIEW_LONG_OVERDUE,
        Rank.REVIEW_LONG_OVERDUE,
        _review(lambda s: s.long_overdue_days, lambda _: math.inf),
    ),
    Rule(Reason.STOPPED, Rank.STOPPED, _stopped),
    Rule(Reason.CALL_ASKED, Rank.CALL_ASKED, _call_asked),
    Rule(Reason.UNREACHABLE, Rank.UNREACHABLE, _unreachable),
    Rule(Reason.SILENT, Rank.SILENT, _silent),
    Rule(Reason.LEAKS_UP, Rank.WORSE, _up(lambda c: c.leaks, lambda s: s.leaks_up)),
    Rule(Reason.HEAVINESS_UP, Rank.WORSE, _up(lambda c: c.heaviness, lambda s: s.rating_up)),
    Rule(Reason.PAIN_UP, Rank.WORSE, _up(lambda c: c.pain, lambda s: s.rating_up)),
    Rule(Reason.NOTES, Rank.NOTES, _notes),
    Rule(Reason.BELOW, Rank.BELOW, _below),
    Rule(Reason.CHANGE_UNSEEN, Rank.CHANGE_UNSEEN, _change_unseen),
    Rule(Reason.NO_PLAN, Rank.NO_PLAN, _no_plan),
    Rule(Reason.REVIEW_OVERDUE, Rank.REVIEW, _review(lambda _: 1, lambda s: s.long_overdue_days - 1)),
    Rule(Reason.REVIEW_DUE, Rank.REVIEW, _review(lambda s: 1 - s.ahead_days, lambda _: 0)),
    Rule(Reason.GATE_READY, Rank.REVIEW, _gate_ready),
    Rule(Reason.GATE_LIFTS, Rank.REVIEW, _gate_lifts),
    Rule(Reason.REGRESS, Rank.PROGRESS, _advised(Advice.REGRESS)),
    Rule(Reason.PROGRESS, Rank.PROGRESS, _advised(Advice.PROGRESS)),
    Rule(Reason.TOO_FEW_ANSWERS, Rank.TOO_FEW_ANSWERS, _too_few_answers),
    Rule(Reason.PAUSED, Rank.PAUSED, _paused),
    Rule(Reason.NOTHING_DUE, Rank.NOTHING_DUE, _nothing_due),
    Rule(Reason.SIGNS_FOR_REVIEW, Rank.STEADY, _alerts(lambda a: not a.pushed)),
)
"""A rule in rank STEADY lists nobody; it is told of a client who is listed for another reason."""


def order(
    clients: Sequence[ClientWeek],
    now: dt.datetime,
    limits: Limits | None = None,
    rules: Sequence[Rule] = RULES,
) -> tuple[Line, ...]:
    """The clients, most pressing first: by rank, then urgency, then how long it has lasted, then code.

    now: the digest's instant, aware. rules: the table; its order among equals of a rank decides which reason
    is told first.
    """
    limits = limits or Limits()
    placed = [_placed(Case(client, adh.adherence(client.days), now, limits), rules) for client in clients]
    placed.sort(key=lambda pair: pair[0])
    return tuple(line for _, line in placed)


_NOTHING = Found()


def _placed(case: Case, rules: Sequence[Rule]) -> tuple[tuple[Rank, float, dt.timedelta, str], Line]:
    """A client's line, and what it is sorted by."""
    held = [(rule, found) for rule in rules if (found := rule.find(case)) is not None]
    if len(held) > 1:
        held.sort(key=lambda pair: (pair[0].rank, pair[1].urgency))
    rank, found = (held[0][0].rank, held[0][1]) if held else (Rank.STEADY, _NOTHING)
    reasons = tuple([Why(rule.reason, found.values) for rule, found in held])
    line = Line(case.client, case.figures, rank, reasons)
    return (rank, found.urgency, -found.lasting, case.client.code), line
