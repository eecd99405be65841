"""What becomes of a message, by its kind and by what the platform said."""

import datetime as dt
from itertools import pairwise

import pytest

from bot.domain import delivery
from bot.domain.delivery import Kind, NotSent, Refused, Result, RetryAfter, Sent, State, Unknown

NOW = dt.datetime(2026, 3, 2, 9, tzinfo=dt.UTC)


def test_the_order_of_kinds() -> None:
    """Advice before alerts before replies before nudges before digests."""
    priorities = [
        delivery.POLICIES[kind].priority
        for kind in (Kind.ADVICE, Kind.ALERT, Kind.REPLY, Kind.NUDGE, Kind.DIGEST)
    ]
    assert all(before < after for before, after in pairwise(priorities))


@pytest.mark.parametrize("kind", Kind)
def test_every_result_has_a_fate(kind: Kind) -> None:
    results: list[Result] = [Sent(1), RetryAfter(3), NotSent("x"), Refused("x", gone=False), Unknown("x")]
    for result in results:
        assert delivery.fate(kind, 1, result, NOW).state in State


@pytest.mark.parametrize(
    ("kind", "state"),
    [
        (Kind.ADVICE, State.QUEUED),
        (Kind.ALERT, State.QUEUED),
        (Kind.REPLY, State.QUEUED),
        (Kind.TOUCH, State.UNKNOWN),
        (Kind.NUDGE, State.UNKNOWN),
        (Kind.DIGEST, State.QUEUED),
    ],
)
def test_of_unknown_fate_only_what_must_arrive_is_repeated(kind: Kind, state: State) -> None:
    assert delivery.fate(kind, 1, Unknown("read time-out"), NOW).state is state


def test_a_pause_the_platform_asks_for_is_obeyed_and_never_exhausts_the_tries() -> None:
    fate = delivery.fate(Kind.TOUCH, 1000, RetryAfter(17), NOW)
    assert (fate.state, fate.not_before) == (State.QUEUED, NOW + dt.timedelta(seconds=17))


def test_pauses_grow_and_end_at_five_minutes() -> None:
    pauses = [delivery.pause(attempt).total_seconds() for attempt in range(1, 12)]
    assert pauses[:4] == [2, 4, 8, 16]
    assert max(pauses) == 300
    assert pauses == sorted(pauses)


def test_tries_end() -> None:
    last = delivery.POLICIES[Kind.NUDGE].attempts
    assert delivery.fate(Kind.NUDGE, last, NotSent("no connection"), NOW).state is State.REFUSED
