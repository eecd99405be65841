"""The words of the digest, in one place.

A sentence is a format string. A count takes its noun from the format: `{days:day|days}` gives "1 day" or
"6 days". Spans, dates, ages and levels are put into words here too.
"""

import datetime as dt
from collections.abc import Mapping
from dataclasses import dataclass
from typing import assert_never

from bot.domain.alerts import Outcome
from bot.domain.attention import Rank, Reason, Value, Why
from bot.domain.client_week import StoppedBy
from bot.domain.levels import Level
from bot.domain.trend import Span, Trend
from bot.reports import paper_words

HOUR = dt.timedelta(hours=1)
HOURS_UNTIL_DAYS = 48


class Counted(int):
    """A number that brings its noun: formatted with `one|many` it reads "1 one" or "2 many"."""

    def __format__(self, spec: str) -> str:
        """The number alone, or with the noun that fits."""
        one, bar, many = spec.partition("|")
        return f"{int(self)} {one if self == 1 else many}" if bar else format(int(self), spec)


@dataclass(frozen=True, slots=True)
class Words:
    """One language.

    reasons: the sentence of each reason, empty where the figures beside it say the same. labels: the same in
    two or three words, for the picture. The rest are named for what they say.
    """

    reasons: Mapping[Reason, str]
    labels: Mapping[Reason, str]
    groups: Mapping[Rank, str]
    names: Mapping[Level | StoppedBy | Trend | Outcome, str]
    weekdays: tuple[str, ...]
    weekday_letters: tuple[str, ...]
    months: tuple[str, ...]
    marks: Mapping[str, str]
    sayings: Mapping[str, str]

    def date(self, on: dt.date) -> str:
        """A day of this year's calendar, such as "Tue 3 Mar"."""
        return f"{self.weekdays[on.weekday()]} {on.day} {self.months[on.month - 1]}"

    def window(self, first_on: dt.date, last_on: dt.date) -> str:
        """A stretch of days with its year."""
        return self.say("window", first=self.date(first_on), last=self.date(last_on), year=str(last_on.year))

    def span(self, span: Span | None) -> str:
        """A count or a range, or that nobody answered."""
        if span is None:
            return self.sayings["unanswered"]
        if span.high is None:
            return self.say("open-range", low=f"{span.low:g}")
        if span.low == span.high:
            return f"{span.low:g}"
        return self.say("range", low=f"{span.low:g}", high=f"{span.high:g}")

    def short_span(self, span: Span) -> str:
        """A count or a range in as few characters as it takes."""
        if span.high is None:
            return f"{span.low:g}+"
        return f"{span.low:g}" if span.low == span.high else f"{span.low:g}-{span.high:g}"

    def age(self, age: dt.timedelta) -> str:
        """How long something has lasted, in whole hours, from two days on in whole days."""
        hours = age // HOUR
        if hours < 1:
            return self.sayings["under-an-hour"]
        if hours < HOURS_UNTIL_DAYS:
            return self.say("hours", hours=hours)
        return self.say("days", days=age.days)

    def value(self, value: Value) -> object:
        """A reason's value as its sentence takes it."""
        match value:
            case Level() | StoppedBy() | Trend():
                return self.names[value]
            case int():
                return Counted(value)
            case dt.date():
                return self.date(value)
            case dt.timedelta():
                return self.age(value)
            case Span() | None:
                return self.span(value)
        assert_never(value)

    def say(self, saying: str, **values: int | str) -> str:
        """A saying with its values put in."""
        put = {name: Counted(value) if isinstance(value, int) else value for name, value in values.items()}
        return self.sayings[saying].format(**put)

    def reason(self, why: Why) -> str:
        """The sentence of a reason, "" where it needs none."""
        return self.reasons[why.reason].format(**{name: self.value(value) for name, value in why.values})

    def label(self, why: Why) -> str:
        """A reason in two or three words, "" where it needs none."""
        return self.labels[why.reason].format(**{name: self.value(value) for name, value in why.values})


