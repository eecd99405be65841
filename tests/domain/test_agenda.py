"""What is said to a client, and when: one table for each rule. Times are hers unless they say UTC."""

import datetime as dt
import time
from dataclasses import replace

import pytest

from bot.domain.agenda import Mode, Pause, Said, Track, What, decide
from bot.domain.prescription import Prescription
from tests.fixtures.tracks import MONDAY, clocks, heard, local, plan, spoken, track, walk

DAY = dt.timedelta(days=1)


def asked(text: str, **changes: object) -> str:
    """What one look at a moment says, in short: "nudge 2" or nothing."""
    decision = decide(track(**changes), local(text))
    return " ".join(f"{due.what} {due.ordinal or ''}".strip() for due in decision.say)


def nudge(on: dt.date, ordinal: int, at: str) -> Said:
    return Said(What.NUDGE, on, ordinal, local(at))


def test_a_day_without_an_answer_brings_three_nudges_and_the_next_asks_about_it() -> None:
    assert walk(track(), "2026-03-01 12:00", "2026-03-03 23:00", heard) == [
        "Mon 03-02 09:00 nudge 1",
        "Mon 03-02 13:00 nudge 2",
        "Mon 03-02 18:00 nudge 3",
        "Tue 03-03 09:00 nudge 1, asks 03-02",
        "Tue 03-03 13:00 nudge 2",
        "Tue 03-03 18:00 nudge 3",
    ]


def test_what_a_message_carries() -> None:
    late = local("2026-03-03 09:20")
    (due,) = decide(track(done={MONDAY + DAY: 0}), late).say
    assert (due.what, due.on, due.ordinal) == (What.NUDGE, dt.date(2026, 3, 3), 1)
    assert (due.done, due.sets, due.ask_yesterday) == (0, 3, MONDAY)
    assert (due.due_at, due.expires_at) == (local("2026-03-03 09:00"), local("2026-03-03 11:00"))


@pytest.mark.parametrize(
    ("times", "at", "expires"),
    [
        (("09:00", "13:00", "18:00"), "09:00", "11:00"),
        (("09:00", "10:15", "18:00"), "09:10", "10:15"),  # the next one is due
        (("09:00", "13:00", "19:15"), "19:15", "20:00"),  # the round-up is due
    ],
)
def test_a_message_expires_when_it_is_late_or_another_is_due(
    times: tuple[str, ...], at: str, expires: str
) -> None:
    (due,) = decide(track(plan(nudge_times=clocks(*times))), local(f"2026-03-02 {at}")).say
    assert due.expires_at == local(f"2026-03-02 {expires}")


def test_a_message_expires_when_its_day_ends_and_is_not_moved_past_it() -> None:
    awake = {"quiet_from": dt.time(4), "quiet_to": dt.time(5), "sets_a_day": 2, "check_in_questions": ()}
    own = track(plan(nudge_times=clocks("23:00", "23:30"), **awake), done={MONDAY: 1})
    (due,) = decide(own, local("2026-03-02 23:30")).say
    assert (due.ordinal, due.expires_at) == (2, local("2026-03-03 00:00"))
    spaced = replace(own, said=(nudge(MONDAY, 1, "2026-03-02 23:10"),))
    assert walk(spaced, "2026-03-02 23:10", "2026-03-03 12:00") == []


def test_a_message_expires_when_quiet_hours_begin() -> None:
    (due,) = decide(track(done={MONDAY: 1}), local("2026-03-02 20:10")).say
    assert (due.what, due.expires_at) == (What.ROUND_UP, local("2026-03-02 21:30"))


@pytest.mark.parametrize(
    ("done", "expected"),
    [
        (0, ["09:00 nudge 1", "13:00 nudge 2", "18:00 nudge 3"]),
        (1, ["13:00 nudge 2", "18:00 nudge 3", "20:00 round_up"]),
        (2, ["18:00 nudge 3", "20:00 round_up"]),
        (3, []),
        (5, []),
    ],
)
def test_whoever_is_ahead_is_not_nudged_for_a_set_she_has_done(done: int, expected: list[str]) -> None:
    said = walk(track(done={MONDAY: done}), "2026-03-02 00:00", "2026-03-02 23:59")
    assert said == [f"Mon 03-02 {each}" for each in expected]


def test_no_more_today_ends_the_day() -> None:
    assert walk(track(closed=frozenset({MONDAY})), "2026-03-02 00:00", "2026-03-03 09:00") == [
        "Tue 03-03 09:00 nudge 1"  # and Monday, which she closed herself, is not asked about
    ]


