"""The room's clock and how it takes the bot along."""

import datetime as dt
import threading
from collections.abc import Callable, Iterator
from itertools import takewhile

import httpx
import pytest
import telegram

from demo.room.bell import Bell
from demo.room.clock import RoomClock
from demo.room_client import PLAIN, RoomClient, RoomError, start_room
from tests.demo.running import Run
from tests.demo.stand_in import Answer, Received, StandIn, idle, listening, polling

START = dt.datetime(2026, 3, 2, 9, tzinfo=dt.UTC)

Answering = Callable[[Received], tuple[int, dict[str, str], Answer]]


@pytest.fixture
def room(shared_room: RoomClient) -> RoomClient:
    """A quiet room without a bot, at 09:00 UTC on Monday 2 March 2026."""
    shared_room.set_driver("")
    shared_room.move(by_s=2 * 86_400)  # what still waited expires
    shared_room.move(to=START)
    return shared_room


def planned(*instants: str) -> Answering:
    """A bot that has something to do at these instants, once each."""
    return lambda request: idle(next((at for at in instants if at > request.body["now"]), None))


@pytest.fixture
def bot_like(room: RoomClient) -> Iterator[Callable[[Answering], StandIn]]:
    """Registers a stand-in that answers as told."""
    told: list[Answering] = []

    def as_told(request: Received) -> tuple[int, dict[str, str], Answer]:
        return told[-1](request)

    with listening(as_told) as stand_in:

        def register(answer: Answering) -> StandIn:
            told.append(answer)
            room.set_driver(stand_in.url)
            return stand_in

        yield register


def test_a_standing_clock_stands_and_a_running_one_runs() -> None:
    real_s = [100.0]
    standing = RoomClock(START, Bell(), frozen=True, monotonic=lambda: real_s[0])
    running = RoomClock(START, Bell(), frozen=False, monotonic=lambda: real_s[0])
    real_s[0] += 2.5
    assert standing.now() == START
    assert running.now() == START + dt.timedelta(seconds=2.5)
    running.move_to(START + dt.timedelta(days=1))
    real_s[0] += 1
    assert running.now() == START + dt.timedelta(days=1, seconds=1)
    assert running.real_wait_s(running.now() + dt.timedelta(seconds=3)) == 3
    assert standing.real_wait_s(START + dt.timedelta(seconds=3)) is None
    assert standing.real_wait_s(START) == 0


def test_a_running_room_starts_where_it_is_told() -> None:
    with start_room(at=START) as room:
        assert dt.timedelta(0) <= room.now() - START < dt.timedelta(seconds=30)
        assert room.clock()["frozen"] is False
        room.move(by_s=3600)
        assert room.now() - START >= dt.timedelta(hours=1)


@pytest.mark.parametrize(
    ("start", "order", "zone", "there"),
    [
        (START, {"by_s": 90}, None, "2026-03-02T09:01:30Z"),
        (START, {"to": "2026-03-02T12:00:00+01:00"}, None, "2026-03-02T11:00:00Z"),
        (START, {"to": "2026-03-01T00:00:00Z"}, None, "2026-03-01T00:00:00Z"),
        (START, {"step": "evening"}, "Europe/Dublin", "2026-03-02T20:00:00Z"),
        (
            START,
            {"step": "evening"},
            "Australia/Sydney",
            "2026-03-03T09:00:00Z",
        ),  # it is 20:00 there: the next one
        (START, {"step": "tomorrow"}, "Europe/Dublin", "2026-03-03T07:00:00Z"),
        # Summer time begins on 29 March at 01:00 UTC: the wall time stays, the instant moves.
        ("2026-03-28T20:30:00Z", {"step": "evening"}, "Europe/Dublin", "2026-03-29T19:00:00Z"),
        ("2026-03-25T12:00:00Z", {"step": "week"}, "Europe/Dublin", "2026-04-01T11:00:00Z"),
    ],
)
def test_the_clock_goes_where_it_is_sent(
    room: RoomClient, start: dt.datetime | str, order: dict[str, object], zone: str | None, there: str
) -> None:
    room.move(to=start)
    answer = room.post("clock", zone=zone, **order)
    assert (answer["now"], room.clock()["now"]) == (there, there)


@pytest.mark.parametrize(
    "order", [{}, {"step": "back"}, {"to": "noon"}, {"to": "2026-03-02T09:00:00"}, {"zone": "x/y"}]
)
def test_an_order_that_cannot_be_read_is_refused(room: RoomClient, order: dict[str, object]) -> None:
    with pytest.raises(RoomError):
        room.post("clock", **order)
    assert room.now() == START


def test_a_long_move_visits_every_planned_instant(
    room: RoomClient, bot_like: Callable[[Answering], StandIn]
) -> None:
    plan = ("2026-03-02T12:00:00Z", "2026-03-02T20:00:00Z", "2026-03-03T08:00:00.500000Z")
    bot = bot_like(planned(*plan))
    room.move(to="2026-03-04T00:00:00Z")
    assert bot.runs() == ["2026-03-02T09:00:00Z", *plan, "2026-03-04T00:00:00Z"]


