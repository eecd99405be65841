"""Who is told of an alert, who sees what of it, and how it ends, through the chat room."""

import datetime as dt

import pytest

from bot.domain.duties import Duty, Named
from tests.flows.conftest import Scene

PANICKED = "blood is pouring out of me and i feel faint"
MORNING = "2026-03-02T10:00:00Z"


def alerts_of(scene: Scene, person: int) -> list[str]:
    return [
        f"{m.at:%H:%M} {m.text.splitlines()[0]}"
        for m in scene.room.from_bot(person)
        if "Seen" in m.labels or "Seen" in m.gone_labels
    ]


def kinds(scene: Scene) -> list[object]:
    return [row[0] for row in scene.sql("select kind from alert_event order by at, id")]


def test_seen_closed_opened_again_and_everybody_knows(scene: Scene) -> None:
    client = scene.enrol()
    room, therapist, fallback = scene.room, scene.clinic.therapist, scene.clinic.fallback
    room.move(to=MORNING)
    room.say(client, PANICKED)
    room.move(to="2026-03-02T10:31:00Z")
    room.press(fallback, "Seen")
    assert scene.last(therapist) == "K1: F1 has seen it, Mon 2 Mar 10:31."
    assert room.last(therapist).raw["silent"] is True

    listed = scene.after(therapist, lambda: room.say(therapist, "/alerts"))
    assert listed[0].text == "Open alerts:\nK1: EMERGENCY, Mon 2 Mar 10:00, seen"
    room.press(therapist, "K1, Mon 2 Mar 10:00")
    room.press(therapist, "Seen")
    room.press(therapist, "False alarm")
    room.say(therapist, "She meant the kettle")
    assert scene.texts(therapist)[-2] == "K1: closed (false alarm: She meant the kettle)."
    assert scene.last(fallback) == "K1: closed by T1, Mon 2 Mar 10:31 (false alarm)."
    assert scene.said(therapist, "/alerts") == ["No alert is open."]
    closed = next(m for m in reversed(room.from_bot(therapist)) if "Open it again" in m.labels)
    room.press(therapist, "Open it again", message_id=closed.message_id)
    assert scene.last(therapist) == "K1: open again. What came of it?"
    assert scene.last(fallback) == "K1: T1 has opened it again, Mon 2 Mar 10:31."
    assert scene.sql("select closed_at, outcome from alert") == [(None, None)]
    # Undone, it comes back like any other that is open.
    room.move(to="2026-03-03T09:05:00Z")
    assert "not closed" in scene.last(therapist)
    assert kinds(scene).count("reopened") == 1


def test_the_same_warning_ten_times_and_an_edit_that_is_milder(scene: Scene) -> None:
    """One alert, ten rows of what she wrote; what she was told first still holds."""
    client = scene.enrol()
    room = scene.room
    room.move(to=MORNING)
    for _ in range(10):
        room.say(client, PANICKED)
    assert scene.sql("select count(*) from alert") == [(1,)]
    heard = [kind for kind in kinds(scene) if kind in {"raised", "said_again"}]
    assert heard == ["raised"] + ["said_again"] * 9
    first = next(m for m in room.chat(client) if m.text == PANICKED)
    milder = scene.after(
        client, lambda: room.edit(client, first.message_id, "there is a bit of leaking when i run")
    )
    assert not any("Your other sets go on" in m.text for m in milder)
    said = scene.said(client, "my ridge in the middle is worse")
    assert said[0].startswith("What I wrote before still holds: call 112 now.")
    room.edit(client, first.message_id, "all fine now")
    assert "changed" in kinds(scene)
    assert scene.sql("select count(*) from alert where closed_at is null") >= [(1,)]


@pytest.mark.slow
def test_safeguarding_cover_and_what_is_kept_for_the_review(scene: Scene) -> None:
    client = scene.enrol()
    room, clinic, therapist = scene.room, scene.clinic, scene.clinic.therapist
    lead = clinic.colleague("S1", "Maeve Tarrant")
    clinic.duty(Named(Duty.SAFEGUARDING), "S1")
    room.move(to=MORNING)
    said = scene.said(client, "im not safe at home, my husband hits me")
    assert said[0].startswith("If you are in danger, call 112.")
    assert room.last(lead).text.endswith("Sensitive: check that it is safe to call.")
    room.press(lead, "Her words")
    assert "my husband hits me" in room.last(lead).text
    assert scene.said(client, "thanks")[0].startswith("I am only a program.")
    before = len(room.from_bot(client))
    room.move(to="2026-03-02T20:00:00Z")
    assert len(room.from_bot(client)) == before  # nothing is pushed later, no question follows

    # On leave without cover her texts say so, and the fallback contact is told at once.
    leave = {"from_on": dt.date(2026, 3, 3), "until_on": dt.date(2026, 3, 13)}
    clinic.duty(Named(Duty.NO_COVER, None, None, leave["from_on"], leave["until_on"]), None, "T1")
    room.move(to="2026-03-03T10:00:00Z")
    answer = scene.said(client, "my wound is hot and red and there is pus")[0]
    assert "Your therapist is away until 13 March. Nobody reads for her." in answer
    assert "T1 is away, nobody covers" in room.last(clinic.fallback).text

    # With cover, her stand-in is told in her place.
    cover = clinic.colleague("C1", "Fionn Averley")
    clinic.duty(Named(Duty.COVER, None, None, leave["from_on"], leave["until_on"]), "C1", "T1")
    told = len(alerts_of(scene, therapist))
    room.say(client, PANICKED)
    assert room.last(cover).text.startswith("EMERGENCY: K1.")
    assert scene.said(cover, "/alerts")[0] == "Open alerts:\nK1: EMERGENCY, Tue 3 Mar 10:00, not seen"
    assert len(alerts_of(scene, therapist)) == told + 1  # silently

    # What is kept for the next visit is one alert, and the visit closes it.
    for _ in range(3):
        room.say(client, "am i doing it right? not sure i squeeze the right thing")
    kept = scene.sql("select count(*) from alert where level = 'next_review'")
    assert kept == [(1,)]
    assert "For the next review (1):" in scene.said(therapist, "/alerts")[-1]
    assert scene.said(therapist, "/reviewed K1") == ["K1: 1 kept for the review, closed."]
    assert scene.sql("select outcome from alert where level = 'next_review'") == [("reviewed",)]