@pytest.mark.parametrize(
    ("at", "expected"),
    [
        ("2026-03-02 08:59:59", ""),
        ("2026-03-02 09:00", "nudge 1"),
        ("2026-03-02 10:59:59", "nudge 1"),
        ("2026-03-02 11:00", ""),  # two hours late
        ("2026-03-02 12:59", ""),
        ("2026-03-02 14:30", "nudge 2"),  # one for both
        ("2026-03-02 19:59", "nudge 3"),
        ("2026-03-02 20:00", "round_up"),  # stands for the third nudge too
        ("2026-03-02 21:29", "round_up"),
        ("2026-03-02 21:30", ""),  # quiet
        ("2026-03-03 00:30", ""),  # nothing for a past day
    ],
)
def test_after_downtime_one_message_comes_or_none(at: str, expected: str) -> None:
    assert asked(at) == expected


def test_after_downtime_what_stood_for_others_is_not_followed_by_them() -> None:
    late = track(plan(nudge_times=clocks("09:00", "13:00", "19:30")))
    assert walk(late, "2026-03-02 20:05", "2026-03-02 23:59") == ["Mon 03-02 20:05 round_up"]


def test_seven_days_of_downtime_bring_one_message() -> None:
    silent = track(said=(nudge(MONDAY, 1, "2026-03-02 09:00"),), last_heard_at=local("2026-03-02 09:05"))
    after = walk(silent, "2026-03-09 13:30", "2026-03-09 23:00")
    assert after == ["Mon 03-09 20:00 kind_word"]
    answering = replace(silent, last_heard_at=local("2026-03-09 08:00"))
    assert walk(answering, "2026-03-09 13:30", "2026-03-09 17:00") == ["Mon 03-09 13:30 nudge 2, asks 03-08"]


def test_calling_twice_is_harmless() -> None:
    at = local("2026-03-02 09:00")
    first = decide(track(), at)
    again = decide(spoken(track(), first, at), at)
    assert (len(first.say), again.say, again.next_at) == (1, (), first.next_at)


@pytest.mark.parametrize(
    ("times", "expected"),
    [
        (("07:00", "13:00", "18:00"), ["07:30 nudge 1", "13:00 nudge 2", "18:00 nudge 3"]),  # waits for 07:30
        (
            ("05:00", "13:00", "18:00"),
            ["13:00 nudge 2", "18:00 nudge 3", "20:00 round_up"],
        ),  # too late by then
        (("09:00", "09:30", "18:00"), ["09:00 nudge 1", "10:00 nudge 2", "18:00 nudge 3"]),  # an hour apart
        (
            ("09:00", "09:10", "09:20"),
            ["09:00 nudge 1", "10:00 nudge 3", "20:00 round_up"],
        ),  # latest of those due
        (("09:00", "13:00", "23:00"), ["09:00 nudge 1", "13:00 nudge 2", "20:00 round_up"]),  # in quiet hours
        (("09:00", "13:00", "19:30"), ["09:00 nudge 1", "13:00 nudge 2", "19:30 nudge 3"]),
        (("09:00", "13:00", "20:00"), ["09:00 nudge 1", "13:00 nudge 2", "20:00 round_up"]),  # stands for it
    ],
)
def test_quiet_hours_and_an_hour_between(times: tuple[str, ...], expected: list[str]) -> None:
    said = walk(track(plan(nudge_times=clocks(*times))), "2026-03-02 00:00", "2026-03-02 23:59", heard)
    assert said == [f"Mon 03-02 {each}" for each in expected]


def test_quiet_hours_are_those_of_the_version_in_force() -> None:
    old = plan(quiet_to=dt.time(9, 30))
    new = plan(starts_on=MONDAY + DAY, quiet_to=dt.time(6, 0))
    assert walk(track(old, new), "2026-03-02 00:00", "2026-03-03 10:00", heard)[0::3] == [
        "Mon 03-02 09:30 nudge 1",
        "Tue 03-03 09:00 nudge 1, asks 03-02",
    ]


@pytest.mark.parametrize(
    ("cap", "monday", "sunday"),
    [
        (1, ["09:00 nudge 1"], ["20:00 check_in"]),
        (2, ["09:00 nudge 1", "13:00 nudge 2"], ["09:00 nudge 1", "20:00 check_in"]),
        (
            3,
            ["09:00 nudge 1", "13:00 nudge 2", "18:00 nudge 3"],
            ["09:00 nudge 1", "13:00 nudge 2", "20:00 check_in"],
        ),
    ],
)
def test_her_cap_holds_and_keeps_a_place_for_the_check_in(
    cap: int, monday: list[str], sunday: list[str]
) -> None:
    own = track(cap=cap)
    assert walk(own, "2026-03-02 00:00", "2026-03-02 23:59", heard) == [
        f"Mon 03-02 {each}" for each in monday
    ]
    own = track(cap=cap, last_heard_at=local("2026-03-07 21:00"), closed=frozenset({dt.date(2026, 3, 7)}))
    assert walk(own, "2026-03-08 00:00", "2026-03-08 23:59", heard) == [
        f"Sun 03-08 {each}" for each in sunday
    ]


SUNDAY = dt.date(2026, 3, 8)


