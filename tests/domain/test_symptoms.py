"""Symptoms week by week: gaps stay gaps, and a change matters by published figures."""

import datetime as dt

import pytest

from bot.domain.client_record import Told
from bot.domain.symptoms import IMPORTANT, Change, Verdict, course, median_span, verdict
from bot.domain.trend import Span, Trend

TODAY = dt.date(2026, 3, 9)
AT = dt.datetime(2026, 3, 9, tzinfo=dt.UTC)


def told(question: str, *answers: tuple[int, int | None]) -> list[Told]:
    """Answers so many days ago."""
    return [Told(TODAY - dt.timedelta(days=ago), question, value, AT) for ago, value in answers]


def judged(question: str, was: float, now: float) -> Verdict:
    return verdict(Span.exactly(was), Span.exactly(now), IMPORTANT[question])


@pytest.mark.parametrize(
    ("was", "now", "expected"),
    [
        # Farrar et al. 2001 (read): about 2 points or about 30 % of a 0 to 10 rating.
        (7, 5, Verdict.BETTER),  # 2 points, 28.6 %
        (4, 3, Verdict.SAME),  # 1 point, 25 %
        (3, 2, Verdict.BETTER),  # 1 point, 33.3 %
        (9, 7, Verdict.BETTER),  # 2 points, 22.2 %
        (6, 4, Verdict.BETTER),
        (5, 5, Verdict.SAME),
        (0, 1, Verdict.SAME),
        (0, 2, Verdict.WORSE),
    ],
)
def test_pain_against_its_published_difference(was: float, now: float, expected: Verdict) -> None:
    assert judged("pain", was, now) is expected


@pytest.mark.parametrize(
    ("was", "now", "expected"),
    [
        # Yalcin et al. 2010 (read): more than 40 % fewer episodes.
        (10, 5, Verdict.BETTER),
        (10, 6, Verdict.SAME),  # exactly 40 % is not more
        (14, 8, Verdict.BETTER),  # 42.9 %
        (2, 1, Verdict.SAME),  # half, but one leak
        (0, 2, Verdict.WORSE),  # per cent is undefined, two episodes count
        (0, 1, Verdict.SAME),
    ],
)
def test_leaks_against_their_published_difference(was: float, now: float, expected: Verdict) -> None:
    assert judged("leaks", was, now) is expected


@pytest.mark.parametrize(
    ("was", "now", "expected"),
    [
        (Span(3, 6), Span(0, 0), Verdict.BETTER),
        (Span(3, 6), Span(1, 2), Verdict.CANNOT_TELL),  # 3 to 2 would not matter, 6 to 1 would
        (Span(1, 2), Span(7, None), Verdict.WORSE),
        (Span(7, None), Span(7, None), Verdict.CANNOT_TELL),
        (Span(7, None), Span(0, 0), Verdict.BETTER),
        (Span(0, 0), Span(0, 0), Verdict.SAME),
    ],
)
def test_a_range_is_judged_by_all_it_may_stand_for(was: Span, now: Span, expected: Verdict) -> None:
    assert verdict(was, now, IMPORTANT["leaks"]) is expected


@pytest.mark.parametrize(
    ("was", "now", "points", "percent"),
    [
        (Span.exactly(10), Span.exactly(5), (-5, -5), (-50, -50)),
        (Span(3, 6), Span(1, 2), (-5, -1), (-(1 - 1 / 6) * 100, -(1 - 2 / 3) * 100)),
        (Span.exactly(0), Span.exactly(2), (2, 2), (None, None)),
        (Span(7, None), Span(3, 6), (None, -1), (None, (6 / 7 - 1) * 100)),
    ],
)
def test_change_in_points_and_per_cent(
    was: Span, now: Span, points: tuple[float, float], percent: tuple[float | None, float | None]
) -> None:
    change = Change(was, now, None)
    assert change.points == points
    assert change.percent == pytest.approx(percent)


def test_a_week_is_the_median_of_its_answers_and_a_gap_stays() -> None:
    found = course("pain", told("pain", (30, 5), (16, 2), (9, 4), (8, 9), (10, 6), (1, None)), TODAY)
    assert [(week.answers, week.median) for week in found.weeks] == [
        (1, Span.exactly(5)),
        (0, None),
        (1, Span.exactly(2)),
        (3, Span.exactly(6)),
        (0, None),
    ]
    assert found.weeks[-1].first_on == dt.date(2026, 3, 2)
    assert found.baseline == Span.exactly(5)
    assert (found.since_baseline, found.since_last_week) == (None, None)
    assert found.trend is Trend.TOO_FEW


def test_changes_are_told_from_the_first_week_and_the_last() -> None:
    found = course("leaks", told("leaks", (20, 9), (13, 5), (6, 4)), TODAY, most_weeks=2)
    assert len(found.weeks) == 2
    assert found.since_baseline == Change(Span.exactly(9), Span.exactly(4), Verdict.BETTER)
    assert found.since_last_week == Change(Span.exactly(5), Span.exactly(4), Verdict.SAME)


def test_a_first_week_is_no_change() -> None:
    found = course("leaks", told("leaks", (2, 3)), TODAY)
    assert found.baseline == Span(3, 6)
    assert (found.since_baseline, found.since_last_week) == (None, None)


def test_nothing_told_is_no_course() -> None:
    found = course("pain", told("leaks", (2, 3), (0, 1)), TODAY)
    assert (found.weeks, found.baseline) == ((), None)


def test_yes_or_no_is_not_judged() -> None:
    change = course("doming", told("doming", (9, 0), (2, 1)), TODAY).since_last_week
    assert change is not None
    assert change.verdict is None


def test_the_median_of_ranges_is_a_range() -> None:
    assert median_span([Span(1, 2), Span(3, 6), Span(7, None)]) == Span(3, 6)
    assert median_span([Span(3, 6), Span(7, None)]) == Span(5, None)
