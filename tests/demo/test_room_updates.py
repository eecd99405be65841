"""What people do and how the bot gets it by polling. Rules: the public Bot API description (read)."""

import datetime as dt
import threading

import httpx
import pytest
import telegram
from telegram import InlineKeyboardButton, InlineKeyboardMarkup, Update
from telegram.error import BadRequest, Conflict

from demo.room_client import PLAIN, RoomClient, RoomError
from tests.demo.running import Run


def take(bot: telegram.Bot, run: Run) -> list[Update]:
    """Everything that waits, confirmed."""
    updates = run(bot.get_updates())
    if updates:
        run(bot.get_updates(offset=updates[-1].update_id + 1, limit=1))
    return list(updates)


def ask(bot: telegram.Bot, run: Run, person: int, label: str = "Done", data: str = "d:1") -> int:
    markup = InlineKeyboardMarkup([[InlineKeyboardButton(label, callback_data=data)]])
    return run(bot.send_message(person, "Sets?", reply_markup=markup)).message_id


@pytest.mark.parametrize(
    "link",
    ["CODE-1_x", "/start CODE-1_x", "https://t.me/home_programme_demo_bot?start=CODE-1_x"],
)
def test_an_invite_arrives_as_start_with_its_code(
    room: RoomClient, bot: telegram.Bot, run: Run, link: str
) -> None:
    room.start(room.person("Nóirín", "en-IE"), link)
    (update,) = take(bot, run)
    assert update.message is not None
    assert update.message.text == "/start CODE-1_x"
    assert update.message.entities[0].type == "bot_command"
    assert update.message.entities[0].length == len("/start")
    assert update.message.from_user is not None
    assert (update.message.from_user.first_name, update.message.from_user.language_code) == (
        "Nóirín",
        "en-IE",
    )
    assert update.message.date == room.now()


def test_a_start_code_has_at_most_64_plain_characters(room: RoomClient) -> None:
    person = room.person("Nessa")
    for link in ("x" * 65, "a code"):
        with pytest.raises(RoomError, match="A start code is 1 to 64"):
            room.start(person, link)
    assert room.start(person, "x" * 64)["message_id"] == 1


def test_offset_confirms_and_numbers_grow_by_one(
    room: RoomClient, bot: telegram.Bot, run: Run, orla: int
) -> None:
    for text in ("one", "two", "three"):
        room.say(orla, text)
    first = run(bot.get_updates(limit=2))
    again = run(bot.get_updates())
    assert [update.update_id for update in first] == [update.update_id for update in again][:2]
    ids = [update.update_id for update in again]
    assert ids == [ids[0], ids[0] + 1, ids[0] + 2]
    rest = run(bot.get_updates(offset=ids[1]))
    assert [update.update_id for update in rest] == ids[1:]
    assert room.stats()["waiting_updates"] == ids[1:]


def test_a_negative_offset_keeps_only_the_newest(
    room: RoomClient, bot: telegram.Bot, run: Run, orla: int
) -> None:
    for text in ("one", "two", "three"):
        room.say(orla, text)
    kept = run(bot.get_updates(offset=-1))
    assert [update.message.text for update in kept if update.message] == ["three"]
    assert len(take(bot, run)) == 1


def test_a_hundred_updates_at_most_come_at_once(
    room: RoomClient, bot: telegram.Bot, run: Run, orla: int
) -> None:
    for number in range(101):
        room.say(orla, str(number))
    assert len(run(bot.get_updates(limit=100))) == 100
    more = httpx.get(
        f"{room.bot_url}{room.token}/getUpdates", params={"limit": 500}, trust_env=False, verify=PLAIN
    )
    assert len(more.json()["result"]) == 100


def test_a_long_poll_answers_as_soon_as_something_is_said(
    room: RoomClient, bot: telegram.Bot, run: Run, orla: int
) -> None:
    del bot, run
    answers: list[httpx.Response] = []
    url = f"{room.bot_url}{room.token}/getUpdates"
    poll = threading.Thread(
        target=lambda: answers.append(
            httpx.get(url, params={"timeout": 30}, timeout=40, trust_env=False, verify=PLAIN)
        )
    )
    poll.start()
    room.say(orla, "2")
    poll.join(5)
    assert not poll.is_alive()
    assert [update["message"]["text"] for update in answers[0].json()["result"]] == ["2"]