@pytest.mark.parametrize(
    ("changes", "expected"),
    [
        ({"done": {SUNDAY: 3}}, ["Sun 20:00", "next Sun"]),  # doing everything does not hide it
        ({"closed": frozenset({SUNDAY})}, ["Mon 20:00", "next Sun"]),  # carried over
        ({"closed": frozenset(SUNDAY + n * DAY for n in range(2))}, ["Tue 20:00", "next Sun"]),
        ({"closed": frozenset(SUNDAY + n * DAY for n in range(3))}, ["next Sun"]),  # too late by then
        ({"last_check_in_on": SUNDAY}, ["next Sun"]),
        ({"last_check_in_on": SUNDAY - DAY}, ["Sun 20:00", "next Sun"]),
        ({"said": (Said(What.CHECK_IN, SUNDAY, 0, local("2026-03-08 07:45")),)}, ["next Sun"]),  # unanswered
        ({"mode": Mode.EVENING_ONLY}, ["Sun 20:00", "next Sun"]),
        ({"pause": Pause(SUNDAY + DAY, "rest")}, ["Mon 20:00", "next Sun"]),
    ],
)
def test_one_check_in_a_week_on_her_day(changes: dict[str, object], expected: list[str]) -> None:
    own = track(**{"last_heard_at": local("2026-03-07 21:00"), **changes})
    said = [each for each in walk(own, "2026-03-08 00:00", "2026-03-15 23:00", heard) if "check_in" in each]
    names = {"Sun 03-15 20:00 check_in": "next Sun"}
    assert [names.get(each, f"{each[:3]} {each[10:15]}") for each in said] == expected


def test_a_check_in_on_a_day_off_comes_on_the_next_day_on() -> None:
    own = track(plan(days=frozenset({0, 2, 4})), last_heard_at=local("2026-03-07 21:00"))
    said = walk(own, "2026-03-08 00:00", "2026-03-14 23:00", heard)
    assert [each for each in said if "check_in" in each] == ["Mon 03-09 20:00 check_in"]


def test_no_questions_no_check_in_and_none_before_the_first_week() -> None:
    without = track(plan(check_in_questions=()), last_heard_at=local("2026-03-07 21:00"))
    assert "check_in" not in " ".join(walk(without, "2026-03-08 00:00", "2026-03-16 23:00", heard))
    assert "check_in" not in " ".join(walk(track(), "2026-03-02 00:00", "2026-03-07 23:00", heard))


def test_the_ladder_of_silence() -> None:
    """Heard last on Sunday; silent from Monday on. Then one a day, a kind word, one a week, and nothing."""
    assert walk(track(), "2026-03-01 12:00", "2026-06-30 12:00") == [
        "Mon 03-02 09:00 nudge 1",
        "Mon 03-02 13:00 nudge 2",
        "Mon 03-02 18:00 nudge 3",
        "Tue 03-03 09:00 nudge 1, asks 03-02",
        "Tue 03-03 13:00 nudge 2",
        "Tue 03-03 18:00 nudge 3",
        "Wed 03-04 09:00 nudge 1, asks 03-03",  # two silent days have gone by
        "Thu 03-05 09:00 nudge 1, asks 03-04",
        "Fri 03-06 20:00 kind_word",  # day 5
        "Fri 03-13 20:00 weekly_word",
        "Fri 03-20 20:00 weekly_word",
    ]  # day 21 is Sunday 22 March
    silent = track(said=(Said(What.WEEKLY_WORD, dt.date(2026, 3, 20), 0, local("2026-03-20 20:00")),))
    assert decide(silent, local("2026-03-21 12:00")).next_at is not None
    assert decide(silent, local("2026-03-22 00:00")).next_at is None


@pytest.mark.parametrize(
    "changes",
    [{"last_heard_at": local("2026-03-25 10:00")}, {"restarted_at": local("2026-03-25 10:00")}],
    ids=["she returns", "the therapist acts"],
)
def test_a_silence_ends_when_she_returns_or_the_therapist_acts(changes: dict[str, object]) -> None:
    assert walk(track(**changes), "2026-03-25 10:00", "2026-03-25 23:00") == [
        *(["Wed 03-25 10:00 nudge 1, asks 03-24"] if "last_heard_at" in changes else []),
        "Wed 03-25 13:00 nudge 2",
        "Wed 03-25 18:00 nudge 3",
        *([] if "last_heard_at" in changes else ["Wed 03-25 20:00 round_up"]),
    ]


