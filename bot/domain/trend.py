"""Whether a weekly figure rises or falls, said only when enough weeks are there to say it.

The test is Mann and Kendall's: every later week is compared with every earlier one.
"""

import math
from collections.abc import Sequence
from enum import StrEnum
from functools import lru_cache
from typing import NamedTuple

FEWEST_WEEKS = 5
MOST_WEEKS = 10

# Smallest excess of rises over falls (or falls over rises) that is called a trend, by number of weekly
# values: one-sided 95 % limits of the exact distribution without ties (published table, read). Ties and
# overlapping ranges only bring the excess nearer to 0, so the limits then err towards "no clear trend".
LIMITS = {5: 8, 6: 11, 7: 13, 8: 16, 9: 18, 10: 21}


class Trend(StrEnum):
    """Where a weekly figure is going."""

    RISING = "rising"
    FALLING = "falling"
    NOT_CLEAR = "no clear trend"
    TOO_FEW = "too few to tell"


class Span(NamedTuple):
    """A weekly figure: `low` to `high`, both included and equal for a plain count.

    high: None for an open range such as "7 or more".
    """

    low: float
    high: float | None

    @classmethod
    def exactly(cls, value: float) -> "Span":
        """A figure that is one number."""
        return cls(value, value)

    @property
    def middle(self) -> float:
        """The middle of the range; of an open one its lower end."""
        return self.low if self.high is None else (self.low + self.high) / 2

    def above(self, other: "Span") -> bool:
        """Whether this is surely higher: the ranges do not touch."""
        return other.high is not None and self.low > other.high


Weekly = tuple[Span | None, ...]
"""One figure for each week, oldest first, None for a week without an answer."""


def trend(weeks: Sequence[Span | None]) -> Trend:
    """Where a figure is going over its last `MOST_WEEKS` values; weeks without one are left out."""
    return _trend(tuple(weeks))


@lru_cache(maxsize=16384)
def _trend(weeks: Weekly) -> Trend:
    # Every digest asks it of every client, for her order and for her dose, and many weeks look alike.
    values = [span for span in weeks if span is not None][-MOST_WEEKS:]
    if len(values) < FEWEST_WEEKS:
        return Trend.TOO_FEW
    ends = [(low, math.inf if high is None else high) for low, high in values]
    excess = 0
    for place, (low, high) in enumerate(ends, start=1):
        for later_low, later_high in ends[place:]:
            if later_low > high:
                excess += 1
            elif low > later_high:
                excess -= 1
    if abs(excess) < LIMITS[len(values)]:
        return Trend.NOT_CLEAR
    return Trend.RISING if excess > 0 else Trend.FALLING
