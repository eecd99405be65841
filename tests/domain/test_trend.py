"""Trend words: published series (sources beside them) and the limits counted out afresh."""

from fractions import Fraction
from itertools import pairwise
from math import factorial

import pytest
from hypothesis import given
from hypothesis import strategies as st

from bot.domain.trend import FEWEST_WEEKS, LIMITS, MOST_WEEKS, Span, Trend, trend
from tests.fixtures.weeks import weekly


def at_least(excess: int, weeks: int) -> Fraction:
    """How likely an excess of rises of at least `excess` is when nothing is going on, counted exactly.

    Orders of n values by number of falls: each new value brings 0 to n-1 falls with those before it.
    """
    orders = [1]
    for size in range(2, weeks + 1):
        wider = [0] * (len(orders) + size - 1)
        for falls, count in enumerate(orders):
            for more in range(size):
                wider[falls + more] += count
        orders = wider
    pairs = weeks * (weeks - 1) // 2
    return Fraction(sum(n for falls, n in enumerate(orders) if pairs - 2 * falls >= excess), factorial(weeks))


def test_the_limits_are_the_smallest_that_keep_one_in_twenty() -> None:
    assert list(LIMITS) == list(range(FEWEST_WEEKS, MOST_WEEKS + 1))
    for weeks, limit in LIMITS.items():
        assert at_least(limit, weeks) <= Fraction(1, 20) < at_least(limit - 2, weeks), weeks


@pytest.mark.parametrize(
    ("series", "expected"),
    [
        # Mann-Kendall at small n, EPA QA/G-9 and Gilbert 1987 (from memory): S = 6, p = 0.117.
        ((5, 6, 11, 8, 10), Trend.NOT_CLEAR),
        # Wisconsin administrative code, table A (read): S = -5, no fall at this confidence.
        ((100, 50, 85, 75, 50), Trend.NOT_CLEAR),
        # A steady climb with an outlier, of the Helsel and Hirsch type (from memory): S = 19.
        ((1, 2, 3, 4, 5, 16, 7), Trend.RISING),
        # Falling leaks, worked by hand: S = -26.
        ((7, 6, 6, 5, 4, 4, 3, 2), Trend.FALLING),
    ],
)
def test_published_and_worked_series(series: tuple[float, ...], expected: Trend) -> None:
    assert trend(weekly(*series)) is expected


@pytest.mark.parametrize(
    ("series", "expected"),
    [
        ((), Trend.TOO_FEW),
        ((1, 2, 3, 4), Trend.TOO_FEW),
        ((1, None, 2, None, 3, None, 4), Trend.TOO_FEW),
        ((1, None, 2, None, 3, None, 4, 5), Trend.RISING),
        ((3, 3, 3, 3, 3), Trend.NOT_CLEAR),
        (((0, 0), (1, 3), (4, 6), (7, None), (7, None)), Trend.RISING),
        # Ranges that touch say nothing about which week had more.
        (((1, 4), (2, 5), (3, 6), (4, 7), (5, 8)), Trend.NOT_CLEAR),
    ],
)
def test_gaps_and_ranges(series: tuple[float | None, ...], expected: Trend) -> None:
    assert trend(weekly(*series)) is expected


def test_only_the_newest_weeks_count() -> None:
    long_ago = [90.0] * 30
    assert trend(weekly(*long_ago, *range(10))) is Trend.RISING


def test_an_open_range_is_never_surely_below() -> None:
    assert not Span(8, 9).above(Span(7, None))
    assert Span(7, None).above(Span(4, 6))


@given(st.lists(st.integers(0, 30), min_size=5, max_size=10))
def test_turning_the_series_round_turns_the_word_round(series: list[int]) -> None:
    mirror = {Trend.RISING: Trend.FALLING, Trend.FALLING: Trend.RISING, Trend.NOT_CLEAR: Trend.NOT_CLEAR}
    assert trend(weekly(*reversed(series))) is mirror[trend(weekly(*series))]
    if all(before < after for before, after in pairwise(series)):
        assert trend(weekly(*series)) is Trend.RISING
