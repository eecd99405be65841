"""Slopes and intervals against handbook figures, a second library and the handbook's own arithmetic."""

import math
from itertools import combinations

import pytest
from hypothesis import given
from hypothesis import strategies as st
from statsmodels.stats.proportion import proportion_confint

from bot.domain.estimates import Slope, share_interval, slope
from bot.domain.trend import FEWEST_WEEKS
from tests.fixtures.weeks import weekly

Z = 1.959963984540054


def by_hand(values: list[tuple[int, float]]) -> Slope:
    """Sen's slope and interval as Gilbert 1987 (16.4.2) works them out, without ties among the weeks."""
    slopes = sorted((b - a) / (n - m) for (m, a), (n, b) in combinations(values, 2))
    ties = [[value for _, value in values].count(one) for one in {value for _, value in values}]
    size = len(values)
    variance = (size * (size - 1) * (2 * size + 5) - sum(t * (t - 1) * (2 * t + 5) for t in ties)) / 18
    wide = Z * math.sqrt(variance)
    low = slopes[max(0, round((len(slopes) - wide) / 2) - 1)]
    high = slopes[min(len(slopes) - 1, round((len(slopes) + wide) / 2))]
    middle = len(slopes) // 2
    centre = slopes[middle] if len(slopes) % 2 else (slopes[middle - 1] + slopes[middle]) / 2
    return Slope(centre, low, high)


@pytest.mark.parametrize(
    ("series", "expected"),
    [
        # EPA QA/G-9S p. 109 (read as others report it).
        ((10, 10, 10, 5, 10, 20, 18, 17, 15, 24, 15), 1.0),
        # EPA QA/G-9 and Gilbert 1987 (from memory): ten slopes between pairs.
        ((5, 6, 11, 8, 10), 1.125),
        # Wisconsin administrative code, table A (data read, slope worked out).
        ((100, 50, 85, 75, 50), -9.1667),
        # Helsel and Hirsch, a steady climb with an outlier (from memory): least squares gives 1.714.
        ((1, 2, 3, 4, 5, 16, 7), 1.0),
        # Falling leaks, by hand.
        ((7, 6, 6, 5, 4, 4, 3, 2), -0.6667),
    ],
)
def test_published_slopes(series: tuple[float, ...], expected: float) -> None:
    found = slope(weekly(*series))
    assert found is not None
    assert found.a_week == pytest.approx(expected, abs=1e-4)
    assert found.low <= found.a_week <= found.high


@given(st.lists(st.one_of(st.none(), st.integers(0, 9)), min_size=8, max_size=26))
def test_slope_and_interval_are_the_handbooks(series: list[int | None]) -> None:
    values = [(week, float(value)) for week, value in enumerate(series) if value is not None]
    found = slope(weekly(*series))
    if len(values) < FEWEST_WEEKS:
        assert found is None
        return
    assert found is not None
    hand = by_hand(values)
    assert found.a_week == pytest.approx(hand.a_week)
    # The rank of an interval's end is a fraction; libraries round it to either neighbour.
    ranks = sorted((b - a) / (n - m) for (m, a), (n, b) in combinations(values, 2))
    for end, ours in ((found.low, hand.low), (found.high, hand.high)):
        near = [n for n, one in enumerate(ranks) if math.isclose(one, ours, abs_tol=1e-12)]
        around = ranks[max(0, near[0] - 1) : near[-1] + 2]
        assert any(math.isclose(end, one, abs_tol=1e-9) for one in around)


def test_a_gap_is_a_longer_step() -> None:
    found = slope(weekly(1, None, 3, 4, None, None, 7, 8))
    assert found == Slope(1.0, 1.0, 1.0)


def test_too_few_weeks_have_no_slope() -> None:
    assert slope(weekly(1, 2, None, 3, None, 4)) is None


@pytest.mark.parametrize(
    ("part", "whole", "low", "high"),
    [
        # Newcombe 1998, Stat Med 17:857, table I (from memory).
        (81, 263, 0.2553, 0.3662),
        (15, 148, 0.0624, 0.1605),
        (0, 20, 0.0, 0.1611),
        (1, 29, 0.0061, 0.1718),
        # A teaching page's example (read).
        (23, 60, 0.2709, 0.5098),
        (7, 7, 0.6457, 1.0),
        (17, 21, 0.6000, 0.9233),
    ],
)
def test_published_wilson_intervals(part: int, whole: int, low: float, high: float) -> None:
    assert share_interval(part, whole) == pytest.approx((low, high), abs=6e-5)


@given(st.integers(1, 200).flatmap(lambda whole: st.tuples(st.integers(0, whole), st.just(whole))))
def test_wilson_as_a_second_library_has_it(of: tuple[int, int]) -> None:
    assert share_interval(*of) == pytest.approx(proportion_confint(*of, method="wilson"), abs=1e-9)


def test_no_day_has_no_interval() -> None:
    assert share_interval(0, 0) is None
