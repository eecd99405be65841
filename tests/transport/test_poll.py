"""Long polling: stored first, confirmed afterwards; nothing ends the loop but a dead token."""

import asyncio
import contextlib
import json
from collections.abc import AsyncIterator, Callable, Sequence
from contextlib import asynccontextmanager
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any
from urllib.parse import parse_qs, urlsplit

import pytest
from telegram import Bot
from telegram.error import RetryAfter
from telegram.request import HTTPXRequest

from bot.errors import DeadTokenError, RefusedError
from bot.service.accept import Received
from bot.transport import bots
from bot.transport.poll import KINDS, NoUpdateError, Pace, Poller, received
from demo.room_client import Answer, RoomClient, read_record
from tests.fixtures.waiting import until
from tests.transport.conftest import Run
from tests.transport.scripted import HOLD, Scripted, answering, ok, page, refusal

TOKEN = "4200001:local-room-only"  # noqa: S105 - opens nothing but the local room


class StoreDownError(Exception):
    """What a store that cannot be reached raises."""


@dataclass
class Inbox:
    """Takes batches as the store would: unique by number. `fails` times it fails first."""

    fails: int = 0
    before: Callable[[], object] = lambda: None
    stored: dict[int, Received] = field(default_factory=dict)
    batches: list[list[int]] = field(default_factory=list)

    async def accept(self, batch: list[Received]) -> None:
        """Store a batch, unless it is told to fail."""
        self.before()
        await asyncio.sleep(0)
        if self.fails:
            self.fails -= 1
            raise StoreDownError("C7: heavy bleeding")
        self.batches.append([update.update_id for update in batch])
        self.stored |= {update.update_id: update for update in batch}

    def texts(self) -> list[str]:
        """What was said, in the order of the numbers."""
        documents = [json.loads(self.stored[number].raw) for number in sorted(self.stored)]
        return [document["message"]["text"] for document in documents if "message" in document]


@dataclass
class Pauses:
    """The pauses a poller asked for; in truth it waits a hundredth of a second."""

    asked: list[tuple[str, int]] = field(default_factory=list)

    def __call__(self, error: Exception, failures: int) -> float:
        self.asked.append((type(error).__name__, failures))
        return 0.01


@asynccontextmanager
async def polling(
    url: str, inbox: Inbox, pace: Pace | None = None, open_line: Callable[[], HTTPXRequest] = bots.make_line
) -> AsyncIterator[Poller]:
    """A poller at work until the block ends."""
    poller = Poller(open_line, bots.address(TOKEN, url), inbox.accept, pace or quick())
    task = asyncio.create_task(poller.run())
    try:
        yield poller
    finally:
        task.cancel()
        with contextlib.suppress(asyncio.CancelledError):
            await task


def quick(pauses: Pauses | None = None, **more: Any) -> Pace:
    """A pace for tests: short polls, hardly a pause."""
    return Pace(**{"wait_s": 1, "margin_s": 0.5, "pause": pauses or Pauses(), **more})


def ended(path: Path) -> dict[int, str]:
    """What became of the updates, by their numbers."""
    return {line["update_id"]: line["fate"] for line in read_record(path) if line["what"] == "update-end"}


def handed(path: Path, number: int) -> int:
    """How often an update was handed out."""
    lines = [line for line in read_record(path) if line["what"] == "update" and line["update_id"] == number]
    return len(lines)


def say(room: RoomClient, person: int, text: str) -> int:
    """Somebody writes; answers the update's number."""
    return int(room.say(person, text)["update_ids"][0])


def test_an_update_is_stored_before_it_is_confirmed(
    room: RoomClient, run: Run[None], orla: int, record_file: Path
) -> None:
    async def scene() -> None:
        number = say(room, orla, "2")
        seen: list[int] = []
        inbox = Inbox(before=lambda: seen.append(number) if number in ended(record_file) else None)
        async with polling(room.url, inbox):
            await until(lambda: ended(record_file).get(number) == "confirmed")
        assert seen == []
        assert inbox.texts() == ["/start", "2"]

    run(scene())


