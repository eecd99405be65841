"""Carrying the plans out in the chat room, and keeping account of what their people meant.

The account is what a checker holds the database against: sets by day, texts a person has to read, warnings.
Nothing here looks into the bot; people see what stands in their chats.
"""

import datetime as dt
import re
from collections import Counter
from collections.abc import Callable, Iterable
from dataclasses import dataclass, field
from zoneinfo import ZoneInfo

from demo import lives
from demo.lives import Act, Answers, OneDone, Sends, TakesBack, Taps, TapsGone, TapsTotal, TapsTwice, Writes
from demo.room_client import Answer, RoomClient, RoomError, Shown

TAIL = 6  # messages that fit on a telephone
SKIP = "Skip"
DONE = "Done"
UNDO = "Undo"


class Stage:
    """The room as its people use it.

    now: the room's instant, as its last answer gave it. mishaps: deeds that could not be done as planned, a
    line each.
    """

    def __init__(self, room: RoomClient) -> None:
        self.room = room
        self.now = room.now()
        self.mishaps: list[str] = []

    def at(self, instant: dt.datetime) -> None:
        """Let the time come, unless it has passed."""
        if instant > self.now:
            self._heard(self.room.move(to=instant))

    def did(self, who: str, answer: Answer) -> None:
        """Take note of the room's answer to a deed."""
        self._heard(answer)
        if answer["settled"] is False:
            self.mishaps.append(f"{who}: the bot did not settle: {answer.get('why')}")

    def _heard(self, answer: Answer) -> None:
        self.now = dt.datetime.fromisoformat(answer["now"])

    def missed(self, who: str, what: object) -> None:
        """Note a deed that could not be done."""
        self.mishaps.append(f"{who}: {what} was not possible at {self.now:%d %b %H:%M}")

    def seen(self, person: int, tail: int = TAIL) -> list[Shown]:
        """The newest messages of the bot in a chat, newest first."""
        return [shown for shown in reversed(self.room.chat(person, tail=tail)) if shown.from_bot]


@dataclass
class Client:
    """One client at her telephone, and what she means to have told so far."""

    life: lives.Life
    zone: ZoneInfo
    stage: Stage
    person: int = 0  # her number in the room, once she has joined
    totals: Counter[dt.date] = field(default_factory=Counter)
    told: set[dt.date] = field(default_factory=set)
    unread: int = 0
    warnings: int = 0
    symptoms: int = 0
    before: tuple[dt.date, int, bool] | None = None  # what stood before her newest report: day, total, told

    def instant(self, act: Act) -> dt.datetime:
        """When an act is due."""
        on = lives.FIRST_DAY + dt.timedelta(days=act.day)
        return dt.datetime.combine(on, act.at, self.zone).astimezone(dt.UTC)

    def today(self) -> dt.date:
        """Her own calendar day."""
        return self.stage.now.astimezone(self.zone).date()

    def _means(self, on: dt.date, total: int) -> None:
        self.before = (on, self.totals[on], on in self.told)
        self.totals[on] = total
        self.told.add(on)

    def play(self, act: Act) -> None:
        """Do what she planned; a button she would press and cannot find is noted as a mishap."""
        deed = act.deed
        try:
            match deed:
                case OneDone():
                    self._one_done()
                case Writes():
                    self._write(deed)
                case Taps(label=label, symptoms=symptoms):
                    self._press(label=label, settle=True)
                    self.symptoms += symptoms
                case TapsTotal(number=number, days_back=back):
                    self._total(number, back)
                case TapsTwice():
                    self._twice()
                case TakesBack():
                    self._take_back()
                case TapsGone():
                    self._gone(deed)
                case Answers():
                    self._answer(deed)
                case Sends(kind=kind, caption=caption):
                    self.unread += 1
                    sent = self.stage.room.send_media(self.person, kind, caption or None, settle=False)
                    self.stage.did(self.life.code, sent)
        except RoomError as error:
            self.stage.missed(self.life.code, f"{deed} ({error})")

    def _say(self, text: str, *, settle: bool = False) -> None:
        """Write; `settle` where she waits for the answer, else the bot comes to it as the clock moves."""
        self.stage.did(self.life.code, self.stage.room.say(self.person, text, settle=settle))

    def _press(
        self,
        *,
        label: str | None = None,
        message_id: int | None = None,
        data: str | None = None,
        settle: bool = False,
    ) -> None:
        room = self.stage.room
        answer = room.press(self.person, label, message_id=message_id, data=data, settle=settle)
        self.stage.did(self.life.code, answer)

    def _one_done(self) -> None:
        """*Done* counts for the day the message was for, so only one of today's will do."""
        today = self.today()
        self._means(today, self.totals[today] + 1)
        for shown in self.stage.seen(self.person):
            if shown.data.get(DONE, "").startswith(f"done:{today:%Y%m%d}:"):
                self._press(message_id=shown.message_id, data=shown.data[DONE])
                return
        self._say(str(self.totals[today]), settle=True)
        self._settle_question()

    def _write(self, deed: Writes) -> None:
        today = self.today()
        for days_back, total in deed.totals.items():
            self._means(today - dt.timedelta(days=days_back), total)
        if deed.more:
            self._means(today, self.totals[today] + deed.more)
        self.unread += deed.unread
        self.warnings += deed.warns
        self.symptoms += deed.symptoms
        counted = bool(deed.totals or deed.more)
        self._say(deed.text, settle=counted)
        if counted:
            self._settle_question()

    def _settle_question(self) -> None:
        """Where the bot asks back what a number meant, she taps what fits."""
        today = self.today()
        total = self.totals[today]
        newest = next(iter(self.stage.seen(self.person)), None)
        if newest is None or not newest.labels or DONE in newest.labels:
            return
        for data in newest.data.values():
            if data == f"total:{today:%Y%m%d}:{total}":
                self._press(message_id=newest.message_id, data=data)
                return

    def _total(self, number: int, days_back: int) -> None:
        on = self.today() - dt.timedelta(days=days_back)
        data = f"total:{on:%Y%m%d}:{number}"
        for shown in self.stage.seen(self.person):
            if data in shown.data.values():
                self._means(on, number)
                self._press(message_id=shown.message_id, data=data)
                return
        self.stage.missed(self.life.code, f"{number} for {on}")

    def _twice(self) -> None:
        today = self.today()
        for shown in self.stage.seen(self.person):
            if shown.data.get(DONE, "").startswith(f"done:{today:%Y%m%d}:"):
                self._means(today, self.totals[today] + 1)
                for _ in range(2):
                    self._press(message_id=shown.message_id, data=shown.data[DONE], settle=True)
                return
        self.stage.missed(self.life.code, "pressing Done twice")

    def _take_back(self) -> None:
        self._press(label=UNDO)
        if self.before is not None:
            on, self.totals[on], told = self.before
            self.told = self.told if told else self.told - {on}

    def _gone(self, deed: TapsGone) -> None:
        on = self.today() - dt.timedelta(days=deed.days_back)
        for shown in self.stage.room.chat(self.person):
            for row in shown.raw["gone_buttons"]:
                for button in row:
                    if str(button["data"]).startswith(f"done:{on:%Y%m%d}:"):
                        if deed.counts:
                            self._means(on, self.totals[on] + 1)
                        self._press(message_id=shown.message_id, data=button["data"])
                        return
        self.stage.missed(self.life.code, f"an old Done of {on}")

    def _answer(self, deed: Answers) -> None:
        asked = next((shown for shown in self.stage.seen(self.person) if SKIP in shown.labels), None)
        if asked is None:
            self.stage.missed(self.life.code, "answering the weekly questions")
            return
        for label in deed.labels:
            self._press(message_id=asked.message_id, label=label, settle=True)
            self.symptoms += 1
        self.warnings += deed.warns

    def account(self) -> dict[str, object]:
        """What she means to have told."""
        return {
            "sets": {f"{on}": self.totals[on] for on in sorted(self.told)},
            "unread": self.unread,
            "alerts": self.warnings,
            "symptoms": self.symptoms,
        }