def test_silence_begins_with_the_first_day_that_asked_her_something() -> None:
    """Enrolled weeks before the start; a day off and a pause do not count either."""
    early = track(last_heard_at=local("2026-02-01 12:00"))
    assert walk(early, "2026-03-06 00:00", "2026-03-06 23:00") == ["Fri 03-06 20:00 kind_word"]
    rested = track(pause=Pause(dt.date(2026, 3, 9), "week off"), last_heard_at=local("2026-03-02 10:00"))
    assert walk(rested, "2026-03-02 10:00", "2026-03-13 23:00") == [
        "Mon 03-09 09:00 nudge 1",
        "Mon 03-09 13:00 nudge 2",
        "Mon 03-09 20:00 check_in",
        "Tue 03-10 09:00 nudge 1, asks 03-09",
        "Tue 03-10 13:00 nudge 2",
        "Tue 03-10 18:00 nudge 3",
        "Wed 03-11 09:00 nudge 1, asks 03-10",
        "Thu 03-12 09:00 nudge 1, asks 03-11",
        "Fri 03-13 20:00 kind_word",
    ]


def test_days_taken_out_of_the_diary_are_no_silence() -> None:
    """She flew from Monday to Thursday."""
    own = track(excused=frozenset(MONDAY + ahead * DAY for ahead in range(4)))
    said = walk(own, "2026-03-06 00:00", "2026-03-10 23:00")
    assert [each for each in said if not each[10:].startswith(("13", "18"))] == [
        "Fri 03-06 09:00 nudge 1",
        "Sat 03-07 09:00 nudge 1, asks 03-06",
        "Sun 03-08 20:00 check_in",  # the third silent day: one message
        "Mon 03-09 09:00 nudge 1, asks 03-08",
        "Tue 03-10 20:00 kind_word",
    ]


def test_days_off_bring_nothing_and_are_not_asked_about() -> None:
    own = track(plan(days=frozenset({0, 2, 4}), check_in_questions=()))
    said = walk(own, "2026-03-01 12:00", "2026-03-07 23:00", heard)
    assert [each for each in said if each.endswith("nudge 1") or "asks" in each] == [
        "Mon 03-02 09:00 nudge 1",
        "Wed 03-04 09:00 nudge 1",
        "Fri 03-06 09:00 nudge 1",
    ]
    assert len(said) == 9


def test_evening_question_only() -> None:
    own = track(mode=Mode.EVENING_ONLY, done={dt.date(2026, 3, 3): 3})
    assert walk(own, "2026-03-01 12:00", "2026-03-08 23:00", heard) == [
        "Mon 03-02 20:00 round_up",
        "Wed 03-04 20:00 round_up",
        "Thu 03-05 20:00 round_up",
        "Fri 03-06 20:00 round_up",
        "Sat 03-07 20:00 round_up",
        "Sun 03-08 20:00 check_in",
    ]


def test_a_pause_until_a_day() -> None:
    own = track(pause=Pause(dt.date(2026, 3, 5), "a few days off"))
    assert walk(own, "2026-03-01 12:00", "2026-03-05 10:00") == ["Thu 03-05 09:00 nudge 1"]


def test_a_pause_until_somebody_resumes() -> None:
    decision = decide(track(pause=Pause(None, "warning")), local("2026-03-02 09:00"))
    assert (decision.say, decision.next_at) == ((), None)


def test_a_late_review_brings_one_nudge_a_day_and_then_stops_with_one_message() -> None:
    due = dt.date(2026, 3, 20)
    own = track(plan(review_on=due, check_in_questions=()), last_heard_at=local("2026-04-02 12:00"))
    said = walk(own, "2026-04-02 12:30", "2026-06-30 23:00", heard)
    by_day = {each[4:9]: [other[10:] for other in said if other[4:9] == each[4:9]] for each in said}
    assert by_day["04-02"] == ["13:00 nudge 2, asks 04-01", "18:00 nudge 3", "20:00 round_up"]  # 13 days late
    assert by_day["04-03"] == ["09:00 nudge 1, asks 04-02", "20:00 round_up"]  # 14
    assert by_day["04-16"] == ["09:00 nudge 1, asks 04-15", "20:00 round_up"]  # 27
    assert by_day["04-17"] == ["09:00 book_review"]  # 28
    assert max(by_day) == "04-17"
    told = replace(own, said=(Said(What.BOOK_REVIEW, dt.date(2026, 4, 17), 0, local("2026-04-17 09:00")),))
    assert decide(told, local("2026-04-17 10:00")).next_at is None
    assert decide(told, local("2026-08-17 10:00")).next_at is None


def test_she_is_told_to_book_even_when_the_day_itself_allowed_nothing() -> None:
    own = track(plan(review_on=dt.date(2026, 3, 20)), pause=Pause(dt.date(2026, 4, 21), "away"))
    assert walk(own, "2026-04-16 00:00", "2026-06-30 23:00") == ["Tue 04-21 09:00 book_review"]
    evening = replace(own, mode=Mode.EVENING_ONLY)
    assert walk(evening, "2026-04-16 00:00", "2026-06-30 23:00") == ["Tue 04-21 20:00 book_review"]


