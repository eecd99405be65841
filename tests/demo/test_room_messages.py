"""Writing, changing and taking back messages, by the bot library over real HTTP.

Limits: the public Bot API description (read) unless a line says otherwise; the wording of errors is from
memory. The library turns the first letter of an error over, hence matching without regard to case.
"""

import io
import json
import struct

import httpx
import pytest
import telegram
from PIL import Image
from telegram import InlineKeyboardButton, InlineKeyboardMarkup, ReplyParameters
from telegram.error import BadRequest, Forbidden, InvalidToken

from demo.room_client import PLAIN, RoomClient
from tests.demo.running import Run


def keyboard(*data: str) -> InlineKeyboardMarkup:
    return InlineKeyboardMarkup(
        [[InlineKeyboardButton(f"Button {item}", callback_data=item)] for item in data]
    )


def png(width: int = 300, height: int = 200) -> bytes:
    out = io.BytesIO()
    Image.new("RGB", (width, height), "teal").save(out, "PNG")
    return out.getvalue()


def png_head(width: int, height: int) -> bytes:
    """The part of a picture that says how large it is; drawing it whole would take a second."""
    return png(1, 1)[:16] + struct.pack(">II", width, height) + png(1, 1)[24:]


def refusal(answer: httpx.Response) -> tuple[int, str]:
    told = answer.json()
    assert told["ok"] is False
    assert told["error_code"] == answer.status_code
    return answer.status_code, told["description"]


def test_the_bot_is_who_its_token_says(bot: telegram.Bot) -> None:
    assert (bot.id, bot.username) == (4200001, "home_programme_demo_bot")


def test_a_text_arrives_with_its_buttons(room: RoomClient, bot: telegram.Bot, run: Run, orla: int) -> None:
    sent = run(bot.send_message(orla, "How many sets today?", reply_markup=keyboard("s:1", "s:2")))
    assert sent.text == "How many sets today?"
    assert sent.date == room.now()
    shown = room.last(orla)
    assert (shown.message_id, shown.text, shown.labels) == (
        sent.message_id,
        sent.text,
        ("Button s:1", "Button s:2"),
    )
    assert shown.data == {"Button s:1": "s:1", "Button s:2": "s:2"}


def test_message_numbers_count_within_a_chat(
    room: RoomClient, bot: telegram.Bot, run: Run, orla: int
) -> None:
    other = room.person("Bríd")
    room.start(other)
    numbers = [run(bot.send_message(person, "Hello")).message_id for person in (orla, other, orla)]
    assert numbers == [2, 2, 3]


@pytest.mark.parametrize(
    ("text", "reason"),
    [
        ("x" * 4097, "Message is too long"),
        ("🙂" * 2049, "Message is too long"),  # two UTF-16 units each
        ("   ", "Message text is empty"),
    ],
)
def test_a_text_has_1_to_4096_units(bot: telegram.Bot, run: Run, orla: int, text: str, reason: str) -> None:
    with pytest.raises(BadRequest, match=f"(?i){reason}"):
        run(bot.send_message(orla, text))


@pytest.mark.parametrize("text", ["x" * 4096, "🙂" * 2048])
def test_a_text_of_4096_units_is_sent(bot: telegram.Bot, run: Run, orla: int, text: str) -> None:
    assert run(bot.send_message(orla, text)).text == text


def test_html_is_read_and_measured_without_its_tags(bot: telegram.Bot, run: Run, orla: int) -> None:
    text = f"🙂 <b>Three &lt;sets&gt;</b> <i>{'x' * 4079}</i>"
    sent = run(bot.send_message(orla, text, parse_mode="HTML"))
    assert sent.text == f"🙂 Three <sets> {'x' * 4079}"
    found = [(entity.type, sent.parse_entity(entity)[:12]) for entity in sent.entities]
    assert found == [("bold", "Three <sets>"), ("italic", "x" * 12)]


@pytest.mark.parametrize(
    ("text", "mode", "reason"),
    [
        ("2 < 3", "HTML", 'Unsupported start tag ""'),
        ("<big>x</big>", "HTML", 'Unsupported start tag "big" at byte offset 0'),
        ("<b>x", "HTML", 'find end tag corresponding to start tag "b"'),
        ("<b><i>x</b></i>", "HTML", 'Unexpected end tag "b"'),
        ("*x*", "MarkdownV2", "Unsupported parse_mode"),  # the room knows HTML only
    ],
)
def test_bad_markup_is_refused(
    bot: telegram.Bot, run: Run, orla: int, text: str, mode: str, reason: str
) -> None:
    with pytest.raises(BadRequest, match=f"(?i){reason}"):
        run(bot.send_message(orla, text, parse_mode=mode))


