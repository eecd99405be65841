"""The summary of a client in words: what a therapist takes to the review."""

from dataclasses import replace
from pathlib import Path

import pytest

from bot.domain.adherence import Cover
from bot.domain.stretches import Of, Work, courses, stretches, weeks
from bot.domain.symptoms import Verdict
from bot.reports import documents, summary, summary_parts
from bot.reports.words import ENGLISH
from tests.fixtures import records
from tests.fixtures.records import about, record


def section(title: str, of: summary_parts.About | None = None) -> summary_parts.Section:
    """One part of the page."""
    page = summary.page(of or about(), ENGLISH)
    (found,) = (one for one in page.sections if one.title == title)
    return found


def test_the_whole_page_for_a_terminal() -> None:
    """The page was read through by eye and its counts worked out by hand; the slope is SciPy's."""
    page = (Path(__file__).parent / "summary_of_k7.txt").read_text(encoding="utf-8")
    assert summary.text(summary.page(about(), ENGLISH)) + "\n" == page


def test_stretches_and_their_contractions() -> None:
    """Worked by hand: a week has 3, 2, ?, 3, 0, 4, 3 of 3 sets, which is 14 to 17 of 21, 1 extra."""
    found = {stretch.of: stretch for stretch in stretches(record(), about().catalogue, about().figures)}
    assert list(found) == [Of.LAST_WEEK, Of.SINCE_VERSION, Of.WHOLE]
    last = found[Of.LAST_WEEK]
    assert (last.figures.done, last.figures.at_most, last.figures.prescribed, last.figures.extra) == (
        14,
        17,
        21,
        1,
    )
    assert (last.covered[Cover.ALL_SETS].at_least, last.covered[Cover.ANY_SET].at_most) == (4, 6)
    assert last.work == Work(21 * 18, 14 * 18, 17 * 18)  # 8 long holds and 10 quick ones in a set
    whole = found[Of.WHOLE].figures
    assert (whole.stopped_days, whole.paused_days, whole.days) == (2, 1, 39)


def test_a_review_begins_a_stretch_of_its_own() -> None:
    one = record()
    came = replace(one.visits[0], on=one.days[-10].on)
    found = stretches(replace(one, visits=(came,), reviews=()), about().catalogue, about().figures)
    assert [stretch.of for stretch in found] == [Of.LAST_WEEK, Of.SINCE_REVIEW, Of.SINCE_VERSION, Of.WHOLE]
    assert len(found[1].days) == 10


def test_weeks_end_yesterday_and_the_first_may_be_short() -> None:
    one = record()
    found = weeks(replace(one, days=one.days[3:]))
    assert [len(week.days) for week in found] == [4, 7, 7, 7, 7, 7]
    assert found[-1].days[-1] == one.days[-1]


def test_a_client_before_anything_happened() -> None:
    one = replace(
        record(),
        joined_on=None,
        versions=(),
        days=(),
        symptoms=(),
        alerts=(),
        notes=(),
        calls=(),
        visits=(),
        reviews=(),
    )
    page = summary.page(about(one), ENGLISH)
    assert "has not joined yet" in page.about
    assert [one.lines for one in page.sections] == [
        ("No prescription is in force.",),
        ("No whole day of a programme yet.",),
        ("No question was answered.",),
        ("None.",),
        ("Nothing is waiting.",),
        ("Nothing since the first version.",),
    ]
    assert documents.summary(about(one))["programme"] is None


def test_leaks_that_fall_are_told_with_their_share() -> None:
    (leaks,) = courses(record())
    assert leaks.since_baseline is not None
    assert leaks.since_baseline.verdict is Verdict.BETTER
    found = documents.summary(about())["symptoms"][0]
    assert found["weeks"][-2]["median"] is None  # the gap stays
    assert found["slope"]["low"] <= found["slope"]["a_week"] <= found["slope"]["high"] <= 0


@pytest.mark.parametrize("weeks_of", [1, 4])
def test_few_weeks_have_no_slope(weeks_of: int) -> None:
    table = section("Symptoms, weekly median", about(record(weeks_of))).table
    assert table is not None
    assert table.rows[0][-1] == "too few to tell"


def test_a_long_history_is_cut_and_says_so() -> None:
    full = about(records.crowded())
    assert section("Week by week", full).notes == ("The first 92 weeks are left out here.",)
    assert section("Alerts and what came of them", full).lines[-1] == "and 34 more"
    assert all(len(line) < 320 for one in summary.page(full, ENGLISH).sections for line in one.lines)
    assert len(documents.summary(full)["alerts"]) == 40


def test_a_discharge_shows_what_she_keeps_going_with() -> None:
    one = replace(about(), discharge=True)
    assert section("To keep going with", one).lines[0].startswith("No maintenance plan was given")
    kept = summary_parts.Maintenance(records.version(3, records.TODAY).prescription, records.TODAY, "GP")
    lines = section("To keep going with", replace(one, maintenance=kept)).lines
    assert lines[1] == "Pelvic-floor long hold: 8 x 8 s, rest 10 s, lying"
    assert lines[-1] == "Until Mon 30 Mar 2026; then a decision by GP."
    assert summary.page(one, ENGLISH).title == "Discharge summary"


def test_a_table_is_safe_to_open_in_a_spreadsheet() -> None:
    made = documents.table(("a", "b", "c"), [{"a": "=1+1", "b": None, "c": -2}])
    assert made == "a,b,c\r\n'=1+1,,-2\r\n"