def test_a_second_poll_ends_the_first(room: RoomClient, bot: telegram.Bot, run: Run, orla: int) -> None:
    del orla, bot, run
    url = f"{room.bot_url}{room.token}/getUpdates"
    with (
        httpx.Client(timeout=40, trust_env=False, verify=PLAIN) as first,
        httpx.Client(trust_env=False, verify=PLAIN) as second,
    ):
        answers: list[httpx.Response] = []
        poll = threading.Thread(target=lambda: answers.append(first.get(url, params={"timeout": 30})))
        poll.start()
        while poll.is_alive():  # until the first has arrived, the second finds nobody to end
            assert second.get(url).json() == {"ok": True, "result": []}
        told = answers[0].json()
    assert told["error_code"] == 409
    assert told["description"].startswith("Conflict: terminated by other getUpdates request")


def test_no_polling_while_a_webhook_is_set(bot: telegram.Bot, run: Run) -> None:
    run(bot.set_webhook("http://127.0.0.1:9/hook"))
    with pytest.raises(Conflict, match="while webhook is active"):
        run(bot.get_updates())
    run(bot.delete_webhook())
    assert run(bot.get_updates()) == ()


def test_allowed_updates_stay_when_left_out(room: RoomClient, bot: telegram.Bot, run: Run, orla: int) -> None:
    run(bot.get_updates(allowed_updates=["message"]))
    message_id = ask(bot, run, orla)
    run(bot.get_updates())
    room.press(orla, "Done", message_id=message_id)
    room.say(orla, "2")
    assert [bool(update.message) for update in take(bot, run)] == [True]
    run(bot.get_updates(allowed_updates=[]))
    room.press(orla, data="d:1", message_id=message_id)
    assert [bool(update.callback_query) for update in take(bot, run)] == [True]


def test_texts_wait_a_day_and_presses_150_seconds(
    room: RoomClient, bot: telegram.Bot, run: Run, orla: int
) -> None:
    """Source: the open server's own code (read): 86,400 s and 150 s."""
    message_id = ask(bot, run, orla)
    room.say(orla, "2")
    room.press(orla, "Done", message_id=message_id)
    room.move(by_s=149)
    assert len(run(bot.get_updates())) == 2
    room.move(by_s=1)
    (left,) = run(bot.get_updates())
    assert left.message is not None
    room.move(by_s=86_400 - 151)
    assert len(run(bot.get_updates())) == 1
    room.move(by_s=1)
    assert run(bot.get_updates()) == ()


def test_numbers_jump_after_a_silent_week(room: RoomClient, orla: int) -> None:
    numbers = []
    for silence_s in (0, 7 * 86_400 - 1, 7 * 86_400):
        room.move(by_s=silence_s)
        numbers += room.say(orla, "here")["update_ids"]
    one, two, three = numbers
    assert two == one + 1
    assert three != two + 1


def test_a_changed_text_arrives_as_an_edit(room: RoomClient, bot: telegram.Bot, run: Run, orla: int) -> None:
    said = room.say(orla, "2")
    room.move(by_s=60)
    room.edit(orla, said["message_id"], "3")
    first, second = take(bot, run)
    assert first.message is not None
    assert second.edited_message is not None
    assert (first.message.text, second.edited_message.text) == ("2", "3")
    assert second.edited_message.date == first.message.date
    assert second.edited_message.edit_date == first.message.date + dt.timedelta(seconds=60)


def test_a_press_carries_its_data_and_message(
    room: RoomClient, bot: telegram.Bot, run: Run, orla: int
) -> None:
    message_id = ask(bot, run, orla, data="done:42")
    room.press(orla, "Done")
    (update,) = take(bot, run)
    query = update.callback_query
    assert query is not None
    assert query.message is not None
    assert (query.data, query.from_user.id, query.message.message_id) == ("done:42", orla, message_id)
    assert [press["label"] for press in room.last(orla).raw["pressed"]] == ["Done"]


def test_an_old_button_can_still_be_pressed(room: RoomClient, bot: telegram.Bot, run: Run, orla: int) -> None:
    """A client may send data that is no longer on the message, and the message may be only a stub."""
    message_id = ask(bot, run, orla, data="old")
    run(bot.edit_message_reply_markup(orla, message_id))
    with pytest.raises(RoomError, match="has no button 'Done'; it shows: none"):
        room.press(orla, "Done", message_id=message_id)
    room.press(orla, data="old", message_id=message_id)
    room.press(orla, data="old", message_id=message_id, stub=True)
    whole, stub = take(bot, run)
    assert whole.callback_query is not None
    assert stub.callback_query is not None
    assert (whole.callback_query.data, stub.callback_query.data) == ("old", "old")
    assert whole.callback_query.message is not None
    assert stub.callback_query.message is not None
    assert (whole.callback_query.message.is_accessible, stub.callback_query.message.is_accessible) == (
        True,
        False,
    )


