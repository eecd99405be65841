"""Adherence: worked examples with their sources, then what must hold for any week."""

import datetime as dt
import random
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from bot.domain.adherence import (
    THRESHOLD,
    Cover,
    Day,
    DayState,
    Standing,
    adherence,
    compare,
    days_covered,
    standing,
    together,
)
from bot.errors import RefusedError

MONDAY = dt.date(2026, 3, 2)


def week(*counts: tuple[int, int | None] | tuple[int, int | None, DayState]) -> list[Day]:
    """Days in a row: (prescribed, reported) or (prescribed, reported, state)."""
    return [Day(MONDAY + dt.timedelta(days=n), *count) for n, count in enumerate(counts)]


def percent(share: Fraction | None) -> float:
    assert share is not None
    return round(float(share) * 100, 1)


def test_bounds_of_a_half_answered_week() -> None:
    """21 prescribed, 13 done, 3 said no, 5 unreported: 61.9 % to 85.7 %, 81.3 % on answered days.

    Worked by hand from the worst-case and best-case rule of Manski 2005 (Int J Approx Reason 39:151; read).
    """
    figures = adherence(week((4, 4), (4, 4), (4, 4), (4, 1), (3, None), (2, None)))
    assert (figures.prescribed, figures.done, figures.unknown) == (21, 13, 5)
    assert (figures.lower, figures.upper) == (Fraction(13, 21), Fraction(18, 21))
    assert (percent(figures.lower), percent(figures.upper)) == (61.9, 85.7)
    assert figures.upper is not None
    assert figures.lower is not None
    assert percent(figures.upper - figures.lower) == 23.8
    assert figures.on_answered == Fraction(13, 16)
    assert figures.answered_share == Fraction(4, 6)
    assert compare(figures) is Standing.CANNOT_TELL


def test_three_views_of_one_week() -> None:
    """3, 3, 3, 3, 2, 2, 1 of 3: 17/21 sets = 81.0 %, 4/7 days in full = 57.1 %, 7/7 days with any set.

    Worked by hand from the definitions; no source.
    """
    days = week((3, 3), (3, 3), (3, 3), (3, 3), (3, 2), (3, 2), (3, 1))
    figures = adherence(days)
    assert (figures.done, figures.prescribed, percent(figures.lower)) == (17, 21, 81.0)
    in_full = days_covered(days, Cover.ALL_SETS)
    assert (in_full.at_least, in_full.at_most, in_full.days, percent(in_full.lower)) == (4, 4, 7, 57.1)
    assert days_covered(days, Cover.ANY_SET).lower == 1


def test_extra_sets_never_cover_missed_ones() -> None:
    """5, 3, 3, 0, 3, 3, 0 of 3: 17 reported, 15/21 = 71.4 % when each day is capped (worked by hand)."""
    figures = adherence(week((3, 5), (3, 3), (3, 3), (3, 0), (3, 3), (3, 3), (3, 0)))
    assert (figures.done, figures.extra, figures.prescribed) == (15, 2, 21)
    assert percent(figures.lower) == 71.4
    assert figures.answered_days == 7


@pytest.mark.parametrize(
    ("covered", "days", "share", "stands"),
    [
        (24, 30, 80.0, Standing.ABOVE),
        (11, 14, 78.6, Standing.BELOW),
        (12, 14, 85.7, Standing.ABOVE),
        (5, 7, 71.4, Standing.BELOW),
        (6, 7, 85.7, Standing.ABOVE),
    ],
)
def test_the_threshold_is_compared_in_whole_numbers(
    covered: int, days: int, share: float, stands: Standing
) -> None:
    """80 % is the Pharmacy Quality Alliance's threshold for medicines (read); the cases are arithmetic."""
    assert percent(Fraction(covered, days)) == share
    assert standing(covered, covered, days) is stands
    assert percent(THRESHOLD) == 80.0


def test_another_threshold() -> None:
    """90 % is used for antiretrovirals by the Pharmacy Quality Alliance (read)."""
    assert standing(9, 9, 10, Fraction(9, 10)) is Standing.ABOVE
    assert standing(24, 24, 30, Fraction(9, 10)) is Standing.BELOW