def test_nobody_is_told_to_book_when_it_is_too_long_ago_to_know_whether_she_was() -> None:
    forgotten = track(plan(review_on=dt.date(2026, 3, 20)), last_heard_at=local("2026-05-26 12:00"))
    assert decide(forgotten, local("2026-05-26 12:00")).next_at == local(
        "2026-05-27 14:00"
    )  # unsaid on the 27th
    assert walk(forgotten, "2026-05-27 12:00", "2026-09-01 12:00") == []
    assert decide(forgotten, local("2026-05-27 12:00")).next_at is None


def test_a_new_version_ends_a_silence_too() -> None:
    own = track(plan(), plan(starts_on=dt.date(2026, 4, 6)))
    at = local("2026-03-25 12:00")
    assert decide(own, at).next_at == at + dt.timedelta(hours=26)  # 21 days are over, and more will come
    assert walk(own, "2026-03-25 12:00", "2026-04-06 10:00") == ["Mon 04-06 09:00 nudge 1, asks 04-05"]


def test_a_new_version_starts_a_stopped_programme_again() -> None:
    old, new = plan(review_on=dt.date(2026, 3, 20)), plan(starts_on=dt.date(2026, 5, 4))
    own = track(old, new, last_heard_at=local("2026-05-03 12:00"))
    told = replace(own, said=(Said(What.BOOK_REVIEW, dt.date(2026, 4, 17), 0, local("2026-04-17 09:00")),))
    assert walk(told, "2026-05-01 12:00", "2026-05-04 14:00") == [
        "Mon 05-04 09:00 nudge 1",
        "Mon 05-04 13:00 nudge 2",
    ]


LATER = local("2026-03-02 09:40")


@pytest.mark.parametrize(
    ("changes", "expected"),
    [
        ({}, "Mon 03-02 09:40 later 1"),  # forty minutes after the nudge: she asked for it
        ({"laters_today": 4}, "Mon 03-02 09:40 later 1"),
        ({"laters_today": 5}, "Mon 03-02 13:00 nudge 2"),
        ({"done": {MONDAY: 1}}, "Mon 03-02 09:40 later 1"),
        ({"done": {MONDAY: 3}}, None),
        ({"closed": frozenset({MONDAY})}, None),
        ({"pause": Pause(None, "loss")}, None),
        ({"mode": Mode.EVENING_ONLY}, "Mon 03-02 20:00 round_up"),
        ({"later_at": local("2026-03-02 22:10")}, "Mon 03-02 13:00 nudge 2"),  # in quiet hours: dropped
        ({"later_at": local("2026-03-02 06:00")}, "Mon 03-02 13:00 nudge 2"),
        ({"later_at": local("2026-03-02 12:50")}, "Mon 03-02 12:50 later 1"),
        ({"later_at": local("2026-03-02 13:30")}, "Mon 03-02 13:00 nudge 2"),
        ({"last_heard_at": local("2026-03-02 08:00")}, "Mon 03-02 13:00 nudge 2"),  # nudged since she asked
    ],
)
def test_a_nudge_put_off(changes: dict[str, object], expected: str | None) -> None:
    usual: dict[str, object] = {
        "said": (nudge(MONDAY, 1, "2026-03-02 09:00"),),
        "last_heard_at": local("2026-03-02 09:01"),
        "later_at": LATER,
        "laters_today": 1,
    }
    said = walk(track(**{**usual, **changes}), "2026-03-02 09:02", "2026-03-02 23:59")
    assert (said[0] if said else None) == expected


def test_a_nudge_put_off_is_not_said_again_when_she_has_reacted() -> None:
    own = track(
        said=(nudge(MONDAY, 1, "2026-03-02 09:00"), Said(What.LATER, MONDAY, 1, LATER)),
        last_heard_at=local("2026-03-02 09:50"),
        later_at=LATER,
        laters_today=1,
    )
    assert walk(own, "2026-03-02 09:50", "2026-03-02 13:00") == ["Mon 03-02 13:00 nudge 2"]


def test_a_nudge_put_off_is_said_once_and_the_next_keeps_its_distance() -> None:
    own = track(
        said=(nudge(MONDAY, 1, "2026-03-02 09:00"),),
        last_heard_at=local("2026-03-02 12:00"),
        later_at=local("2026-03-02 12:50"),
        laters_today=1,
    )
    assert walk(own, "2026-03-02 12:01", "2026-03-02 19:00") == [
        "Mon 03-02 12:50 later 1",
        "Mon 03-02 13:50 nudge 2",
        "Mon 03-02 18:00 nudge 3",
    ]


