"""A client's life on a real database: whatever she does and whatever befalls the server, the promises hold.

She types and taps; time passes, stands still, leaps and steps back; the server restarts and is down for days.
What she said is kept in a plain model that shares no code with the program. After every step the rows the
program wrote are held against the promises: nothing in quiet hours, never more than her cap, nothing about a
day that is complete or closed or paused, each message once, and the day totals are the model's.
"""

import datetime as dt
import shutil
import tempfile
from dataclasses import dataclass, field
from functools import cache
from pathlib import Path
from zoneinfo import ZoneInfo

import pytest
from hypothesis import HealthCheck, settings
from hypothesis import strategies as st
from hypothesis.stateful import RuleBasedStateMachine, invariant, rule, run_state_machine_as_test

from bot.domain.warning_signs import SignRules
from bot.rules import signs
from bot.service.programme import books_of
from tests.fixtures.clock import MovableClock
from tests.fixtures.household import ORLA, Household, document
from tests.service.conftest import PLAN
from tests.store import prepared

ZONES = ["Europe/Dublin", "America/New_York", "Australia/Lord_Howe", "Pacific/Kiritimati", "Asia/Kolkata"]
SETS = 3
QUIET_FROM, QUIET_TO = dt.time(21, 30), dt.time(7, 30)  # as in the prescription
START = dt.datetime(2026, 3, 26, 12, tzinfo=dt.UTC)  # three days before the clocks change in Dublin
DAY = dt.timedelta(days=1)
OF_SETS = {"nudge", "later", "round_up"}


@cache
def template() -> Path:
    path = Path(tempfile.mkdtemp(prefix="life-")) / "template.sqlite"
    prepared.at_head(f"sqlite:///{path}")
    return path


@cache
def rules() -> SignRules:
    return signs.load()


@dataclass
class Told:
    """One thing she said about a day: a total, so many more, or no more."""

    on: dt.date
    kind: str
    value: int
    at: dt.datetime
    message: int = 0  # her own message, 0 for a tap
    undone: bool = False


@dataclass
class Model:
    """What she said, and what that comes to."""

    told: list[Told] = field(default_factory=list)
    taps: set[str] = field(default_factory=set)

    def standing(self) -> list[Told]:
        """In the order they were said: the clock may have stepped back."""
        return sorted((one for one in self.told if not one.undone), key=lambda one: one.at)

    def total(self, on: dt.date) -> int | None:
        total: int | None = None
        for one in self.standing():
            if one.on == on:
                total = one.value if one.kind == "total" else (total or 0) + one.value
        return total

    def closed(self, on: dt.date) -> bool:
        return any(one.on == on and one.kind == "closed" for one in self.standing())

    def totals(self) -> dict[dt.date, int]:
        days = {one.on for one in self.standing()}
        return {on: total for on in days if (total := self.total(on)) is not None}


