"""From the platform's update to what a person did.

The updates are written by hand after the public Bot API (read): Update, Message, CallbackQuery,
InaccessibleMessage, ChatMemberUpdated.
"""

import datetime as dt
import json
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from bot.conversation.incoming import Body, Command, Incoming, InGroup, Media, Other, Press, Reachable, Text
from bot.transport.parse import UnreadableUpdateError, parse, sender_of

Json = dict[str, Any]

CAME_IN = dt.datetime(2026, 3, 2, 9, 0, 5, tzinfo=dt.UTC)
SAID = dt.datetime(2026, 3, 2, 9, 0, 0, tzinfo=dt.UTC)
SECONDS = 1_772_442_000  # the same instant, as the platform writes it
ORLA = {"id": 5_000_000_001, "is_bot": False, "first_name": "Orla", "language_code": "en"}
PRIVATE = {"id": 5_000_000_001, "type": "private", "first_name": "Orla"}
GROUP = {"id": -1_001_234_567_890, "type": "supergroup", "title": "Tuesday class"}
BOT = {"id": 4_200_001, "is_bot": True, "first_name": "Home programme", "username": "home_bot"}


def message(**fields: Any) -> Json:
    return {"message_id": 7, "from": ORLA, "chat": PRIVATE, "date": SECONDS, **fields}


def read(**update: Any) -> Incoming:
    return parse(json.dumps({"update_id": 700_000_001, **update}).encode(), CAME_IN)


def said(**fields: Any) -> Body:
    """The body of a message, whose sender and date are checked on the way."""
    incoming = read(message=message(**fields))
    assert (incoming.sender, incoming.said_at) == (5_000_000_001, SAID)
    return incoming.body


@pytest.mark.parametrize(
    "text",
    [
        "2",
        "two and a bit sore",
        "👍🏽",
        "👩‍👩‍👧 3",
        "שלוש פעמים היום",
        "ثلاث مرات اليوم",
        "\u202e2\u202c",
        "line one\nline two",
        "  2  ",
        "",
        "a" * 4096,
    ],
)
def test_a_text_is_taken_as_it_stands(text: str) -> None:
    assert said(text=text, entities=[]) == Text(text)


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        ("/start", Command("start", "")),
        ("/start Ab-_9", Command("start", "Ab-_9")),
        ("/START@home_bot  Ab-_9 ", Command("start", "Ab-_9")),
        ("/help@home_bot", Command("help", "")),
        ("/pause\n3 days", Command("pause", "3 days")),
        ("/note one\ntwo", Command("note", "one\ntwo")),
        ("/bleeding a lot", Command("bleeding", "a lot")),
    ],
)
def test_a_command_loses_the_bots_name_and_keeps_what_follows(text: str, expected: Command) -> None:
    assert said(text=text, entities=[{"type": "bot_command", "offset": 0, "length": 6}]) == expected


@pytest.mark.parametrize(
    "text",
    ["/", "/ 2", "//start", "/début", "/can't breathe", "and/or", " /start", "/start,please", "/" + "x" * 33],
)
def test_what_only_looks_like_a_command_is_a_text(text: str) -> None:
    """In doubt it is read as words, since words are read for warning signs."""
    assert said(text=text) == Text(text)


def test_half_a_character_becomes_the_mark_for_one() -> None:
    raw = json.dumps({"update_id": 1, "message": message(text="sore \ud83d today")}).encode()
    assert parse(raw, CAME_IN).body == Text("sore \ufffd today")


def test_an_edited_text_is_dated_by_its_edit() -> None:
    edited = read(edited_message=message(text="3", edit_date=SECONDS + 60))
    assert edited == Incoming(5_000_000_001, SAID + dt.timedelta(seconds=60), Text("3", edited=True))


def test_an_edited_command_is_no_order() -> None:
    assert read(edited_message=message(text="/stop", edit_date=SECONDS)).body == Text("/stop", edited=True)


def test_an_edited_caption() -> None:
    photo = message(photo=[{"file_id": "A"}], caption="sore here", edit_date=SECONDS)
    assert read(edited_message=photo).body == Media("photo", "sore here", edited=True)


