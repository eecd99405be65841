"""The order of attention: each rule on both sides of its limit, then the order as a whole."""

import datetime as dt
from dataclasses import replace
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from bot.domain.adherence import adherence
from bot.domain.attention import RULES, Found, Limits, Line, Rank, Reason, Rule, Why, order
from bot.domain.client_week import ClientWeek, OpenAlert, StoppedBy
from bot.domain.levels import Level
from bot.domain.trend import Trend
from tests.fixtures.weeks import ALERT, NOW, SIX, TODAY, ago, client, day, many, weekly

STEADY = client("A1")


def placed(one: ClientWeek, limits: Limits | None = None) -> Line:
    (line,) = order([one], NOW, limits)
    return line


def reasons(one: ClientWeek, limits: Limits | None = None) -> list[Reason]:
    return [why.reason for why in placed(one, limits).reasons]


def test_a_full_week_is_steady_and_has_no_reasons() -> None:
    assert placed(STEADY) == Line(STEADY, adherence(STEADY.days), Rank.STEADY, ())


@pytest.mark.parametrize(
    ("one", "rank", "told"),
    [
        (replace(STEADY, alerts=(ALERT,)), Rank.ALERT, [Reason.ALERT_UNSEEN]),
        (replace(STEADY, alerts=(replace(ALERT, seen=True),)), Rank.ALERT, [Reason.ALERT_OPEN]),
        (
            replace(STEADY, alerts=(OpenAlert(Level.THERAPIST, ago(days=3), True, ago(days=2)),)),
            Rank.ALERT,
            [Reason.ALERT_UNDECIDED],
        ),
        (
            replace(STEADY, alerts=(replace(ALERT, sensitive=True),)),
            Rank.ALERT,
            [Reason.ALERT_UNSEEN, Reason.ALERT_SENSITIVE],
        ),
        # What is kept for the next visit pings nobody.
        (
            replace(STEADY, alerts=(OpenAlert(Level.NEXT_REVIEW, ago(days=3)),)),
            Rank.STEADY,
            [Reason.SIGNS_FOR_REVIEW],
        ),
        (replace(STEADY, review_on=day(-14)), Rank.REVIEW_LONG_OVERDUE, [Reason.REVIEW_LONG_OVERDUE]),
        (replace(STEADY, review_on=day(-13)), Rank.REVIEW, [Reason.REVIEW_OVERDUE]),
        (replace(STEADY, review_on=day(-1)), Rank.REVIEW, [Reason.REVIEW_OVERDUE]),
        (replace(STEADY, review_on=day(0)), Rank.REVIEW, [Reason.REVIEW_DUE]),
        (replace(STEADY, review_on=day(6)), Rank.REVIEW, [Reason.REVIEW_DUE]),
        (replace(STEADY, review_on=day(7)), Rank.STEADY, []),
        (
            replace(STEADY, stopped_by=StoppedBy.WARNING, stopped_since_on=day(-2)),
            Rank.STOPPED,
            [Reason.STOPPED],
        ),
        (replace(STEADY, calls_asked_at=(ago(hours=5),)), Rank.CALL_ASKED, [Reason.CALL_ASKED]),
        (replace(STEADY, unreachable_since_on=day(-1)), Rank.UNREACHABLE, [Reason.UNREACHABLE]),
        (
            replace(client("A1", "33?????"), silent_days=5),
            Rank.SILENT,
            [Reason.SILENT, Reason.TOO_FEW_ANSWERS],
        ),
        (replace(client("A1", "33?????"), silent_days=4), Rank.TOO_FEW_ANSWERS, [Reason.TOO_FEW_ANSWERS]),
        # Nobody asked her for anything, so her silence says nothing.
        (
            replace(client("A1", "ppppppp"), silent_days=9),
            Rank.PAUSED,
            [Reason.PAUSED, Reason.NOTHING_DUE],
        ),
        (replace(STEADY, unread_notes=2), Rank.NOTES, [Reason.NOTES]),
        (client("A1", "3322222"), Rank.BELOW, [Reason.BELOW]),
        (client("A1", "3333222"), Rank.STEADY, []),
        (replace(STEADY, change_unseen_since_on=day(-2)), Rank.CHANGE_UNSEEN, [Reason.CHANGE_UNSEEN]),
        (replace(STEADY, change_unseen_since_on=day(-1)), Rank.STEADY, []),
        (
            replace(client("A1", ""), plan_starts_on=None, joined_on=day(-1)),
            Rank.NO_PLAN,
            [Reason.NO_PLAN, Reason.NOTHING_DUE],
        ),
        (replace(STEADY, gates_ready=1), Rank.REVIEW, [Reason.GATE_READY]),
        (replace(STEADY, gate_lifts_on=day(6)), Rank.REVIEW, [Reason.GATE_LIFTS]),
        (replace(STEADY, gate_lifts_on=day(7)), Rank.STEADY, []),
        (replace(STEADY, gate_lifts_on=day(-1)), Rank.STEADY, []),
        (replace(STEADY, paused_until_on=day(2)), Rank.PAUSED, [Reason.PAUSED]),
        (client("A1", "-------"), Rank.NOTHING_DUE, [Reason.NOTHING_DUE]),
        # Enrolled yesterday, no answer yet.
        (replace(client("A1", "?"), joined_on=day(-1)), Rank.TOO_FEW_ANSWERS, [Reason.TOO_FEW_ANSWERS]),
    ],
)
def test_where_a_client_stands(one: ClientWeek, rank: Rank, told: list[Reason]) -> None:
    line = placed(one)
    assert (line.rank, [why.reason for why in line.reasons]) == (rank, told)