@pytest.mark.parametrize("data", ["", "x" * 65, "é" * 33])
def test_button_data_has_1_to_64_bytes(room: RoomClient, orla: int, data: str) -> None:
    """Bytes, not characters; sent without the library, which checks for itself."""
    markup = {"inline_keyboard": [[{"text": "Done", "callback_data": data}]]}
    answer = httpx.post(
        f"{room.bot_url}{room.token}/sendMessage",
        json={"chat_id": orla, "text": "x", "reply_markup": markup},
        trust_env=False,
        verify=PLAIN,
    )
    assert refusal(answer) == (400, "Bad Request: BUTTON_DATA_INVALID")


def test_64_bytes_of_button_data_and_100_buttons_pass(bot: telegram.Bot, run: Run, orla: int) -> None:
    run(bot.send_message(orla, "x", reply_markup=keyboard("é" * 32)))
    run(bot.send_message(orla, "x", reply_markup=keyboard(*(f"b:{i}" for i in range(100)))))
    with pytest.raises(BadRequest, match="Reply markup is too long"):  # the figure is from memory
        run(bot.send_message(orla, "x", reply_markup=keyboard(*(f"b:{i}" for i in range(101)))))


def test_silent_and_protected_are_kept(room: RoomClient, bot: telegram.Bot, run: Run, orla: int) -> None:
    run(bot.send_message(orla, "x", disable_notification=True, protect_content=True))
    assert (room.last(orla).raw["silent"], room.last(orla).raw["protected"]) == (True, True)
    run(bot.send_message(orla, "y"))
    assert (room.last(orla).raw["silent"], room.last(orla).raw["protected"]) == (False, False)


def test_the_notification_shows_the_first_160_characters(
    room: RoomClient, bot: telegram.Bot, run: Run, orla: int
) -> None:
    run(bot.send_message(orla, "word\n" * 50))
    preview = room.get(f"chats/{orla}")["notification"]["preview"]
    assert preview == ("word " * 50)[:159] + "…"


def test_a_reply_names_what_it_answers(room: RoomClient, bot: telegram.Bot, run: Run, orla: int) -> None:
    said = room.say(orla, "2")["message_id"]
    sent = run(bot.send_message(orla, "2 sets", reply_parameters=ReplyParameters(said)))
    assert sent.reply_to_message is not None
    assert sent.reply_to_message.text == "2"
    with pytest.raises(BadRequest, match="Message to be replied not found"):
        run(bot.send_message(orla, "x", reply_parameters=ReplyParameters(999)))
    lenient = ReplyParameters(999, allow_sending_without_reply=True)
    assert run(bot.send_message(orla, "x", reply_parameters=lenient)).reply_to_message is None


def test_a_photo_is_shown_and_can_be_sent_again_by_its_id(
    room: RoomClient, bot: telegram.Bot, run: Run, orla: int
) -> None:
    sent = run(bot.send_photo(orla, png(), caption="Your week", filename="week.png"))
    assert (sent.photo[0].width, sent.photo[0].height, sent.caption) == (300, 200, "Your week")
    shown = room.last(orla)
    assert (shown.media, shown.text) == ("photo", "Your week")
    picture = httpx.get(room.url + shown.raw["media"]["url"], trust_env=False, verify=PLAIN)
    assert picture.content == png()
    again = run(bot.send_photo(orla, sent.photo[0].file_id))
    assert again.photo[0].file_unique_id == sent.photo[0].file_unique_id
    with pytest.raises(BadRequest, match="Wrong file identifier"):
        run(bot.send_photo(orla, "no-such-file"))


def test_a_caption_has_at_most_1024_units(bot: telegram.Bot, run: Run, orla: int) -> None:
    run(bot.send_photo(orla, png(), caption="x" * 1024))
    with pytest.raises(BadRequest, match="Message caption is too long"):
        run(bot.send_photo(orla, png(), caption="x" * 1025))


@pytest.mark.parametrize(
    ("data", "reason"),
    [
        (b"no picture", "Image_process_failed"),
        (png_head(5001, 5000), "Photo_invalid_dimensions"),  # width and height together at most 10000
        (png_head(2100, 100), "Photo_invalid_dimensions"),  # one side at most 20 times the other
    ],
)
def test_what_is_no_photo_is_refused(
    bot: telegram.Bot, run: Run, orla: int, data: bytes, reason: str
) -> None:
    with pytest.raises(BadRequest, match=f"(?i){reason}"):
        run(bot.send_photo(orla, data))