@pytest.mark.parametrize(
    ("fields", "expected"),
    [
        (
            {"photo": [{"file_id": "A", "width": 1}], "caption": "is this normal?"},
            Media("photo", "is this normal?"),
        ),
        ({"photo": [{"file_id": "A"}]}, Media("photo", "")),
        ({"voice": {"file_id": "A", "duration": 7}}, Media("voice", "")),
        ({"video_note": {"file_id": "A", "duration": 7}}, Media("video note", "")),
        ({"sticker": {"file_id": "A", "emoji": "👍"}}, Media("sticker", "")),
        ({"animation": {"file_id": "A"}, "document": {"file_id": "A"}}, Media("animation", "")),
        ({"document": {"file_id": "A"}, "caption": "letter"}, Media("document", "letter")),
        ({"contact": {"phone_number": "01632 960123", "first_name": "Bríd"}}, Media("contact", "")),
        ({"venue": {"title": "Here"}, "location": {"latitude": 1.5, "longitude": 2.5}}, Media("venue", "")),
        ({"location": {"latitude": 1.5, "longitude": 2.5}}, Media("location", "")),
        ({"poll": {"id": "1", "question": "?"}}, Media("poll", "")),
        ({"dice": {"emoji": "🎲", "value": 3}}, Media("dice", "")),
    ],
)
def test_what_is_not_text_is_named_and_never_fetched(fields: Json, expected: Media) -> None:
    assert said(**fields) == expected


def test_a_kind_of_message_still_to_come_is_something_she_sent() -> None:
    """She is told that nobody saw it, rather than nothing."""
    assert said(hologram={"depth": 3}) == Media("message", "")
    assert said(hologram={"depth": 3}, caption="I feel faint") == Media("message", "I feel faint")


def test_the_platforms_own_notes_are_not_hers() -> None:
    assert said(pinned_message=message(text="Sets?")) == Other("message")


def test_odd_parts_do_not_keep_us_from_the_words() -> None:
    odd = {"entities": [{"type": 5}, "x", None], "reply_to_message": [], "via_bot": 7, "hologram": {}}
    assert said(text="heavy bleeding", **odd) == Text("heavy bleeding")


@pytest.mark.parametrize("date", [None, "yesterday", 10**20, -(10**20), [], {}, 1.0e300])
def test_a_message_without_a_usable_date_is_dated_by_its_receipt(date: object) -> None:
    assert read(message=message(text="2") | {"date": date}) == Incoming(5_000_000_001, CAME_IN, Text("2"))


# --- presses ---


def query(**fields: Any) -> Json:
    return {"id": "8000000000000001", "from": ORLA, "chat_instance": "1", "data": "done:20260302:1", **fields}


def test_a_press_is_dated_by_its_receipt() -> None:
    """The platform gives a press no date."""
    pressed = read(callback_query=query(message=message(text="Sets?") | {"from": BOT}))
    assert pressed == Incoming(5_000_000_001, CAME_IN, Press("8000000000000001", "done:20260302:1", 7))


def test_a_press_on_a_message_of_which_only_a_stub_is_left() -> None:
    stub = {"chat": PRIVATE, "message_id": 7, "date": 0}
    assert read(callback_query=query(message=stub)).body == Press("8000000000000001", "done:20260302:1", 7)


def test_a_press_without_message_or_data() -> None:
    bare = {"id": "8", "from": ORLA, "chat_instance": "1", "inline_message_id": "x", "game_short_name": "g"}
    assert read(callback_query=bare).body == Press("8", "", None)


def test_a_press_in_a_group() -> None:
    assert read(callback_query=query(message=message() | {"chat": GROUP})).body == InGroup(-1_001_234_567_890)


# --- groups, blocks, others ---


@pytest.mark.parametrize("kind", ["group", "supergroup", "channel"])
def test_what_is_said_in_a_group_is_not_read(kind: str) -> None:
    chat = {**GROUP, "type": kind}
    heard = read(message=message(text="I am bleeding") | {"chat": chat})
    assert heard == Incoming(5_000_000_001, SAID, InGroup(-1_001_234_567_890))