def test_blocking_and_unblocking_is_told(room: RoomClient, bot: telegram.Bot, run: Run, orla: int) -> None:
    room.block(orla)
    with pytest.raises(RoomError, match="no open chat"):
        room.say(orla, "2")
    room.unblock(orla)
    changes = [update.my_chat_member for update in take(bot, run)]
    assert [
        (change.old_chat_member.status, change.new_chat_member.status) for change in changes if change
    ] == [
        ("member", "kicked"),
        ("kicked", "member"),
    ]
    room.block(orla)
    room.start(orla)
    assert [bool(update.my_chat_member) for update in take(bot, run)] == [True, True, False]


@pytest.mark.parametrize("kind", ["photo", "document", "voice", "video", "sticker"])
def test_files_arrive_as_facts(room: RoomClient, bot: telegram.Bot, run: Run, orla: int, kind: str) -> None:
    room.send_media(orla, kind, None if kind == "sticker" else "look")
    (update,) = take(bot, run)
    assert update.message is not None
    attachment = update.message.effective_attachment
    file = attachment[-1] if isinstance(attachment, tuple) else attachment
    assert isinstance(
        file, telegram.PhotoSize | telegram.Document | telegram.Voice | telegram.Video | telegram.Sticker
    )
    assert run(bot.get_file(file.file_id)).file_unique_id == file.file_unique_id
    assert update.message.caption == (None if kind == "sticker" else "look")


def test_a_document_can_be_fetched_up_to_20_mb(
    room: RoomClient, bot: telegram.Bot, run: Run, orla: int
) -> None:
    room.document(orla, "clients.csv", b"code,dose\r\nA1,3\r\n", "here")
    room.post("send-media", person=orla, kind="document", name="large.zip", size=20 * 1024 * 1024 + 1)
    small, large = (update.message for update in take(bot, run))
    assert small is not None
    assert small.document is not None
    assert (small.document.file_name, small.caption) == ("clients.csv", "here")
    fetched = run(run(small.document.get_file()).download_as_bytearray())
    assert bytes(fetched) == b"code,dose\r\nA1,3\r\n"
    assert large is not None
    assert large.document is not None
    with pytest.raises(BadRequest, match="File is too big"):
        run(large.document.get_file())


def test_a_forwarded_text_says_so(room: RoomClient, bot: telegram.Bot, run: Run, orla: int) -> None:
    room.say(orla, "Heavy and sore today", forwarded_from="A friend")
    (update,) = take(bot, run)
    assert update.message is not None
    assert isinstance(update.message.forward_origin, telegram.MessageOriginHiddenUser)


def test_a_group_is_told_apart(room: RoomClient, bot: telegram.Bot, run: Run, orla: int) -> None:
    group = room.post("groups", title="Family", people=[orla])["chat"]
    room.say(orla, "/start x", chat=group)
    joined, said = take(bot, run)
    assert joined.my_chat_member is not None
    assert joined.my_chat_member.new_chat_member.status == "member"
    assert said.message is not None
    assert (said.message.chat.id, said.message.chat.type) == (group, "supergroup")


def test_a_very_long_text_comes_in_pieces(room: RoomClient, bot: telegram.Bot, run: Run, orla: int) -> None:
    room.say(orla, "🙂" * 2049)
    texts = [update.message.text for update in take(bot, run) if update.message]
    assert texts == ["🙂" * 2048, "🙂"]


def test_a_press_is_answered_within_15_seconds(
    room: RoomClient, bot: telegram.Bot, run: Run, orla: int
) -> None:
    ask(bot, run, orla)
    early, late = (room.press(orla, "Done")["query"] for _ in range(2))
    room.move(by_s=15)
    assert run(bot.answer_callback_query(early, "x" * 200))
    with pytest.raises(BadRequest, match="Message_too_long"):
        run(bot.answer_callback_query(late, "x" * 201))
    room.move(by_s=1)
    with pytest.raises(BadRequest, match="Query is too old"):
        run(bot.answer_callback_query(late))
    with pytest.raises(BadRequest, match="query id is invalid"):
        run(bot.answer_callback_query("1"))
