"""A note to a client: shown as she will read it, sent on a tap, counted, kept, refused where it must be."""

import datetime as dt

import pytest

from bot.domain.alerts import Alert
from bot.domain.delivery import Kind, Refused, Unknown
from bot.domain.levels import Level
from bot.domain.people import Stage
from bot.reports import kept
from bot.rules.discretion import indiscreet
from bot.service import client_record, deliver, noting
from bot.store import alerts, chats, client_notes, diary, people
from bot.store.ids import new_id
from tests.fixtures.household import ORLA, THERAPIST, Household

WORDS = "Well done this week. Please leave the long hold out until we meet."


@pytest.fixture
def home(home: Household) -> Household:
    """A client who has agreed to take part."""
    with home.store.begin() as tx:
        people.add_consent(tx, home.client_id, "2026-11", True, home.clock.now())
    return home


def told(home: Household, text: str) -> str:
    return home.say(text, THERAPIST)[-1]


def press(home: Household, label: str, data: str | None = None) -> str:
    answers = home.press(label, THERAPIST, data=data)
    return answers[-1] if answers else home.shown[THERAPIST][-1].text


def hers(home: Household) -> list[str]:
    return [shown.text for shown in home.shown.get(ORLA, [])]


def test_typed_shown_as_she_reads_it_and_sent_only_on_a_tap(home: Household) -> None:
    asked = told(home, "/write c1")
    assert asked.startswith("Zq.W. C1: please type the note, at most 1000 characters.")
    shown = told(home, WORDS)
    assert shown.startswith("Zq.W. C1: so she will read it, at once.")
    assert indiscreet(shown) == ()
    assert hers(home) == []
    assert press(home, "Send to Zq.W. C1") == "Zq.W. C1: the note is on its way. It stands on her card."
    (note,) = hers(home)
    assert shown.endswith(note)
    assert note.startswith("For anything urgent ring 020 910 0102, in an emergency 112.")
    assert WORDS in note
    assert "A note from your therapist" in note
    assert indiscreet(note) == ()
    card = told(home, "/client C1")
    assert f"T1 to her (on its way): {WORDS}" in card
    with home.store.begin() as tx:
        assert noting.settle(tx, home.clock.now()) == 1
        assert noting.settle(tx, home.clock.now()) == 0
    told(home, "/client C1")
    press(home, "Her words")
    assert f"T1 to her: {WORDS}" in home.shown[THERAPIST][-1].text


def test_it_is_one_of_the_days_messages(home: Household) -> None:
    """Cap 3: a note and two nudges; the next note waits for her next day and says so."""
    told(home, f"/write C1 {WORDS}")
    press(home, "Send to Zq.W. C1")
    day = home.to("2026-03-02T20:00:00+00:00")
    assert [shown.at.strftime("%H:%M") for shown in day] == ["09:00", "13:00"]
    shown = told(home, "/write C1 One more thing.")
    assert "so she will read it, Tuesday 3 March 07:30 on her clock" in shown
    assert "For anything urgent ring 020 910 0102" in shown  # at half past seven nobody is at the clinic
    assert press(home, "Send to Zq.W. C1") == (
        "Zq.W. C1: the note goes out Tuesday 3 March 07:30 on her clock. It stands on her card."
    )
    assert home.to("2026-03-03T07:29:00+00:00") == []
    (note, *_) = home.to("2026-03-03T07:31:00+00:00")
    assert "One more thing." in note.text


def test_not_in_her_quiet_hours_nor_in_her_break(home: Household) -> None:
    home.clock.set(dt.datetime(2026, 3, 2, 22, tzinfo=dt.UTC))
    assert "Tuesday 3 March 07:30" in told(home, f"/write C1 {WORDS}")
    with home.store.begin() as tx:
        diary.change_track(tx, home.client_id, paused_until=dt.date(2026, 3, 9), pause_reason="own")
    assert "Monday 9 March 07:30" in told(home, f"/write C1 {WORDS}")


