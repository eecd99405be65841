"""The record file: every call, every update handed out, every act, one line each."""

from pathlib import Path

import pytest
import telegram
from telegram import InlineKeyboardButton, InlineKeyboardMarkup
from telegram.error import NetworkError

from demo.room_client import Answer, RoomClient, read_record
from tests.demo.running import Run


def since(path: Path, before: int, *kinds: str) -> list[Answer]:
    return [line for line in read_record(path)[before:] if line["what"] in kinds]


def test_a_call_is_written_with_all_that_a_checker_counts(
    room: RoomClient, bot: telegram.Bot, run: Run, orla: int, record_file: Path
) -> None:
    before = len(read_record(record_file))
    markup = InlineKeyboardMarkup([[InlineKeyboardButton("Done", callback_data="d:1")]])
    now = room.clock()["now"]
    sent = run(
        bot.send_message(orla, "<b>Sets</b> 🙂", parse_mode="HTML", reply_markup=markup, protect_content=True)
    )
    (line,) = since(record_file, before, "call")
    assert isinstance(line.pop("wall"), float)
    assert line == {
        "n": before + 1,
        "at": now,
        "what": "call",
        "method": "sendMessage",
        "chat": orla,
        "person": "Orla",
        "text": "Sets 🙂",
        "text_units": 7,
        "caption": None,
        "caption_units": None,
        "buttons": [[{"text": "Done", "callback_data": "d:1"}]],
        "silent": False,
        "protected": True,
        "reply_to": None,
        "file": None,
        "query": None,
        "retry_after": None,
        "message_id": sent.message_id,
        "handed": None,
        "answer": "ok",
        "description": None,
        "fault": None,
        "taken": True,
    }


@pytest.mark.parametrize(("kind", "taken"), [("drop-before", False), ("drop-after", True)])
def test_the_record_knows_what_the_bot_does_not(
    room: RoomClient, bot: telegram.Bot, run: Run, orla: int, record_file: Path, kind: str, taken: bool
) -> None:
    before = len(read_record(record_file))
    room.fault("sendMessage", kind)
    with pytest.raises(NetworkError):
        run(bot.send_message(orla, "x"))
    (line,) = since(record_file, before, "call")
    assert (line["answer"], line["fault"], line["taken"]) == ("none", kind, taken)


def test_refused_calls_are_written_too(
    room: RoomClient, bot: telegram.Bot, run: Run, orla: int, record_file: Path
) -> None:
    before = len(read_record(record_file))
    room.fault("sendMessage", "500")
    with pytest.raises(NetworkError):
        run(bot.send_message(orla, "x"))
    (line,) = since(record_file, before, "call")
    assert (line["answer"], line["description"], line["taken"]) == (500, "Internal Server Error", False)


def test_acts_and_updates_can_be_matched(
    room: RoomClient, bot: telegram.Bot, run: Run, orla: int, record_file: Path
) -> None:
    before = len(read_record(record_file))
    said_at = room.clock()["now"]
    number = room.say(orla, "2 and a bit sore")["update_ids"][0]
    room.move(by_s=60)
    run(bot.get_updates())
    run(bot.get_updates())
    run(bot.get_updates(offset=number + 1))
    act, *handed, end = since(record_file, before, "action", "update", "update-end")
    assert (act["action"], act["person"], act["content"], act["update_id"]) == (
        "say",
        "Orla",
        {"text": "2 and a bit sore"},
        number,
    )
    assert [(line["update_id"], line["kind"], line["how"], line["time_handed"]) for line in handed] == [
        (number, "message", "poll", 1),
        (number, "message", "poll", 2),
    ]
    assert handed[0]["content"]["text"] == "2 and a bit sore"
    assert (handed[0]["made_at"], handed[0]["at"]) == (said_at, room.clock()["now"])
    assert (end["update_id"], end["fate"]) == (number, "confirmed")


def test_an_update_that_expired_is_written(room: RoomClient, orla: int, record_file: Path) -> None:
    before = len(read_record(record_file))
    number = room.say(orla, "2")["update_ids"][0]
    room.move(by_s=86_400)
    (end,) = since(record_file, before, "update-end")
    assert (end["update_id"], end["fate"]) == (number, "expired")


def test_lines_are_numbered_and_moves_of_the_clock_written(room: RoomClient, record_file: Path) -> None:
    before = len(read_record(record_file))
    from_at = room.clock()["now"]
    to_at = room.move(by_s=60)["now"]
    (line,) = since(record_file, before, "clock")
    assert (line["from_at"], line["to_at"]) == (from_at, to_at)
    lines = read_record(record_file)
    assert [line["n"] for line in lines] == list(range(1, len(lines) + 1))
    assert [line["wall"] for line in lines] == sorted(line["wall"] for line in lines)