@pytest.mark.parametrize(
    ("status", "reachable"), [("kicked", False), ("left", False), ("member", True), ("restricted", True)]
)
def test_blocking_and_letting_back_in(status: str, reachable: bool) -> None:
    change = {
        "chat": PRIVATE,
        "from": ORLA,
        "date": SECONDS,
        "old_chat_member": {"user": BOT, "status": "member"},
        "new_chat_member": {"user": BOT, "status": status, "until_date": 0},
    }
    assert read(my_chat_member=change) == Incoming(5_000_000_001, CAME_IN, Reachable(reachable))


def test_being_put_into_a_group_says_nothing_of_the_person() -> None:
    change = {"chat": GROUP, "from": ORLA, "new_chat_member": {"user": BOT, "status": "kicked"}}
    assert read(my_chat_member=change).body == Other("membership")


def test_a_kind_of_update_we_did_not_ask_for() -> None:
    assert read(poll_answer={"poll_id": "1", "user": ORLA}) == Incoming(None, CAME_IN, Other("poll_answer"))
    assert read() == Incoming(None, CAME_IN, Other("nothing"))


def test_a_channel_post_has_no_sender() -> None:
    post = {"message_id": 3, "sender_chat": GROUP, "chat": GROUP, "date": SECONDS, "text": "hello"}
    assert read(channel_post=post) == Incoming(None, CAME_IN, Other("channel_post"))


def test_a_message_without_a_sender() -> None:
    bare = message(text="2")
    del bare["from"]
    assert read(message=bare) == Incoming(None, SAID, Text("2"))


# --- what cannot be read ---

GARBAGE: list[tuple[Any, int | None]] = [
    ([], None),
    ("text", None),
    (None, None),
    ({"update_id": 1, "message": []}, None),
    ({"update_id": 1, "message": "hello"}, None),
    ({"update_id": 1, "message": {"from": ORLA, "text": "2"}}, 5_000_000_001),
    ({"update_id": 1, "message": {"from": ORLA, "chat": 7, "text": "2"}}, 5_000_000_001),
    ({"update_id": 1, "message": {"from": ORLA, "chat": {"type": "group"}}}, 5_000_000_001),
    ({"update_id": 1, "callback_query": {"from": ORLA, "message": 3}}, 5_000_000_001),
    ({"update_id": 1, "callback_query": {"from": ORLA, "message": {"chat": PRIVATE}}}, 5_000_000_001),
    ({"update_id": 1, "my_chat_member": {"from": ORLA, "chat": PRIVATE}}, 5_000_000_001),
]


@pytest.mark.parametrize(("update", "sender"), GARBAGE)
def test_garbage_is_refused_but_its_sender_is_still_found(update: Any, sender: int | None) -> None:
    with pytest.raises(UnreadableUpdateError) as caught:
        parse(json.dumps(update).encode(), CAME_IN)
    assert "Orla" not in str(caught.value)
    assert sender_of(update) == sender


@pytest.mark.parametrize("raw", [b"", b"\xff\xfe", b"{", b'{"update_id": 1', b"\x00" * 10])
def test_what_is_not_json_is_refused(raw: bytes) -> None:
    with pytest.raises(UnreadableUpdateError, match="not JSON"):
        parse(raw, CAME_IN)


@pytest.mark.parametrize(
    "sender", [None, 7, "Orla", [], {}, {"id": "5"}, {"id": None}, {"id": True}, {"id": 5.0}]
)
def test_a_sender_that_is_none(sender: object) -> None:
    assert sender_of({"update_id": 1, "message": {"from": sender}}) is None


ANY_JSON = st.recursive(
    st.none() | st.booleans() | st.integers() | st.floats(allow_nan=False) | st.text(max_size=5),
    lambda inner: (
        st.lists(inner, max_size=3)
        | st.dictionaries(
            st.sampled_from(
                [
                    "message",
                    "callback_query",
                    "my_chat_member",
                    "from",
                    "chat",
                    "id",
                    "text",
                    "type",
                    "date",
                    "x",
                ]
            ),
            inner,
            max_size=4,
        )
    ),
    max_leaves=12,
)


@given(ANY_JSON)
def test_nothing_else_ever_comes_of_it(update: object) -> None:
    sender = sender_of(update)
    assert sender is None or type(sender) is int
    try:
        incoming = parse(json.dumps(update).encode(), CAME_IN)
    except UnreadableUpdateError:
        return
    assert incoming.sender == sender
    assert incoming.said_at.tzinfo is dt.UTC