@pytest.mark.slow
def test_an_alert_nobody_can_be_told_of(scene: Scene) -> None:
    """The fallback contact at once; without her the client gets the numbers again and readiness fails."""
    client = scene.enrol()
    room, therapist, fallback = scene.room, scene.clinic.therapist, scene.clinic.fallback
    room.move(to=MORNING)
    room.block(therapist)
    room.say(client, "my wound is hot and red and there is pus")
    assert "T1 cannot be reached in chat" in room.last(fallback).text
    assert "unreachable" in kinds(scene)  # the digest says so too
    room.block(fallback)
    said = scene.said(client, PANICKED)
    assert said[0].startswith("Call 112 now.")
    room.move(by_s=5)
    assert scene.last(client).startswith(
        "I could not pass this on to your clinic. Please ring 020 912 0145 yourself."
    )
    assert scene.sql("select count(*) from alert where undelivered_at is not null") == [(1,)]
    assert "undelivered" in kinds(scene)
    room.unblock(fallback)
    room.move(to="2026-03-02T10:31:00Z")
    assert "EMERGENCY" in room.last(fallback).text
    assert scene.sql("select count(*) from alert where undelivered_at is not null") == [(0,)]


@pytest.mark.slow
def test_i_cannot_feel_it_is_followed_by_one_question(scene: Scene) -> None:
    client = scene.enrol()
    room = scene.room
    room.move(to=MORNING)
    asked = scene.after(client, lambda: room.say(client, "i cant feel it"))
    question = next(m for m in asked if "can you feel it as you always did?" in m.text)
    room.press(client, "No, or less", message_id=question.message_id)
    assert any(text.startswith("Go to the emergency department") for text in scene.texts(client)[-2:])
    assert scene.sql("select level from alert where level = 'emergency'") == [("emergency",)]


@pytest.mark.slow
def test_undecided_for_two_working_days(scene: Scene) -> None:
    """She is told whom to ring, once; then her line heads the digest."""
    client = scene.enrol()
    room = scene.room
    room.move(to=MORNING)
    room.say(client, "my ridge in the middle pops up since yesterday")
    room.move(to="2026-03-04T08:59:00Z")
    assert not any("has not answered" in text for text in scene.texts(client))
    room.move(to="2026-03-04T09:01:00Z")
    words = [text for text in scene.texts(client) if "has not answered" in text]
    assert len(words) == 1
    assert words[0].startswith(
        "Your therapist has not answered what you wrote yet. Please ring 020 912 0145."
    )
    assert "told_her" in kinds(scene)


@pytest.mark.slow
def test_the_mood_question_is_off_until_the_clinic_names_who_acts(scene: Scene) -> None:
    client = scene.enrol()
    room, clinic = scene.room, scene.clinic
    asked = scene.after(client, lambda: room.say(client, "/symptoms"))
    assert "The first question" in asked[0].text
    for _ in range(3):
        room.press(client, "Skip")
    assert not any("your mood" in text for text in scene.texts(client))
    assert scene.sql("select distinct value from symptom_report") == [(None,)]  # skipping is kept

    acts = clinic.colleague("M1", "Sheila Corrigan")
    clinic.duty(Named(Duty.MOOD, number="020 912 0177"), "M1")
    room.move(to="2026-03-03T10:00:00Z")
    room.say(client, "/symptoms")
    room.press(client, "Skip")
    room.press(client, "Skip")
    shown = next(m for m in room.from_bot(client) if "your mood" in m.text)
    assert "the crisis line 020 912 0177" in shown.text
    room.press(client, "Low", message_id=shown.message_id)
    assert "Please ring 020 912 0145 today" in "".join(scene.texts(client)[-2:])
    assert room.last(acts).text.startswith("Same day: K1.")
    assert room.last(acts).text.endswith("Sensitive: check that it is safe to call.")
    room.say(client, "/symptoms")
    for _ in range(3):
        room.press(client, "Skip")
    assert scene.sql("select count(*) from symptom_report where question = 'mood'") == [
        (1,)
    ]  # not every week
