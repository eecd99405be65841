"""Estimates with their uncertainty, from a maintained library that is loaded when the first is asked for."""

from collections.abc import Sequence
from dataclasses import dataclass

from bot.domain.trend import FEWEST_WEEKS, Span

CONFIDENCE = 0.95


@dataclass(frozen=True, slots=True)
class Slope:
    """Change a week: the median of the slopes between every two weeks, and its 95 % interval."""

    a_week: float
    low: float
    high: float


def slope(weeks: Sequence[Span | None]) -> Slope | None:
    """The robust slope of a weekly figure (Theil 1950, Sen 1968); None under `FEWEST_WEEKS` values.

    Weeks count by their place, so a gap is a longer step and is not filled. A range counts as its middle, an
    open one as its lower end.
    """
    values = [(week, span.middle) for week, span in enumerate(weeks) if span is not None]
    if len(values) < FEWEST_WEEKS:
        return None
    from scipy.stats import theilslopes  # noqa: PLC0415 - a second to load

    found = theilslopes([value for _, value in values], [week for week, _ in values], CONFIDENCE)
    return Slope(float(found.slope), float(found.low_slope), float(found.high_slope))


def share_interval(part: int, whole: int) -> tuple[float, float] | None:
    """The 95 % interval of Wilson (1927) for a share of independent trials, 0 to 1; None of none.

    For days covered out of days answered: how little one week can say. Raises ValueError for a part beyond
    the whole.
    """
    if whole == 0:
        return None
    from scipy.stats import binomtest  # noqa: PLC0415 - a second to load

    interval = binomtest(part, whole).proportion_ci(CONFIDENCE, method="wilson")
    return float(interval.low), float(interval.high)