@pytest.mark.parametrize(
    ("leaks", "listed"),
    [
        ((3, 5), True),
        ((3, 4), False),
        ((9, 6), False),
        (((1, 3), (4, 6)), True),
        (((1, 4), (3, 6)), False),
        ((0, (1, 3)), True),
        ((5, (7, None)), True),
        (((7, None), 40), False),
        ((None, 40), False),
        ((3, None), False),
        ((40,), False),
        ((1, 2, 3, 4, 5), True),
        ((5, 4, 3, 2, 1), False),
    ],
)
def test_leaks_that_went_up(leaks: tuple[float, ...], listed: bool) -> None:
    """Surely higher than last week by two or more, or rising over at least five weeks."""
    assert (Reason.LEAKS_UP in reasons(replace(STEADY, leaks=weekly(*leaks)))) is listed


def test_a_rise_says_from_what_to_what_and_whether_it_is_a_trend() -> None:
    worse = replace(STEADY, leaks=weekly(1, 4), heaviness=weekly(2, 4), pain=weekly(5, 6.5))
    assert placed(worse).reasons == (
        Why(
            Reason.LEAKS_UP,
            (("now", weekly(4)[0]), ("was", weekly(1)[0]), ("trend", Trend.TOO_FEW)),
        ),
        Why(
            Reason.HEAVINESS_UP,
            (("now", weekly(4)[0]), ("was", weekly(2)[0]), ("trend", Trend.TOO_FEW)),
        ),
    )


def test_an_alert_tells_how_many_the_highest_level_and_the_oldest_age() -> None:
    alerts = (OpenAlert(Level.THERAPIST, ago(days=2)), OpenAlert(Level.EMERGENCY, ago(hours=1)))
    assert placed(replace(STEADY, alerts=alerts)).reasons == (
        Why(
            Reason.ALERT_UNSEEN,
            (("alerts", 2), ("level", Level.EMERGENCY), ("age", dt.timedelta(days=2))),
        ),
    )


def test_the_whole_order() -> None:
    """Most pressing first, whatever order they come in."""
    assert [line.code for line in order(SIX, NOW)] == ["K7", "B2", "M4", "R9", "T1", "W5"]
    assert order(SIX, NOW) == order(SIX[::-1], NOW)


