"""What a client types in place of buttons, and what becomes of it: read aloud, a sentence at a time."""

import datetime as dt

import pytest

from tests.fixtures.household import THERAPIST, Household, document
from tests.service.conftest import PLAN


def notes(home: Household) -> int:
    with home.store.begin() as tx:
        return int(tx.connection.exec_driver_sql("SELECT count(*) FROM unread_note").scalar() or 0)


def test_whom_she_talks_to_and_how_something_is_done(home: Household) -> None:
    for asked in ("who is this?", "Hello, is this a robot?"):
        assert home.say(asked)[0].startswith("I am a program of your clinic, not a person.")
    assert "A person answers at 020 910 0102." in home.say("how do i get in touch with you")[0]
    assert notes(home) == 0
    assert home.say("how long should i hold it for?")[0].startswith("That is for your therapist")
    assert notes(home) == 1


def test_a_number_beside_an_open_question_is_asked_back(home: Household) -> None:
    """A bare figure may be sets or leaks; *skip* is no report of none."""
    home.to("2026-03-07T20:35:00+00:00")
    home.say("2")
    home.to("2026-03-08T20:35:00+00:00")
    assert home.last.text.startswith("Your weekly questions")
    assert home.say("skip") == ["All right. Skipping is fine: tap Skip above, or just leave it."]
    assert home.say("2") == ["Is that 2 done today, or your answer to my question above?"]
    assert home.press("The question above") == ["Please tap an answer in my last message, or Skip."]
    home.say("2")
    assert home.press("2 done today") == ["Noted: 2 of 3 today."]
    for _ in range(3):
        home.press("Skip")
    assert home.say("3") == ["Noted: 3 of 3 today. That is today's plan."]


def test_nothing_today_but_some_yesterday(home: Household) -> None:
    home.clock.move(days=1)
    answers = home.say("yesterday 3 but today nothing")
    assert answers == [
        "Noted: none today. I ask no more today. A number reaches me at any time.",
        "Noted for yesterday: 3 of 3.",
    ]
    assert home.to("2026-03-03T21:00:00+00:00") == []


def test_the_last_nudge_of_a_day_offers_one_and_never_the_missed_total(home: Household) -> None:
    told = [shown.text for shown in home.to("2026-03-02T18:35:00+00:00")]
    assert told[-1] == "Time for one today, if it suits you? One is plenty."
    home.say("1")
    made = document(PLAN, starts_on=dt.date(2026, 3, 3), review_on=dt.date(2026, 5, 1))
    for part in made["programme"]["contractions"]:
        part |= {"position": "standing", "easier_position": "side-lying"}
    home.prescribe(2, made)
    home.to("2026-03-03T12:00:00+00:00")
    home.say("1")
    told = [shown.text for shown in home.to("2026-03-03T18:35:00+00:00")]
    assert told[-1] == (
        "Time for one more, if it suits you? So far today: 1 of 3.\nEasier is fine: lying on your side."
    )


@pytest.mark.parametrize(
    ("text", "then"),
    [
        ("remind me in 20 minutes", "08:55"),
        ("remind me in half an hour", "09:05"),
        ("ask me again in 2 hours", "10:35"),
        ("ask me at 11", "11:00"),
        ("ask me at 3", "15:00"),
        ("remind me at 14:15", "14:15"),
        ("later", "09:35"),
        ("remind me this evening", "20:30"),
    ],
)
def test_later_in_her_own_words(home: Household, text: str, then: str) -> None:
    home.to("2026-03-02T08:35:00+00:00")
    assert home.say(text) == [f"All right, I ask again at {then}."]


def test_undo_typed(home: Household) -> None:
    home.say("2")
    assert home.say("undo") == ["Taken back. I have 0 of 3 for today."]
    assert home.say("Undo that!") == ["There is nothing to take back. /today shows what I have."]
    home.say("no more today")
    assert home.press("Undo") == ["Taken back. I have 0 of 3 for today."]
    assert [shown.text for shown in home.to("2026-03-02T08:31:00+00:00")] == [
        "Good time for your first one today? (3 in all)"
    ]
    home.say("no more today")
    assert home.say("/today")[0].startswith("Today: 0 of 3.")
    assert home.to("2026-03-02T21:00:00+00:00") == []


