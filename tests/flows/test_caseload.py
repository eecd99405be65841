"""From a client's own answer to the digest, her card and a signed step, in the chat room."""

import datetime as dt

import pytest

from bot.domain.day_book import Meaning, SetReport
from bot.rules.discretion import indiscreet
from bot.store import diary, people
from demo.room_client import Shown
from tests.flows.conftest import Scene


def full_days(scene: Scene, code: str, first: dt.date, days: int) -> None:
    """Put full days into her diary as she would have reported them."""
    with scene.store.begin() as tx:
        (clinic,) = people.clinics(tx)
        client = people.client_by_code(tx, clinic.id, code)
        assert client is not None
        for on in (first + dt.timedelta(days=n) for n in range(days)):
            said_at = dt.datetime.combine(on, dt.time(20), dt.UTC)
            diary.report_sets(tx, client.id, SetReport(on, Meaning.TOTAL, 3, said_at, f"{on}"), said_at)


def press(scene: Scene, label: str) -> str:
    """The therapist presses a button of the newest message that shows it, and reads what comes of it."""
    therapist = scene.clinic.therapist
    shown = next(m for m in reversed(scene.room.from_bot(therapist)) if label in m.labels)
    scene.room.press(therapist, label, message_id=shown.message_id)
    return scene.last(therapist)


def newest(scene: Scene) -> Shown:
    return scene.room.from_bot(scene.clinic.therapist)[-1]


@pytest.fixture
def ready(scene: Scene) -> Scene:
    """Fifteen full days of a client; everything but her own answer speaks for the next step."""
    client = scene.enrol()
    scene.room.move(to="2026-03-16T20:40:00Z")
    full_days(scene, "K1", dt.date(2026, 3, 2), 14)
    scene.room.say(client, "did 2 today")
    assert not scene.last(client).startswith("Well done")
    scene.room.say(client, "did 3 today")
    assert scene.last(client).startswith("Well done with today's sets. One question for your therapist")
    return scene


def test_from_her_own_answer_to_a_signed_step(ready: Scene) -> None:
    """Asked once, when all else holds; the digest says so; one tap and one yes put the step in force."""
    scene, client, therapist = ready, ready.clients["K1"], ready.clinic.therapist
    scene.room.say(client, "did 3 today")
    assert scene.last(client) == "I have 3 of 3 for today."
    scene.room.press(client, "Yes, all three")
    assert scene.last(client) == "Thank you, noted for your therapist."

    full_days(scene, "K1", dt.date(2026, 3, 16), 7)
    scene.room.move(to="2026-03-22T20:00:00Z")
    scene.room.say(client, "did 3 today")
    scene.room.move(to="2026-03-23T09:20:00Z")
    digest = next(m for m in reversed(scene.room.from_bot(therapist)) if "All clients" in m.labels)
    assert "K1: consider progressing. 21 of 21, answered 7 of 7 days" in digest.text
    assert digest.labels == ("K1", "All clients")
    scene.room.press(therapist, "K1", message_id=digest.message_id)
    card = newest(scene).text
    assert card.startswith("K1, Mon 16 Mar to Sun 22 Mar: 21 of 21, answered 7 of 7 days\n")
    assert "Consider: progressing. All conditions are met" in card
    assert indiscreet(card) == ()

    proposed = press(scene, "Next step")
    assert "Pelvic-floor long hold: hold 6 s -> 7 s" in proposed
    assert indiscreet(proposed) == ()
    question = press(scene, "Put in force")
    assert question.startswith("K1: from Tue 24 Mar on, signed T1. Is that what you want?")
    assert scene.sql("select count(*) from prescription") == [(1,)]
    confirm = newest(scene)
    assert press(scene, "Yes, sign") == "K1: version 2 is signed and holds from Tue 24 Mar on."
    assert scene.sql("select version, starts_on from prescription order by version") == [
        (1, "2026-03-02"),
        (2, "2026-03-24"),
    ]
    # The same button pressed again, or made up, signs nothing.
    scene.room.press(therapist, message_id=confirm.message_id, data=confirm.data["Yes, sign"])
    assert newest(scene).text == "K1: something has changed since. Please open the card again."
    assert scene.sql("select count(*) from prescription") == [(2,)]
    assert scene.sql("select outcome from review") == [("progress",)]

    # One page takes the place of another: the diary, her words, the alerts, and back.
    scene.room.say(therapist, "/client K1")
    shown = len(scene.room.from_bot(therapist))
    assert "Sun 22 Mar  ●●●  3 of 3" in press(scene, "Diary")
    assert "Mon 2 Mar" in press(scene, "Earlier")
    assert "Nothing in her own words yet" in (press(scene, "Card") and press(scene, "Her words"))
    assert "None so far" in (press(scene, "Card") and press(scene, "Alerts"))
    assert len(scene.room.from_bot(therapist)) == shown
