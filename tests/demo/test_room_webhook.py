"""Delivery by webhook. Rules: the public guide and the open server's code (read)."""

from collections.abc import Iterator

import pytest
import telegram
from telegram.error import BadRequest

from demo.room_client import RoomClient
from tests.demo.running import Run
from tests.demo.stand_in import Answer, Received, StandIn, listening, until

SECRET = "s3cret_-"  # noqa: S105 - made up for these tests
TAKEN: tuple[int, dict[str, str], Answer] = (200, {}, {})
FAILED: tuple[int, dict[str, str], Answer] = (503, {}, {})


class Script:
    """Answers in order, then 200."""

    def __init__(self) -> None:
        self.answers: list[tuple[int, dict[str, str], Answer]] = []

    def __call__(self, request: Received) -> tuple[int, dict[str, str], Answer]:
        del request
        return self.answers.pop(0) if self.answers else TAKEN


@pytest.fixture
def script() -> Script:
    return Script()


@pytest.fixture
def hook(bot: telegram.Bot, run: Run, orla: int, script: Script) -> Iterator[StandIn]:
    del orla  # her /start has been taken by polling
    with listening(script) as stand_in:
        run(bot.set_webhook(stand_in.url + "/hook", secret_token=SECRET))
        yield stand_in
        run(bot.delete_webhook(drop_pending_updates=True))


def failed(room: RoomClient) -> None:
    """Return once the room knows that a delivery failed."""
    until(lambda: room.stats()["next_try_at"] not in (None, room.stats()["now"]))


def all_taken(room: RoomClient) -> None:
    """Return once the room has no update left."""
    until(lambda: room.stats()["waiting_updates"] == [])


def said(request: Received) -> object:
    return request.body["message"]["text"]


def test_an_update_is_posted_with_the_secret(room: RoomClient, hook: StandIn, orla: int) -> None:
    room.say(orla, "2")
    (request,) = hook.wait_for(1)
    assert (request.path, request.secret, said(request)) == ("/hook", SECRET, "2")


def test_what_was_taken_does_not_come_again(
    room: RoomClient, bot: telegram.Bot, run: Run, orla: int, hook: StandIn
) -> None:
    room.say(orla, "one")
    hook.wait_for(1)
    room.say(orla, "two")
    assert [said(request) for request in hook.wait_for(2)] == ["one", "two"]
    all_taken(room)
    assert run(bot.get_webhook_info()).pending_update_count == 0


def test_waits_double_until_it_is_taken(
    room: RoomClient, bot: telegram.Bot, run: Run, orla: int, hook: StandIn, script: Script
) -> None:
    script.answers = [FAILED] * 4
    room.say(orla, "2")
    for tries, wait_s in ((1, 2), (2, 4), (3, 8), (4, 16)):
        hook.wait_for(tries)
        failed(room)
        room.move(by_s=wait_s - 1)
        info = run(bot.get_webhook_info())
        assert info.last_error_message == "Wrong response from the webhook: 503 Service Unavailable"
        assert (len(hook.received), info.pending_update_count) == (tries, 1)
        room.move(by_s=1)
    assert [said(request) for request in hook.wait_for(5)] == ["2"] * 5
    all_taken(room)


def test_retry_after_is_obeyed(room: RoomClient, orla: int, hook: StandIn, script: Script) -> None:
    script.answers = [(503, {"Retry-After": "30"}, {})]
    room.say(orla, "2")
    failed(room)
    room.move(by_s=29)
    room.stats()
    assert len(hook.received) == 1
    room.move(by_s=1)
    hook.wait_for(2)


def test_order_is_kept_in_a_chat_while_a_press_goes_its_own_way(
    room: RoomClient, bot: telegram.Bot, run: Run, orla: int, hook: StandIn, script: Script
) -> None:
    script.answers = [FAILED]
    room.say(orla, "one")
    failed(room)
    room.say(orla, "two")
    markup = telegram.InlineKeyboardMarkup([[telegram.InlineKeyboardButton("Done", callback_data="d")]])
    run(bot.send_message(orla, "Sets?", reply_markup=markup))
    room.press(orla, "Done")
    assert "callback_query" in hook.wait_for(2)[-1].body
    room.move(by_s=2)
    assert [said(request) for request in hook.wait_for(4)[2:]] == ["one", "two"]


def test_a_press_that_cannot_be_delivered_is_lost_after_150_seconds(
    room: RoomClient, bot: telegram.Bot, run: Run, orla: int, hook: StandIn, script: Script
) -> None:
    script.answers = [(503, {"Retry-After": "151"}, {})]
    markup = telegram.InlineKeyboardMarkup([[telegram.InlineKeyboardButton("Done", callback_data="d")]])
    run(bot.send_message(orla, "Sets?", reply_markup=markup))
    room.press(orla, "Done")
    failed(room)
    room.move(by_s=151)
    assert room.stats()["waiting_updates"] == []
    room.say(orla, "2")
    assert [next(iter(request.body.keys() - {"update_id"})) for request in hook.wait_for(2)] == [
        "callback_query",
        "message",
    ]


def test_what_waited_is_delivered_when_a_webhook_is_set(
    room: RoomClient, bot: telegram.Bot, run: Run, orla: int, script: Script
) -> None:
    room.say(orla, "2")
    with listening(script) as stand_in:
        run(bot.set_webhook(stand_in.url))
        assert [said(request) for request in stand_in.wait_for(1)] == ["2"]
        run(bot.delete_webhook())


@pytest.mark.parametrize(
    ("url", "secret", "reason"),
    [
        ("ftp://127.0.0.1/x", None, "An HTTPS URL must be provided"),
        ("https://example.com/hook", None, "this machine only"),
        ("http://127.0.0.1:1/hook", "no spaces", "Secret token contains unallowed characters"),
    ],
)
def test_a_bad_webhook_is_refused(
    bot: telegram.Bot, run: Run, url: str, secret: str | None, reason: str
) -> None:
    with pytest.raises(BadRequest, match=f"(?i){reason}"):
        run(bot.set_webhook(url, secret_token=secret))
    assert run(bot.get_webhook_info()).url == ""