@pytest.mark.parametrize("text", ["none today", "not doing any today", "no sets today", "nothing today"])
def test_none_said_of_today_ends_the_day(home: Household, text: str) -> None:
    assert home.say(text) == ["Noted: none today. I ask no more today. A number reaches me at any time."]
    assert home.to("2026-03-02T21:00:00+00:00") == []
    assert home.say("1") == ["Noted: 1 of 3 today."]
    assert home.to("2026-03-03T08:35:00+00:00")[0].text == "Good time for your first one today? (3 in all)"


def test_a_nought_in_the_morning_does_not_end_the_day(home: Household) -> None:
    home.say("0")
    assert home.to("2026-03-02T08:35:00+00:00")


def test_yes_and_no_to_a_nudge(home: Household) -> None:
    home.to("2026-03-02T08:35:00+00:00")
    assert home.say("ok") == ["Good. Tap Done when it is done, or send a number."]
    assert home.press("Done") == ["Noted: 1 of 3 today."]
    home.to("2026-03-02T13:05:00+00:00")
    assert home.say("no") == ["When shall I ask again? Or tap Done when it is done."]
    assert "No more today" in home.last.buttons
    assert home.press("In an hour") == ["All right, I ask again at 14:05."]
    assert notes(home) == 0


def test_yes_and_no_to_the_evening_question(home: Household) -> None:
    home.say("/times")
    home.press("Evening question only")
    home.to("2026-03-02T20:35:00+00:00")
    assert home.last.text == "How did today go?"
    assert home.say("yes") == ["How many have you done today in all?"]
    assert home.say("2") == ["Noted: 2 of 3 today."]


def test_yes_and_no_to_what_is_asked_back(home: Household) -> None:
    home.say("2")
    assert home.say("none") == ["I have 2 for today. Shall I make it none?"]
    assert home.say("no") == ["All right, it stays at 2 of 3."]
    home.say("none")
    assert home.say("yes please") == ["Noted: none today. Thank you for telling me."]
    home.say("2")
    assert home.say("1") == ["Is that 1 more, or 1 in all?"]
    assert home.say("in all") == ["Noted: 1 of 3 today."]
    home.say("2")
    home.say("1")
    assert home.say("more") == ["Noted: 3 of 3 today. That is today's plan."]
    assert home.say("/stop")[0].startswith("Do you want to stop for good?")
    assert home.say("no") == ["All right, we go on as before."]


def test_a_yes_that_answers_nothing_is_friendly_and_no_note(home: Household) -> None:
    assert home.say("ok") == ["Good to hear from you."]
    assert home.say("no") == ["All right. A number or a worry reaches me at any time."]
    assert notes(home) == 0


def test_the_closing_question_of_a_warning_takes_typed_answers(home: Household) -> None:
    home.say("is bleeding normal")
    assert home.last.text == "Is this happening to you now?"
    assert home.say("no, not now")[0].startswith("Thank you. I passed your answer on as well.")


@pytest.mark.parametrize(
    "text",
    [
        "stop nagging me",
        "Too many messages!",
        "I don't need so many reminders",
        "you are annoying",
        "less often please",
        "only 1 message a day please",
    ],
)
def test_a_complaint_is_met_with_less(home: Household, text: str) -> None:
    answer = home.say(text)
    assert answer[0].startswith("Thank you for saying so. I can write less. What would suit you?")
    assert list(home.last.buttons) == ["1 a day", "Evening question only", "Take a break"]
    assert notes(home) == 1
    assert home.press("1 a day") == ["All right, at most 1 a day. Sets and worries you can send at any time."]
    assert len(home.to("2026-03-02T21:00:00+00:00")) == 1


