"""Symptoms week by week, and whether a change is large enough to matter.

Answers are ranges ("3 to 6"), so a change is a range too: it is called better or worse only if every pair of
values in the two ranges says so. A week without an answer stays a gap.
"""

import datetime as dt
import math
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from enum import StrEnum
from functools import lru_cache
from statistics import median
from typing import NamedTuple

from bot.domain.check_in import span_of
from bot.domain.client_record import Told
from bot.domain.figures import Figure
from bot.domain.trend import Span, Trend, Weekly, trend

DAYS_A_WEEK = 7


class Verdict(StrEnum):
    """What a change amounts to."""

    BETTER = "better"
    WORSE = "worse"
    SAME = "no important change"
    CANNOT_TELL = "cannot tell"


@dataclass(frozen=True, slots=True)
class Important:
    """How large a change has to be to matter, in points (or episodes) and as a share of the earlier value.

    either: whether one of the two is enough; otherwise both are needed. beyond: whether the share has to be
    passed and not just reached. A rise is judged like a fall; the sources speak of falls only.
    """

    points: Figure
    share: Figure
    either: bool
    beyond: bool = False

    def fell(self, was: float, now: float) -> bool:
        """Whether a fall from one value to the other matters."""
        return self._matters(was - now, was)

    def rose(self, was: float, now: float) -> bool:
        """Whether a rise from one value to the other matters; from 0 the points alone decide."""
        return self._matters(now - was, was)

    def _matters(self, change: float, was: float) -> bool:
        enough = change >= self.points.value
        if was == 0:
            return enough
        share = change / was if math.isfinite(was) else 1.0
        large = share > self.share.value if self.beyond else share >= self.share.value
        return (enough or large) if self.either else (enough and large)


_NO_SOURCE = "common practice, no source"
_FARRAR = "Farrar et al. 2001, Pain 94:149: about 2 points, or about 30 %, of a 0 to 10 rating"
_YALCIN = "Yalcin et al. 2010, Neurourol Urodyn 29:344: from more than 40 % fewer episodes on"

IMPORTANT: Mapping[str, Important] = {
    "pain": Important(Figure(2, _FARRAR, True), Figure(0.3, _FARRAR, True), either=True),
    # No figure for heaviness was found; it is rated like pain and judged like it.
    "heaviness": Important(Figure(2, _NO_SOURCE, False), Figure(0.3, _NO_SOURCE, False), either=True),
    # With one or two leaks a week a single one is a swing of half: two episodes are asked for as well.
    "leaks": Important(Figure(2, _NO_SOURCE, False), Figure(0.4, _YALCIN, True), either=False, beyond=True),
}
"""By question; one without a figure of its own, such as yes-or-no doming, is not judged."""


@dataclass(frozen=True, slots=True)
class Change:
    """A weekly figure against an earlier one.

    points: least and most it can have changed by, None for an open end. percent: the same as per cent of the
    earlier value, None where that is undefined (an earlier value of 0) or open.
    """

    was: Span
    now: Span
    verdict: Verdict | None

    @property
    def points(self) -> tuple[float | None, float | None]:
        """Least and most change in points or episodes; below 0 for a fall."""
        least = None if self.was.high is None else self.now.low - self.was.high
        most = None if self.now.high is None else self.now.high - self.was.low
        return least, most

    @property
    def percent(self) -> tuple[float | None, float | None]:
        """Least and most change in per cent of the earlier value; below 0 for a fall."""
        least = (self.now.low / self.was.high - 1) * 100 if self.was.high else None
        most = (
            (self.now.high / self.was.low - 1) * 100 if self.was.low and self.now.high is not None else None
        )
        return least, most


def verdict(was: Span, now: Span, important: Important) -> Verdict:
    """What a change amounts to, over all the values that both ranges may stand for."""
    was_high = math.inf if was.high is None else was.high
    now_high = math.inf if now.high is None else now.high
    if important.fell(was.low, now_high):
        return Verdict.BETTER
    if now.above(was) and important.rose(was_high, now.low):
        return Verdict.WORSE
    if important.fell(was_high, now.low) or important.rose(was.low, now_high):
        return Verdict.CANNOT_TELL
    return Verdict.SAME


