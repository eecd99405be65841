"""What goes wrong in a real chat: each gets a clear, kind answer; nothing is lost, nothing crashes."""

from functools import partial

import pytest

from bot.domain.people import Role
from bot.errors import RefusedError
from bot.service import setup
from demo import cast
from demo.exempt import Exempt
from tests.flows.conftest import Scene


def test_an_invite_that_does_not_work(scene: Scene) -> None:
    """Unknown, used, expired, wrong digits: no word about whose it is."""
    room = scene.room
    stranger = room.person("Nobody")
    room.start(stranger, "not-a-code")
    assert scene.last(stranger).startswith("This invite does not work.")

    invited = scene.clinic.add_client(scene.prescription("K1"))
    scene.clinic.enrol(invited, "Aoife")
    room.start(stranger, invited.link_code)
    assert scene.last(stranger).startswith("This invite does not work.")

    old = scene.clinic.add_client(scene.prescription("K2"))
    room.move(by_s=15 * 86400)
    room.start(stranger, old.link_code)
    assert scene.last(stranger).startswith("This invite does not work.")


@pytest.mark.slow
def test_wrong_digits_close_the_invite(scene: Scene) -> None:
    room = scene.room
    invited = scene.clinic.add_client(scene.prescription("K1"))
    wrong = "0000" if invited.digits != "0000" else "1111"
    person = room.person("Wrong phone")
    room.start(person, invited.link_code)
    assert scene.said(person, wrong) == ["These are not the four digits. You can try 2 more times."]
    assert scene.said(person, "my chest hurts")[0].startswith("Hello. I only talk with")
    scene.said(person, wrong)
    assert scene.said(person, wrong)[0].startswith("These were not the four digits, so this invite is closed")
    assert scene.said(person, invited.digits)[0].startswith("Hello. I only talk with")


@pytest.mark.slow
def test_guessing_codes_is_slowed(scene: Scene) -> None:
    stranger = scene.room.person("Guesser")
    for attempt in range(5):
        scene.room.start(stranger, f"guess-{attempt}")
    invited = scene.clinic.add_client(scene.prescription("K1"))
    scene.room.start(stranger, invited.link_code)
    assert scene.last(stranger).startswith("Too many tries")


def test_a_stranger_and_a_group(scene: Scene) -> None:
    stranger = scene.room.person("Stranger")
    scene.room.start(stranger)
    assert scene.last(stranger).startswith("Hello. I only talk with people whose clinic invited them.")
    group = int(scene.room.post("groups", title="Mothers", people=[stranger])["chat"])
    scene.room.say(stranger, "2 sets", chat=group)
    assert scene.last(stranger).startswith("I only talk in private")
    assert scene.sql("select count(*) from set_report") == [(0,)]


def test_long_texts_are_kept_and_answered_once(scene: Scene) -> None:
    """10,000 characters arrive as three messages: all are kept, one answer says so."""
    client = scene.enrol()
    word = "zebra "
    first = scene.after(client, lambda: scene.room.say(client, (word * 700)[:4096]))
    assert len(first) == 1
    assert first[0].text.startswith("I could not read this, so I keep it for your therapist.")
    more = [scene.said(client, (word * 700)[:4096]), scene.said(client, (word * 700)[:1808])]
    assert more == [[], []]
    assert scene.sql("select count(*) from unread_note") == [(3,)]


def test_unknown_command_photo_and_voice(scene: Scene) -> None:
    client = scene.enrol()
    assert scene.said(client, "/frobnicate") == ["I do not know that command. /help lists what I can do."]
    for kind in ("photo", "voice"):
        answers = scene.after(client, partial(scene.room.send_media, client, kind))
        assert answers[0].text.startswith("Nobody can see or hear that")
    caption = scene.after(
        client, lambda: scene.room.send_media(client, "photo", "my calf is swollen and hot, one leg only")
    )
    assert "112" in caption[0].text
    assert scene.sql("select count(*) from alert") == [(1,)]


