"""The main job from end to end, as client and therapist live it."""

import re

import pytest

from tests.flows.conftest import Scene


def test_a_week_of_one_client(scene: Scene) -> None:
    """Nudge, button, number, evening question, check-in, worry, alert, digest: one thread."""
    room, therapist = scene.room, scene.clinic.therapist
    client = scene.enrol()

    room.move(step="next")
    assert scene.last(client) == "Good time for your first one today? (3 in all)"
    assert room.now().isoformat() == "2026-03-02T08:30:00+00:00"
    room.press(client, "Done")
    assert scene.last(client) == "Noted: 1 of 3 today."
    assert room.from_bot(client)[-2].gone_labels == ("Done", "Later", "No more today")

    assert scene.said(client, "1") == ["I have 1 of 3 for today."]
    assert scene.said(client, "3") == ["Noted: 3 of 3 today. That is today's plan."]
    assert scene.said(client, "1") == ["Is that 1 more, or 1 in all?"]
    room.press(client, "1 in all")
    assert scene.last(client) == "Noted: 1 of 3 today."

    room.move(to="2026-03-02T21:00:00Z")
    # Three nudges are her three messages of the day; the evening question would be a fourth.
    assert scene.last(client) == "Time for one more, if it suits you? So far today: 1 of 3."
    room.say(client, "make that 2")
    assert scene.last(client) == "Noted: 2 of 3 today."

    room.move(to="2026-03-05T12:00:00Z")
    assert scene.said(client, "did two today") == ["Noted: 2 of 3 today."]
    room.move(to="2026-03-08T21:00:00Z")
    opened = room.last(client)
    assert "Leaks in the last seven days?" in opened.text
    room.press(client, "1 to 2")
    room.press(client, "0")
    room.press(client, "0")
    thanks = "Thank you, that was all. Your therapist sees all your answers on Monday."
    assert room.chat(client)[-1].text == thanks
    assert scene.sql("select question, value from symptom_report order by question") == [
        ("heaviness", 0),
        ("leaks", 1),
        ("pain", 0),
    ]

    answers = scene.said(client, "I soaked two pads in an hour and feel faint")
    assert answers[0].startswith("Call 112 now. Ask for an ambulance.")
    assert room.last(therapist).text == "EMERGENCY: K1.\nRaised Sun 8 Mar 21:00."
    assert room.last(therapist).raw["silent"] is True

    room.move(to="2026-03-09T09:10:00Z")
    room.press(therapist, "Her words")
    shown = next(m for m in room.from_bot(therapist) if "I soaked two pads" in m.text)
    assert re.search(r"Mon 9 Mar 09:00 told T1", shown.text)
    room.press(therapist, "Seen")
    room.press(therapist, "Spoke to her")
    assert scene.texts(therapist)[-2:] == [
        "K1: closed (spoke to her).",
        "K1: her reminders are paused. What now?",
    ]
    room.press(therapist, "Resume programme")
    assert scene.last(therapist) == "K1: who reviewed her medically, and when? One line, please."
    room.say(therapist, "Dr Invented, maternity unit, this morning")
    assert scene.last(therapist) == (
        "K1: the programme is resumed.\nOn record: Dr Invented, maternity unit, this morning (T1)"
    )
    assert (
        scene.last(client) == "Your therapist has started your reminders again. /today shows where you are."
    )

    room.move(to="2026-03-09T09:20:00Z")
    digest, picture = room.from_bot(therapist)[-2:]
    assert digest.text.startswith("Mon 2 Mar to Sun 8 Mar 2026: 1 client")
    assert "4 to 16 of 18" in digest.text
    assert "answered 2 of 6 days, 1 day stopped" in digest.text
    assert picture.media == "photo"
    assert scene.sql("select count(*) from inbox where state <> 'handled'") == [(0,)]