@dataclass(frozen=True, slots=True)
class Week:
    """One week of one question: the median of its answers, None without one, and how many there were."""

    first_on: dt.date
    median: Span | None
    answers: int


@dataclass(frozen=True, slots=True)
class Course:
    """One question over the weeks, oldest first and without gaps between them; the last ends yesterday.

    baseline: the first weekly value. since_baseline and since_last_week: this week's value against it and
    against the week before, None where either was not answered.
    """

    question: str
    weeks: tuple[Week, ...]
    baseline: Span | None
    since_baseline: Change | None
    since_last_week: Change | None
    trend: Trend

    @property
    def weekly(self) -> Weekly:
        """The medians, with their gaps."""
        return tuple(week.median for week in self.weeks)


def median_span(spans: Iterable[Span]) -> Span | None:
    """The range in which the median of some ranges lies; None of none."""
    spans = list(spans)
    if len(spans) < 2:  # noqa: PLR2004 - none, or its own median
        return spans[0] if spans else None
    high = median(math.inf if span.high is None else span.high for span in spans)
    return Span(median(span.low for span in spans), None if math.isinf(high) else high)


class Answer(NamedTuple):
    """An answer to one of the questions, and the day it is about."""

    question: str
    on: dt.date
    value: int


def weekly(
    answers: Iterable[Answer], questions: Sequence[str], today: dt.date, weeks: int
) -> tuple[Weekly, ...]:
    """The medians of some questions over the last weeks, each from its first answered week to yesterday's."""
    found: dict[str, dict[int, list[Span]]] = {question: {} for question in questions}
    for answer in answers:  # a plain loop: every digest has every answer of two months in it
        back, span = _placed(answer, today)
        hers = found.get(answer[0])
        if hers is None or not 0 <= back < weeks:
            continue
        if back in hers:
            hers[back].append(span)
        else:
            hers[back] = [span]
    return tuple([_medians(hers) for hers in found.values()])


def _medians(by_week: Mapping[int, list[Span]]) -> Weekly:
    return tuple(
        [
            None if spans is None else spans[0] if len(spans) == 1 else median_span(spans)
            for spans in map(by_week.get, range(max(by_week, default=-1), -1, -1))
        ]
    )


@lru_cache(maxsize=16384)
def _placed(answer: Answer, today: dt.date) -> tuple[int, Span]:
    """How many whole weeks an answer lies back from yesterday, below 0 for a later one, and its range."""
    return ((today - answer.on).days - 1) // DAYS_A_WEEK, span_of(answer.question, answer.value)


def course(question: str, told: Iterable[Told], today: dt.date, most_weeks: int | None = None) -> Course:
    """One question week by week, back from yesterday to the week of its first answer.

    most_weeks: how many weeks to keep; the baseline is the first value ever told all the same.
    """
    by_week: dict[int, list[Span]] = {}
    for one in told:
        if one.question == question and one.value is not None:
            back, span = _placed(Answer(question, one.on, one.value), today)
            if back >= 0:
                by_week.setdefault(back, []).append(span)
    oldest = max(by_week, default=-1)
    weeks = [
        Week(
            today - dt.timedelta(days=DAYS_A_WEEK * (back + 1)),
            median_span(by_week.get(back, ())),
            len(by_week.get(back, ())),
        )
        for back in range(oldest, -1, -1)
    ]
    baseline = weeks[0].median if weeks else None
    now = weeks[-1].median if weeks else None
    last_week = weeks[-2].median if len(weeks) > 1 else None
    return Course(
        question=question,
        weeks=tuple(weeks if most_weeks is None else weeks[-most_weeks:]),
        baseline=baseline,
        since_baseline=_change(question, baseline, now) if len(weeks) > 1 else None,
        since_last_week=_change(question, last_week, now),
        trend=trend([week.median for week in weeks]),
    )


def _change(question: str, was: Span | None, now: Span | None) -> Change | None:
    if was is None or now is None:
        return None
    important = IMPORTANT.get(question)
    return Change(was, now, None if important is None else verdict(was, now, important))