class Life(RuleBasedStateMachine):
    """The client, her telephone and the server."""

    def __init__(self) -> None:
        super().__init__()
        self.folder = Path(tempfile.mkdtemp(prefix="life-"))
        file = self.folder / "programme.sqlite"
        shutil.copyfile(template(), file)
        self.clock = MovableClock(START)
        self.store = prepared.open_store(f"sqlite:///{file}", START)
        self.home = Household(self.store, self.clock, rules())
        self.home.enrol(document(PLAN, starts_on=dt.date(2026, 3, 20), review_on=dt.date(2026, 9, 1)))
        self.model = Model()
        self.zone, self.cap, self.evening_only = ZONES[0], SETS, False
        self.paused_until: dt.date | None = None
        self.seen = 0

    def teardown(self) -> None:
        self.store.close()
        shutil.rmtree(self.folder)

    @property
    def today(self) -> dt.date:
        return self.clock.now().astimezone(ZoneInfo(self.zone)).date()

    def said(self, on: dt.date, kind: str, value: int, message: int = 0) -> None:
        self.model.told.append(Told(on, kind, value, self.clock.now(), message))

    # -- the server and the clock --

    @rule(minutes=st.integers(1, 900))
    def time_passes(self, minutes: int) -> None:
        self.home.to(self.clock.now() + dt.timedelta(minutes=minutes))

    @rule(minutes=st.integers(1, 3 * 1440))
    def the_server_is_down(self, minutes: int) -> None:
        self.clock.move(minutes=minutes)
        self.home.restart()
        self.home.settle()

    @rule(minutes=st.integers(1, 60))
    def the_clock_steps_back(self, minutes: int) -> None:
        self.clock.move(minutes=-minutes, seconds=-7)
        self.home.settle()

    # -- what she does --

    @rule(number=st.integers(0, 3), keep=st.booleans())
    def she_types_a_total(self, number: int, keep: bool) -> None:
        on, before = self.today, self.model.total(self.today)
        answer = self.home.say(str(number))[0]
        message = self.home.last_own
        if answer.startswith("Is that") and "question above" in answer:
            self.home.press(f"{number} done today")
            self.said(on, "total", number)
            return
        if before is not None and number == before:
            return
        if number >= (before or 0):
            self.said(on, "total", number, message)
        elif number == 0:
            assert "Shall I make it none?" in answer
            self.home.say("no" if keep else "yes")
            if not keep:
                self.said(on, "total", 0, self.home.last_own)
        else:
            assert answer == f"Is that {number} more, or {number} in all?"
            self.home.say("more" if keep else "in all")
            self.said(on, "more" if keep else "total", number, self.home.last_own)

    @rule(text=st.sampled_from(["+1", "one more"]))
    def she_types_one_more(self, text: str) -> None:
        if (self.model.total(self.today) or 0) < 2 * SETS:
            on = self.today
            self.home.say(text)
            self.said(on, "more", 1, self.home.last_own)

    @rule(number=st.integers(0, 3))
    def she_changes_her_last_number(self, number: int) -> None:
        mine = [one for one in self.model.told if one.message]
        if not mine or mine[-1].undone or mine[-1].on != self.today or self.home.last_own != mine[-1].message:
            return
        mine[-1].undone = True
        before = self.model.total(self.today)
        self.home.edit(self.home.last_own, str(number))
        if before is None or number != before:
            # No number of hers stands for this message any more; what it says now is said anew.
            self.said(self.today, "total", number, 0)

    @rule(twice=st.booleans())
    def she_taps_done(self, twice: bool) -> None:
        shown = [s for s in self.home.shown.get(ORLA, []) if s.buttons.get("Done", "").startswith("done:")]
        if shown:
            data = shown[-1].buttons["Done"]
            for _ in range(2 if twice else 1):
                self._taps(data)

    def _taps(self, data: str) -> None:
        on = dt.datetime.strptime(data.split(":")[1], "%Y%m%d").replace(tzinfo=dt.UTC).date()
        self.home.press("Done", data=data)
        if data not in self.model.taps and dt.timedelta(0) <= self.today - on <= 8 * DAY:
            self.model.taps.add(data)
            self.said(on, "more", 1)

    @rule(number=st.integers(0, 3))
    def she_answers_for_yesterday(self, number: int) -> None:
        label = f"Yesterday: {number}"
        shown = [s for s in self.home.shown.get(ORLA, []) if label in s.buttons]
        if shown:
            data = shown[-1].buttons[label]
            on = dt.datetime.strptime(data.split(":")[1], "%Y%m%d").replace(tzinfo=dt.UTC).date()
            if dt.timedelta(0) <= self.today - on <= 8 * DAY:
                self.home.press(label)
                self.said(on, "total", number)

    @rule()
    def she_takes_it_back(self) -> None:
        self.home.say("undo")
        standing = self.model.standing()
        if standing and self.clock.now() - standing[-1].at <= DAY:
            standing[-1].undone = True

    @rule()
    def she_has_done_enough(self) -> None:
        on, closed = self.today, self.model.closed(self.today)
        self.home.say("no more today")
        if not closed:
            self.said(on, "closed", 0)

    @rule(wait=st.sampled_from(["In 15 minutes", "In an hour", "This evening", "After the next feed"]))
    def she_puts_it_off(self, wait: str) -> None:
        if any("Later" in shown.buttons for shown in self.home.shown.get(ORLA, [])):
            self.home.press("Later")
            if any(wait in shown.buttons for shown in self.home.shown[ORLA]):
                self.home.press(wait)

    @rule(days=st.sampled_from([1, 3, 7]))
    def she_pauses(self, days: int) -> None:
        self.home.say(f"/pause {days}")
        self.paused_until = self.today + days * DAY

    @rule()
    def she_is_back(self) -> None:
        self.home.say("/resume")
        self.paused_until = None

    @rule(zone=st.sampled_from(ZONES))
    def she_travels(self, zone: str) -> None:
        self.home.say("/times")
        self.zone = zone
        self.home.press("Other time zone", data=f"zone:is:{zone}")

    @rule(amount=st.sampled_from(["1", "2", "3", "evening"]))
    def she_wants_more_or_less(self, amount: str) -> None:
        self.home.say("/times")
        self.evening_only = amount == "evening"
        self.cap = self.cap if self.evening_only else int(amount)
        self.home.press("Evening question only", data=f"amount:{amount}")

    # -- the promises --

    @invariant()
    def what_was_said_keeps_the_promises(self) -> None:
        with self.store.begin() as tx:
            rows = tx.connection.exec_driver_sql(
                "SELECT what, on_date, ordinal, put_at FROM unasked ORDER BY rowid"
            ).all()
        assert len({row[:3] for row in rows}) == len(rows)
        for at, (what, on_text, _, put_text) in enumerate(rows[self.seen :], start=self.seen):
            on = dt.date.fromisoformat(on_text)
            wall = dt.datetime.fromisoformat(put_text).replace(tzinfo=dt.UTC).astimezone(ZoneInfo(self.zone))
            assert QUIET_TO <= wall.time() < QUIET_FROM, (what, wall)
            assert wall.date() == on
            assert not self.model.closed(on)
            assert self.paused_until is None or on >= self.paused_until
            if what in OF_SETS:
                assert (self.model.total(on) or 0) < SETS
            if what in {"nudge", "later"}:
                assert not self.evening_only
            earlier = [row for row in rows[:at] if row[1] == on_text and row[0] != "later"]
            assert what == "later" or len(earlier) < self.cap
        self.seen = len(rows)

    @invariant()
    def the_day_book_is_the_models(self) -> None:
        with self.store.begin() as tx:
            book = books_of(tx, [self.home.client_id], START.date() - 60 * DAY)[self.home.client_id]
        assert dict(book.totals) == self.model.totals()
        assert book.closed == {one.on for one in self.model.standing() if one.kind == "closed"}

    @invariant()
    def one_open_nudge_at_most_shows_buttons(self) -> None:
        """Of the messages sent unasked only the newest may still be answered by a tap."""
        open_ones = [
            shown.number
            for shown in self.home.shown.get(ORLA, [])
            if shown.kind.value == "nudge" and shown.buttons
        ]
        assert len(open_ones) <= 1


FAST = settings(
    max_examples=8,
    stateful_step_count=20,
    deadline=None,
    derandomize=True,
    suppress_health_check=[HealthCheck.too_slow],
)


def test_whatever_happens_the_promises_hold() -> None:
    run_state_machine_as_test(Life, settings=FAST)


@pytest.mark.slow
def test_whatever_happens_the_promises_hold_for_many() -> None:
    many = settings(FAST, max_examples=300, stateful_step_count=40, derandomize=False)
    run_state_machine_as_test(Life, settings=many)