def test_a_nudge_put_off_four_times_uses_no_place_in_her_cap() -> None:
    own, said = track(cap=1), []
    own = replace(own, said=(nudge(MONDAY, 1, "2026-03-02 09:00"),))
    for laters, at in enumerate(["09:30", "10:00", "10:30", "11:00", "11:30"], start=1):
        pressed_at = local(f"2026-03-02 {at}") - dt.timedelta(minutes=20)
        own = replace(own, later_at=local(f"2026-03-02 {at}"), laters_today=laters, last_heard_at=pressed_at)
        decision = decide(own, local(f"2026-03-02 {at}"))
        said += [(due.what, due.ordinal) for due in decision.say]
        own = spoken(own, decision, local(f"2026-03-02 {at}"))
    assert said == [(What.LATER, ordinal) for ordinal in range(1, 5)]


def test_new_times_apply_to_ordinals_not_yet_used() -> None:
    edited = plan(nudge_times=clocks("10:30", "15:00", "17:00"))
    own = track(edited, said=(nudge(MONDAY, 1, "2026-03-02 09:00"),), last_heard_at=local("2026-03-02 10:00"))
    assert walk(own, "2026-03-02 10:00", "2026-03-02 23:00") == [
        "Mon 03-02 15:00 nudge 2",
        "Mon 03-02 17:00 nudge 3",
    ]


def test_a_fresh_start_does_not_make_up_for_what_was_due_before() -> None:
    own = track(restarted_at=local("2026-03-02 13:30"), last_heard_at=local("2026-03-02 13:30"))
    assert walk(own, "2026-03-02 13:30", "2026-03-03 09:00", heard) == [
        "Mon 03-02 18:00 nudge 3",
        "Mon 03-02 20:00 round_up",
        "Tue 03-03 09:00 nudge 1, asks 03-02",
    ]


@pytest.mark.parametrize(
    ("changes", "asks"),
    [
        ({}, True),
        ({"done": {MONDAY: 2}}, True),
        ({"done": {MONDAY: 3}}, False),
        ({"closed": frozenset({MONDAY})}, False),
        ({"excused": frozenset({MONDAY})}, False),
        ({"pause": Pause(MONDAY + DAY, "a day off")}, False),
        ({"restarted_at": local("2026-03-03 08:00")}, False),  # nobody could have answered
        ({"said": (nudge(MONDAY + DAY, 2, "2026-03-03 07:40"),)}, False),  # not the day's first nudge
    ],
)
def test_yesterday_is_asked_about_once_when_it_has_no_complete_answer(
    changes: dict[str, object], asks: bool
) -> None:
    (due,) = decide(track(**changes), local("2026-03-03 09:00")).say
    assert due.ask_yesterday == (MONDAY if asks else None)


# ---- Time that is odd -------------------------------------------------------------------------------------


def early(**changes: object) -> Prescription:
    """One set a day at half past one at night, for the hours that clocks lose and repeat."""
    usual = {
        "sets_a_day": 1,
        "nudge_times": clocks("01:30"),
        "quiet_from": dt.time(4),
        "quiet_to": dt.time(5),
        "round_up_at": dt.time(20),
        "check_in_questions": (),
        "starts_on": dt.date(2026, 1, 1),
        "review_on": dt.date(2027, 1, 1),
    }
    return plan(**{**usual, **changes})


@pytest.mark.parametrize(
    ("zone", "at", "first", "last", "utc"),
    [
        ("Europe/London", "01:30", "2026-03-28", "2026-03-30", ["28 01:30", "29 01:30", "30 00:30"]),
        ("Europe/London", "01:30", "2026-10-24", "2026-10-26", ["24 00:30", "25 00:30", "26 01:30"]),
        ("America/New_York", "02:30", "2026-03-07", "2026-03-09", ["07 07:30", "08 07:30", "09 06:30"]),
        ("Australia/Lord_Howe", "02:15", "2026-10-03", "2026-10-05", ["02 15:45", "03 15:45", "04 15:15"]),
        ("Africa/Cairo", "00:30", "2026-04-23", "2026-04-25", ["22 22:30", "23 22:30", "24 21:30"]),
        ("Europe/London", "09:00", "2028-02-28", "2028-03-01", ["28 09:00", "29 09:00", "01 09:00"]),  # leap
        ("Europe/London", "09:00", "2026-04-30", "2026-05-01", ["30 08:00", "01 08:00"]),  # month end
        ("Pacific/Kiritimati", "07:00", "2026-12-31", "2027-01-01", ["30 17:00", "31 17:00"]),
    ],
)
def test_one_nudge_on_each_local_day(zone: str, at: str, first: str, last: str, utc: list[str]) -> None:
    """Instants by the rule of RFC 5545 3.3.5 (read), computed by hand."""
    starts_on = dt.date.fromisoformat(first)
    own = track(
        early(nudge_times=clocks(at), starts_on=starts_on, review_on=starts_on + 300 * DAY),
        zone=zone,
        cap=1,
        last_heard_at=local(f"{first} 00:00", zone),
    )
    found, now = [], local(f"{first} 00:00", zone) - dt.timedelta(hours=3)
    while now < local(f"{last} 23:00", zone):
        decision = decide(own, now)
        found += [f"{now:%d %H:%M}" for _ in decision.say]
        own = spoken(own, decision, now)
        assert decision.next_at is not None
        now = decision.next_at
    assert found == utc


