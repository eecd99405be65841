"""Sending through the library, over HTTP: what becomes of a message, in five words.

| What happens                                             | Result                |
| -------------------------------------------------------- | --------------------- |
| taken, also when nothing had to be changed               | Sent                  |
| 429                                                      | RetryAfter            |
| no connection came about                                 | NotSent               |
| 403; 400 for a chat that is not there                    | Refused, gone         |
| any other 400                                            | Refused               |
| 401 in the platform's own shape                          | raises DeadTokenError |
| 5xx, a page from something in between, silence, a cut    | Unknown               |

Statuses and descriptions: the public Bot API and its open server (read).
"""

import asyncio
import socket
import uuid
from collections.abc import Callable
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st
from telegram import Bot

from bot.domain.delivery import Kind, NotSent, Refused, Result, RetryAfter, Sent, Unknown
from bot.errors import DeadTokenError
from bot.service.deliver import Outgoing
from bot.transport import bots, line
from bot.transport.line import SendLine
from bot.transport.send import CAPTION_UNITS, MARK, TEXT_UNITS, fitted, send
from demo.room_client import RoomClient
from tests.transport.conftest import Run
from tests.transport.scripted import HOLD, answering, ok, page, refusal

ROWS = ((("Done", "done:1"), ("Later", "later")), (("No more", "nomore"),))
# The smallest picture there is: one grey point.
PNG = bytes.fromhex(
    "89504e470d0a1a0a0000000d4948445200000001000000010800000000"
    "3a7e9b550000000a49444154789c636800000082008177cd72b60000000049454e44ae426082"
)
API_NAMES = {
    "text": "sendMessage",
    "photo": "sendPhoto",
    "edit": "editMessageText",
    "clear": "editMessageReplyMarkup",
    "answer": "answerCallbackQuery",
    "menu": "setMyCommands",
}


def outgoing(chat: int, method: str = "text", **more: Any) -> Outgoing:
    """A message to a chat; only what a test names differs from an ordinary one."""
    fields: dict[str, Any] = {
        "text": "Sets done today?",
        "rows": (),
        "silent": False,
        "keep_private": False,
        "message_id": None,
        "press_id": "",
        "commands": (("help", "What I can do"),),
        "picture": PNG,
    }
    return Outgoing(uuid.uuid4(), Kind.REPLY, 1, chat, method, **{**fields, **more})


@pytest.fixture
def sending(bot: Bot, run: Run[Result]) -> Callable[[Outgoing], Result]:
    """Sends, and answers what became of it."""
    return lambda out: run(send(bot, out))


@pytest.fixture
def ready(room: RoomClient, orla: int, sending: Callable[[Outgoing], Result]) -> Callable[[str], Outgoing]:
    """A message by each method that would be taken."""

    def make(method: str) -> Outgoing:
        sent = sending(outgoing(orla, text="Standing", rows=ROWS))
        assert isinstance(sent, Sent)
        press_id = room.press(orla, "Done")["query"] if method == "answer" else ""
        return outgoing(orla, method, message_id=sent.message_id, press_id=press_id)

    return make


def test_a_text_arrives_with_its_buttons(
    room: RoomClient, orla: int, sending: Callable[[Outgoing], Result]
) -> None:
    result = sending(outgoing(orla, rows=ROWS, silent=True, keep_private=True))
    shown = room.last(orla)
    assert result == Sent(shown.message_id)
    assert shown.text == "Sets done today?"
    assert shown.data == {"Done": "done:1", "Later": "later", "No more": "nomore"}
    assert [len(row) for row in shown.raw["buttons"]] == [2, 1]
    assert (shown.raw["silent"], shown.raw["protected"]) == (True, True)
    sending(outgoing(orla))
    plain = room.last(orla)
    assert (plain.labels, plain.raw["silent"], plain.raw["protected"]) == ((), False, False)


def test_a_picture_arrives_under_a_name_that_gives_nothing_away(
    room: RoomClient, orla: int, sending: Callable[[Outgoing], Result]
) -> None:
    result = sending(outgoing(orla, "photo", text="Last week", keep_private=True))
    shown = room.last(orla)
    assert result == Sent(shown.message_id)
    assert (shown.media, shown.text, shown.raw["protected"]) == ("photo", "Last week", True)
    assert shown.raw["media"]["name"] == "week.png"


def test_a_message_is_changed_in_place(
    room: RoomClient,
    orla: int,
    sending: Callable[[Outgoing], Result],
    ready: Callable[[str], Outgoing],
) -> None:
    out = ready("edit")
    assert sending(out) == Sent(out.message_id)
    assert (room.last(orla).text, room.last(orla).labels) == ("Sets done today?", ())


def test_buttons_are_taken_away(
    room: RoomClient,
    orla: int,
    sending: Callable[[Outgoing], Result],
    ready: Callable[[str], Outgoing],
) -> None:
    out = ready("clear")
    assert sending(out) == Sent(out.message_id)
    assert (room.last(orla).text, room.last(orla).labels) == ("Standing", ())


