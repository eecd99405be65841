"""The dose: what sets add up to, the published floor, and a first dose from findings."""

import datetime as dt
from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from bot.domain import dose
from bot.domain.dose import Amount, DoseNote, FloorCounts, NoDose, NotProposed, Proposal
from bot.domain.findings import Assessed, Finding, Perfect, Tone
from bot.domain.prescription import Adjunct, Contractions, Position
from tests.fixtures.plans import RULES, START, holds, plan

FIGURES = RULES.figures


def adds_up(*contractions: Contractions, **changed: object) -> dose.Dose:
    return dose.dose(plan(*contractions, **changed), RULES.catalogue, FIGURES)


def quick(repetitions: int, rest_s: int = 1) -> Contractions:
    return Contractions("pelvic-floor-quick", repetitions, 1, rest_s, Position.LYING)


def test_the_published_floor() -> None:
    """NICE NG123 (2019), from memory and as pharmacy pages report it: 8 contractions, 3 times a day."""
    floor = adds_up(holds(8, 5, 5)).floor
    assert floor is not None
    assert (floor.floor, floor.counted, floor.is_met) == (24, 24, True)
    assert "NICE NG123" in floor.source
    assert adds_up(holds(8, 5, 5)).a_week.contractions == 168
    assert 12 * adds_up(holds(8, 5, 5)).a_week.contractions == 2016


@pytest.mark.parametrize(
    ("repetitions", "hold_s", "rest_s", "set_s", "day_s"),
    [
        # Trials 2019, doi 10.1186/s13063-019-3331-6, table 1 (read): 8-12 holds of 6-8 s, rest twice that.
        (8, 6, 12, 132, 396),
        (12, 8, 16, 272, 816),
        # Continence Foundation of Australia, as a magazine quotes it (read): 12 x 8 s, rest 8 s.
        (12, 8, 8, 184, 552),
        # The PERFECT scheme's tops and its least values, 4 s of rest (from memory): none after the last.
        (10, 10, 4, 136, 408),
        (1, 1, 4, 1, 3),
    ],
)
def test_how_long_a_set_takes(repetitions: int, hold_s: int, rest_s: int, set_s: int, day_s: int) -> None:
    """The arithmetic is ours: holds, and the rests between them."""
    whole = adds_up(holds(repetitions, hold_s, rest_s))
    assert (whole.a_set.sets_s, whole.a_day.sets_s) == (set_s, day_s)
    assert whole.a_day.held_s == 3 * repetitions * hold_s


def test_a_session_of_the_perfect_scheme() -> None:
    """P3 E5 R4 F7, three sessions a day, constructed from the scheme's definition (from memory)."""
    whole = adds_up(holds(4, 5, 4), quick(7), pause_s=60)
    assert (whole.a_set.long, whole.a_set.quick, whole.a_set.contractions) == (4, 7, 11)
    assert whole.a_day.contractions == 33
    assert (whole.a_set.held_s, whole.a_day.held_s) == (20, 60)
    assert whole.a_set.under_tension_s == 27
    assert whole.a_set.sets_s == 32 + 60 + (7 + 6)


def test_which_contractions_count_is_a_setting() -> None:
    """Long ones alone 12 < 24, with quick ones 33 >= 24; NICE does not say which it means."""
    prescription = plan(holds(4, 5, 4), quick(7))
    long = dose.dose(prescription, RULES.catalogue, FIGURES).floor
    both = dose.dose(prescription, RULES.catalogue, replace(FIGURES, floor_counts=FloorCounts.ALL)).floor
    assert long
    assert both
    assert (long.counted, long.is_met) == (12, False)
    assert (both.counted, both.is_met) == (33, True)


def test_six_small_sessions() -> None:
    """P2 E2 R3 F4, six sessions a day, by the same definition (from memory)."""
    whole = adds_up(holds(3, 2, 4), quick(4), sets_a_day=6)
    assert whole.a_set.contractions == 7
    assert whole.a_day.contractions == 42
    assert whole.a_day.floor_long == 18
    assert adds_up(holds(3, 2, 4)).a_set.sets_s == 14


