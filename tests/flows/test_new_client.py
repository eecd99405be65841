"""A therapist sets a new client up in chat: from findings to what is in force, then the room."""

import re

import pytest

from tests.flows.conftest import Scene

PERFECT = ("3", "5", "4", "7")
MOST_TAPS = 8


class Taps:
    """A therapist's finger: presses a button and counts."""

    def __init__(self, scene: Scene) -> None:
        self._scene = scene
        self.person = scene.clinic.therapist
        self.count = 0

    def __call__(self, *labels: str) -> str:
        """Press these one after the other; what the form shows then."""
        for label in labels:
            self._scene.room.press(self.person, label)
            self.count += 1
        return self._scene.room.last(self.person).text

    def type(self, text: str) -> str:
        """Type something; what the bot shows then."""
        self._scene.room.say(self.person, text)
        return self._scene.room.last(self.person).text


@pytest.fixture
def taps(scene: Scene) -> Taps:
    return Taps(scene)


def test_from_findings_to_a_prescription_in_force_in_eight_taps(scene: Scene, taps: Taps) -> None:
    """The longest main line there is, one question for one tap; typed are only the code and the birth."""
    room, therapist = scene.room, taps.person
    shown = taps.type("/new K7")
    assert shown.startswith("K7: a draft, nothing is in force yet.")
    assert "3  Wide separation" in shown
    taps("3")
    shown = taps.type("9 Feb 2026")
    assert "Birth 9 Feb 2026, 3 whole weeks ago" in shown
    taps("All true, by finger", *PERFECT)
    shown = taps("· 2.5")
    assert "Pelvic-floor long hold: 4 x 5 s, rest 4 s, lying" in shown
    assert "proposed from 3/5/4//7" in shown
    assert "not yet: " in shown
    done_before = len(room.from_bot(therapist))
    taps("Put in force for K7")
    assert taps.count <= MOST_TAPS
    done, listed = room.from_bot(therapist)[done_before:]
    assert done.text.startswith("K7: version 1 is in force from 2 Mar 2026. Signed T1, Mon 2 Mar 07:00.")
    assert listed.text == (
        "K7, what is done in the room:\n○ she has opened her invite and agreed\n"
        "○ her first message has come\n○ she has answered it\n"
        "○ she has chosen her own moments (/times on her phone)"
    )
    assert scene.sql(
        "select c.code, p.version, p.starts_on, s.code from prescription p "
        "join client c on c.id = p.client_id join staff s on s.id = p.put_in_force_by"
    ) == [("K7", 1, "2026-03-02", "T1")]
    assert scene.sql("select count(*) from draft") == [(0,)]

    # The rest is done in the room: the link and the digits lead her in, a trial message is answered.
    link = re.search(r"https://t\.me/\w+\?start=\S+", done.text)
    digits = re.search(r"aloud: (\d{4})", done.text)
    assert link
    assert digits
    room.press(therapist, "Send her a trial message")
    assert scene.last(therapist).startswith("K7 has not opened her invite")
    her = room.person("Aoife")
    room.start(her, link[0])
    room.say(her, digits[1])
    room.press(her, "I agree")
    room.press(her, "Yes")
    room.press(therapist, "Send her a trial message")
    assert scene.last(her).startswith("This is a trial")
    room.press(her, "Done (a trial)")
    assert scene.last(her).startswith("Thank you, it works.")
    room.press(therapist, "Look again")
    listed = next(m for m in room.from_bot(therapist) if "what is done in the room" in m.text)
    assert listed.text.count("✓") == 3
    assert scene.sql("select count(*) from set_report") == [(0,)]