def test_ties_by_urgency_then_by_how_long_then_by_code() -> None:
    def with_alert(code: str, level: Level, hours: int, seen: bool = False) -> ClientWeek:
        return replace(client(code), alerts=(OpenAlert(level, ago(hours=hours), seen),))

    clients = [
        with_alert("young", Level.SAME_DAY, 1),
        with_alert("seen", Level.SAME_DAY, 90, seen=True),
        with_alert("b-old", Level.SAME_DAY, 50),
        with_alert("a-old", Level.SAME_DAY, 50),
        with_alert("urgent", Level.EMERGENCY, 1),
        with_alert("lesser", Level.THERAPIST, 200),
    ]
    assert [line.code for line in order(clients, NOW)] == [
        "urgent",
        "a-old",
        "b-old",
        "young",
        "seen",
        "lesser",
    ]


def test_the_furthest_below_goes_first() -> None:
    clients = [client("half", "1122112"), client("none", "0000000"), client("most", "2222222")]
    assert [line.code for line in order(clients, NOW)] == ["none", "half", "most"]


def test_the_threshold_is_a_setting() -> None:
    assert reasons(client("A1", "2222222"), Limits(threshold=Fraction(1, 2))) == []


def test_another_rule_is_another_row() -> None:
    """Part of the promise to later rules: a row is enough, the order needs no change."""
    row = Rule(Reason.GATE_READY, Rank.NOTES, lambda case: Found() if case.client.code == "A1" else None)
    lines = order([client("A0"), STEADY], NOW, rules=(row,))
    assert [(line.code, line.rank) for line in lines] == [("A1", Rank.NOTES), ("A0", Rank.STEADY)]


def test_every_reason_has_one_rule_and_the_table_is_in_order() -> None:
    assert sorted(rule.reason for rule in RULES) == sorted(Reason)
    assert [rule.rank for rule in RULES] == sorted(rule.rank for rule in RULES)


def test_nobody() -> None:
    assert order([], NOW) == ()


alerts = st.builds(
    OpenAlert,
    level=st.sampled_from(Level),
    raised_at=st.integers(0, 400).map(lambda hours: ago(hours=hours)),
    seen=st.booleans(),
)
near = st.none() | st.integers(-40, 40).map(day)
weeks = st.lists(st.none() | st.integers(0, 20), max_size=9).map(lambda values: weekly(*values))
any_client = st.builds(
    lambda base, letters, changes: replace(client(base, letters), **changes),
    st.text("ABC123", min_size=1, max_size=4),
    st.text("0123?-pst", max_size=7),
    st.fixed_dictionaries(
        {
            "alerts": st.lists(alerts, max_size=3).map(tuple),
            "stopped_by": st.none() | st.sampled_from(StoppedBy),
            "stopped_since_on": near,
            "paused_until_on": near,
            "silent_days": st.integers(0, 30),
            "leaks": weeks,
            "heaviness": weeks,
            "review_on": near,
            "unread_notes": st.integers(0, 3),
            "unreachable_since_on": near,
            "change_unseen_since_on": near,
            "gates_ready": st.integers(0, 2),
            "gate_lifts_on": near,
        }
    ),
)


@given(st.lists(any_client, max_size=12))
def test_nobody_is_lost_and_the_ranks_only_go_down(clients: list[ClientWeek]) -> None:
    lines = order(clients, NOW)
    assert sorted(line.code for line in lines) == sorted(one.code for one in clients)
    assert [line.rank for line in lines] == sorted(line.rank for line in lines)


@given(any_client)
def test_an_open_alert_always_heads_the_list(one: ClientWeek) -> None:
    pressing = replace(one, code="Z", alerts=(*one.alerts, ALERT))
    others = [replace(other, alerts=()) for other in (*many(6), one)]
    first = order([*others, pressing], NOW)[0]
    assert (first.code, first.rank) == ("Z", Rank.ALERT)


def test_today_is_the_clients_own() -> None:
    """A client whose day has not ended yet is still a day before her review's week."""
    ahead = replace(STEADY, review_on=day(7))
    assert reasons(ahead) == []
    assert reasons(replace(ahead, today=TODAY + dt.timedelta(days=1))) == [Reason.REVIEW_DUE]