def test_as_many_as_fit_in_ten_seconds_take_ten_seconds() -> None:
    """They are not one-second squeezes: no hold is counted for them (common practice, no source)."""
    many = Contractions("pelvic-floor-quick-in-10-s", 9, 1, 0, Position.SITTING)
    assert adds_up(many).a_set == Amount(quick=9, sets_s=10, floor_quick=9)
    assert adds_up(quick(9)).a_set == Amount(quick=9, quick_s=9, sets_s=17, floor_quick=9)


def test_breathing_takes_time_and_is_no_contraction() -> None:
    whole = adds_up(Contractions("breathing", 10, 4, 4, Position.LYING))
    assert whole.a_set == Amount(sets_s=76)
    assert whole.floor is None


def test_other_muscles_do_not_count_towards_the_floor() -> None:
    whole = adds_up(holds(10, 8, 8, "deep-abdominal-hold"), holds(2, 5, 5))
    assert (whole.a_day.long, whole.a_day.floor_long) == (36, 6)


def test_an_exercise_that_left_the_catalogue_still_adds_up() -> None:
    assert adds_up(holds(5, 4, 4, "gone")).a_set == Amount(long=5, held_s=20, sets_s=36)


def test_days_off_and_exercises_on_some_days() -> None:
    """Five days of 8 holds; on two of them 4 more of another exercise."""
    some = replace(holds(4, 5, 5, "both-together"), days=frozenset({0, 2}))
    whole = adds_up(holds(8, 5, 5), some, days=frozenset(range(5)))
    assert [day.contractions for day in whole.by_weekday] == [36, 24, 36, 24, 24, 0, 0]
    assert (whole.a_set.contractions, whole.a_day.contractions) == (12, 36)
    assert whole.a_week.contractions == 144


def test_adjuncts_take_time_of_their_own() -> None:
    """Twelve repetitions of 4 s (common practice, no source), five minutes twice, a done tap for free."""
    adjuncts = (
        Adjunct("bridge-ball-squeeze", Position.LYING, repetitions=12),
        Adjunct("scar-massage", Position.LYING, times_a_day=2, minutes=5),
        Adjunct("plank", Position.FOUR_POINT, repetitions=3, hold_s=20, days=frozenset({6})),
        Adjunct("urge-suppression", Position.STANDING),
    )
    whole = adds_up(holds(8, 5, 5), adjuncts=adjuncts)
    assert whole.by_weekday[0].adjuncts_s == 48 + 600
    assert whole.by_weekday[6].adjuncts_s == 48 + 600 + 60
    assert whole.a_day.contractions == 24


@given(st.integers(1, 30), st.integers(1, 10), st.integers(0, 60), st.integers(1, 8))
def test_a_week_is_seven_days_of_sets(repetitions: int, hold_s: int, rest_s: int, sets: int) -> None:
    whole = adds_up(holds(repetitions, hold_s, rest_s), sets_a_day=sets)
    assert whole.a_week.contractions == 7 * sets * repetitions
    assert whole.a_week == whole.a_set * (7 * sets)
    assert whole.a_set.sets_s - whole.a_set.held_s == rest_s * (repetitions - 1)


# A first dose

SOUND = Finding(
    START,
    contraction=Assessed.YES,
    full_release=Assessed.YES,
    how="finger assessment",
    tone=Tone.NORMAL,
    pain_on_contraction=False,
    perfect=Perfect(3, 5, 4, 7),
)


def proposed(*findings: Finding, on: dt.date = START) -> Proposal | NotProposed:
    return dose.propose(findings, on, FIGURES)


def test_a_first_dose_from_findings() -> None:
    """E seconds R times with 4 s between, a minute, then F quick ones: Laycock & Jerwood 2001, from memory.

    Lying first, and three sets a day: common practice, no source.
    """
    made = proposed(SOUND)
    assert made == Proposal(
        contractions=(
            Contractions("pelvic-floor-long-hold", 4, 5, 4, Position.LYING),
            Contractions("pelvic-floor-quick", 7, 1, 1, Position.LYING),
        ),
        pause_s=60,
        sets_a_day=3,
        perfect=Perfect(3, 5, 4, 7),
        found_on=START,
        notes=(),
    )
    whole = adds_up(*made.contractions, pause_s=made.pause_s)
    assert (whole.a_set.contractions, whole.a_day.contractions) == (11, 33)