def test_a_press_is_answered(
    room: RoomClient,
    orla: int,
    sending: Callable[[Outgoing], Result],
    ready: Callable[[str], Outgoing],
) -> None:
    assert sending(ready("answer")) == Sent(None)
    room.move(by_s=20)
    late = room.press(orla, "Done")["query"]
    room.move(by_s=20)
    assert sending(outgoing(orla, "answer", press_id=late)) == Refused("bad request", gone=False)


def test_the_menu_of_one_chat_is_set(
    room: RoomClient, orla: int, sending: Callable[[Outgoing], Result]
) -> None:
    assert sending(outgoing(orla, "menu")) == Sent(None)
    commands = room.get(f"chats/{orla}")["commands"]
    assert [(entry["command"], entry["description"]) for entry in commands] == [("help", "What I can do")]


def test_what_is_not_a_method_is_our_fault(orla: int, sending: Callable[[Outgoing], Result]) -> None:
    with pytest.raises(ValueError, match=r"^pigeon: not a way"):
        sending(outgoing(orla, "pigeon"))


FAULTS: list[tuple[str, str | None, Result]] = [
    ("400", None, Refused("bad request", gone=False)),
    ("400", "chat not found", Refused("bad request", gone=True)),
    ("400", "PEER_ID_INVALID", Refused("bad request", gone=True)),
    ("400", "message is not modified: it is the same", Sent(None)),
    ("403", None, Refused("forbidden", gone=True)),
    ("403", "user is deactivated", Refused("forbidden", gone=True)),
    ("429", None, RetryAfter(17.0)),
    ("500", None, Unknown("NetworkError")),
    ("502-html", None, Unknown("TelegramError")),
    ("drop-before", None, Unknown("ServerDisconnectedError")),
    ("drop-after", None, Unknown("ServerDisconnectedError")),
]


@pytest.mark.parametrize(("kind", "description", "expected"), FAULTS)
@pytest.mark.parametrize("method", API_NAMES)
def test_every_fault_is_told_by_its_word_for_every_method(
    room: RoomClient,
    sending: Callable[[Outgoing], Result],
    ready: Callable[[str], Outgoing],
    method: str,
    kind: str,
    description: str | None,
    expected: Result,
) -> None:
    out = ready(method)
    room.fault(API_NAMES[method], kind, retry_after=17, description=description)
    assert sending(out) == expected
    assert room.stats()["faults_left"] == 0


@pytest.mark.parametrize("kind", ["timeout", "timeout-after"])
@pytest.mark.parametrize("method", ["text", "photo", "edit"])
def test_no_answer_leaves_everybody_in_the_dark(
    room: RoomClient, run: Run[Any], ready: Callable[[str], Outgoing], method: str, kind: str
) -> None:
    out = ready(method)
    impatient = Bot(
        room.token,
        base_url=room.bot_url,
        request=SendLine(1, read_within_s=0.1),
        base_file_url=room.bot_file_url,
    )
    room.fault(API_NAMES[method], kind)
    assert run(once(impatient, out)) == Unknown("SocketTimeoutError")


async def once(bot: Bot, out: Outgoing) -> Result:
    """Send with a client of the test's own, and close its connections."""
    try:
        return await send(bot, out)
    finally:
        await bot.request.shutdown()


def test_a_message_never_takes_longer_than_its_lease(
    room: RoomClient, bot: Bot, run: Run[Result], orla: int
) -> None:
    """The library's own limits count each part of a request; this one counts the whole."""
    room.fault("sendMessage", "timeout")
    assert run(send(bot, outgoing(orla), within_s=0.1)) == Unknown("TimeoutError")


def test_a_slow_answer_is_waited_for(
    room: RoomClient, sending: Callable[[Outgoing], Result], orla: int
) -> None:
    room.fault("sendMessage", "slow", seconds=0.2)
    assert sending(outgoing(orla)) == Sent(room.last(orla).message_id)


def test_somebody_who_blocked_the_bot_is_gone(
    room: RoomClient, sending: Callable[[Outgoing], Result], orla: int
) -> None:
    room.block(orla)
    assert sending(outgoing(orla)) == Refused("forbidden", gone=True)


def test_somebody_who_never_came_is_gone(sending: Callable[[Outgoing], Result], orla: int) -> None:
    assert sending(outgoing(orla + 999)) == Refused("bad request", gone=True)


def test_no_connection_is_safe_to_repeat(run: Run[Result], room: RoomClient, orla: int) -> None:
    with socket.create_server(("127.0.0.1", 0)) as free:
        port = free.getsockname()[1]
    bot = bots.make_bot(room.token, f"http://127.0.0.1:{port}")
    assert run(once(bot, outgoing(orla))) == NotSent("ClientConnectorError")


def test_no_free_connection_is_safe_to_repeat(run: Run[Any], orla: int) -> None:
    async def two_at_once() -> list[Result]:
        narrow = SendLine(1, read_within_s=0.5, connect_within_s=0.1)
        async with answering([HOLD]) as server:
            bot = Bot("4200001:local-room-only", base_url=f"{server.url}/bot", request=narrow)
            return list(await asyncio.gather(once(bot, outgoing(orla)), send(bot, outgoing(orla))))

    found = run(two_at_once())
    # Which of the two gets the only connection is chance; what became of that one, nobody can know.
    assert NotSent("ConnectionTimeoutError") in found
    assert any(isinstance(result, Unknown) for result in found)