def fills(*starts: str, until: str) -> list[Day]:
    """Days from the first start until `until`, covered for 90 days from each start."""
    begins = [dt.date.fromisoformat(start) for start in starts]
    covered = {begin + dt.timedelta(days=n) for begin in begins for n in range(90)}
    length = (dt.date.fromisoformat(until) - begins[0]).days + 1
    period = [begins[0] + dt.timedelta(days=n) for n in range(length)]
    return [Day(on, 1, int(on in covered)) for on in period]


@pytest.mark.parametrize(
    ("starts", "covered", "days", "share"),
    [
        (("2018-01-01", "2018-04-01", "2018-07-05", "2018-10-15"), 348, 365, 95.3),
        (("2018-03-25", "2018-07-05", "2018-10-03"), 270, 282, 95.7),
    ],
)
def test_proportion_of_days_covered(starts: tuple[str, ...], covered: int, days: int, share: float) -> None:
    """The Pharmacy Quality Alliance's own example of 90-day fills in 2018 (dates read).

    The early refills are given on the dates they are moved to, since our rule moves nothing.
    """
    got = days_covered(fills(*starts, until="2018-12-31"), Cover.ALL_SETS)
    assert (got.at_least, got.days, percent(got.lower)) == (covered, days, share)


def test_exercise_is_not_banked() -> None:
    """The same example with the refill where it was made: the overlap is lost, as it is for exercise.

    Worked by hand: 25 March is a week before the first 90 days end, so 7 days fewer are covered.
    """
    days = fills("2018-01-01", "2018-03-25", "2018-07-05", "2018-10-15", until="2018-12-31")
    assert days_covered(days, Cover.ALL_SETS).at_least == 348 - 7


def test_pauses_stops_and_travel_are_outside_and_shown_apart() -> None:
    figures = adherence(
        week(
            (3, 3),
            (3, None, DayState.PAUSED),
            (3, 1, DayState.STOPPED),
            (0, None, DayState.TRAVEL),
            (0, None),
            (0, 2),
            (3, None),
        )
    )
    assert (figures.prescribed, figures.done, figures.days, figures.answered_days) == (6, 3, 2, 1)
    assert (figures.paused_days, figures.stopped_days, figures.travel_days, figures.free_days) == (1, 1, 1, 2)
    assert figures.extra == 3


@pytest.mark.parametrize("days", [[], week((0, None)), week((3, 2, DayState.PAUSED))])
def test_nothing_due_gives_no_share(days: list[Day]) -> None:
    figures = adherence(days)
    assert (figures.lower, figures.upper, figures.on_answered, figures.answered_share) == (None,) * 4
    assert compare(figures) is Standing.CANNOT_TELL
    assert days_covered(days, Cover.ANY_SET).lower is None


def test_no_answer_at_all() -> None:
    figures = adherence(week((3, None), (3, None)))
    assert (figures.lower, figures.upper, figures.answered_share) == (Fraction(0), Fraction(1), Fraction(0))
    assert figures.on_answered is None


def test_a_count_below_zero_is_refused() -> None:
    with pytest.raises(RefusedError, match=r"^2026-03-02: a count of sets cannot be below 0\.$"):
        Day(MONDAY, 3, -1)


def test_every_doubled_date_is_named() -> None:
    days = [Day(MONDAY, 3, 1), Day(MONDAY, 3, 2)]
    with pytest.raises(RefusedError) as refusal:
        adherence(days)
    assert refusal.value.faults == ("2026-03-02: given twice; a local date is one diary day.",)
    with pytest.raises(RefusedError):
        days_covered(days, Cover.ANY_SET)


any_day = st.tuples(
    st.integers(0, 6),
    st.none() | st.integers(0, 12),
    st.sampled_from(DayState),
)
any_days = st.lists(any_day, max_size=40).map(lambda counts: week(*counts))
thresholds = st.fractions(0, 1)