def test_only_the_text_that_stood_above_the_button_is_sent(home: Household) -> None:
    told(home, "/write C1 The first wording.")
    first = home.shown[THERAPIST][-1].buttons["Send to Zq.W. C1"]
    told(home, "The second wording.")
    assert press(home, "Send to Zq.W. C1", data=first).startswith("Nothing was sent")
    told(home, "/write C1 The third wording.")
    third = home.shown[THERAPIST][-1].buttons["Send to Zq.W. C1"]
    assert press(home, "Do not send") == "Zq.W. C1: nothing was sent."
    assert press(home, "Send to Zq.W. C1", data=third).startswith("Nothing was sent")
    told(home, "/write C1 The fourth wording.")
    home.clock.set(home.clock.now() + noting.LINE_WITHIN)
    assert press(home, "Send to Zq.W. C1").startswith("Nothing was sent")
    assert hers(home) == []


def test_written_again_and_pressed_twice(home: Household) -> None:
    told(home, "/write C1 With a slip.")
    assert "please type the note" in press(home, "Write it again")
    told(home, "Without one.")
    button = home.shown[THERAPIST][-1].buttons["Send to Zq.W. C1"]
    press(home, "Send to Zq.W. C1")
    assert press(home, "", data=button).startswith("Nothing was sent")
    assert len(hers(home)) == 1
    # The question before it still shows a button; it must not say that nothing was sent.
    assert press(home, "", data=f"cn:leave:{home.client_id.hex}").startswith("That button is from an earlier")


def raised(home: Household, handling: str, *, closed: bool) -> None:
    with home.store.begin() as tx:
        now = home.clock.now()
        alert = Alert(new_id(now), home.client_id, Level.SAME_DAY, handling, ("x",), "her words", now, 0)
        alerts.add(tx, alert)
        if closed:
            alerts.change(tx, alert.id, closed_at=now, outcome="spoke")


@pytest.mark.parametrize(
    ("handling", "closed", "may"),
    [
        ("ordinary", False, True),
        ("sensitive", False, False),
        ("sensitive", True, True),
        ("safeguarding", False, False),
        ("safeguarding", True, False),
    ],
)
def test_nothing_is_pushed_where_somebody_else_may_read(
    home: Household, handling: str, closed: bool, may: bool
) -> None:
    raised(home, handling, closed=closed)
    shown = told(home, f"/write C1 {WORDS}")
    assert ("so she will read it" in shown) is may
    assert may or shown.startswith("Zq.W. C1: nothing is pushed to her")


def test_only_who_takes_part_is_written_to(home: Household) -> None:
    for stage, answer in (
        (Stage.INVITED, "has not agreed to take part yet"),
        (Stage.CONSENTING, "has not agreed to take part yet"),
        (Stage.SETTING_TIME, "has not agreed to take part yet"),
        (Stage.WITHDRAWN, "takes part no longer"),
        (Stage.DISCHARGED, "takes part no longer"),
        (Stage.ERASED, "takes part no longer"),
    ):
        with home.store.begin() as tx:
            people.set_stage(tx, home.client_id, stage)
        assert answer in told(home, f"/write C1 {WORDS}"), stage


def test_whether_she_may_be_written_to_is_asked_again_at_the_tap(home: Household) -> None:
    told(home, f"/write C1 {WORDS}")
    raised(home, "safeguarding", closed=False)
    assert press(home, "Send to Zq.W. C1").startswith("Zq.W. C1: nothing is pushed to her")
    told(home, "/client C1")
    assert press(home, "Write to her").startswith("Zq.W. C1: nothing is pushed to her")
    assert hers(home) == []


@pytest.mark.parametrize("said", ["im not safe at home, my husband hits me", "/stop"])
def test_a_note_that_waits_is_called_back(home: Household, said: str) -> None:
    """By a warning that somebody else may read, and when she leaves; her therapist is told."""
    home.clock.set(dt.datetime(2026, 3, 2, 22, tzinfo=dt.UTC))
    told(home, f"/write C1 {WORDS}")
    press(home, "Send to Zq.W. C1")
    home.say(said)
    if said == "/stop":
        home.press("Yes, stop")
    home.to("2026-03-03T09:00:00+00:00")
    assert not [text for text in hers(home) if WORDS in text]
    with home.store.begin() as tx:
        assert noting.settle(tx, home.clock.now()) == 1
    home.settle()
    assert home.shown[THERAPIST][-1].text.startswith("Zq.W. C1: your note did not reach her")