def test_a_token_the_platform_refuses_stops_everything(room: RoomClient, run: Run[Result], orla: int) -> None:
    bot = bots.make_bot("4200001:revoked-long-ago", room.url)
    with pytest.raises(DeadTokenError, match=r"^BOT_TOKEN: the platform refuses it") as caught:
        run(once(bot, outgoing(orla)))
    assert "revoked-long-ago" not in str(caught.value)


@pytest.mark.parametrize(
    "answer",
    [
        page(404, "<h1>Nothing here</h1>"),
        page(401, "<h1>Sign in to this network</h1>"),
        page(200, "<h1>Welcome to this network</h1>"),
        page(503, ""),
        refusal(413, "Request Entity Too Large"),
    ],
    ids=["404", "401", "200", "503", "413"],
)
def test_a_page_from_something_in_between_says_nothing_of_the_token(
    run: Run[Result], orla: int, answer: bytes
) -> None:
    async def through() -> Result:
        async with answering([answer]) as server:
            return await once(bots.make_bot("4200001:local-room-only", server.url), outgoing(orla))

    assert isinstance(run(through()), Unknown)


# --- texts that are too long ---


def units(text: str) -> int:
    return len(text.encode("utf-16-le")) // 2


LINES = "\n".join(f"C{number:02} - 13 to 18 of 21 sets, answered 5 of 7 days 🌱" for number in range(120))


@pytest.mark.parametrize(
    ("method", "limit"), [("text", TEXT_UNITS), ("photo", CAPTION_UNITS), ("edit", TEXT_UNITS)]
)
def test_a_long_text_is_cut_after_a_line_and_marked(
    room: RoomClient,
    orla: int,
    sending: Callable[[Outgoing], Result],
    ready: Callable[[str], Outgoing],
    method: str,
    limit: int,
) -> None:
    """A digest of a large caseload must not be refused for its length for ever."""
    message_id = ready("edit").message_id
    assert isinstance(sending(outgoing(orla, method, text=LINES, message_id=message_id)), Sent)
    *whole, mark = room.last(orla).text.split("\n")
    assert mark == "[…]"
    assert whole == LINES.split("\n")[: len(whole)]
    assert limit - 60 < units(room.last(orla).text) <= limit


@pytest.mark.parametrize(
    ("text", "limit", "expected"),
    [
        ("short", 5, "short"),
        ("🌱🌱", 4, "🌱🌱"),
        ("one two three\nfour five", 20, "one two three\n[…]"),
        ("one two three four five", 20, "one two three\n[…]"),
        ("a\nlongwordwithoutanyspace", 20, "a\nlongwordwithou\n[…]"),
        ("🌱" * 20, 20, "🌱" * 8 + "\n[…]"),
        ("x" + "🌱" * 20, 20, "x" + "🌱" * 7 + "\n[…]"),
    ],
)
def test_where_a_text_is_cut(text: str, limit: int, expected: str) -> None:
    assert fitted(text, limit) == expected


@given(st.text(alphabet="ab \n🌱", max_size=200), st.integers(min_value=10, max_value=120))
def test_what_is_left_fits_and_stood_there_before(text: str, limit: int) -> None:
    result = fitted(text, limit)
    assert units(result) <= limit
    if units(text) <= limit:
        assert result == text
    else:
        assert result.endswith(MARK)
        assert text.startswith(result.removesuffix(MARK))


def test_pauses_between_tries_double_and_end_at_half_a_minute() -> None:
    waits = [bots.pause_s(OSError(), failures) for failures in range(1, 12)]
    for place, wait in enumerate(waits):
        doubled = 0.5 * 2**place
        assert min(doubled, 30.0) <= wait <= min(doubled + 0.125, 30.0)  # some chance on top
    assert len({bots.pause_s(OSError(), 1) for _ in range(9)}) > 1


@pytest.mark.parametrize(
    ("spared", "host", "through"), [("", "api.example", True), ("api.example", "127.0.0.1", False)]
)
def test_messages_go_through_a_proxy_that_the_environment_names(
    monkeypatch: pytest.MonkeyPatch, spared: str, host: str, through: bool
) -> None:
    """NO_PROXY spares a host. A proxy is asked for the whole address (RFC 9112, 3.2.2, from memory)."""

    async def first_line() -> str:
        async with answering([ok(True)]) as server:
            monkeypatch.setenv("http_proxy", server.url)
            monkeypatch.setenv("no_proxy", f"{spared},127.0.0.1")
            line._proxy_to.cache_clear()
            address = f"http://{host}/x" if through else f"{server.url}/x"
            away = SendLine(1)
            await away.do_request(address, "POST")
            await away.shutdown()
            return server.asked[0]

    try:
        asked = asyncio.run(first_line())
    finally:
        line._proxy_to.cache_clear()
    assert asked.split()[1] == ("http://api.example/x" if through else "/x")
