"""The digest as text: whole messages compared, then what must hold for any caseload."""

import re
from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from bot.domain.adherence import Day, adherence
from bot.domain.alerts import Outcome
from bot.domain.attention import Rank, Reason
from bot.domain.client_week import ClientWeek, ClosedAlert, OpenAlert, StoppedBy
from bot.domain.levels import Level
from bot.domain.trend import Trend
from bot.reports.digest import ONE_SCREEN, counts_text, digest_text, figures_text, leaks_text, length
from bot.reports.picture import CAPTION, picture_caption
from bot.reports.words import ENGLISH
from bot.rules.discretion import indiscreet
from tests.fixtures.weeks import ALERT, SIX, ago, client, day, days, digest, many, weekly

# Words a stranger must not read on a locked phone: the body, its complaints, its exercises.
BODY = re.compile(
    r"leak|bladder|bowel|pelvi|floor|vagin|prolaps|heav|pain|bleed|womb|birth|baby|pregnan|postnatal|muscle"
    r"|contract|squeeze|abdom|tummy|belly|diastas|stitch|tear|urin|wee\b|toilet|stool|wind\b|sex|loss"
    r"|physio|exercis|symptom|warning|emergency|sign\b|signs\b",
    re.IGNORECASE,
)
ON_A_LOCKED_PHONE = 160
PLATFORM_TEXT = 4096


def test_a_week_with_something_of_everything() -> None:
    assert digest_text(digest(*SIX)) == (
        "Mon 2 Mar to Sun 8 Mar 2026: 6 clients, 5 to look at, 1 steady.\n"
        "Most urgent first; sets done of sets due. "
        "Two figures: days without an answer as none, then as all.\n"
        "\n"
        "K7: 1 alert not seen yet (same day), for 30 hours. 13 to 19 of 21, answered 5 of 7 days; "
        "leaks 6, was 9.\n"
        "B2: programme stopped by an alert on Fri 6 Mar; leaks up (trend: rising); below the agreed plan. "
        "3 to 6 of 9, answered 2 of 3 days, 4 days stopped; leaks 6, was 4.\n"
        "M4: silent for 6 days; 1 note to read. 3 to 21 of 21, answered 1 of 7 days; "
        "leaks not answered, was 5.\n"
        "R9: leaks up (trend: rising); below the agreed plan. 11 of 21, answered 7 of 7 days; "
        "leaks 7 or more, was 4 to 6.\n"
        "T1: review on Thu 12 Mar. 12 of 12, answered 4 of 4 days, 2 days paused; leaks 0, was 1.\n"
        "\n"
        "1 steady: 27 of 28, answered 7 of 7 days."
    )


def test_the_counts_of_the_trade() -> None:
    """The form is "13 to 18 of 21, answered 5 of 7 days; leaks 6, was 9" (common practice, no source)."""
    due = (4, 3, 3, 3, 3, 3, 2)
    reported = (4, 3, 3, 3, 0, None, None)
    week = tuple(Day(day(n - 7), *counts) for n, counts in enumerate(zip(due, reported, strict=True)))
    one = replace(client("K7"), days=week, leaks=weekly(9, 6))
    (line,) = digest(one).lines
    assert counts_text(line, ENGLISH) == "13 to 18 of 21, answered 5 of 7 days; leaks 6, was 9"


def test_a_quiet_week_in_two_lines() -> None:
    assert digest_text(digest(client("A1"), client("A2", "33?3333"))) == (
        "Mon 2 Mar to Sun 8 Mar 2026: 2 clients, 0 to look at, 2 steady.\n"
        "All together: 39 to 42 of 42, answered 13 of 14 days."
    )


def test_closed_emergencies_are_named_and_kept_signs_listed() -> None:
    emergency = ClosedAlert(Level.EMERGENCY, day(-4), day(-3), Outcome.SPOKE)
    same_day = replace(emergency, level=Level.SAME_DAY)
    kept = (OpenAlert(Level.NEXT_REVIEW, ago(days=3)), OpenAlert(Level.NEXT_REVIEW, ago(days=2)))
    one = replace(client("A1"), closed=(emergency, same_day))
    assert digest_text(digest(one, replace(client("A2"), alerts=kept))).splitlines()[1:] == [
        "All together: 42 of 42, answered 14 of 14 days.",
        "Closed this week: A1 emergency of Thu 5 Mar (spoke to her).",
        "Kept for the next visit: A2 2 signs.",
    ]
    caseload = [replace(client(f"A{n}"), alerts=kept) for n in range(10, 30)]
    text = digest_text(digest(*SIX, *caseload))
    assert "A14 2 signs, A15 2 signs, and 14 more." in text.splitlines()[-1]


