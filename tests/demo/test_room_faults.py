"""Faults on order, as the bot library meets them, and whether the message was taken."""

import httpx
import pytest
import telegram
from telegram.error import BadRequest, Forbidden, NetworkError, RetryAfter, TelegramError, TimedOut
from telegram.request import HTTPXRequest

from demo.room_client import PLAIN, RoomClient, RoomError
from tests.demo.running import Run


@pytest.mark.parametrize(
    ("kind", "error", "cause", "taken"),
    [
        ("400", BadRequest, None, False),
        ("403", Forbidden, None, False),
        ("429", RetryAfter, None, False),
        ("500", NetworkError, None, False),
        ("502-html", NetworkError, None, False),
        ("drop-before", NetworkError, httpx.RemoteProtocolError, False),
        ("drop-after", NetworkError, httpx.RemoteProtocolError, True),
        ("timeout", TimedOut, httpx.ReadTimeout, False),
        ("timeout-after", TimedOut, httpx.ReadTimeout, True),
    ],
)
@pytest.mark.filterwarnings("ignore:.*retry_after")  # the library's own error warns of its type to come
def test_a_fault_hits_once_and_tells_the_truth_about_the_message(
    room: RoomClient,
    bot: telegram.Bot,
    run: Run,
    orla: int,
    kind: str,
    error: type[TelegramError],
    cause: type[Exception] | None,
    taken: bool,
) -> None:
    room.fault("sendMessage", kind)
    with pytest.raises(error) as caught:
        run(bot.send_message(orla, "first", read_timeout=0.2))
    assert type(caught.value) is error
    if cause is not None:
        assert type(caught.value.__cause__) is cause
    run(bot.send_message(orla, "second"))
    assert [message.text for message in room.from_bot(orla)] == (["first", "second"] if taken else ["second"])


def test_retry_after_is_the_one_asked_for(room: RoomClient, bot: telegram.Bot, run: Run, orla: int) -> None:
    room.fault("sendMessage", "429", retry_after=17)
    answer = httpx.post(
        f"{room.bot_url}{room.token}/sendMessage",
        json={"chat_id": orla, "text": "x"},
        trust_env=False,
        verify=PLAIN,
    )
    assert answer.status_code == 429
    assert answer.json() == {
        "ok": False,
        "error_code": 429,
        "description": "Too Many Requests: retry after 17",
        "parameters": {"retry_after": 17},
    }
    del bot, run


def test_a_fault_can_wait_for_one_chat_and_last_some_times(
    room: RoomClient, bot: telegram.Bot, run: Run, orla: int
) -> None:
    other = room.person("Bríd")
    room.start(other)
    room.fault("sendMessage", "500", times=2, chat=other, description="Internal Server Error: later")
    run(bot.send_message(orla, "x"))
    for _ in range(2):
        with pytest.raises(NetworkError, match="later"):
            run(bot.send_message(other, "x"))
    run(bot.send_message(other, "x"))
    room.fault("sendMessage", "500")
    room.clear_faults()
    run(bot.send_message(other, "x"))


def test_a_slow_answer_comes_late_but_comes(room: RoomClient, bot: telegram.Bot, run: Run, orla: int) -> None:
    room.fault("sendMessage", "slow", seconds=0.3)
    with pytest.raises(TimedOut):
        run(bot.send_message(orla, "first", read_timeout=0.1))
    room.fault("sendMessage", "slow", seconds=0.1)
    assert run(bot.send_message(orla, "second", read_timeout=5)).text == "second"


def test_an_update_can_come_twice(room: RoomClient, bot: telegram.Bot, run: Run, orla: int) -> None:
    room.fault("getUpdates", "duplicate-update")
    room.say(orla, "2")
    (first,) = run(bot.get_updates())
    (second,) = run(bot.get_updates(offset=first.update_id + 1))
    assert second.update_id == first.update_id
    assert run(bot.get_updates(offset=first.update_id + 1)) == ()


def test_updates_can_come_in_the_wrong_order(
    room: RoomClient, bot: telegram.Bot, run: Run, orla: int
) -> None:
    for text in ("1", "2", "3"):
        room.say(orla, text)
    room.fault("getUpdates", "out-of-order")
    first, second = ([update.update_id for update in run(bot.get_updates())] for _ in range(2))
    assert first == second[::-1] == sorted(first, reverse=True)
    assert len(first) == 3


def test_polling_itself_can_fail(room: RoomClient, bot: telegram.Bot, run: Run, orla: int) -> None:
    room.say(orla, "2")
    room.fault("getUpdates", "502-html")
    with pytest.raises(NetworkError):
        run(bot.get_updates())
    assert len(run(bot.get_updates())) == 1


def test_an_unknown_fault_is_refused(room: RoomClient) -> None:
    with pytest.raises(RoomError, match="The kind of a fault is one of 400, 403"):
        room.fault("sendMessage", "418")


def test_a_caller_that_hangs_up_takes_no_update_with_it(room: RoomClient, run: Run, orla: int) -> None:
    """A killed bot's poll is gone: what is said next waits for the next poll."""
    impatient = HTTPXRequest(read_timeout=0.1)
    url = f"{room.bot_url}{room.token}/getUpdates"

    async def poll() -> None:
        async with impatient:
            with pytest.raises(TimedOut):
                await impatient.do_request(f"{url}?timeout=30", "GET", read_timeout=0.1)

    run(poll())
    room.say(orla, "2")
    told = httpx.get(url, trust_env=False, verify=PLAIN).json()
    assert [update["message"]["text"] for update in told["result"]] == ["2"]