def test_a_jpeg_is_measured(bot: telegram.Bot, run: Run, orla: int) -> None:
    out = io.BytesIO()
    Image.new("RGB", (64, 48)).save(out, "JPEG")
    photo = run(bot.send_photo(orla, out.getvalue())).photo[0]
    assert (photo.width, photo.height) == (64, 48)


def test_a_document_keeps_its_name_and_bytes(
    room: RoomClient, bot: telegram.Bot, run: Run, orla: int
) -> None:
    data = bytes(range(256)) + b"\r\n--not-a-boundary\r\n"
    sent = run(bot.send_document(orla, data, filename="résumé.pdf", caption="Summary"))
    assert sent.document is not None
    assert (sent.document.file_name, sent.document.file_size) == ("résumé.pdf", len(data))
    assert (
        httpx.get(room.url + room.last(orla).raw["media"]["url"], trust_env=False, verify=PLAIN).content
        == data
    )


def test_an_edited_text_loses_buttons_that_are_left_out(
    room: RoomClient, bot: telegram.Bot, run: Run, orla: int
) -> None:
    sent = run(bot.send_message(orla, "Sets?", reply_markup=keyboard("s:1")))
    edited = run(bot.edit_message_text("1 set. Thank you.", orla, sent.message_id))
    assert isinstance(edited, telegram.Message)
    assert (edited.text, edited.reply_markup) == ("1 set. Thank you.", None)
    shown = room.last(orla)
    assert (shown.text, shown.labels, shown.gone_labels) == ("1 set. Thank you.", (), ("Button s:1",))


def test_buttons_alone_can_be_changed(room: RoomClient, bot: telegram.Bot, run: Run, orla: int) -> None:
    sent = run(bot.send_message(orla, "Sets?", reply_markup=keyboard("s:1", "s:2")))
    run(bot.edit_message_reply_markup(orla, sent.message_id, reply_markup=keyboard("u:1")))
    assert room.last(orla).labels == ("Button u:1",)
    run(bot.edit_message_reply_markup(orla, sent.message_id))
    assert (room.last(orla).text, room.last(orla).labels) == ("Sets?", ())


def test_an_edit_that_changes_nothing_is_refused(bot: telegram.Bot, run: Run, orla: int) -> None:
    sent = run(bot.send_message(orla, "Sets?", reply_markup=keyboard("s:1")))
    with pytest.raises(BadRequest, match="Message is not modified"):
        run(bot.edit_message_text("Sets?", orla, sent.message_id, reply_markup=keyboard("s:1")))
    with pytest.raises(BadRequest, match="Message is not modified"):
        run(bot.edit_message_reply_markup(orla, sent.message_id, reply_markup=keyboard("s:1")))


def test_only_own_messages_that_are_there_can_be_edited(
    room: RoomClient, bot: telegram.Bot, run: Run, orla: int
) -> None:
    said = room.say(orla, "2")["message_id"]
    with pytest.raises(BadRequest, match="Message can't be edited"):
        run(bot.edit_message_text("x", orla, said))
    with pytest.raises(BadRequest, match="Message to edit not found"):
        run(bot.edit_message_text("x", orla, 999))


def test_a_message_can_be_deleted_for_48_hours(
    room: RoomClient, bot: telegram.Bot, run: Run, orla: int
) -> None:
    first, second = (run(bot.send_message(orla, "x")).message_id for _ in range(2))
    room.move(by_s=48 * 3600 - 1)
    assert run(bot.delete_message(orla, first))
    with pytest.raises(BadRequest, match="Message to delete not found"):
        run(bot.delete_message(orla, first))
    room.move(by_s=1)
    with pytest.raises(BadRequest, match="Message can't be deleted for everyone"):
        run(bot.delete_message(orla, second))
    assert [message.message_id for message in room.from_bot(orla)] == [second]


def test_whoever_never_pressed_start_cannot_be_written_to(
    room: RoomClient, bot: telegram.Bot, run: Run
) -> None:
    with pytest.raises(Forbidden, match="bot can't initiate conversation with a user"):
        run(bot.send_message(room.person("Nessa"), "x"))
    with pytest.raises(BadRequest, match="Chat not found"):
        run(bot.send_message(123, "x"))