def test_next_goes_to_the_next_planned_instant_and_not_beyond_a_week(
    room: RoomClient, bot_like: Callable[[Answering], StandIn]
) -> None:
    bot_like(planned("2026-03-02T12:00:00Z", "2026-03-20T12:00:00Z"))
    assert room.move(step="next")["now"] == "2026-03-02T12:00:00Z"
    assert room.move(step="next")["now"] == "2026-03-09T12:00:00Z"
    bot_like(planned())
    answer = room.move(step="next")
    assert (answer["moved"], answer["why"], answer["now"]) == (
        False,
        "nothing is planned",
        "2026-03-09T12:00:00Z",
    )


def test_a_step_goes_on_to_what_is_nearly_due_and_an_exact_move_does_not(
    room: RoomClient, bot_like: Callable[[Answering], StandIn]
) -> None:
    """Messages to one chat are spaced by a second or more: the page should show them all."""
    bot_like(planned("2026-03-02T20:00:02Z", "2026-03-02T20:01:30Z", "2026-03-02T20:01:31Z"))
    assert room.move(to="2026-03-02T20:00:00Z")["now"] == "2026-03-02T20:00:00Z"
    room.move(to=START)
    assert room.move(step="evening")["now"] == "2026-03-02T20:01:30Z"
    room.move(to=START)
    assert room.move(to="2026-03-02T20:00:00Z", settle_s=2)["now"] == "2026-03-02T20:00:02Z"


def test_after_an_act_the_bot_is_waited_for(
    room: RoomClient, bot_like: Callable[[Answering], StandIn]
) -> None:
    """The update is taken first, then the ticks run until nothing is due within 90 s."""
    taken_at_run: list[int] = []

    def answer(request: Received) -> tuple[int, dict[str, str], Answer]:
        taken_at_run.append(len(taken))
        return planned("2026-03-02T09:00:03Z", "2026-03-02T09:01:30Z", "2026-03-02T09:01:31Z")(request)

    person = room.person("Orla")
    bot = bot_like(answer)
    with polling(room) as taken:
        told = room.start(person)
    assert (told["settled"], told["now"]) == (True, "2026-03-02T09:01:30Z")
    assert bot.runs() == ["2026-03-02T09:00:00Z", "2026-03-02T09:00:03Z", "2026-03-02T09:01:30Z"]
    assert taken_at_run[0] == 1


def test_an_act_need_not_wait(room: RoomClient, bot_like: Callable[[Answering], StandIn]) -> None:
    bot = bot_like(planned())
    told = room.start(room.person("Orla"), settle=False)
    assert (told["settled"], bot.runs()) == (None, [])


def test_a_bot_that_is_down_is_said_and_can_be_left_behind(room: RoomClient) -> None:
    room.set_driver("http://127.0.0.1:9")
    with pytest.raises(RoomError, match="The bot did not run its ticks"):
        room.move(by_s=60)
    assert room.now() == START
    room.move(by_s=60, without_bot=True)
    assert room.now() == START + dt.timedelta(seconds=60)


def test_a_bot_that_never_gets_on_does_not_hold_the_clock_for_ever(
    room: RoomClient, bot_like: Callable[[Answering], StandIn]
) -> None:
    bot_like(lambda request: idle(request.body["now"]))
    with pytest.raises(RoomError, match="something is due and does nothing"):
        room.move(by_s=86_400)


def test_a_walk_can_be_stopped(room: RoomClient, bot_like: Callable[[Answering], StandIn]) -> None:
    second_run, stopped = threading.Event(), threading.Event()

    def answer(request: Received) -> tuple[int, dict[str, str], Answer]:
        if request.body["now"] == "2026-03-02T10:00:00Z":
            second_run.set()
            assert stopped.wait(5)
        return planned("2026-03-02T10:00:00Z", "2026-03-02T11:00:00Z")(request)

    bot_like(answer)

    def go() -> None:
        with RoomClient(room.url) as other:
            other.move(step="week")

    walk = threading.Thread(target=go)
    walk.start()
    assert second_run.wait(5)
    assert room.clock()["moving"] is True
    room.post("clock", stop=True)
    stopped.set()
    walk.join(5)
    assert (room.clock()["moving"], room.now()) == (False, START + dt.timedelta(hours=1))


def test_news_of_the_walk_reaches_the_page(
    room: RoomClient, bot_like: Callable[[Answering], StandIn]
) -> None:
    bot_like(planned("2026-03-02T10:00:00Z"))
    with httpx.stream("GET", f"{room.url}/room/events", trust_env=False, verify=PLAIN) as news:
        lines = news.iter_lines()
        assert next(lines) == ": here"
        room.move(to="2026-03-02T11:00:00Z")
        seen = list(takewhile(lambda line: '"done": true' not in line, lines))
    clocks = [line for line in seen if line.startswith('data: {"now"')]
    assert clocks == ['data: {"now": "2026-03-02T10:00:00Z"}', 'data: {"now": "2026-03-02T11:00:00Z"}']
    shares = [line.partition('"share": ')[2].partition(",")[0] for line in seen if '"share"' in line]
    assert shares == ["0.5", "1.0"]


def test_message_dates_are_whole_seconds_of_the_room(room: RoomClient, run: Run) -> None:
    room.move(to="2026-03-02T09:00:00.900000Z")
    person = room.person("Orla")
    room.start(person)

    async def send() -> telegram.Message:
        async with telegram.Bot(room.token, base_url=room.bot_url) as bot:
            return await bot.send_message(person, "x")

    assert run(send()).date == START
