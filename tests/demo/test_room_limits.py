"""Sending limits by the room's clock.

Source of the rates: the platform's FAQ for bots (read). The size of the burst is ours.
"""

import datetime as dt

import pytest
import telegram
from telegram.error import RetryAfter

from demo.room.limits import Limits, LimitSettings
from demo.room_client import RoomClient, start_room
from tests.demo.running import Run

NOON = dt.datetime(2026, 3, 2, 12, tzinfo=dt.UTC)


def sent(limits: Limits, seconds: int, tries_a_second: int, chats: int, *, group: bool = False) -> int:
    """How many of the tries get through in so many seconds."""
    return sum(
        limits.take(step % chats, NOON + dt.timedelta(seconds=step / tries_a_second), group=group) == 0
        for step in range(seconds * tries_a_second)
    )


def test_one_chat_takes_a_burst_of_5_then_one_a_second() -> None:
    assert sent(Limits(LimitSettings()), seconds=60, tries_a_second=10, chats=1) == 5 + 59


def test_the_bot_may_send_30_a_second() -> None:
    assert sent(Limits(LimitSettings()), seconds=10, tries_a_second=100, chats=1000) == pytest.approx(
        330, abs=1
    )


def test_a_group_takes_20_a_minute() -> None:
    assert sent(Limits(LimitSettings()), seconds=180, tries_a_second=2, chats=1, group=True) == pytest.approx(
        80, abs=1
    )


def test_the_wait_is_long_enough_and_no_longer() -> None:
    limits = Limits(LimitSettings(group_burst=1))
    assert limits.take(1, NOON, group=True) == 0
    assert limits.take(1, NOON, group=True) == 3
    assert limits.take(1, NOON + dt.timedelta(seconds=2), group=True) == 1
    assert limits.take(1, NOON + dt.timedelta(seconds=3), group=True) == 0


def test_a_clock_moved_back_gives_nothing_away() -> None:
    limits = Limits(LimitSettings(chat_burst=1))
    assert limits.take(1, NOON, group=False) == 0
    assert limits.take(1, NOON - dt.timedelta(hours=1), group=False) == 1
    assert limits.take(1, NOON - dt.timedelta(hours=1) + dt.timedelta(seconds=1), group=False) == 0


@pytest.mark.filterwarnings("ignore:.*retry_after")  # the library's own error warns of its type to come
def test_the_sixth_message_at_once_is_told_when_to_come_back(
    room: RoomClient, bot: telegram.Bot, run: Run, orla: int
) -> None:
    for _ in range(5):
        run(bot.send_message(orla, "x"))
    with pytest.raises(RetryAfter, match=r"Retry in (1 seconds|0:00:01)"):
        run(bot.send_message(orla, "x"))
    other = room.person("Bríd")
    room.start(other)
    run(bot.send_message(other, "x"))
    room.move(by_s=1)
    run(bot.send_message(orla, "x"))


def test_limits_can_be_switched_off(run: Run) -> None:
    with start_room(frozen=True, no_limits=True) as room:
        person = room.person("Orla")
        room.start(person)

        async def send() -> None:
            async with telegram.Bot(room.token, base_url=room.bot_url) as bot:
                for _ in range(40):
                    await bot.send_message(person, "x")

        run(send())
        assert len(room.from_bot(person)) == 40
