"""What is different between two versions."""

import datetime as dt
from dataclasses import replace

from bot.domain.changes import Change, Changed, changes
from bot.domain.prescription import Adjunct, Position, Prescription
from tests.fixtures.plans import START, holds, plan

BRIDGE = Adjunct("bridge-ball-squeeze", Position.LYING, repetitions=10)


def test_the_same_version_has_no_changes() -> None:
    assert changes(plan(holds(8, 5, 5)), plan(holds(8, 5, 5), starts_on=START + dt.timedelta(days=7))) == ()


def test_each_field_of_an_exercise() -> None:
    before = plan(holds(8, 5, 5))
    after = plan(
        replace(
            holds(10, 8, 6),
            position=Position.SITTING,
            days=frozenset({0}),
            easier_position=Position.LYING,
        )
    )
    found = changes(before, after)
    assert {change.exercise for change in found} == {"pelvic-floor-long-hold"}
    assert {change.changed: (change.before, change.after) for change in found} == {
        Changed.REPETITIONS: (8, 10),
        Changed.HOLD: (5, 8),
        Changed.REST: (5, 6),
        Changed.POSITION: (Position.LYING, Position.SITTING),
        Changed.EASIER_POSITION: (None, Position.LYING),
        Changed.EXERCISE_DAYS: (None, frozenset({0})),
    }


def test_exercises_that_come_and_go() -> None:
    long, both = holds(8, 5, 5), holds(6, 5, 5, "both-together")
    assert changes(plan(long), plan(both, adjuncts=(BRIDGE,))) == (
        Change(Changed.LEFT_OUT, long, None, "pelvic-floor-long-hold"),
        Change(Changed.ADDED, None, both, "both-together"),
        Change(Changed.ADDED, None, BRIDGE, "bridge-ball-squeeze"),
    )


def test_an_exercise_that_stands_twice_is_compared_in_its_order() -> None:
    before = plan(holds(8, 5, 5), holds(4, 10, 10))
    after = plan(holds(8, 5, 5), holds(6, 10, 10))
    assert changes(before, after) == (Change(Changed.REPETITIONS, 4, 6, "pelvic-floor-long-hold"),)
    assert [change.changed for change in changes(before, plan(holds(8, 5, 5)))] == [Changed.LEFT_OUT]


def test_each_field_of_an_adjunct() -> None:
    after = replace(BRIDGE, times_a_day=2, repetitions=12, hold_s=3, days=frozenset({1}))
    found = changes(plan(adjuncts=(BRIDGE,)), plan(adjuncts=(after,)))
    assert [change.changed for change in found] == [
        Changed.TIMES_A_DAY,
        Changed.REPETITIONS,
        Changed.HOLD,
        Changed.EXERCISE_DAYS,
    ]


def test_every_field_of_a_programme_is_compared_but_its_start() -> None:
    """A field that is added later must be compared too: each is changed alone, and told."""
    before = plan(holds(8, 5, 5))
    other = {
        "contractions": (holds(9, 5, 5),),
        "sets_a_day": 2,
        "days": frozenset({0}),
        "nudge_times": (dt.time(9),),
        "quiet_from": dt.time(22),
        "quiet_to": dt.time(8),
        "round_up_at": dt.time(19),
        "check_in_day": 0,
        "check_in_questions": ("pain",),
        "review_on": START + dt.timedelta(days=9),
        "adjuncts": (BRIDGE,),
        "pause_s": 30,
    }
    assert {*other, "starts_on"} == set(Prescription.__slots__)
    for name, value in other.items():
        found = changes(before, replace(before, **{name: value}))  # type: ignore[arg-type] # each fits its field
        assert len(found) == 1, name