def test_blocked_and_closed_accounts_take_nothing(
    room: RoomClient, bot: telegram.Bot, run: Run, orla: int
) -> None:
    room.block(orla)
    with pytest.raises(Forbidden, match="bot was blocked by the user"):
        run(bot.send_message(orla, "x"))
    with pytest.raises(Forbidden, match="bot was blocked by the user"):
        run(bot.send_chat_action(orla, "typing"))
    room.unblock(orla)
    assert run(bot.send_chat_action(orla, "typing"))
    run(bot.send_message(orla, "x"))
    room.post("deactivate", person=orla)
    with pytest.raises(Forbidden, match="user is deactivated"):
        run(bot.send_message(orla, "x"))


def test_a_group_is_left_for_good(room: RoomClient, bot: telegram.Bot, run: Run, orla: int) -> None:
    group = room.post("groups", title="Family", people=[orla])["chat"]
    assert run(bot.send_message(group, "This is private work.")).chat.type == "supergroup"
    assert run(bot.leave_chat(group))
    with pytest.raises(Forbidden, match="bot is not a member of the supergroup chat"):
        run(bot.send_message(group, "x"))
    with pytest.raises(BadRequest, match="Chat not found"):
        run(bot.leave_chat(orla))


def test_commands_are_kept_by_scope_and_language(
    room: RoomClient, bot: telegram.Bot, run: Run, orla: int
) -> None:
    run(bot.set_my_commands([("today", "My day")]))
    run(bot.set_my_commands([("today", "Heute")], language_code="de"))
    mine = telegram.BotCommandScopeChat(orla)
    run(bot.set_my_commands([("digest", "The week")], scope=mine))
    assert [item.description for item in run(bot.get_my_commands())] == ["My day"]
    assert [item.description for item in run(bot.get_my_commands(language_code="de"))] == ["Heute"]
    german = room.person("Anna", "de-AT")
    assert [room.get(f"chats/{person}")["commands"] for person in (orla, german)] == [
        [{"command": "digest", "description": "The week"}],
        [{"command": "today", "description": "Heute"}],
    ]
    run(bot.delete_my_commands(scope=mine))
    assert room.get(f"chats/{orla}")["commands"] == [{"command": "today", "description": "My day"}]
    assert run(bot.get_my_commands(scope=mine)) == ()


@pytest.mark.parametrize(
    ("commands", "reason"),
    [
        ([("Today", "x")], "Bot_command_invalid"),
        ([("x" * 33, "x")], "Bot_command_invalid"),
        ([("today", "x" * 257)], "Bot_command_description_invalid"),
        ([("today", "x")] * 101, "Too many commands specified"),
    ],
)
def test_a_bad_menu_is_refused(
    bot: telegram.Bot, run: Run, commands: list[tuple[str, str]], reason: str
) -> None:
    with pytest.raises(BadRequest, match=f"(?i){reason}"):
        run(bot.set_my_commands(commands))


def test_wrong_tokens_and_unknown_methods_are_told_apart(room: RoomClient, run: Run) -> None:
    with httpx.Client(base_url=room.url, trust_env=False, verify=PLAIN) as client:
        assert refusal(client.get("/bot1:wrong/getMe")) == (401, "Unauthorized")
        assert refusal(client.get(f"/bot{room.token}/getEverything")) == (404, "Not Found: method not found")
    stranger = telegram.Bot("1:wrong", base_url=room.bot_url)
    with pytest.raises(InvalidToken):
        run(stranger.initialize())
    run(stranger.shutdown())


def test_query_form_and_json_say_the_same(room: RoomClient, orla: int) -> None:
    markup = {"inline_keyboard": [[{"text": "Done", "callback_data": "d"}]]}
    plain: dict[str, str] = {"chat_id": str(orla), "text": "Hé", "reply_markup": json.dumps(markup)}
    with httpx.Client(base_url=f"{room.bot_url}{room.token}", trust_env=False, verify=PLAIN) as client:
        answers = [
            client.get("/sendMessage", params=plain),
            client.post("/sendMessage", data=plain),
            client.post("/sendMessage", files={name: (None, value) for name, value in plain.items()}),
            client.post("/sendMessage", json={"chat_id": orla, "text": "Hé", "reply_markup": markup}),
        ]
        broken = client.post("/sendMessage", content=b"{", headers={"content-type": "application/json"})
    for answer in answers:
        told = answer.json()["result"]
        assert (told["text"], told["reply_markup"]) == ("Hé", markup)
    assert refusal(broken) == (400, "Bad Request: can't parse JSON object")
