"""The ladder: which step is next, that one thing changes, and that the day keeps its shape."""

import datetime as dt
from dataclasses import replace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from bot.domain.changes import Changed, changes
from bot.domain.ladder import Rung, Step, steps, taken
from bot.domain.prescription import Contractions, Position, Prescription
from bot.rules import rulebook
from tests.fixtures.plans import plan

RULES = rulebook.packaged()
HARDER, EASIER = RULES.criteria.harder, RULES.criteria.easier
HOLD = Contractions("pelvic-floor-long-hold", 8, 6, 12, Position.LYING)
QUICK = Contractions("pelvic-floor-quick", 10, 1, 1, Position.LYING)
RELAX = Contractions("pelvic-floor-let-go", 5, 5, 5, Position.LYING)
OF_RUNG = {
    Rung.HOLD: {Changed.HOLD},
    Rung.REPETITIONS: {Changed.REPETITIONS},
    Rung.POSITION: {Changed.POSITION, Changed.EASIER_POSITION},
    Rung.SETS: {Changed.SETS_A_DAY, Changed.NUDGE_TIMES},
}


def of(*parts: Contractions, **fields: object) -> Prescription:
    return replace(plan(), contractions=parts, **fields)  # type: ignore[arg-type] # a test's own fields


def up(prescription: Prescription) -> list[Step]:
    return list(steps(prescription, HARDER, RULES.catalogue, harder=True))


def down(prescription: Prescription) -> list[Step]:
    return list(steps(prescription, EASIER, RULES.catalogue, harder=False))


def test_the_hold_comes_first_then_repetitions_position_sets() -> None:
    """The order hold, repetitions, position, sets: common practice, no source."""
    found = up(of(HOLD))
    assert [(step.rung, step.before, step.after) for step in found] == [
        (Rung.HOLD, 6, 7),
        (Rung.REPETITIONS, 8, 10),
        (Rung.POSITION, Position.LYING, Position.SIDE_LYING),
        (Rung.SETS, 3, 4),
    ]


def test_ten_seconds_is_the_ceiling_and_one_that_is_above_a_bound_is_left_alone() -> None:
    assert up(of(replace(HOLD, hold_s=10)))[0].rung is Rung.REPETITIONS
    assert up(of(replace(HOLD, hold_s=10, repetitions=20)))[0].rung is Rung.POSITION
    assert up(of(replace(HOLD, hold_s=9)))[0].after == 10


def test_a_quick_one_is_never_given_a_longer_hold() -> None:
    assert Rung.HOLD not in {step.rung for step in up(of(QUICK)) if step.place is not None}


def test_relaxation_is_not_made_harder() -> None:
    known = [one for one in RULES.catalogue.exercises.values() if one.in_a_set and not one.strength]
    assert known
    for one in known:
        part = Contractions(one.id, 5, 5, 5, one.positions[0])
        assert [step.rung for step in up(of(part))] == [Rung.SETS]


def test_an_exercise_the_catalogue_lacks_is_left_alone() -> None:
    assert [step.rung for step in up(of(replace(HOLD, exercise="dropped")))] == [Rung.SETS]


def test_the_last_position_is_the_last() -> None:
    standing = replace(HOLD, position=Position.STANDING)
    assert Rung.POSITION not in {step.rung for step in up(of(standing))}
    assert down(of(standing))[0] == Step(Rung.POSITION, Position.STANDING, Position.SITTING, 0)
    assert down(of(HOLD))[0].rung is Rung.HOLD


def test_an_easier_position_that_is_no_easier_any_more_goes() -> None:
    sitting = replace(HOLD, position=Position.SITTING, easier_position=Position.SIDE_LYING)
    eased = taken(of(sitting), Step(Rung.POSITION, Position.SITTING, Position.SIDE_LYING, 0))
    assert eased.contractions[0].easier_position is None


@pytest.mark.parametrize(
    ("times", "after"),
    [
        (("08:30", "13:00", "18:30"), ("08:30", "13:00", "15:45", "18:30")),
        (("08:30",), ("08:30", "10:30")),
        (("20:30",), ("19:30", "20:30")),
    ],
)
def test_a_further_set_stands_in_the_widest_gap(times: tuple[str, ...], after: tuple[str, ...]) -> None:
    held = tuple(dt.time.fromisoformat(at) for at in times)
    before = of(HOLD, sets_a_day=len(times), nudge_times=held)
    more = taken(before, Step(Rung.SETS, len(times), len(times) + 1))
    assert tuple(f"{at:%H:%M}" for at in more.nudge_times) == after


def test_no_further_set_where_no_time_is_left() -> None:
    full = of(HOLD, sets_a_day=2, nudge_times=(dt.time(8), dt.time(9)), quiet_from=dt.time(9, 30))
    assert Rung.SETS not in {step.rung for step in up(full)}


@settings(max_examples=60)
@given(
    hold_s=st.integers(1, 10),
    repetitions=st.integers(1, 30),
    position=st.sampled_from([p for p in Position if p is not Position.FOUR_POINT]),
    minutes=st.lists(st.integers(0, 52), min_size=1, max_size=8, unique=True),
)
def test_whatever_the_step_only_its_own_thing_changes(
    hold_s: int, repetitions: int, position: Position, minutes: list[int]
) -> None:
    times = tuple(dt.time(8 + n // 4, n % 4 * 15) for n in sorted(minutes))
    apart = [t for n, t in enumerate(times) if not n or (t.hour * 60 + t.minute) % 60 == 0][:8]
    before = of(
        replace(HOLD, hold_s=hold_s, repetitions=repetitions, position=position),
        QUICK,
        sets_a_day=len(apart),
        nudge_times=tuple(apart),
    )
    for step in (*up(before), *down(before)):
        after = taken(before, step)
        found = changes(before, after)
        assert {change.changed for change in found} <= OF_RUNG[step.rung]
        assert found
        assert len(after.nudge_times) == after.sets_a_day
        assert len(step.name) <= 12 or step.rung is Rung.POSITION
