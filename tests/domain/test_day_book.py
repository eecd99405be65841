"""A day's total from what was reported, in any order, with undo."""

import datetime as dt
import random

from hypothesis import given
from hypothesis import strategies as st

from bot.domain.day_book import Meaning, SetReport, fold

DAY = dt.date(2026, 3, 2)


def report(minute: int, meaning: Meaning, value: int = 0, key: str = "", undoes: str = "") -> SetReport:
    said = dt.datetime(2026, 3, 2, 9, tzinfo=dt.UTC) + dt.timedelta(minutes=minute)
    return SetReport(DAY, meaning, value, said, key or f"k{minute}", undoes)


def test_totals_replace_and_additions_add() -> None:
    book = fold([report(1, Meaning.ADDED, 1), report(2, Meaning.TOTAL, 2), report(3, Meaning.ADDED, 1)])
    assert book.totals == {DAY: 3}


def test_none_is_a_report_and_silence_is_not() -> None:
    assert fold([report(1, Meaning.NONE)]).totals == {DAY: 0}
    assert fold([]).totals == {}


def test_no_more_today_keeps_what_was_booked() -> None:
    """It is a zero only if nothing was."""
    kept = fold([report(1, Meaning.ADDED, 2), report(2, Meaning.CLOSED)])
    assert kept.totals == {DAY: 2}
    assert kept.closed == frozenset({DAY})
    assert fold([report(1, Meaning.CLOSED)]).totals == {DAY: 0}


def test_undo_leaves_what_was_there_before() -> None:
    reports = [report(1, Meaning.TOTAL, 2, "a"), report(2, Meaning.TOTAL, 3, "b")]
    assert fold([*reports, report(3, Meaning.UNDONE, 0, "c", "b")]).totals == {DAY: 2}
    assert fold([*reports[:1], report(3, Meaning.UNDONE, 0, "c", "a")]).totals == {}


@given(
    st.lists(
        st.tuples(st.sampled_from([Meaning.TOTAL, Meaning.ADDED, Meaning.NONE]), st.integers(0, 8)),
        max_size=12,
    ),
    st.randoms(use_true_random=False),
)
def test_the_order_of_arrival_does_not_matter(said: list[tuple[Meaning, int]], order: random.Random) -> None:
    """Presses and texts overtake each other; the totals go by when things were said."""
    reports = [report(minute, meaning, value) for minute, (meaning, value) in enumerate(said)]
    shuffled = list(reports)
    order.shuffle(shuffled)
    assert fold(shuffled) == fold(reports)