def test_what_could_not_be_stored_is_not_confirmed_and_comes_again(
    room: RoomClient, run: Run[None], orla: int, record_file: Path
) -> None:
    async def scene() -> None:
        number = say(room, orla, "2")
        pauses = Pauses()
        inbox = Inbox(fails=4, before=lambda: confirmed.append(number in ended(record_file)))
        confirmed: list[bool] = []
        async with polling(room.url, inbox, quick(pauses)) as poller:
            await until(lambda: len(pauses.asked) == 3)
            assert poller.amiss() == ["polling: 2 updates could not be stored yet"]
            await until(lambda: number in ended(record_file))
            assert poller.amiss() == []
        assert confirmed == [False] * 5
        assert handed(record_file, number) == 5
        assert pauses.asked == [("StoreDownError", failures) for failures in range(1, 5)]
        assert inbox.texts() == ["/start", "2"]

    run(scene())


def test_a_press_the_platform_has_let_go_of_is_still_stored(run: Run[None]) -> None:
    """It forgets a press after 150 seconds; what a store that is down has not taken yet stays in hand."""
    press = {"update_id": 5, "callback_query": {"id": "1", "from": {"id": 9}, "data": "done"}}
    text = {"update_id": 6, "message": {"text": "2", "from": {"id": 9}}}

    async def scene() -> None:
        inbox = Inbox(fails=2)
        async with answering([ok([press]), ok([]), ok([text]), ok([])]) as server:
            async with polling(server.url, inbox):
                await until(lambda: len(server.asked) > 3)
            assert inbox.batches == [[5, 6]]
            assert offsets(server)[:4] == [None, None, None, 7]

    run(scene())


def offsets(server: Scripted) -> list[int | None]:
    """The offset of each poll."""
    queries = [parse_qs(urlsplit(line.split()[1]).query) for line in server.asked]
    return [int(query["offset"][0]) if "offset" in query else None for query in queries]


def test_it_starts_without_an_offset_and_drops_it_once_confirmed(run: Run[None]) -> None:
    def update(number: int) -> Answer:
        return {"update_id": number, "message": {"text": str(number)}}

    async def scene() -> None:
        answers = [ok([update(7), update(9)]), ok([update(10)]), ok([]), ok([]), ok([update(3)]), ok([])]
        inbox = Inbox()
        async with answering(answers) as server, polling(server.url, inbox):
            await until(lambda: len(server.asked) > 8)
        assert offsets(server)[:8] == [None, 10, 11, None, None, 4, None, None]
        assert sorted(inbox.stored) == [3, 7, 9, 10]
        query = parse_qs(urlsplit(server.asked[0].split()[1]).query)
        assert (query["limit"], query["timeout"]) == (["100"], ["1"])
        assert json.loads(query["allowed_updates"][0]) == list(KINDS)

    run(scene())


def test_what_is_numbered_anew_after_a_silent_week_is_not_wiped_out(
    room: RoomClient, run: Run[None], orla: int
) -> None:
    async def scene() -> None:
        inbox = Inbox()
        async with polling(room.url, inbox):
            before = say(room, orla, "before")
            await until(lambda: before in inbox.stored and room.stats()["waiting_updates"] == [])
            room.move(by_s=8 * 86_400)
            await asyncio.sleep(0)
            after = say(room, orla, "after")
            assert after < before
            await until(lambda: after in inbox.stored)

    run(scene())


@pytest.mark.parametrize(
    ("kind", "error"),
    [
        ("429", "RetryAfter"),
        ("500", "NetworkError"),
        ("502-html", "NetworkError"),
        ("timeout", "TimedOut"),
        ("timeout-after", "TimedOut"),
        ("drop-before", "NetworkError"),
        ("drop-after", "NetworkError"),
        ("403", "Forbidden"),
        ("400", "BadRequest"),
    ],
)
def test_every_fault_is_survived_with_growing_pauses(
    room: RoomClient, run: Run[None], orla: int, kind: str, error: str
) -> None:
    async def scene() -> None:
        number = say(room, orla, "2")
        pauses = Pauses()
        inbox = Inbox()
        room.fault("getUpdates", kind, times=3)
        async with polling(room.url, inbox, quick(pauses, wait_s=0, margin_s=0.15)):
            await until(lambda: number in inbox.stored)
            assert pauses.asked == [(error, 1), (error, 2), (error, 3)]
            room.fault("getUpdates", kind)
            await until(lambda: len(pauses.asked) == 4)
        assert pauses.asked[3] == (error, 1)

    run(scene())


