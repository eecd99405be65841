"""A client's rights in chat: to have it put right, to take consent back, to be protected."""

import datetime as dt

import pytest
import sqlalchemy as sa

from bot.conversation.speech import Say
from bot.domain.delivery import Kind
from bot.domain.people import Role, Stage
from bot.rules.discretion import is_sensitive
from bot.service import deliver, post, setup
from bot.service.deliver import Outgoing
from bot.store import chats, erase, people, tables
from tests.fixtures.household import ORLA, THERAPIST, Household
from tests.store import prepared

NEW_PHONE, FALLBACK = 5_000_000_011, 5_000_000_012


@pytest.fixture
def sent(monkeypatch: pytest.MonkeyPatch) -> list[Outgoing]:
    """Everything that left, as it was handed to the platform."""
    found: list[Outgoing] = []
    take = deliver.take

    def watch(*args: object) -> list[Outgoing]:
        taken = take(*args)  # type: ignore[arg-type] # handed on as they came
        found.extend(taken)
        return taken

    monkeypatch.setattr(deliver, "take", watch)
    return found


# ---- Correct -----------------------------------------------------------------------------------------------


def test_what_she_says_is_wrong_reaches_her_therapist(home: Household) -> None:
    home.say("/privacy")
    assert home.press("Something is wrong")[0].startswith("What is wrong?")
    assert home.press("Something else")[0].endswith("One message, please.")
    home.clock.set(dt.datetime(2026, 3, 2, 10, tzinfo=dt.UTC))
    home.press("Something else")
    (answer,) = home.say("my son was born on the 4th, not the 14th")
    assert answer.startswith("I have passed it on.")
    told = home.shown[THERAPIST][-1].text
    assert "says that something kept of her is wrong" in told
    assert "born" not in told
    (note,) = home.say("/notes C1", THERAPIST)
    assert "Wants this put right: my son was born on the 4th, not the 14th" in note


def test_a_worry_typed_there_is_heard_first(home: Household) -> None:
    home.say("/privacy")
    home.press("Something is wrong")
    home.press("Something else")
    assert "112" in home.say("I soaked two pads in an hour")[0][:160]


def test_times_and_zone_are_hers_to_change(home: Household) -> None:
    home.say("/privacy")
    home.press("Something is wrong")
    assert home.press("My times")[0].startswith("Your times:")
    home.press("My time zone")
    assert "Europe/Lisbon" in home.say("Lisbon")[0]


def test_another_phone_needs_another_invite(home: Household) -> None:
    home.say("/privacy")
    home.press("Something is wrong")
    assert "needs a new invite" in home.press("My phone or account")[0]


def test_who_has_left_is_told_whom_to_ring(home: Household) -> None:
    home.say("/stop")
    home.press("Yes, stop")
    home.say("/privacy")
    assert home.press("Something is wrong")[0].startswith("Nobody reads this chat any more.")


# ---- Withdraw ----------------------------------------------------------------------------------------------


def test_withdrawing_stops_messages_says_what_stays_and_tells_the_therapist(home: Household) -> None:
    now = home.clock.now()
    with home.store.begin() as tx:
        chat = chats.chat_of_owner(tx, home.client_id)
        assert chat is not None
        waits = Say("kind_word", {"phone": "020 910 0101"}, kind=Kind.NUDGE)
        post.put_say(tx, chat, waits, "waits", now, not_before=now + dt.timedelta(hours=12))
    asked = home.say("/stop")[0]
    assert "Your clinic keeps its clinical record; I stop writing." in asked
    home.press("Yes, stop")
    assert home.stage is Stage.WITHDRAWN
    assert "has stopped and gets no more messages" in home.shown[THERAPIST][-1].text
    before = len(home.shown[ORLA])
    home.to(now + dt.timedelta(days=10))
    assert len(home.shown[ORLA]) == before
    with home.store.begin() as tx:
        assert [given for _, given, _ in erase.consents_of(tx, home.client_id)][-1] is False
        states = tx.connection.scalars(
            sa.select(tables.outbox.c.state).where(tables.outbox.c.key == "waits")
        ).all()
    assert states == ["expired"]


# ---- Protected, discreet -----------------------------------------------------------------------------------


def test_whatever_holds_a_health_word_or_has_buttons_is_protected(
    home: Household, sent: list[Outgoing]
) -> None:
    home.to(home.clock.now() + dt.timedelta(hours=13))
    for text in ("2", "/plan", "/symptoms", "/week", "/privacy", "I soaked two pads in an hour", "zebra"):
        home.say(text)
    for text in ("/clients", "/client C1", "/alerts", "/digest", "/notes C1"):
        home.say(text, THERAPIST)
    home.press("Her words", THERAPIST)
    new = [out for out in sent if out.method in {"text", "photo", "document"}]
    assert len(new) > 12
    assert [out.text for out in new if (out.rows or is_sensitive(out.text)) and not out.keep_private] == []
    assert [out.text for out in new if not out.keep_private] != []  # a plain answer may be passed on


def test_the_platform_is_named_before_any_health_word(home: Household, sent: list[Outgoing]) -> None:
    """Until she has agreed nothing says what it is about, and consent says first who can read along."""
    with home.store.begin() as tx:
        people.set_stage(tx, home.client_id, Stage.INVITED)
        fallback = prepared.staff(home.clock.now(), people.clinics(tx)[0].id, "F1", Role.FALLBACK)
        people.add_staff(tx, fallback, None, None, home.clock.now())
        chat = chats.chat_of(tx, prepared.BOT, FALLBACK, home.clock.now())
        chats.link(tx, chat, Role.FALLBACK, fallback.id, home.clock.now())
        chats.unlink(tx, home.client_id)
    made = setup.invite(home.store.begin, home.clock, None, "C1")
    home.say(f"/start {made.code}", NEW_PHONE)
    home.say("hello?", NEW_PHONE)
    home.say(made.digits, NEW_PHONE)
    texts = [out.text for out in sent if out.chat == NEW_PHONE and out.text]
    assert "Do you agree?" in texts[-1]
    before = "\n".join(texts).partition("The company that runs this chat app can read these messages.")
    assert before[1]
    assert not is_sensitive(before[0])
    assert "In some places a chat app may not be used for care." in texts[-1]


def test_a_word_far_down_is_found() -> None:
    assert is_sensitive("x " * 200 + "leaks")
    assert not is_sensitive("See you next week.")