def test_a_chat_that_is_gone(home: Household) -> None:
    with home.store.begin() as tx:
        chat = chats.chat_of_owner(tx, home.client_id)
        assert chat is not None
        chats.set_gone(tx, chat.id, home.clock.now())
    assert told(home, f"/write C1 {WORDS}") == "Zq.W. C1 cannot be reached in chat. Ring her instead."


def test_what_is_wrong_is_said(home: Household) -> None:
    for typed, answer in (
        ("/write", "To whom? /write CODE begins a note to a client."),
        ("/write C9", "There is no client C9 of yours. /clients lists them."),
        (
            f"/write C1 {'x' * 1001}",
            "Zq.W. C1: that has 1001 characters; at most 1000 fit. Nothing was sent.",
        ),
    ):
        assert told(home, typed).startswith(answer)
    assert hers(home) == []


def test_buttons_made_up_reach_nobody(home: Household) -> None:
    told(home, f"/write C1 {WORDS}")
    for data in ("cn:", "cn:send", f"cn:send:{home.client_id.hex}", "cn:send:x:y", "cn:new:" + "0" * 32):
        press(home, "", data=data)
    assert hers(home) == []


@pytest.mark.parametrize("result", [Refused("no", gone=False), Unknown("lost"), None])
def test_her_therapist_is_told_of_a_note_that_did_not_arrive(home: Household, result: object) -> None:
    """Refused, of unknown fate (then never sent twice), or a day too late."""
    home.clock.set(dt.datetime(2026, 3, 2, 23, tzinfo=dt.UTC))
    told(home, f"/write C1 {WORDS}")
    press(home, "Send to Zq.W. C1")
    home.clock.set(dt.datetime(2026, 3, 3, 7, 31, tzinfo=dt.UTC))
    if result is None:
        home.clock.set(dt.datetime(2026, 3, 4, 7, 31, tzinfo=dt.UTC))
        deliver.sweep(home.office)
    else:
        (out,) = [one for one in deliver.take(home.office, [Kind.NUDGE], 1000.0) if WORDS in one.text]
        deliver.settle(home.office, (deliver.Ended(out, result),))  # type: ignore[arg-type] # one of them
        assert not [one for one in deliver.take(home.office, [Kind.NUDGE], 1000.0) if WORDS in one.text]
    with home.store.begin() as tx:
        assert noting.settle(tx, home.clock.now()) == 1
    home.settle()
    assert home.shown[THERAPIST][-1].text.startswith("Zq.W. C1: your note did not reach her")
    assert "(did not arrive for certain)" in told(home, "/client C1")


def test_it_stands_in_her_diary_her_summary_and_her_file(home: Household) -> None:
    told(home, f"/write C1 {WORDS}")
    press(home, "Send to Zq.W. C1")
    home.clock.set(home.clock.now() + dt.timedelta(days=2))
    told(home, "/client C1")
    press(home, "Diary")
    assert "; a note from T1" in home.shown[THERAPIST][-1].text
    with home.store.begin() as tx:
        client = people.client_by_id(tx, home.client_id)
        clinic = people.clinic_by_id(tx, client.clinic_id)
        record = client_record.gather(tx, client, clinic, home.clock.now())
        plans = [plan for _, plan in people.prescription_documents(tx, [client.id])[client.id]]
        assert client_notes.of_client(tx, client.id)[0].text == WORDS
    assert f"2026-03-02 08:00 {WORDS!r}" in kept.text(record, plans, ())


def test_what_she_answers_is_read_as_ever(home: Household) -> None:
    told(home, f"/write C1 {WORDS}")
    press(home, "Send to Zq.W. C1")
    assert home.say("2") == ["Noted: 2 of 3 today."]
