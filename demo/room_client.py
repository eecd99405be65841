"""A small client for the local chat room: people act, the clock moves, chats are read.

Blocking calls over HTTP, for tests and scripted runs.
"""

import datetime as dt
import json
import ssl
import subprocess
import sys
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path
from types import TracebackType
from typing import Any, Self

import httpx

TOKEN = "4200001:local-room-only"  # noqa: S105 - opens nothing but the local room
CHECKOUT = Path(__file__).resolve().parent.parent

# For `verify`: no certificates. The room speaks plain HTTP, and loading the usual ones costs 50 ms a client.
PLAIN = ssl.SSLContext(ssl.PROTOCOL_TLS_CLIENT)

Answer = dict[str, Any]


class RoomError(Exception):
    """The room refused; the text is its own."""


@dataclass(frozen=True)
class Shown:
    """One message as a person sees it. `raw` holds every field the room gives."""

    message_id: int
    from_bot: bool
    text: str  # text, or the caption of a picture or file
    at: dt.datetime
    labels: tuple[str, ...]  # the buttons that can be pressed now
    gone_labels: tuple[str, ...]
    media: str | None  # photo, document, ...
    deleted: bool
    raw: Answer

    @property
    def data(self) -> dict[str, str]:
        """The buttons' data by label."""
        return {button["text"]: button["data"] for row in self.raw["buttons"] for button in row}


class RoomClient:
    """Talks to a running room.

    Acts answer the room's JSON; on a frozen clock they return once the bot is quiet.
    """

    def __init__(self, base_url: str, timeout_s: float = 600.0) -> None:
        self.url = base_url.rstrip("/")
        self.bot_url = f"{self.url}/bot"  # base_url for the bot library
        self.bot_file_url = f"{self.url}/file/bot"  # base_file_url for the bot library
        self.token = TOKEN
        self._http = httpx.Client(base_url=self.url, timeout=timeout_s, trust_env=False, verify=PLAIN)

    def __enter__(self) -> Self:
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        self.close()

    def close(self) -> None:
        """Close the connection."""
        self._http.close()

    def post(self, path: str, **fields: object) -> Answer:
        """POST to `/room/<path>`; fields that are None are left out. Raises RoomError."""
        given = {name: value for name, value in fields.items() if value is not None}
        return dict(_checked(self._http.post(f"/room/{path}", json=given)))

    def get(self, path: str, **query: str | int) -> Any:  # noqa: ANN401 - whatever the room answers
        """GET `/room/<path>`. Raises RoomError."""
        return _checked(self._http.get(f"/room/{path}", params=query))

    def person(self, name: str, language_code: str | None = "en") -> int:
        """A new person; answers the id."""
        return int(self.post("people", name=name, language_code=language_code)["id"])

    def people(self) -> list[Answer]:
        """Everybody in the room."""
        return list(self.get("people"))

    def start(self, person: int, payload: str | None = None, *, settle: bool = True) -> Answer:
        """Press Start; `payload` is a code, `/start CODE`, or an invite link."""
        return self.post("start", person=person, payload=payload, settle=settle)

    def say(
        self,
        person: int,
        text: str,
        *,
        chat: int | None = None,
        forwarded_from: str | None = None,
        settle: bool = True,
    ) -> Answer:
        """Write something."""
        return self.post(
            "say", person=person, text=text, chat=chat, forwarded_from=forwarded_from, settle=settle
        )

    def edit(self, person: int, message_id: int, text: str, *, settle: bool = True) -> Answer:
        """Change an own message."""
        return self.post("edit", person=person, message_id=message_id, text=text, settle=settle)

    def press(
        self,
        person: int,
        label: str | None = None,
        *,
        message_id: int | None = None,
        data: str | None = None,
        stub: bool = False,
        settle: bool = True,
    ) -> Answer:
        """Press a button, of the newest message that shows it unless told; `answer` is the bot's note."""
        return self.post(
            "press", person=person, label=label, message_id=message_id, data=data, stub=stub, settle=settle
        )

    def send_media(
        self, person: int, kind: str, caption: str | None = None, *, settle: bool = True
    ) -> Answer:
        """Send a photo, document, voice, video or sticker of which only the fact matters."""
        return self.post("send-media", person=person, kind=kind, caption=caption, settle=settle)

    def document(
        self, person: int, name: str, data: bytes, caption: str = "", *, settle: bool = True
    ) -> Answer:
        """Send a file with its content."""
        fields = {"person": str(person), "caption": caption, "settle": str(settle).lower()}
        return dict(_checked(self._http.post("/room/document", data=fields, files={"file": (name, data)})))

    def block(self, person: int, *, settle: bool = True) -> Answer:
        """Block the bot."""
        return self.post("block", person=person, settle=settle)

    def unblock(self, person: int, *, settle: bool = True) -> Answer:
        """Let the bot write again."""
        return self.post("unblock", person=person, settle=settle)

    def chat(self, person: int, *, chat: int | None = None, tail: int = 0) -> list[Shown]:
        """The messages of the person's chat (or of a group), oldest first, deleted ones included.

        tail: only so many of the newest; 0 means all.
        """
        query = {"tail": tail} if chat is None else {"chat": chat, "tail": tail}
        return [_shown(raw) for raw in self.get(f"chats/{person}", **query)["messages"]]

    def from_bot(self, person: int) -> list[Shown]:
        """The bot's messages that still stand in the person's chat."""
        return [message for message in self.chat(person) if message.from_bot and not message.deleted]

    def last(self, person: int) -> Shown:
        """The bot's newest message. Raises RoomError if there is none."""
        shown = self.from_bot(person)
        if not shown:
            raise RoomError(f"The bot has written nothing to {person}.")
        return shown[-1]

    def wait_for(self, person: int, fits: Callable[[Shown], bool], within_s: float = 10.0) -> Shown:
        """The first of the bot's messages that fits, once it is there (for a running clock)."""
        until_s = time.monotonic() + within_s
        while time.monotonic() < until_s:
            for message in self.from_bot(person):
                if fits(message):
                    return message
            time.sleep(0.02)
        raise RoomError(f"No fitting message for {person} within {within_s} s.")

    def now(self) -> dt.datetime:
        """The room's instant."""
        return _instant(self.get("clock")["now"])

    def clock(self) -> Answer:
        """The clock as the room shows it."""
        return dict(self.get("clock"))

    def move(
        self,
        *,
        to: dt.datetime | str | None = None,
        by_s: float | None = None,
        step: str | None = None,
        zone: str | None = None,
        settle_s: float | None = None,
        without_bot: bool = False,
    ) -> Answer:
        """Move the clock: to an instant, by seconds, or by a step (next, evening, tomorrow, week).

        The bot is walked through everything due on the way. without_bot: jump, for a bot that is down.
        """
        target = to.isoformat() if isinstance(to, dt.datetime) else to
        return self.post(
            "clock",
            to=target,
            by_s=by_s,
            step=step,
            zone=zone,
            settle_s=settle_s,
            without_bot=without_bot or None,
        )

    def set_driver(self, url: str) -> Answer:
        """Tell the room where the bot's ticks can be run; answers the clock."""
        return self.post("driver", url=url)

    def fault(self, method: str, kind: str, times: int = 1, **more: object) -> Answer:
        """Have the next calls of a method go wrong; `more`: retry_after, seconds, chat, description."""
        return self.post("faults", method=method, kind=kind, times=times, **more)

    def clear_faults(self) -> Answer:
        """Take all ordered faults back."""
        return self.post("faults/clear")

    def file(self, shown: Shown) -> bytes:
        """The picture or file of a message."""
        return self._http.get(str(shown.raw["media"]["url"])).raise_for_status().content

    def stats(self) -> Answer:
        """Counts of what happened."""
        return dict(self.get("stats"))