@pytest.mark.parametrize(
    ("finding", "reasons"),
    [
        (replace(SOUND, contraction=None), [NoDose.CONTRACTION_NOT_CONFIRMED]),
        (replace(SOUND, contraction=Assessed.NO), [NoDose.CONTRACTION_NOT_CONFIRMED]),
        (replace(SOUND, contraction=Assessed.NOT_ASSESSED), [NoDose.CONTRACTION_NOT_CONFIRMED]),
        (replace(SOUND, full_release=Assessed.NO), [NoDose.RELEASE_NOT_FULL]),
        (replace(SOUND, perfect=None), [NoDose.NO_VALUES]),
        (replace(SOUND, perfect=Perfect(0, 0, 0, 0)), [NoDose.TOO_WEAK]),
        (replace(SOUND, perfect=Perfect(1, 2, 2, 2)), [NoDose.TOO_WEAK]),
        (replace(SOUND, perfect=Perfect(2, 0, 3, 5)), [NoDose.NOTHING_TO_REPEAT]),
        (replace(SOUND, tone=Tone.RAISED), [NoDose.RAISED_TONE]),
        (replace(SOUND, pain_on_contraction=True), [NoDose.PAIN_ON_CONTRACTION]),
        (Finding(START), [NoDose.CONTRACTION_NOT_CONFIRMED, NoDose.NO_VALUES]),
        (
            replace(SOUND, contraction=Assessed.NO, tone=Tone.RAISED, pain_on_contraction=True),
            [NoDose.CONTRACTION_NOT_CONFIRMED, NoDose.RAISED_TONE, NoDose.PAIN_ON_CONTRACTION],
        ),
    ],
)
def test_no_dose_is_proposed_and_every_reason_is_named(finding: Finding, reasons: list[NoDose]) -> None:
    """Not confirmed, strength 0 or 1, raised tone, pain on contraction: common practice, no source."""
    assert proposed(finding) == NotProposed(tuple(reasons))


def test_no_findings_no_dose() -> None:
    assert proposed() == NotProposed((NoDose.CONTRACTION_NOT_CONFIRMED, NoDose.NO_VALUES))
    assert isinstance(proposed(SOUND, on=START - dt.timedelta(days=1)), NotProposed)


def test_grade_2_is_enough_and_goes_lying() -> None:
    """Early work of weak muscles is done without gravity (from memory)."""
    made = proposed(replace(SOUND, perfect=Perfect(2, 2, 3, 4)))
    assert isinstance(made, Proposal)
    assert {one.position for one in made.contractions} == {Position.LYING}


@pytest.mark.parametrize(
    ("finding", "on", "note"),
    [
        (replace(SOUND, full_release=Assessed.NOT_ASSESSED), START, DoseNote.RELEASE_NOT_ASSESSED),
        (replace(SOUND, tone=None), START, DoseNote.TONE_NOT_RECORDED),
        (SOUND, START + dt.timedelta(days=43), DoseNote.OLD_VALUES),
        (replace(SOUND, perfect=Perfect(3, 5, 4, 0)), START, DoseNote.NO_QUICK),
    ],
)
def test_what_is_noted_beside_a_dose(finding: Finding, on: dt.date, note: DoseNote) -> None:
    made = proposed(finding, on=on)
    assert isinstance(made, Proposal)
    assert made.notes == (note,)


def test_without_quick_ones_there_is_nothing_to_pause_for() -> None:
    made = proposed(replace(SOUND, perfect=Perfect(3, 5, 4, 0)))
    assert isinstance(made, Proposal)
    assert ([one.exercise for one in made.contractions], made.pause_s) == (["pelvic-floor-long-hold"], 0)


@given(st.integers(2, 5), st.integers(1, 10), st.integers(1, 10), st.integers(0, 10))
def test_a_proposed_hold_is_never_over_ten_seconds(power: int, hold_s: int, times: int, fast: int) -> None:
    """Ten seconds is a ceiling, not a target (common practice, no source)."""
    made = proposed(replace(SOUND, perfect=Perfect(power, hold_s, times, fast)))
    assert isinstance(made, Proposal)
    assert all(one.hold_s <= 10 and one.repetitions <= 10 for one in made.contractions)
    assert made.contractions[0].hold_s == hold_s


def test_the_exercises_of_a_first_dose_are_in_the_catalogue() -> None:
    assert {dose.LONG_HOLD, dose.QUICK} <= RULES.catalogue.exercises.keys()
