"""The page, in a real browser: read, press, write, move the clock, let someone new in."""

import re
from collections.abc import Iterator

import httpx
import pytest
from playwright.sync_api import Browser, Page, expect

from demo.room_client import PLAIN, Answer, RoomClient, start_room

START = "2026-03-02T09:00:00Z"
KEYS = {
    "inline_keyboard": [
        [{"text": "Done", "callback_data": "d"}, {"text": "In an hour", "callback_data": "h"}]
    ]
}


class Bot:
    """The bot's side, by plain calls: the bot library cannot run in a thread that drives a browser."""

    def __init__(self, room: RoomClient) -> None:
        self._http = httpx.Client(base_url=f"{room.bot_url}{room.token}", trust_env=False, verify=PLAIN)

    def __call__(self, method: str, **fields: object) -> Answer:
        told = self._http.post(f"/{method}", json=fields).json()
        assert told["ok"], told
        return dict(told)

    def close(self) -> None:
        self._http.close()


@pytest.fixture(scope="module")
def room() -> Iterator[RoomClient]:
    with start_room(frozen=True, at=START, no_limits=True) as room:
        yield room


@pytest.fixture
def bot(room: RoomClient) -> Iterator[Bot]:
    bot = Bot(room)
    yield bot
    bot.close()


@pytest.fixture
def orla(room: RoomClient) -> int:
    room.move(to=START)
    person = room.person("Orla")
    room.start(person)
    return person


@pytest.fixture(scope="module")
def complaints() -> list[str]:
    """What the browser complained about."""
    return []


@pytest.fixture(scope="module")
def module_page(browser: Browser, complaints: list[str]) -> Page:
    page = browser.new_page()
    page.on("console", lambda message: complaints.append(message.text))
    page.on("pageerror", lambda error: complaints.append(str(error)))
    return page


@pytest.fixture
def there(room: RoomClient, module_page: Page, orla: int, complaints: list[str]) -> Iterator[Page]:
    """The page with Orla on the left; afterwards the browser must not have complained."""
    page = module_page
    complaints.clear()
    page.set_viewport_size({"width": 1280, "height": 800})
    page.goto(f"{room.url}/?left={orla}")
    expect(page.locator("[data-side=left] .entry")).to_have_count(1)
    yield page
    # A refusal of the room is an answer, which the browser logs all the same.
    assert [line for line in complaints if "400 (Bad Request)" not in line] == []


def test_a_chat_by_keyboard_alone(room: RoomClient, bot: Bot, there: Page, orla: int) -> None:
    left = there.locator("[data-side=left]")
    left.get_by_label("Write a message").focus()
    there.keyboard.type("2 today")
    there.keyboard.press("Enter")
    expect(left.locator(".own .text").last).to_have_text("2 today")
    bot("sendMessage", chat_id=orla, text="2 of 3. One more?", reply_markup=KEYS)
    expect(left.locator(".theirs .text")).to_have_text("2 of 3. One more?")
    expect(left.locator(".slip-text")).to_have_text("2 of 3. One more?")
    left.get_by_role("button", name="Done").focus()
    there.keyboard.press("Enter")
    expect(left.get_by_role("button", name="Done (pressed)")).to_be_focused()
    (query,) = [
        update["callback_query"] for update in bot("getUpdates")["result"] if "callback_query" in update
    ]
    assert (query["data"], query["from"]["id"]) == ("d", orla)
    bot("answerCallbackQuery", callback_query_id=query["id"], text="Noted")
    expect(left.locator(".status")).to_have_text("Note on the button: Noted")
    bot("editMessageReplyMarkup", chat_id=orla, message_id=room.last(orla).message_id)
    expect(left.get_by_role("button", name="In an hour (gone)")).to_be_disabled()
    expect(left.locator(".pressed-note")).to_have_text("Pressed at 09:00: Done")