@pytest.mark.slow
def test_the_day_after_asks_about_the_day_before(scene: Scene) -> None:
    """Yesterday's question rides on the first nudge; an answer by button or text goes to that day."""
    client = scene.enrol()
    scene.room.move(to="2026-03-03T08:35:00Z")
    nudge = scene.room.last(client)
    assert nudge.text.endswith('And yesterday? Tap below, or write "yesterday 2".')
    scene.room.press(client, "Yesterday: 2")
    assert scene.last(client) == "Noted for yesterday: 2 of 3."
    assert scene.said(client, "yesterday 3") == ["Noted for yesterday: 3 of 3."]
    assert scene.sql("select on_date, meaning, value from set_report order by id") == [
        ("2026-03-02", "total", 2),
        ("2026-03-02", "total", 3),
    ]


@pytest.mark.slow
def test_pause_and_stop(scene: Scene) -> None:
    client = scene.enrol()
    room = scene.room
    room.say(client, "/pause")
    room.press(client, "3 days")
    assert "I write again on Thursday 5 March" in scene.last(client)
    before = len(room.from_bot(client))
    room.move(to="2026-03-05T08:00:00Z")
    assert len(room.from_bot(client)) == before
    room.move(to="2026-03-05T08:40:00Z")
    assert scene.last(client).startswith("Good time for your first one today?")
    room.say(client, "/stop")
    room.press(client, "Yes, stop")
    assert scene.last(client).startswith("I have stopped.")
    assert scene.last(scene.clinic.therapist) == "K1 has stopped and gets no more messages."
    before = len(room.from_bot(client))
    room.move(to="2026-03-12T12:00:00Z")
    assert len(room.from_bot(client)) == before
    assert scene.said(client, "hello?")[0].startswith("Nobody reads this chat any more.")


def test_the_button_of_a_nudge_counts_once(scene: Scene) -> None:
    """Pressed three times, or long after, *Done* is one set, booked for the nudge's own day."""
    client = scene.enrol()
    room = scene.room
    room.move(step="next")
    nudge = room.last(client)
    for _ in range(3):
        room.press(client, message_id=nudge.message_id, data="done:20260302:1")
    room.move(to="2026-03-03T10:00:00Z")
    room.press(client, message_id=nudge.message_id, data="done:20260302:1")
    assert scene.sql("select count(*) from set_report") == [(1,)]


def test_the_fallback_contact_is_told_when_nobody_has_seen_it(scene: Scene) -> None:
    """In working hours: again after 15 minutes, the fallback contact at 30, both hourly; *seen* ends it."""
    client = scene.enrol()
    room, therapist, fallback = scene.room, scene.clinic.therapist, scene.clinic.fallback
    room.move(to="2026-03-02T10:00:00Z")
    room.say(client, "blood is pouring out of me")
    room.move(to="2026-03-02T11:31:00Z")
    told = [m.at.strftime("%H:%M") for m in room.from_bot(therapist) if "EMERGENCY" in m.text]
    assert told == ["10:00", "10:15", "11:30"]
    assert [m.at.strftime("%H:%M") for m in room.from_bot(fallback) if "EMERGENCY" in m.text] == [
        "10:30",
        "11:30",
    ]
    room.press(fallback, "Seen")
    room.move(to="2026-03-02T16:00:00Z")
    assert len([m for m in room.from_bot(therapist) if "EMERGENCY" in m.text]) == 3
    room.move(to="2026-03-03T09:30:00Z")
    assert "not closed" in scene.last(therapist)


@pytest.mark.slow
def test_the_evening_question(scene: Scene) -> None:
    """Where the day's messages allow it, the evening asks neutrally, with a number for each answer."""
    file = scene.prescription("K1")
    text = file.read_text(encoding="utf-8").replace("sets_a_day = 3", "sets_a_day = 2")
    file.write_text(text.replace('["08:30", "13:00", "18:30"]', '["08:30", "13:00"]'), encoding="utf-8")
    client = scene.clinic.enrol(scene.clinic.add_client(file), "Aoife")
    scene.room.move(to="2026-03-02T21:00:00Z")
    asked = scene.room.last(client)
    assert (asked.text, asked.labels) == ("How did today go?", ("0", "1", "2"))
    scene.room.press(client, "0")
    assert scene.last(client) == "Noted: none today. Thank you for telling me."