@pytest.mark.slow
def test_a_made_up_button_does_nothing(scene: Scene) -> None:
    client = scene.enrol()
    scene.room.move(step="next")
    for data in (
        "done:20990101:1",
        "done:20260302:x",
        "total:20260302:99",
        "nonsense",
        "seen:00",
        "ask:20260302:leaks:5",
    ):
        before = scene.sql("select count(*) from set_report")
        scene.room.press(client, message_id=scene.room.last(client).message_id, data=data)
        assert scene.last(client).startswith("That button"), data
        assert scene.sql("select count(*) from set_report") == before


def test_an_edited_message_that_becomes_a_warning(scene: Scene) -> None:
    client = scene.enrol()
    scene.room.say(client, "the weather is grand")
    own = [m for m in scene.room.chat(client) if not m.from_bot][-1]
    answers = scene.after(client, lambda: scene.room.edit(client, own.message_id, "i cant breathe properly"))
    assert answers[0].text.startswith("Call 112 now.")


def test_a_client_who_blocks_the_bot(scene: Scene) -> None:
    client = scene.enrol()
    scene.room.block(client)
    scene.room.move(to="2026-03-02T13:30:00Z")
    told = [text for text in scene.texts(scene.clinic.therapist) if "cannot be reached" in text]
    assert told == ["K1 cannot be reached in chat any more (blocked, or the account is gone)."]
    scene.room.unblock(client)
    scene.room.say(client, "2")
    assert scene.last(client) == "Noted: 2 of 3 today."


def test_a_faulty_prescription_file(scene: Scene) -> None:
    """Each fault is a line that names the file, the field and what was expected; nothing is stored."""
    file = scene.prescription("K9")
    text = file.read_text(encoding="utf-8")
    text = text.replace("hold_s = 6", "hold_s = 90").replace(
        'zone = "Europe/Dublin"', 'zone = "Europe/Dublen"'
    )
    file.write_text(text + "\n[colour]\nred = 1\n", encoding="utf-8")
    with pytest.raises(RefusedError) as refused:
        scene.clinic.add_client(file)
    lines = [line.removeprefix(f"{file}: ") for line in refused.value.faults]
    assert lines[0].startswith("zone: ")
    assert "Europe/Dublin" in lines[0]
    assert lines[1] == "programme.contractions.0.hold_s: Input should be less than or equal to 10"
    assert lines[2] == "colour: not a field of a prescription"
    assert scene.sql("select count(*) from client") == [(0,)]


def test_nobody_is_enrolled_before_therapist_and_fallback_are_linked(scene: Scene) -> None:
    made = setup.NewStaff("T2", "Una Invented", Role.THERAPIST, "DEMO-0002")
    clock = cast.AtInstant(scene.room.now())
    setup.add_staff(scene.store.begin, clock, cast.CLINIC["code"], made)
    with pytest.raises(RefusedError, match="therapist T2 has not opened her invite"):
        setup.add_client(scene.store.begin, clock, Exempt(), None, "T2", scene.prescription("K1"))


@pytest.mark.slow
def test_the_commands_raise_no_alarm(scene: Scene) -> None:
    """A command of ours holds no words of hers, whatever its name sounds like; an unknown one may."""
    client = scene.enrol()
    for name in (
        "help",
        "stop",
        "pause",
        "call",
        "privacy",
        "symptoms",
        "week",
        "times",
        "today",
        "language",
    ):
        scene.room.say(client, f"/{name}")
    assert scene.sql("select count(*) from alert") == [(0,)]
    assert "112" in scene.said(client, "/heavy_bleeding soaking a pad an hour")[0]


def test_after_a_frightening_message_nothing_is_counted_by_guess(scene: Scene) -> None:
    """While the warning stands every word goes to the therapist, and each answer names whom to ring."""
    client = scene.enrol()
    scene.room.say(client, "i keep thinking theyd all be better off without me")
    for text in ("i didnt mean it like that sorry", "they sent me home, all ok", "please dont tell anyone"):
        answers = scene.said(client, text)
        assert len(answers) == 1, text
        assert answers[0].startswith("I am only a program."), text
    assert scene.sql("select count(*) from set_report") == [(0,)]
    assert scene.said(client, "/pause")[0].startswith("Your reminders are paused until your therapist")