ENGLISH = Words(
    reasons={
        Reason.ALERT_UNSEEN: "{alerts:alert|alerts} not seen yet ({level}), for {age}",
        Reason.ALERT_OPEN: "{alerts:alert|alerts} seen but not closed ({level}), for {age}",
        Reason.ALERT_UNDECIDED: "waiting for your decision for {age}",
        Reason.ALERT_SENSITIVE: "sensitive: check that it is safe to call",
        Reason.ALERT_UNREACHED: "an alert did not get through to a chat",
        Reason.REVIEW_LONG_OVERDUE: "review overdue by {days:day|days}",
        Reason.STOPPED: "programme stopped {by} on {on}",
        Reason.CALL_ASKED: "asked for a call {age} ago",
        Reason.UNREACHABLE: "messages have not reached her since {on}",
        Reason.SILENT: "silent for {days:day|days}",
        Reason.LEAKS_UP: "leaks up (trend: {trend})",
        Reason.HEAVINESS_UP: "heaviness {now} of 10, was {was} (trend: {trend})",
        Reason.PAIN_UP: "pain {now} of 10, was {was} (trend: {trend})",
        Reason.NOTES: "{notes:note|notes} to read",
        Reason.BELOW: "below the agreed plan",
        Reason.CHANGE_UNSEEN: "has not looked at the change of {on}",
        Reason.NO_PLAN: "no prescription yet, joined on {on}",
        Reason.REVIEW_OVERDUE: "review overdue by {days:day|days}",
        Reason.REVIEW_DUE: "review on {on}",
        Reason.GATE_READY: "{gates:exercise|exercises} ready for you to review",
        Reason.GATE_LIFTS: "a date limit ends on {on}",
        Reason.REGRESS: "consider an easier step",
        Reason.PROGRESS: "consider progressing",
        Reason.TOO_FEW_ANSWERS: "",
        Reason.PAUSED: "",
        Reason.NOTHING_DUE: "",
        Reason.SIGNS_FOR_REVIEW: "{alerts:sign|signs} kept for the next visit",
    },
    labels={
        Reason.ALERT_UNSEEN: "alert not seen",
        Reason.ALERT_OPEN: "alert open",
        Reason.ALERT_UNDECIDED: "your decision",
        Reason.ALERT_SENSITIVE: "sensitive",
        Reason.ALERT_UNREACHED: "alert not delivered",
        Reason.REVIEW_LONG_OVERDUE: "review overdue",
        Reason.STOPPED: "stopped",
        Reason.CALL_ASKED: "asked for a call",
        Reason.UNREACHABLE: "not reached",
        Reason.SILENT: "silent {days:day|days}",
        Reason.LEAKS_UP: "leaks up",
        Reason.HEAVINESS_UP: "heaviness up",
        Reason.PAIN_UP: "pain up",
        Reason.NOTES: "{notes:note|notes} to read",
        Reason.BELOW: "below the plan",
        Reason.CHANGE_UNSEEN: "change not seen",
        Reason.NO_PLAN: "no prescription",
        Reason.REVIEW_OVERDUE: "review overdue",
        Reason.REVIEW_DUE: "review {on}",
        Reason.GATE_READY: "ready to review",
        Reason.GATE_LIFTS: "limit ends {on}",
        Reason.REGRESS: "easier step?",
        Reason.PROGRESS: "next step?",
        Reason.TOO_FEW_ANSWERS: "cannot tell",
        Reason.PAUSED: "paused",
        Reason.NOTHING_DUE: "no sets this week",
        Reason.SIGNS_FOR_REVIEW: "",
    },
    groups={
        Rank.STEADY: "{clients} steady",
        Rank.TOO_FEW_ANSWERS: "{clients} with too few answers to tell",
        Rank.PAUSED: "{clients} paused",
        Rank.NOTHING_DUE: "{clients} with nothing due",
    },
    names={
        Level.EMERGENCY: "emergency",
        Level.SAME_DAY: "same day",
        Level.THERAPIST: "for you",
        Level.NEXT_REVIEW: "next visit",
        StoppedBy.WARNING: "by an alert",
        StoppedBy.LOSS: "(sensitive)",
        StoppedBy.PREGNANCY: "(new pregnancy)",
        StoppedBy.REVIEW_OVERDUE: "because the review is overdue",
        StoppedBy.THERAPIST: "by you",
        Trend.RISING: "rising",
        Trend.FALLING: "falling",
        Trend.NOT_CLEAR: "not clear",
        Trend.TOO_FEW: "too few to tell",
        Outcome.SPOKE: "spoke to her",
        Outcome.NOT_REACHED: "could not reach her",
        Outcome.PASSED_ON: "passed on",
        Outcome.FALSE_ALARM: "false alarm",
        Outcome.REVIEWED: "gone through in a visit",
    },
    weekdays=("Mon", "Tue", "Wed", "Thu", "Fri", "Sat", "Sun"),
    weekday_letters=("M", "T", "W", "T", "F", "S", "S"),
    months=("Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec"),
    marks={
        "done": "all sets done",
        "partly": "some done: filled bars",
        "none": "reported: none done",
        "unknown": "no answer, so unknown",
        "free": "nothing due",
        "paused": "paused",
        "stopped": "stopped",
        "travel": "skipped by travel",
    },
    sayings={
        "steady": "steady",
        "shown": "{shown} of {clients} shown",
        "line-label": "leaks a week",
        "line-legend": "Leaks a week: the last 8 weeks, newest on the right. ?: no answer.",
        "unanswered": "not answered",
        "range": "{low} to {high}",
        "open-range": "{low} or more",
        "under-an-hour": "less than an hour",
        "hours": "{hours:hour|hours}",
        "days": "{days:day|days}",
        "window": "{first} to {last} {year}",
        "clients": "{window}: {clients:client|clients}",
        "to-look-at": "{clients} to look at",
        "how-to-read": (
            "Most urgent first; sets done of sets due. "
            "Two figures: days without an answer as none, then as all."
        ),
        "by-day": "{window}, day by day: sets done of sets due.",
        "by-day-line": "{code}: {days}",
        "nobody": "No client is enrolled, so there is nothing to report.",
        "all-together": "All together: {figures}.",
        "group": "{group}: {figures}.",
        "more": "and {clients} more",
        "more-alerts": "and {clients} more, {alerts} of them with an open alert",
        "more-reasons": "{reasons} more",
        "line": "{code}: {reasons}. {figures}.",
        "done": "{done} of {due}",
        "answered": "answered {answered} of {days:day|days}",
        "nothing-due": "nothing due",
        "extra": "{sets} extra",
        "paused": "{days:day|days} paused",
        "stopped": "{days:day|days} stopped",
        "travel": "{days:day|days} skipped by travel",
        "starts": "starts {on}",
        "paused-until": "paused until {on}",
        "leaks": "leaks {now}, was {was}",
        "leaks-first": "leaks {now}",
        "closed": "Closed this week: {clients}.",
        "closed-one": "{code} {level} of {on} ({outcome})",
        "next-visit": "Kept for the next visit: {clients}.",
        "next-visit-one": "{code} {signs:sign|signs}",
        **paper_words.SAYINGS,
    },
)

LANGUAGES = {"en": ENGLISH}


def words(language: str) -> Words:
    """The words of a language by its code; one without words of its own speaks English."""
    return LANGUAGES.get(language, ENGLISH)