def test_a_time_moved_past_midnight_by_the_gap_belongs_to_a_day_that_is_over() -> None:
    """Nuuk loses the hour before midnight on 28 March 2026."""
    late = early(nudge_times=clocks("23:30"), starts_on=dt.date(2026, 3, 27))
    own = track(late, zone="America/Nuuk", last_heard_at=local("2026-03-27 12:00", "America/Nuuk"))
    assert walk(own, "2026-03-27 12:00", "2026-03-30 12:00", heard) == [
        "Fri 03-27 20:00 round_up",
        "Fri 03-27 23:30 nudge 1",
        "Sat 03-28 20:00 round_up",
        "Sun 03-29 20:00 round_up",
        "Sun 03-29 23:30 nudge 1, asks 03-28",
    ]


def test_a_day_that_never_was_has_nothing_prescribed() -> None:
    """Apia went from 29 to 31 December 2011."""
    december = plan(starts_on=dt.date(2011, 12, 29), review_on=dt.date(2012, 6, 1), check_in_questions=())
    own = track(december, zone="Pacific/Apia", cap=1, last_heard_at=local("2011-12-28 12:00", "Pacific/Apia"))
    assert walk(own, "2011-12-29 00:00", "2012-01-01 09:00", heard) == [
        "Thu 12-29 09:00 nudge 1",
        "Sat 12-31 09:00 nudge 1",
        "Sun 01-01 09:00 nudge 1, asks 12-31",
    ]


def test_midnight_is_her_own() -> None:
    """In Auckland the day is already over when UTC has lunch."""
    own = track(
        zone="Pacific/Auckland", done={MONDAY: 3}, last_heard_at=local("2026-03-02 20:00", "Pacific/Auckland")
    )
    assert decide(own, dt.datetime(2026, 3, 2, 10, 59, tzinfo=dt.UTC)).say == ()
    (due,) = decide(own, dt.datetime(2026, 3, 2, 20, 0, tzinfo=dt.UTC)).say
    assert (due.on, due.ordinal, due.ask_yesterday) == (dt.date(2026, 3, 3), 1, None)


def live(own: Track, start: dt.datetime, end: dt.datetime) -> tuple[Track, list[str]]:
    """Her track after some time asked at `next_at` only, and what was said, in UTC."""
    at: dt.datetime | None = start
    lines = []
    while at and at < end:
        decision = decide(own, at)
        own = spoken(own, decision, at)
        lines += [f"{at:%d %H:%M} {due.on:%d} {due.what} {due.ordinal}" for due in decision.say]
        at = decision.next_at
    return own, lines


def moved(zone: str, at: str) -> list[str]:
    """What is said after her Monday in Dublin goes on in another zone, from a time in UTC."""
    moves_at = dt.datetime.fromisoformat(at).replace(tzinfo=dt.UTC)
    own, _ = live(track(), local("2026-03-02 00:00"), moves_at)
    before = len(own.said)
    own, lines = live(heard(replace(own, zone=zone), moves_at), moves_at, moves_at + dt.timedelta(hours=30))
    assert len({(said.what, said.on, said.ordinal) for said in own.said}) == len(own.said) > before
    return lines


@pytest.mark.parametrize(
    ("zone", "at", "expected"),
    [
        # 14:00 in Dublin is 09:00 in New York: the first two are used, the third comes at 18:00 there.
        (
            "America/New_York",
            "2026-03-02 14:00",
            ["02 23:00 02 nudge 3", "03 14:00 03 nudge 1", "03 18:00 03 nudge 2"],
        ),
        # 10:30 in Dublin is 13:30 in Riyadh: the second, half an hour late there, comes at once.
        (
            "Asia/Riyadh",
            "2026-03-02 10:30",
            ["02 10:30 02 nudge 2", "02 15:00 02 nudge 3", "03 06:00 03 nudge 1"],
        ),
        # 10:00 in Dublin is 19:00 in Tokyo: the first has stood for the third, due there at that instant.
        (
            "Asia/Tokyo",
            "2026-03-02 10:00",
            ["02 11:00 02 round_up 0", "03 00:00 03 nudge 1", "03 04:00 03 nudge 2"],
        ),
        # 11:30 on the 2nd is 00:30 on the 3rd in Auckland: the rest of the 2nd is gone.
        (
            "Pacific/Auckland",
            "2026-03-02 11:30",
            ["02 20:00 03 nudge 1", "03 00:00 03 nudge 2", "03 05:00 03 nudge 3"],
        ),
        # 08:00 on the 3rd is 21:00 on the 2nd in Pago Pago: the 2nd again, whose three are used.
        (
            "Pacific/Pago_Pago",
            "2026-03-03 08:00",
            ["03 20:00 03 nudge 1", "04 00:00 03 nudge 2", "04 05:00 03 nudge 3"],
        ),
    ],
)
def test_a_move_to_another_zone_neither_doubles_nor_makes_up(zone: str, at: str, expected: list[str]) -> None:
    assert [each for each in moved(zone, at) if each[:5] <= "04 06"][: len(expected)] == expected