def test_nobody_enrolled() -> None:
    assert digest_text(digest()) == (
        "Mon 2 Mar to Sun 8 Mar 2026: 0 clients.\nNo client is enrolled, so there is nothing to report."
    )


@pytest.mark.parametrize(
    ("letters", "expected"),
    [
        ("3333332", "20 of 21, answered 7 of 7 days"),
        ("???????", "0 to 21 of 21, answered 0 of 7 days"),
        ("0000000", "0 of 21, answered 7 of 7 days"),
        ("5533333", "21 of 21, answered 7 of 7 days, 4 extra"),
        ("?", "0 to 3 of 3, answered 0 of 1 day"),
        ("", "nothing due"),
        ("-------", "nothing due"),
        ("ppppppp", "nothing due, 7 days paused"),
        (
            "ps33t3?",
            "9 to 12 of 12, answered 3 of 4 days, 1 day paused, 1 day stopped, 1 day skipped by travel",
        ),
    ],
)
def test_a_week_in_counts(letters: str, expected: str) -> None:
    assert figures_text(adherence(days(letters)), ENGLISH) == expected


@pytest.mark.parametrize(
    ("leaks", "expected"),
    [
        ((9, 6), "leaks 6, was 9"),
        ((6,), "leaks 6"),
        ((None, 6), "leaks 6"),
        ((9, None), "leaks not answered, was 9"),
        (((4, 6), (7, None)), "leaks 7 or more, was 4 to 6"),
        ((None, None), ""),
        ((), ""),
    ],
)
def test_leaks_in_counts(leaks: tuple[float | None, ...], expected: str) -> None:
    assert leaks_text(weekly(*leaks), ENGLISH) == expected


@pytest.mark.parametrize(
    ("one", "second_line_from_below"),
    [
        (client("P3", "ppppppp"), "All together: nothing due, 7 days paused."),
        (replace(client("E5", "-------"), plan_starts_on=day(2)), "All together: nothing due."),
        (replace(client("N1", "?"), joined_on=day(-1)), "All together: 0 to 3 of 3, answered 0 of 1 day."),
        (
            replace(client("N2", ""), joined_on=day(-1), plan_starts_on=None),
            "N2: no prescription yet, joined on Sun 8 Mar. Nothing due.",
        ),
        (
            replace(client("P4", "3333ppp"), paused_until_on=day(2), unread_notes=1),
            "P4: 1 note to read. 12 of 12, answered 4 of 4 days, 3 days paused; paused until Wed 11 Mar.",
        ),
        (
            replace(client("S1"), plan_starts_on=day(0), unread_notes=2, days=()),
            "S1: 2 notes to read. Nothing due; starts Mon 9 Mar.",
        ),
    ],
)
def test_a_client_alone(one: ClientWeek, second_line_from_below: str) -> None:
    assert digest_text(digest(one)).splitlines()[-1] == second_line_from_below


def test_each_reason_in_words() -> None:
    """Every sentence of every reason, as it reads in a line."""
    told = replace(
        client("Z", "0000000"),
        alerts=(
            OpenAlert(Level.EMERGENCY, ago(minutes=5), sensitive=True),
            OpenAlert(Level.THERAPIST, ago(days=5), True, ago(days=3)),
            OpenAlert(Level.SAME_DAY, ago(hours=1), True),
            OpenAlert(Level.NEXT_REVIEW, ago(days=2)),
        ),
        stopped_by=StoppedBy.LOSS,
        stopped_since_on=day(-1),
        calls_asked_at=(ago(hours=2), ago(days=2)),
        unreachable_since_on=day(-4),
        silent_days=0,
        leaks=weekly(1, 9),
        heaviness=weekly(2, 6),
        pain=weekly(1.5, 6),
        unread_notes=2,
        change_unseen_since_on=day(-3),
        review_on=day(-20),
        gates_ready=2,
        gate_lifts_on=day(1),
    )
    (line,) = digest(told).lines
    assert [ENGLISH.reason(why) for why in line.reasons] == [
        "1 alert not seen yet (emergency), for less than an hour",
        "sensitive: check that it is safe to call",
        "1 alert seen but not closed (same day), for 1 hour",
        "waiting for your decision for 3 days",
        "review overdue by 20 days",
        "programme stopped (sensitive) on Sun 8 Mar",
        "asked for a call 2 days ago",
        "messages have not reached her since Thu 5 Mar",
        "leaks up (trend: too few to tell)",
        "heaviness 6 of 10, was 2 (trend: too few to tell)",
        "pain 6 of 10, was 1.5 (trend: too few to tell)",
        "2 notes to read",
        "below the agreed plan",
        "has not looked at the change of Fri 6 Mar",
        "2 exercises ready for you to review",
        "a date limit ends on Tue 10 Mar",
        "1 sign kept for the next visit",
    ]
    text = digest_text(digest(told)).splitlines()[3]
    assert text == (
        "Z: 1 alert not seen yet (emergency), for less than an hour; "
        "sensitive: check that it is safe to call; "
        "1 alert seen but not closed (same day), for 1 hour; "
        "waiting for your decision for 3 days; 13 more. "
        "0 of 21, answered 7 of 7 days; leaks 9, was 1."
    )


