"""A therapist at her desk, in the chat room: list, note, pause, hours, hand-over; who is told of what."""

import pytest

from bot.domain.people import Role
from tests.flows.conftest import Scene

PANICKED = "blood is pouring out of me and i feel faint"
NOTE = "Well done so far. Bring your diary on Thursday."


def test_list_note_pause_and_resume(scene: Scene) -> None:
    client, therapist, room = scene.enrol(), scene.clinic.therapist, scene.room
    scene.clinic.add_client(scene.prescription("K2"))
    room.move(to="2026-03-02T10:00:00Z")
    scene.said(therapist, "/clients")
    shown = room.last(therapist)
    assert shown.labels[-1] == "Not joined: 1"
    room.press(therapist, "Not joined: 1")
    assert room.last(therapist).text.endswith("K2: has not opened her invite")

    # Nothing is sent before she has seen it as her client will, and tapped.
    scene.said(therapist, "/client K1")
    assert scene.after(therapist, lambda: room.press(therapist, "Write to her"))[-1].text.startswith(
        "K1: please type the note"
    )
    before = len(room.from_bot(client))
    assert scene.said(therapist, NOTE)[0].startswith("K1: so she will read it, at once.")
    assert len(room.from_bot(client)) == before
    room.press(therapist, "Send to K1")
    assert scene.last(client).startswith("For anything urgent ring 020 912 0145, in an emergency 112.")
    assert NOTE in scene.last(client)
    assert scene.sql("select what from unasked where what = 'note'") == [("note",)]
    room.move(by_s=60)
    assert scene.sql("select fate from client_note") == [("sent",)]
    scene.said(therapist, "/client K1")
    assert f"T1 to her: {NOTE}" in scene.last(therapist)

    # A pause of hers ends at once; after an emergency it takes a line on who has reviewed her.
    room.press(therapist, "Pause")
    assert scene.last(client).startswith("Your therapist has paused your reminders.")
    room.move(to="2026-03-02T14:00:00Z")
    assert scene.last(client).startswith("Your therapist has paused your reminders.")
    scene.said(therapist, "/client K1")
    room.press(therapist, "Resume")
    assert scene.last(therapist) == "K1: the programme is resumed."
    room.say(client, PANICKED)
    scene.said(therapist, "/client K1")
    room.press(therapist, "Resume")
    assert scene.last(therapist).startswith("K1: this alert is still open.")
    room.press(therapist, "Seen")
    room.press(therapist, "Spoke to her")
    room.press(therapist, "Keep paused")
    scene.said(therapist, "/client K1")
    room.press(therapist, "Resume")
    assert scene.last(therapist) == "K1: who reviewed her medically, and when? One line, please."
    assert scene.said(therapist, "Dr Farrow saw her at the unit at noon") == [
        "K1: the programme is resumed.\nOn record: Dr Farrow saw her at the unit at noon (T1)"
    ]


@pytest.mark.slow
def test_hours_hand_over_and_an_emergency_nobody_sees(scene: Scene) -> None:
    client, therapist, room = scene.enrol(), scene.clinic.therapist, scene.room
    second = scene.clinic.colleague("T2", "Grania Ashcombe", Role.THERAPIST)
    administrator = scene.clinic.colleague("A1", "Ines Farrowdale", Role.ADMINISTRATOR)
    room.move(to="2026-03-02T10:00:00Z")
    assert scene.said(therapist, "/hours mon 09:00-17:00")[0].startswith("You work: mon 09:00-17:00")
    assert scene.said(client, "/call")[0].count("Monday 09:00") == 0  # it is Monday, and she is there
    assert scene.said(therapist, "/handover T2 all until 4 March")[0].startswith(
        "To T2, until Wednesday 4 March, that day included, 1 in all: K1"
    )
    told = len(room.from_bot(client))
    room.press(therapist, "Hand over to T2")
    assert scene.last(second).startswith("T1 has handed over to you, until Wednesday 4 March")
    assert len(room.from_bot(client)) == told

    # The alert goes to the colleague; an hour unseen, the administrator hears of it, once, without words.
    room.move(to="2026-03-03T10:00:00Z")
    room.say(client, PANICKED)
    assert scene.last(second).startswith("EMERGENCY: K1.")
    assert not scene.last(therapist).startswith("EMERGENCY")
    room.move(to="2026-03-03T13:00:00Z")
    incidents = [text for text in scene.texts(administrator) if text.startswith("Nobody has seen")]
    assert len(incidents) == 1
    assert incidents[0].startswith("Nobody has seen an emergency alert: K1, raised Tue 10:00, therapist T2.")
    assert scene.sql("select began_at from incident") == [("2026-03-03 11:00:00.000000",)]

    room.move(to="2026-03-05T08:00:00Z")
    for person in (therapist, second):
        back = next(shown for shown in reversed(room.from_bot(person)) if "With T1 again" in shown.text)
        assert back.text.startswith("With T1 again from now on, alerts and digest too: K1\nOpen alerts: 1;")
        assert back.raw["silent"] is True  # at midnight
    assert "K1: EMERGENCY" in scene.said(therapist, "/alerts")[0]