def test_a_rival_is_survived_and_told(run: Run[None]) -> None:
    rival = refusal(409, "Conflict: terminated by other getUpdates request")

    async def scene() -> None:
        async with answering([rival]) as server:
            pauses = Pauses()
            async with polling(server.url, Inbox(), quick(pauses)) as poller:
                await until(lambda: len(pauses.asked) > 2)
                assert poller.amiss() == [
                    "polling: another program polls with this token, or a webhook is set"
                ]
                server.answers[:] = [ok([])]
                await until(lambda: poller.amiss() == [])
        assert pauses.asked[0] == ("Conflict", 1)

    run(scene())


def test_the_platforms_own_pause_is_kept() -> None:
    assert bots.pause_s(RetryAfter(17), 1) == 17.0
    assert bots.pause_s(RetryAfter(17), 9) == 17.0


@pytest.mark.parametrize(
    "answer",
    [
        page(200, "<h1>Welcome to this network</h1>"),
        page(404, "<h1>Nothing here</h1>"),
        page(401, "<h1>Sign in</h1>"),
        page(200, "[]", "application/json"),
        page(200, '"ok"', "application/json"),
        ok({"not": "a list"}),
        ok(None),
    ],
    ids=["200", "404", "401", "list", "text", "object", "null"],
)
def test_an_answer_that_is_none_is_survived(run: Run[None], answer: bytes) -> None:
    async def scene() -> None:
        inbox = Inbox()
        async with (
            answering([answer, answer, ok([{"update_id": 1, "message": {"text": "2"}}]), ok([])]) as server,
            polling(server.url, inbox),
        ):
            await until(lambda: inbox.stored)

    run(scene())


@pytest.mark.parametrize("status", [401, 404])
def test_a_dead_token_ends_it(run: Run[None], status: int) -> None:
    async def scene() -> None:
        async with answering([refusal(status, "Unauthorized")]) as server:
            poller = Poller(bots.make_line, bots.address(TOKEN, server.url), Inbox().accept, quick())
            with pytest.raises(DeadTokenError, match=r"^BOT_TOKEN: ") as caught:
                await poller.run()
            assert TOKEN not in str(caught.value)

    run(scene())


POISON: Sequence[object] = (
    {"update_id": 2, "message": "no object"},
    {"update_id": 3, "message": {"text": "half \ud83d", "from": {"id": "x"}}},
    {"update_id": 4},
    {"update_id": 5, "callback_query": None, "from": 7},
)


def test_a_poisonous_update_is_stored_like_the_others(run: Run[None]) -> None:
    good = {"update_id": 6, "message": {"text": "2", "from": {"id": 9}}}

    async def scene() -> None:
        inbox = Inbox()
        async with answering([ok([*POISON, good]), ok([])]) as server, polling(server.url, inbox):
            await until(lambda: len(server.asked) > 1)
        assert [json.loads(update.raw) for update in inbox.stored.values()] == [*POISON, good]
        assert [update.sender for update in inbox.stored.values()] == [None] * 4 + [9]
        assert offsets(server)[1] == 7

    run(scene())