@given(any_days)
def test_the_bounds_hold(days: list[Day]) -> None:
    figures = adherence(days)
    assert 0 <= figures.done <= figures.at_most <= figures.prescribed
    assert figures.done + figures.extra == sum(day.reported or 0 for day in days)
    assert 0 <= figures.answered_days <= figures.days
    apart = figures.paused_days + figures.stopped_days + figures.travel_days + figures.free_days
    assert figures.days + apart == len(days)
    if figures.lower is not None and figures.upper is not None:
        unknown_share = Fraction(figures.unknown, figures.prescribed)
        assert figures.upper - figures.lower == unknown_share
        if figures.on_answered is not None:
            assert figures.lower == figures.on_answered * (1 - unknown_share)
            assert figures.lower <= figures.on_answered <= figures.upper


@given(any_days, st.data())
def test_reporting_more_never_lowers(days: list[Day], data: st.DataObject) -> None:
    more = [
        Day(day.on, day.prescribed, day.reported + data.draw(st.integers(0, 5)), day.state)
        if day.reported is not None
        else day
        for day in days
    ]
    before, after = adherence(days), adherence(more)
    assert after.done >= before.done
    assert after.at_most >= before.at_most


@given(any_days, st.data())
def test_whatever_an_unanswered_day_turns_out_to_be_lies_within_the_bounds(
    days: list[Day], data: st.DataObject
) -> None:
    answered = [
        Day(day.on, day.prescribed, data.draw(st.integers(0, 12)), day.state) if day.reported is None else day
        for day in days
    ]
    before, after = adherence(days), adherence(answered)
    assert before.done <= after.done == after.at_most <= before.at_most


@given(any_days, thresholds, st.data())
def test_a_verdict_survives_the_answers_that_were_missing(
    days: list[Day], threshold: Fraction, data: st.DataObject
) -> None:
    verdict = compare(adherence(days), threshold)
    answered = [
        Day(day.on, day.prescribed, data.draw(st.integers(0, 12)), day.state) if day.reported is None else day
        for day in days
    ]
    if verdict is not Standing.CANNOT_TELL:
        assert compare(adherence(answered), threshold) is verdict


@given(any_days)
def test_all_sets_is_the_stricter_cover(days: list[Day]) -> None:
    strict, loose = (days_covered(days, cover) for cover in (Cover.ALL_SETS, Cover.ANY_SET))
    assert strict.at_least <= loose.at_least <= loose.days
    assert strict.at_most <= loose.at_most <= loose.days


@given(any_days, st.integers(0, 40))
def test_parts_add_up(days: list[Day], cut: int) -> None:
    assert together([adherence(days[:cut]), adherence(days[cut:])]) == adherence(days)


@given(any_days, st.randoms())
def test_the_order_of_days_does_not_matter(days: list[Day], shuffle: random.Random) -> None:
    shuffled = list(days)
    shuffle.shuffle(shuffled)
    assert adherence(shuffled) == adherence(days)


@pytest.mark.parametrize(
    ("fills", "covered", "days"),
    [
        # Measure data of the Pharmacy Quality Alliance (dates read; fills of 90 days in 2018). The early
        # refills stand where the measure moved them: 25 March to 1 April, 25 September to 3 October.
        (((1, 1), (4, 1), (7, 5), (10, 15)), 348, 365),
        (((3, 25), (7, 5), (10, 3)), 270, 282),
    ],
)
def test_days_covered_as_the_measure_counts_them(
    fills: tuple[tuple[int, int], ...], covered: int, days: int
) -> None:
    last_on = dt.date(2018, 12, 31)
    starts = [dt.date(2018, *fill) for fill in fills]
    window = [starts[0] + dt.timedelta(days=n) for n in range((last_on - starts[0]).days + 1)]
    week = [Day(on, 1, int(any(0 <= (on - start).days < 90 for start in starts))) for on in window]
    found = days_covered(week, Cover.ALL_SETS)
    assert (found.at_least, found.at_most, found.days) == (covered, covered, days)
