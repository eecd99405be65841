"""What a client may choose and put right: undo, later, times, amount, breaks, a call, her zone."""

import pytest

from tests.flows.conftest import Scene


def test_undo_within_a_day(scene: Scene) -> None:
    """A booking can be taken back for a day; pressing again, or later, changes nothing and says so."""
    client = scene.enrol()
    room = scene.room
    room.move(step="next")
    room.press(client, "Done")
    room.say(client, "3")
    booked = room.last(client)
    room.press(client, "Undo")
    assert scene.last(client) == "Taken back. I have 1 of 3 for today."
    room.press(client, message_id=booked.message_id, data=booked.data["Undo"] if booked.labels else "undo:x")
    assert scene.last(client).startswith("That button is from an earlier message.")
    assert scene.said(client, "/today")[0].startswith("Today: 1 of 3.")
    room.move(to="2026-03-03T09:00:00Z")
    first = next(m for m in room.from_bot(client) if m.text == "Noted: 1 of 3 today.")
    room.press(client, message_id=first.message_id, label="Undo")
    assert scene.last(client).startswith("That was more than a day ago.")


@pytest.mark.slow
def test_an_edited_number_replaces_the_first_one(scene: Scene) -> None:
    """A correction of the message is a correction of the count, whether it was a total or one more."""
    client = scene.enrol()
    room = scene.room
    room.say(client, "2")
    own = [m for m in room.chat(client) if not m.from_bot][-1]
    room.edit(client, own.message_id, "1")
    assert scene.last(client) == "Noted: 1 of 3 today."
    room.say(client, "one more")
    own = [m for m in room.chat(client) if not m.from_bot][-1]
    room.edit(client, own.message_id, "two more")
    assert scene.last(client) == "Noted: 3 of 3 today. That is today's plan."


@pytest.mark.slow
def test_later(scene: Scene) -> None:
    """*Later* offers when, in place of the nudge's buttons, and asks again then."""
    client = scene.enrol()
    room = scene.room
    room.move(step="next")
    room.press(client, "Later")
    assert room.last(client).labels == (
        "Done",
        "In 15 minutes",
        "In an hour",
        "This evening",
        "After the next feed",
    )
    room.press(client, "After the next feed")
    assert scene.last(client) == "All right, I ask again at 10:30."
    room.move(to="2026-03-02T10:29:00Z")
    assert scene.last(client) == "All right, I ask again at 10:30."
    room.move(to="2026-03-02T10:31:00Z")
    assert scene.last(client) == "Good time for your first one today? (3 in all)"
    room.press(client, "Done")
    assert scene.last(client) == "Noted: 1 of 3 today."


@pytest.mark.slow
def test_her_own_times_and_moments(scene: Scene) -> None:
    client = scene.enrol()
    room = scene.room
    room.say(client, "/times")
    room.press(client, "Change 08:30")
    assert scene.said(client, "23:15") == [
        "That lies in your quiet hours, 21:30 to 07:30. Which time instead?",
    ]
    assert scene.said(client, "9:15 after pelvic physio")[0].startswith(
        "That moment would show something private"
    )
    assert scene.said(client, "after brushing teeth, at 9:15") == [
        "Noted. I write at:\n09:15  after brushing teeth\n13:00\n18:30",
    ]
    room.move(step="next")
    assert room.now().strftime("%H:%M") == "09:15"
    assert scene.last(client) == "After brushing teeth: Good time for your first one today? (3 in all)"


@pytest.mark.slow
def test_a_worry_instead_of_a_time_is_still_heard(scene: Scene) -> None:
    """Whatever the conversation waits for, a warning sign is read first."""
    client = scene.enrol()
    scene.room.say(client, "/times")
    scene.room.press(client, "Change 08:30")
    answers = scene.said(client, "my calf is hot and swollen, only one side, since 9:15")
    assert "112" in answers[0]
    assert scene.sql("select count(*) from alert") == [(1,)]


@pytest.mark.slow
def test_evening_question_only(scene: Scene) -> None:
    client = scene.enrol()
    room = scene.room
    room.say(client, "/times")
    room.press(client, "Evening question only")
    before = len(room.from_bot(client))
    room.move(to="2026-03-02T21:00:00Z")
    assert scene.texts(client)[before:] == ["How did today go?"]


@pytest.mark.slow
def test_please_ring_me(scene: Scene) -> None:
    """Asked at night: the client is told when to expect it, the therapist hears in clinic hours, once."""
    client = scene.enrol()
    room, therapist = scene.room, scene.clinic.therapist
    answer = scene.said(client, "/call")[0]
    assert answer.startswith("I have asked your therapist to ring you, in clinic hours, from today 09:00 on.")
    room.say(client, "please call me")
    room.move(to="2026-03-02T08:55:00Z")
    assert not any("ring her" in text for text in scene.texts(therapist))
    room.move(to="2026-03-02T09:05:00Z")
    asked = [text for text in scene.texts(therapist) if "ring her" in text]
    assert asked == ["K1 would like you to ring her, not urgently. Asked Mon 07:00."]
    room.press(therapist, "Rung her")
    assert scene.last(therapist) == "K1: noted that you rang her."


@pytest.mark.slow
def test_a_break_until_a_day_she_names(scene: Scene) -> None:
    client = scene.enrol()
    scene.room.say(client, "/pause")
    scene.room.press(client, "Until a day …")
    assert scene.said(client, "14 March")[0].startswith("All right. I write again on Saturday 14 March.")
    assert scene.said(client, "/resume") == ["Welcome back. So far today: 0 of 3."]


@pytest.mark.slow
def test_another_time_zone(scene: Scene) -> None:
    """Her times go by her own clock from then on; no day is nudged twice."""
    client = scene.enrol()
    room = scene.room
    room.say(client, "/times")
    room.press(client, "Other time zone")
    assert scene.said(client, "new york") == [
        "Noted: America/New York, now 02:00. Your times go by that clock from here on.",
    ]
    room.move(to="2026-03-02T20:00:00Z")
    nudges = [m.at.strftime("%H:%M") for m in room.from_bot(client) if m.text.startswith("Good time")]
    assert nudges == ["13:30", "18:00"]


@pytest.mark.slow
def test_week(scene: Scene) -> None:
    client = scene.enrol()
    scene.room.say(client, "2")
    text = scene.said(client, "/week")[0]
    assert text.splitlines()[7] == "Mon 2  ●●○  2 of 3 so far"
    assert text.splitlines()[6] == "Sun 1  nothing planned"


@pytest.mark.slow
def test_a_count_and_a_wish_in_one_message(scene: Scene) -> None:
    client = scene.enrol()
    assert scene.said(client, "did 2, thats it for today") == [
        "Noted: 2 of 3 today.",
        "All right, no more today. I have 2 of 3.",
    ]
    before = len(scene.room.from_bot(client))
    scene.room.move(to="2026-03-02T21:00:00Z")
    assert len(scene.room.from_bot(client)) == before