def test_a_long_list_is_cut_and_says_so() -> None:
    pressing = [replace(one, alerts=(ALERT,)) for one in many(40)]
    text = digest_text(digest(*pressing))
    shown = [line for line in text.splitlines() if line.startswith("C")]
    assert f"and {40 - len(shown)} more, {40 - len(shown)} of them with an open alert" in text.splitlines()
    assert 0 < len(shown) < 40
    assert length(text) <= ONE_SCREEN


def test_four_hundred_clients_fit_on_one_screen() -> None:
    text = digest_text(digest(*many(400)))
    assert length(text) <= ONE_SCREEN
    listed = sum(line.rank.listed for line in digest(*many(400)).lines)
    shown = len(re.findall(r"^C\d+:", text, re.MULTILINE))
    assert f"and {listed - shown} more" in text.splitlines()
    assert shown >= 5
    assert text.startswith(f"Mon 2 Mar to Sun 8 Mar 2026: 400 clients, {listed} to look at, ")


def test_the_most_pressing_client_is_never_cut() -> None:
    (first, *_) = digest_text(digest(*SIX, *many(400))).splitlines()[3:]
    assert first.startswith("K7: 1 alert not seen yet")


def test_a_language_without_words_speaks_english() -> None:
    assert digest_text(digest(*SIX), "xx") == digest_text(digest(*SIX), "en")


def test_the_table_of_words_is_complete() -> None:
    assert set(ENGLISH.reasons) == set(ENGLISH.labels) == set(Reason)
    assert {*Level, *StoppedBy, *Trend, *Outcome} == set(ENGLISH.names)
    assert {rank for rank in Rank if not rank.listed} == set(ENGLISH.groups)


alerts = st.builds(OpenAlert, st.sampled_from(Level), st.integers(0, 400).map(lambda hours: ago(hours=hours)))
near = st.none() | st.integers(-40, 40).map(day)
weeks = st.lists(st.none() | st.integers(0, 20), max_size=9).map(lambda values: weekly(*values))
any_client = st.builds(
    lambda number, letters, changes: replace(client(f"K{number}", letters), **changes),
    st.integers(0, 999),
    st.text("0123?-pst", max_size=7),
    st.fixed_dictionaries(
        {
            "alerts": st.lists(alerts, max_size=2).map(tuple),
            "stopped_by": st.none() | st.sampled_from(StoppedBy),
            "plan_starts_on": near,
            "paused_until_on": near,
            "silent_days": st.integers(0, 30),
            "leaks": weeks,
            "pain": weeks,
            "review_on": near,
            "unread_notes": st.integers(0, 3),
            "gates_ready": st.integers(0, 2),
        }
    ),
)
caseloads = st.lists(any_client, max_size=15, unique_by=lambda one: one.code)


@given(caseloads)
def test_any_caseload_fits_and_is_discreet(clients: list[ClientWeek]) -> None:
    for text, limit in (
        (digest_text(digest(*clients)), ONE_SCREEN),
        (picture_caption(digest(*clients)), CAPTION),
    ):
        assert 0 < length(text) <= limit < PLATFORM_TEXT
        assert BODY.search(text[:ON_A_LOCKED_PHONE]) is None
        assert "None" not in text
        assert "{" not in text


@given(caseloads)
def test_the_same_week_reads_the_same(clients: list[ClientWeek]) -> None:
    assert digest_text(digest(*clients)) == digest_text(digest(*clients[::-1]))


def test_one_client_is_still_covered_on_a_lock_screen() -> None:
    """The shortest opening there is: her reason begins beyond what a locked telephone shows."""
    for one in SIX:
        assert indiscreet(digest_text(digest(one))) == ()