def test_a_text_is_never_read_as_markup(bot: Bot, there: Page, orla: int) -> None:
    text = "<img src=x onerror=alert(1)> & 3 > 2"
    bot("sendMessage", chat_id=orla, text=text)
    expect(there.locator("[data-side=left] .theirs .text")).to_have_text(text)
    assert there.locator(".text img").count() == 0


def test_a_silent_message_is_shown_as_silent(bot: Bot, there: Page, orla: int) -> None:
    bot("sendMessage", chat_id=orla, text="How did today go?", disable_notification=True)
    expect(there.locator("[data-side=left] .slip-title")).to_have_text("On the locked phone, without a sound")
    expect(there.locator("[data-side=left] .margin").last).to_contain_text("silent")


def test_the_clock_is_moved_and_shown(room: RoomClient, there: Page) -> None:
    expect(there.locator(".clock")).to_have_text("09:00 Monday, 2 March 2026")
    there.get_by_role("button", name="To the evening").click()
    expect(there.locator(".clock")).to_have_text("20:00 Monday, 2 March 2026")
    there.get_by_role("button", name="One week on").click()
    expect(there.locator(".clock")).to_have_text("20:00 Monday, 9 March 2026")
    assert room.clock()["now"] == "2026-03-09T20:00:00Z"
    there.get_by_role("button", name="To the next event").click()
    expect(there.locator("#move-note")).to_contain_text("No bot has registered")


def test_someone_new_comes_in_by_an_invite_from_the_other_chat(
    room: RoomClient, bot: Bot, there: Page, orla: int
) -> None:
    bot("sendMessage", chat_id=orla, text="Invite: https://t.me/home_programme_demo_bot?start=K7f_9-2hQx")
    there.get_by_role("button", name="Hand this invite to someone new").click()
    there.keyboard.type("Nessa")
    there.keyboard.press("Enter")
    expect(there.locator("#newcomer-note")).to_have_text("Nessa has opened the chat.")
    expect(there.locator("[data-side=left] .own .text")).to_have_text("/start K7f_9-2hQx")
    assert room.people()[-1]["name"] == "Nessa"


def test_a_blocked_bot_can_be_let_in_again(room: RoomClient, there: Page, orla: int) -> None:
    left = there.locator("[data-side=left]")
    left.get_by_text("Commands and other things").click()
    left.get_by_role("button", name="Block the bot").click()
    left.get_by_role("button", name="Unblock the bot").click()
    expect(left.get_by_role("button", name="Block the bot", exact=True)).to_be_visible()
    assert next(person for person in room.people() if person["id"] == orla)["blocked"] is False


def test_a_phone_shows_it_all_without_sideways_scrolling(bot: Bot, there: Page, orla: int) -> None:
    there.set_viewport_size({"width": 390, "height": 844})
    bot("sendMessage", chat_id=orla, text="x" * 300 + " " + "word " * 60, reply_markup=KEYS)
    expect(there.locator("[data-side=left] .key")).to_have_count(2)
    assert there.evaluate("document.documentElement.scrollWidth") == 390
    # The pane is drawn anew whenever news arrives; it is asked until the keys are there.
    measured = there.wait_for_function(
        "() => { const found = [...document.querySelectorAll('.key')];"
        " return found.length > 1 && found.map((key) => key.getBoundingClientRect().width); }"
    )
    widths = measured.json_value()
    assert min(widths) >= 44  # a finger's width


def test_what_goes_and_what_is_deleted_is_said(room: RoomClient, bot: Bot, there: Page, orla: int) -> None:
    left = there.locator("[data-side=left]")
    bot("sendMessage", chat_id=orla, text="Sets?", reply_markup=KEYS)
    number = room.last(orla).message_id
    bot("editMessageText", chat_id=orla, message_id=number, text="2 sets. Thank you.")
    expect(left.locator(".theirs .margin")).to_have_text(re.compile("changed 09:00"))
    bot("deleteMessage", chat_id=orla, message_id=number)
    expect(left.locator(".theirs .body")).to_contain_text("Taken back.")
    expect(left.locator(".key")).to_have_count(0)
