"""The small sibling of `python -m tests.year`: the same lives, fewer of them."""

import pytest

from tests import year


def test_three_months_of_eight_clients() -> None:
    counts = sum((year.live(year.Life(seed), 90) for seed in range(8)), year.Counter[str]())
    assert counts["nudge"] > 300
    assert counts["check_in"] > 10


@pytest.mark.slow
def test_a_year_of_two_hundred_clients() -> None:
    counts = sum((year.live(year.Life(seed), 365) for seed in range(200)), year.Counter[str]())
    assert counts["nudge"] > 10_000
