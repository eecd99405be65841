"""The small sibling of `python -m tests.year`: the same lives, fewer of them."""

from collections import Counter

import pytest

from tests import year


def lived(clients: int, days: int) -> Counter[str]:
    total: Counter[str] = Counter()
    for seed in range(clients):
        total += year.live(year.Life(seed), days)
    return total


def test_three_months_of_eight_clients() -> None:
    counts = lived(8, 90)
    assert counts["nudge"] > 300
    assert counts["check_in"] > 10


@pytest.mark.slow
def test_a_year_of_two_hundred_clients() -> None:
    counts = lived(200, 365)
    assert counts["nudge"] > 10_000