def _shown(raw: Answer) -> Shown:
    media = raw["media"]
    return Shown(
        message_id=raw["message_id"],
        from_bot=raw["from_bot"],
        text=raw["caption"] if media else raw["text"],
        at=_instant(raw["at"]),
        labels=tuple(button["text"] for row in raw["buttons"] for button in row),
        gone_labels=tuple(button["text"] for row in raw["gone_buttons"] for button in row),
        media=media["kind"] if media else None,
        deleted=raw["deleted"],
        raw=raw,
    )


def _instant(text: str) -> dt.datetime:
    return dt.datetime.fromisoformat(text)


def _checked(answer: httpx.Response) -> Any:  # noqa: ANN401 - whatever the room answers
    told = answer.json() if answer.headers.get("content-type", "").startswith("application/json") else {}
    if answer.is_error:
        raise RoomError(told.get("error", f"HTTP {answer.status_code}"))
    return told


def read_record(path: Path) -> list[Answer]:
    """The lines of a record file; their fields stand in demo/room/record.py."""
    return [json.loads(line) for line in path.read_text(encoding="utf-8").splitlines()]


@contextmanager
def start_room(
    port: int = 0,
    *,
    record: Path | None = None,
    frozen: bool = False,
    at: dt.datetime | str | None = None,
    no_limits: bool = False,
    options: tuple[str, ...] = (),
) -> Iterator[RoomClient]:
    """A room in its own process, ready to be used; it ends with the block.

    at: the clock's first instant. options: more of `python -m demo.room --help`.
    """
    command = [sys.executable, "-m", "demo.room", "--port", str(port), *options]
    if record is not None:
        command += ["--record", str(record)]
    if frozen:
        command.append("--frozen")
    if at is not None:
        command += ["--at", at.isoformat() if isinstance(at, dt.datetime) else at]
    if no_limits:
        command.append("--no-limits")
    process = subprocess.Popen(command, cwd=CHECKOUT, stdout=subprocess.PIPE, text=True)
    try:
        line = process.stdout.readline() if process.stdout else ""
        if not line.startswith("ready "):
            raise RoomError("The room did not start; what went wrong stands above.")
        with RoomClient(line.split()[1]) as client:
            yield client
    finally:
        process.terminate()
        process.wait(10)
        if process.stdout:
            process.stdout.close()