def test_a_complaint_beside_a_count_keeps_the_count(home: Household) -> None:
    answers = home.say("2, and stop nagging me")
    assert (answers[0], answers[-1][:24]) == ("Noted: 2 of 3 today.", "Thank you for saying so.")


@pytest.mark.parametrize(
    ("text", "until"),
    [
        ("pause for 3 days", "Thursday 5 March"),
        ("/pause 7", "Monday 9 March"),
        ("/pause until friday", "Friday 6 March"),
        ("pause until 14 march", "Saturday 14 March"),
        ("/pause tomorrow", "Tuesday 3 March"),
        ("/pause monday", "Monday 9 March"),
    ],
)
def test_a_break_in_words_says_until_which_day(home: Household, text: str, until: str) -> None:
    assert home.say(text)[0].startswith(f"All right. I write again on {until}.")
    assert f"paused until {until}" in home.say("/today")[0]


def test_another_language_is_said_to_be_unread(home: Household) -> None:
    for text in ("heute habe ich nur zwei gemacht", "hoy no hice ninguna, tengo dolor", "сегодня ничего"):
        assert home.say(text)[0].startswith("I read English only, so I could not read this.")
    assert home.say("nur 2 heute, nicht mehr")[0].startswith("I read English only")
    assert list(home.last.buttons) == ["0", "1", "2", "3"]
    assert home.say("/today")[0].startswith("Today: 0 of 3.")
    assert notes(home) == 4
    assert home.say("٢") == ["Noted: 2 of 3 today."]


def test_a_reply_to_last_weeks_nudge_goes_to_that_day(home: Household) -> None:
    (nudge,) = home.to("2026-03-02T08:35:00+00:00")
    home.clock.move(days=7)
    home.settle()
    assert home.say("2", replies_to=nudge.number)[0] == "Noted for 2 March: 2 of 3."
    assert home.say("3 today", replies_to=nudge.number) == ["Noted: 3 of 3 today. That is today's plan."]


def test_a_button_of_last_weeks_nudge_goes_to_that_day(home: Household) -> None:
    (nudge,) = home.to("2026-03-02T08:35:00+00:00")
    done = nudge.buttons["Done"]
    home.clock.move(days=7)
    home.settle()
    assert home.press("Done", data=done)[0] == "Noted for 2 March: 1 of 3."
    assert home.press("Done", data=done) == ["I have that already: 1 of 3 for 2 March."]


def test_two_answers_in_one_second(home: Household) -> None:
    home._message(5_000_000_001, "2", None)
    home._message(5_000_000_001, "no, 3", None)
    home.settle()
    assert home.say("/today")[0].startswith("Today: 3 of 3.")


def test_an_unclear_number_for_yesterday_is_asked_about_that_day(home: Household) -> None:
    home.clock.move(days=1)
    assert home.say("yesterday 2 or 3") == ["How many were there yesterday in all?"]
    assert home.say("2") == ["Noted for yesterday: 2 of 3."]


def test_her_plan(home: Household) -> None:
    text = home.say("/plan")[0]
    assert "8 times. Hold 6 s, rest 12 s, lying on your back." in text
    assert "To get up: roll to your side" in text
    assert home.say("show me my exercises")[0] == text