def test_a_date_lived_twice_is_one_diary_day() -> None:
    """Auckland to Honolulu at noon on the 3rd: it is the 2nd again, with its count, its cap and its end."""
    own = track(
        zone="Pacific/Honolulu", closed=frozenset({MONDAY}), last_heard_at=local("2026-03-02 23:00", "UTC")
    )
    assert walk(own, "2026-03-02 13:00", "2026-03-02 23:59") == []
    own = replace(own, closed=frozenset(), done={MONDAY: 3})
    assert walk(own, "2026-03-02 13:00", "2026-03-02 23:59") == []


def test_a_date_that_travel_skipped_is_not_asked_about() -> None:
    own = track(
        zone="Pacific/Kiritimati",
        excused=frozenset({dt.date(2026, 3, 3)}),
        last_heard_at=local("2026-03-03 10:30", "UTC"),
    )
    said = walk(own, "2026-03-04 00:30", "2026-03-04 10:00")
    assert said == ["Wed 03-04 09:00 nudge 1"]


def test_a_message_that_stands_in_the_future_keeps_its_distance_too() -> None:
    """Said for the next day, before the clock was set back."""
    own = track(said=(nudge(MONDAY + DAY, 1, "2026-03-02 13:20"),), done={MONDAY: 1})
    assert walk(own, "2026-03-02 12:00", "2026-03-02 15:00") == ["Mon 03-02 14:20 nudge 2"]


def test_a_clock_set_back_repeats_nothing_and_keeps_the_distance() -> None:
    own = track(said=(nudge(MONDAY, 1, "2026-03-02 09:00"), nudge(MONDAY, 2, "2026-03-02 13:00")))
    assert walk(own, "2026-03-02 08:00", "2026-03-02 23:00") == ["Mon 03-02 18:00 nudge 3"]


# ---- A zone that went out of the data ---------------------------------------------------------------------


def test_a_lost_zone_is_named_and_the_clinics_is_used() -> None:
    decision = decide(track(zone="Europe/Gone", spare_zone="Europe/Dublin"), local("2026-03-02 09:00"))
    assert decision.lost_zone == "Europe/Gone"
    assert [due.what for due in decision.say] == [What.NUDGE]


def test_without_any_zone_nothing_is_said_and_it_looks_again() -> None:
    now = local("2026-03-02 09:00")
    decision = decide(track(zone="Europe/Gone", spare_zone="Clinic/Gone"), now)
    assert (decision.say, decision.lost_zone) == ((), "Europe/Gone")
    assert decision.next_at is not None
    assert now < decision.next_at <= now + dt.timedelta(hours=26)


# ---- When to look again -----------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("at", "changes", "expected"),
    [
        ("2026-03-02 00:00", {}, "2026-03-02 09:00"),
        ("2026-03-02 09:00", {}, "2026-03-02 13:00"),
        ("2026-03-02 09:00:01", {"said": (nudge(MONDAY, 1, "2026-03-02 09:00"),)}, "2026-03-02 13:00"),
        ("2026-03-02 12:00", {"done": {MONDAY: 3}}, "2026-03-03 09:00"),
        ("2026-03-02 12:00", {"closed": frozenset({MONDAY})}, "2026-03-03 09:00"),
        ("2026-03-02 12:00", {"pause": Pause(dt.date(2026, 3, 9), "rest")}, "2026-03-03 14:00"),  # a re-look
        ("2026-02-01 12:00", {}, "2026-02-02 14:00"),
        ("2026-03-02 12:00", {"versions": ()}, None),
        ("2026-03-02 12:00", {"pause": Pause(None, "rest")}, None),
    ],
)
def test_next_at(at: str, changes: dict[str, object], expected: str | None) -> None:
    found = decide(track(**changes), local(at)).next_at
    assert found == (local(expected) if expected else None)


@pytest.mark.slow
def test_five_thousand_decisions_a_second() -> None:
    """On a client with forty days of messages behind her; processor time, since tests run side by side."""
    said = tuple(
        nudge(day, ordinal, f"{day} {hour}")
        for day in (MONDAY + ahead * DAY for ahead in range(40))
        for ordinal, hour in enumerate(("09:00", "13:00", "18:00"), start=1)
    )
    own = track(said=said, last_heard_at=local("2026-04-10 18:05"))
    start = local("2026-04-11 00:00")
    began = time.process_time()
    for minute in range(20_000):
        decide(own, start + dt.timedelta(minutes=minute % 1440))
    assert 20_000 / (time.process_time() - began) >= 5_000