@dataclass(frozen=True)
class Closing:
    """How the therapist closes an alert: the button, the line she writes where one is asked for."""

    button: str
    line: str | None = None


SPOKE = Closing("Spoke to her")
KEEP_PAUSED = "Keep paused"


class Therapist:
    """The therapist at her telephone: alerts, the digest, notes, and a programme to resume.

    closings: how she closes the alerts of a client, in turn; she speaks to everybody else.
    """

    def __init__(self, stage: Stage, person: int, closings: Iterable[tuple[str, Closing]]) -> None:
        self._stage = stage
        self._room = stage.room
        self._person = person
        self._closings: dict[str, list[Closing]] = {}
        for code, closing in closings:
            self._closings.setdefault(code, []).append(closing)
        self._seen: list[tuple[int, str]] = []
        self._read: set[int] = set()
        self.alerts_seen = 0
        self.notes_asked = 0

    def look(self) -> None:
        """Close what was seen at the last look, then read and mark what is new."""
        for message_id, code in self._seen:
            self._close(message_id, code)
        self._seen.clear()
        for shown in self._room.chat(self._person, tail=40):
            if shown.from_bot and "Seen" in shown.labels and shown.message_id not in self._read:
                self._see(shown)

    def _press(self, label: str, message_id: int) -> None:
        self._stage.did("therapist", self._room.press(self._person, label, message_id=message_id))

    def _see(self, shown: Shown) -> None:
        self._read.add(shown.message_id)
        alert = shown.data["Seen"].partition(":")[2]
        same = [other for other in self._room.chat(self._person, tail=40) if alert in str(other.data)]
        if any(other.message_id > shown.message_id and "Seen" in other.labels for other in same):
            return  # told again since; she answers the newest one
        self._press("Her words", shown.message_id)
        self._press("Seen", shown.message_id)
        self.alerts_seen += 1
        asked = self._room.last(self._person)
        self._seen.append((asked.message_id, shown.text.partition(": ")[2].partition(".")[0]))

    def _close(self, message_id: int, code: str) -> None:
        planned = self._closings.get(code, [])
        closing = planned.pop(0) if planned else SPOKE
        self._press(closing.button, message_id)
        if closing.line is not None:
            self.say(closing.line)
        last = self._room.last(self._person)
        if KEEP_PAUSED in last.labels:
            self._press(KEEP_PAUSED, last.message_id)

    def say(self, text: str) -> None:
        """Write something."""
        self._stage.did("therapist", self._room.say(self._person, text))

    def read_digest(self) -> None:
        """Read the digest, ask for the notes it names, look at the list of clients."""
        text = next(shown.text for shown in self._stage.seen(self._person) if shown.media is None)
        for code in re.findall(r"(?m)^(K\d):.*notes? to read", text):
            self.notes_asked += 1
            self.say(f"/notes {code}")
        self.say("/clients")


def newest(shown: Iterable[Shown], fits: Callable[[Shown], bool]) -> Shown:
    """The newest message that fits. Raises RoomError if there is none."""
    found = [message for message in shown if fits(message)]
    if not found:
        raise RoomError("No such message in the chat.")
    return max(found, key=lambda message: message.message_id)