def test_exercises_beside_the_sets_have_a_tap_and_a_figure_of_their_own(home: Household) -> None:
    made = document(PLAN, starts_on=dt.date(2026, 3, 3), review_on=dt.date(2026, 5, 1))
    made["programme"]["adjuncts"] = [
        {"exercise": "walking", "position": "standing", "minutes": 20, "days": ["tue", "wed"]},
        {"exercise": "ball-squeeze", "position": "lying", "repetitions": 10, "times_a_day": 2},
    ]
    home.prescribe(2, made)
    home.clock.move(days=1)
    text = home.say("/plan")[0]
    assert "20 minutes, standing, once a day.\nOnly on Tuesday, Wednesday." in text
    assert "No soft ball? Use a rolled towel or a small cushion." in text
    assert list(home.last.buttons) == ["A done", "B done"]
    assert home.press("A done") == ["Noted for A: 1 of 1 today, beside your sets."]
    assert home.press("A done") == ["I have that already. A: 1 of 1 today."]
    assert home.press("B done") == ["Noted for B: 1 of 2 today, beside your sets."]
    assert home.press("Undo") == ["Taken back."]
    assert home.press("Undo", data="undoextra:nonsense")[0].startswith(
        "That button is from an earlier message."
    )
    home.press("B done")
    home.press("B done")
    assert "Beside your sets, as in /plan: A 1 of 1, B 2 of 2" in home.say("/week")[0]
    assert home.say("/today")[0].startswith("Today: 0 of 3.")
    home.clock.move(days=2)
    home.say("/plan")
    assert list(home.last.buttons) == ["B done"]


def test_every_command_of_the_menu_answers(home: Household) -> None:
    from bot.service.client_side import COMMANDS  # noqa: PLC0415 - the table under test

    assert {"today", "week", "times", "pause", "resume", "symptoms", "language", "privacy", "help"} <= set(
        COMMANDS
    )
    for name in ("start", "exercises", *COMMANDS):
        answers = home.say(f"/{name}")
        assert answers, name
        assert not answers[0].startswith("I do not know"), name
    assert "English only" in home.say("/language")[0]


def test_nobody_but_she_is_written_to(home: Household) -> None:
    home.say("2")
    assert THERAPIST not in home.shown


@pytest.mark.parametrize("words", ["No, or less", "no", "less", "I can't", "not sure"])
def test_she_types_that_she_feels_less(home: Household, words: str) -> None:
    """The question stands alone, and an answer in words weighs what the button does: no count of sets."""
    (question,) = home.say("i cant feel it")
    assert "can you feel it as you always did?" in question
    assert home.say(words)[0].startswith("Go to the emergency department or maternity triage now.")
    with home.store.begin() as tx:
        found = tx.connection.exec_driver_sql("SELECT level FROM alert").scalars().all()
    assert found == ["emergency"]


def test_she_types_that_she_feels_as_always(home: Household) -> None:
    home.say("i cant feel it")
    kept = notes(home)
    assert home.say("yes, as always")[0].startswith("Thank you. I kept that for your therapist.")
    assert notes(home) == kept + 1
    home.say("i cant feel it")
    home.press("Yes, as always")
    assert home.say("no") == ["All right. A number or a worry reaches me at any time."]


def test_a_bare_no_after_a_newer_nudge_is_asked_back(home: Household) -> None:
    home.say("i cant feel it")
    home.to("2026-03-02T18:35:00+00:00")
    assert "can you feel it as you always did?" in home.say("no")[-1]
    assert home.say("no")[0].startswith("Go to the emergency department or maternity triage now.")


def test_words_that_may_be_an_answer_put_the_question_once_more(home: Household) -> None:
    home.say("i cant feel it")
    assert len(home.say("i cant feel it")) == 1
    assert "can you feel it as you always did?" in home.say("what do you mean")[0]
    assert home.say("the blue one")[0].startswith("Kept for your therapist.")
    assert notes(home) == 4
    assert home.say("less")[0].startswith("Go to the emergency department")


def test_cannot_said_to_a_nudge_is_asked_back_too(home: Household) -> None:
    home.say("i cant feel it")
    home.to("2026-03-02T18:35:00+00:00")
    assert "can you feel it as you always did?" in home.say("i can't")[-1]
    assert home.say("no, or less")[0].startswith("Go to the emergency department")


def test_stop_for_today_ends_the_day_and_nothing_else(home: Household) -> None:
    home.say("1")
    assert home.say("stop for today please") == ["All right, no more today. I have 1 of 3."]
    assert notes(home) == 0


def test_one_message_a_day_is_said_in_plain_words(home: Household) -> None:
    home.say("too many messages")
    home.press("1 a day")
    assert "Most messages a day: 1." in home.say("/times")[0]