@pytest.mark.parametrize(
    "nameless", [{"message": {}}, "text", None, 7, [], {"update_id": "7"}, {"update_id": True}]
)
def test_what_has_no_number_stops_nothing(run: Run[None], nameless: object) -> None:
    """It cannot be confirmed; the others are stored and confirmed, and there is a pause."""
    with pytest.raises(NoUpdateError):
        received(nameless)
    good = {"update_id": 6, "message": {"text": "2"}}

    async def scene() -> None:
        inbox = Inbox()
        pauses = Pauses()
        async with answering([ok([nameless, good])]) as server, polling(server.url, inbox, quick(pauses)):
            await until(lambda: len(pauses.asked) > 1)
        assert list(inbox.stored) == [6]
        assert offsets(server)[1] == 7
        assert pauses.asked[:2] == [("NoUpdateError", 1), ("NoUpdateError", 2)]

    run(scene())


def test_connections_that_have_gone_dead_are_built_anew(run: Run[None]) -> None:
    """A line on which nothing comes back makes no noise of its own."""
    lines: list[HTTPXRequest] = []

    def open_line() -> HTTPXRequest:
        lines.append(bots.make_line())
        return lines[-1]

    async def scene() -> None:
        inbox = Inbox()
        pace = quick(wait_s=0, margin_s=0.05, stalled_after_s=0.3)
        async with answering([HOLD]) as server, polling(server.url, inbox, pace, open_line) as poller:
            await until(lambda: any(line.startswith("polling: no answer") for line in poller.amiss()))
            await until(lambda: len(lines) == 3)
            server.answers[:] = [ok([{"update_id": 1, "message": {"text": "2"}}]), ok([])]
            await until(lambda: inbox.stored)
            await until(lambda: poller.amiss() == [])
        with pytest.raises(RuntimeError, match="not initialized"):
            await lines[0].do_request(server.url, "GET")

    run(scene())


def test_stopping_in_the_middle_confirms_nothing(
    room: RoomClient, run: Run[None], orla: int, record_file: Path
) -> None:
    """Cut off while the store is at work: the platform hands it out again at the next start."""

    async def scene() -> None:
        number = say(room, orla, "2")
        reached = asyncio.Event()

        async def never(batch: list[Received]) -> None:
            del batch
            reached.set()
            await asyncio.Event().wait()

        poller = Poller(bots.make_line, bots.address(room.token, room.url), never, quick())
        task = asyncio.create_task(poller.run())
        await reached.wait()
        task.cancel()
        with contextlib.suppress(asyncio.CancelledError):
            await task
        assert number not in ended(record_file)
        inbox = Inbox()
        async with polling(room.url, inbox):
            await until(lambda: number in ended(record_file))
        assert number in inbox.stored

    run(scene())


def test_a_webhook_left_behind_is_taken_away(room: RoomClient, bot: Bot, run: Run[Any], orla: int) -> None:
    run(bot.set_webhook("http://127.0.0.1:9/updates", secret_token="x"))  # noqa: S106 - made up
    number = say(room, orla, "2")
    run(bots.leave_webhook(bot))
    assert run(bot.get_webhook_info()).url == ""
    assert number in room.stats()["waiting_updates"]


def test_the_platform_is_waited_for_at_the_start(room: RoomClient, bot: Bot, run: Run[Any]) -> None:
    room.fault("deleteWebhook", "500")
    run(bots.leave_webhook(bot))
    assert room.stats()["faults_left"] == 0
    fresh = bots.make_bot(room.token, room.url)
    room.fault("getMe", "502-html")
    run(bots.greet(fresh))
    assert fresh.username == "home_programme_demo_bot"
    run(fresh.shutdown())


def test_a_dead_token_is_told_at_the_start_without_showing_it(room: RoomClient, run: Run[None]) -> None:
    stranger = bots.make_bot("4200001:revoked-long-ago", room.url)
    with pytest.raises(DeadTokenError) as caught:
        run(bots.greet(stranger))
    assert "revoked" not in str(caught.value)
    assert caught.value.__suppress_context__
    run(stranger.shutdown())


def test_a_webhook_the_platform_does_not_take(room: RoomClient, bot: Bot, run: Run[None]) -> None:
    del room
    with pytest.raises(RefusedError, match=r"^WEBHOOK_URL: the platform does not take it \(Bad webhook: "):
        run(bots.ask_for_webhook(bot, "https://example.org/updates", "x" * 16, KINDS))
