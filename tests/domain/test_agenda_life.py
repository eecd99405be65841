"""A client's life, made up: whatever happens in it, the promises of the agenda hold.

The promises are checked against a plain log of what was said, with her own clock at that time, by code that
shares nothing with the agenda but its data types.
"""

import datetime as dt
import random
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from zoneinfo import ZoneInfo

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from hypothesis.stateful import RuleBasedStateMachine, initialize, rule, run_state_machine_as_test

from bot.domain.agenda import Due, Mode, Pause, Said, Track, What, decide
from bot.domain.prescription import InForce, Prescription
from tests.fixtures.tracks import plan, track

MICROSECOND = dt.timedelta(microseconds=1)
MINUTE, HOUR, DAY = dt.timedelta(minutes=1), dt.timedelta(hours=1), dt.timedelta(days=1)
ZONES = [
    "Europe/Dublin",
    "America/New_York",
    "Australia/Lord_Howe",
    "Africa/Cairo",
    "America/Nuuk",
    "Pacific/Auckland",
    "Pacific/Pago_Pago",
    "Pacific/Kiritimati",
    "Asia/Kolkata",
]
SETS_TALK = {What.NUDGE, What.LATER, What.ROUND_UP}


def quarters(low: int = 0, high: int = 95) -> st.SearchStrategy[dt.time]:
    """Wall times on the quarter hour."""
    return st.integers(low, high).map(lambda mark: dt.time(mark // 4, mark % 4 * 15))


@st.composite
def plans(draw: st.DrawFn, starts_on: dt.date) -> Prescription:
    """Prescriptions of every kind, odd ones too: nudges at night, crowded times, round-ups before nudges."""
    times = draw(st.lists(quarters(), min_size=1, max_size=6).map(sorted))
    return plan(
        sets_a_day=len(times),
        nudge_times=tuple(times),
        days=frozenset(draw(st.sets(st.integers(0, 6), min_size=1)))
        | frozenset(draw(st.sampled_from([(), range(7)]))),
        quiet_from=draw(quarters(72, 95)),
        quiet_to=draw(quarters(0, 40)),
        round_up_at=draw(quarters(60, 90)),
        check_in_day=draw(st.integers(0, 6)),
        starts_on=starts_on,
        review_on=starts_on + draw(st.integers(-30, 60)) * DAY,
    )


def quarters_between(start: dt.datetime, end: dt.datetime) -> list[dt.datetime]:
    """Instants from `start` up to just before `end`, a quarter of an hour apart."""
    return [start + n * 15 * MINUTE for n in range(-((start - end) // (15 * MINUTE)))]


# Weeks in which clocks change somewhere in the list above, and one in which none does.
STARTS = st.sampled_from([
    dt.datetime(2026, 3, 6, tzinfo=dt.UTC),
    dt.datetime(2026, 3, 26, tzinfo=dt.UTC),
    dt.datetime(2026, 4, 2, tzinfo=dt.UTC),
    dt.datetime(2026, 4, 22, tzinfo=dt.UTC),
    dt.datetime(2026, 7, 30, tzinfo=dt.UTC),
    dt.datetime(2026, 10, 2, tzinfo=dt.UTC),
    dt.datetime(2026, 10, 23, tzinfo=dt.UTC),
    dt.datetime(2028, 2, 27, tzinfo=dt.UTC),
])  # fmt: skip


@dataclass
class Diary:
    """Her track as a caller would keep it, and the promises checked at each message."""

    track: Track

    def today(self, at: dt.datetime) -> dt.date:
        return at.astimezone(ZoneInfo(self.track.zone)).date()

    def look(self, at: dt.datetime) -> dt.datetime | None:
        """Decides, checks, writes down what was said, and gives the time to look again."""
        decision = decide(self.track, at)
        assert len(decision.say) <= 1
        for due in decision.say:
            self.check(due, at)
            said = Said(due.what, due.on, due.ordinal, at)
            self.track = replace(self.track, said=(*self.track.said, said))
        again = decide(self.track, at)
        assert again.say == ()
        assert again.next_at == decision.next_at
        if decision.next_at is not None:
            assert at < decision.next_at <= at + 26 * HOUR
        return decision.next_at

    def check(self, due: Due, at: dt.datetime) -> None:
        track, on = self.track, self.today(at)
        held = [v.prescription for v in track.versions if v.prescription.starts_on <= on]
        force = max(held, key=lambda plan: plan.starts_on)
        for moment in quarters_between(at, due.expires_at):
            wall = moment.astimezone(ZoneInfo(track.zone)).time()
            # Quiet hours begin in the evening and end in the morning in all these lives.
            assert force.quiet_to <= wall < force.quiet_from
        assert due.on == on
        assert on.weekday() in force.days
        assert on not in track.closed
        assert track.pause is None or (track.pause.until is not None and on >= track.pause.until)
        if due.what in SETS_TALK:
            assert track.done.get(on, 0) < force.sets_a_day
        if due.what in {What.NUDGE, What.LATER}:
            assert track.mode is Mode.ALL
        today = [said for said in track.said if said.on == on]
        if due.what is not What.LATER:
            assert sum(said.what is not What.LATER for said in today) < track.cap
            assert all(abs(said.at - at) >= HOUR for said in track.said)
        else:
            assert sum(said.what is What.LATER for said in today) < 4
        assert (due.what, due.ordinal) not in {(said.what, said.ordinal) for said in today}
        assert due.due_at <= at < due.expires_at <= due.due_at + 2 * HOUR
        assert (due.expires_at - MICROSECOND).astimezone(ZoneInfo(track.zone)).date() == on
        overdue = (on - force.review_on).days
        assert (due.what is What.BOOK_REVIEW) == (overdue >= 28)
        heard = max(self.today(track.last_heard_at), force.starts_on - DAY)
        if track.pause and track.pause.until:
            heard = max(heard, track.pause.until - DAY)
        days_off = 7 - len(force.days)
        assert (on - heard).days < 21 + days_off


# ---- Walking by `next_at` and walking by the clock --------------------------------------------------------

Change = Callable[[Track, dt.datetime, int], Track]
Events = dict[int, tuple[Change, int]]  # by step of the walk: what happens, and how much of it


def hear(track: Track, at: dt.datetime, sets: int) -> Track:
    """She books some sets."""
    on = at.astimezone(ZoneInfo(track.zone)).date()
    return replace(track, last_heard_at=at, done={**track.done, on: track.done.get(on, 0) + sets})


def put_off(track: Track, at: dt.datetime, minutes: int) -> Track:
    return replace(track, last_heard_at=at, later_at=at + minutes * MINUTE, laters_today=1)


def close(track: Track, at: dt.datetime, _: int) -> Track:
    on = at.astimezone(ZoneInfo(track.zone)).date()
    return replace(track, last_heard_at=at, closed=track.closed | {on})


def rest(track: Track, at: dt.datetime, days: int) -> Track:
    on = at.astimezone(ZoneInfo(track.zone)).date()
    return replace(track, last_heard_at=at, pause=Pause(on + (1 + days % 3) * DAY, "rest"))


def travel(track: Track, at: dt.datetime, where: int) -> Track:
    return replace(track, last_heard_at=at, zone=ZONES[where % len(ZONES)])


CHANGES: list[Change] = [hear, put_off, close, rest, travel]


def by_clock(own: Track, start: dt.datetime, steps: int, step: dt.timedelta, events: Events) -> Track:
    """Decides at every step."""
    for index in range(steps):
        at = start + index * step
        if index in events:
            change, amount = events[index]
            own = change(own, at, amount)
        own = replace(own, said=(*own.said, *said_at(own, at)))
    return own


def by_next_at(own: Track, start: dt.datetime, steps: int, step: dt.timedelta, events: Events) -> Track:
    """Decides when told to, and when something has happened."""
    marks = [*sorted(events), steps]
    at: dt.datetime | None = start
    for mark in marks:
        until = start + mark * step
        while at is not None and at < until:
            decision = decide(own, at)
            own = replace(own, said=(*own.said, *said_at(own, at)))
            at = decision.next_at
        if mark < steps:
            change, amount = events[mark]
            own, at = change(own, until, amount), until
    return own


def said_at(own: Track, at: dt.datetime) -> Sequence[Said]:
    return [Said(due.what, due.on, due.ordinal, at) for due in decide(own, at).say]


@st.composite
def lives(draw: st.DrawFn, steps: int) -> tuple[Track, dt.datetime, Events]:
    """A client and what happens to her, on steps of a walk."""
    start = draw(STARTS)
    first = draw(plans((start - DAY).date()))
    second = draw(plans((start + draw(st.integers(0, 3)) * DAY).date()))
    own = track(
        zone=draw(st.sampled_from(ZONES)),
        versions=(InForce(1, first), InForce(2, second)),
        cap=draw(st.integers(1, 3)),
        mode=draw(st.sampled_from([Mode.ALL, Mode.ALL, Mode.ALL, Mode.EVENING_ONLY])),
        last_heard_at=start - draw(st.sampled_from([0, 0, 1, 2, 4, 18])) * DAY,
    )
    events: Events = {}
    for _ in range(draw(st.integers(0, 4))):
        change, amount = draw(st.sampled_from(CHANGES)), draw(st.integers(1, 9))
        events[draw(st.integers(0, steps - 1))] = (change, amount * 15 if change is put_off else amount)
    return own, start, events


@settings(max_examples=40, deadline=None, derandomize=True, suppress_health_check=[HealthCheck.too_slow])
@given(life=lives(steps=4 * 96))
def test_looking_only_at_next_at_says_what_looking_all_the_time_says(
    life: tuple[Track, dt.datetime, Events],
) -> None:
    """Four days in steps of a quarter of an hour, which is what every time in these lives is made of."""
    own, start, events = life
    walked = by_clock(own, start, 4 * 96, 15 * MINUTE, events)
    assert by_next_at(own, start, 4 * 96, 15 * MINUTE, events).said == walked.said


@pytest.mark.slow
@settings(max_examples=40, deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(life=lives(steps=3 * 1440))
def test_the_same_minute_by_minute(life: tuple[Track, dt.datetime, Events]) -> None:
    own, start, events = life
    walked = by_clock(own, start, 3 * 1440, MINUTE, events)
    assert by_next_at(own, start, 3 * 1440, MINUTE, events).said == walked.said


@pytest.mark.slow
@pytest.mark.parametrize("zone", ["Australia/Lord_Howe", "Africa/Cairo"])
def test_a_year_minute_by_minute_loses_and_doubles_no_day(zone: str) -> None:
    start = dt.datetime(2026, 1, 1, 12, tzinfo=dt.UTC)
    own = track(
        plan(starts_on=dt.date(2026, 1, 2), review_on=dt.date(2027, 6, 1)), zone=zone, last_heard_at=start
    )
    nudged: list[tuple[dt.date, int]] = []
    for minute in range(365 * 1440):
        at = start + minute * MINUTE
        for due in decide(own, at).say:
            Diary(own).check(due, at)
            said = (
                *(said for said in own.said if said.at > at - 40 * DAY),
                Said(due.what, due.on, due.ordinal, at),
            )
            own = replace(own, said=said, last_heard_at=at)
            if due.what is What.NUDGE:
                nudged.append((due.on, due.ordinal))
    days = [dt.date(2026, 1, 2) + ahead * DAY for ahead in range(364)]
    # On Sundays the check-in has the third place.
    expected = [(on, ordinal) for on in days for ordinal in (1, 2, 3) if (on.weekday(), ordinal) != (6, 3)]
    assert [each for each in nudged if each[0] <= days[-1]] == expected


# ---- Anything may happen ----------------------------------------------------------------------------------


class Life(RuleBasedStateMachine):
    """Answers, things put off, pauses, travel, new prescriptions, downtime, and a clock that leaps."""

    @initialize(data=st.data(), start=STARTS, zone=st.sampled_from(ZONES), cap=st.integers(1, 3))
    def enrol(self, data: st.DataObject, start: dt.datetime, zone: str, cap: int) -> None:
        self.now = start
        self.next_at: dt.datetime | None = start
        first = data.draw(plans((start - DAY).date()))
        self.diary = Diary(track(first, zone=zone, cap=cap, last_heard_at=start))
        self.laters: dict[dt.date, int] = {}

    def change(self, **changes: object) -> None:
        """Something happens to her now; the caller decides anew, as it does after every message of hers."""
        self.diary.track = replace(self.diary.track, **changes)  # type: ignore[arg-type]  # named by the rules
        self.next_at = self.diary.look(self.now)

    @property
    def today(self) -> dt.date:
        return self.diary.today(self.now)

    @rule(minutes=st.integers(1, 2000), seed=st.integers(0, 9))
    def time_passes(self, minutes: int, seed: int) -> None:
        """Looked at when due; a look in between finds nothing to say."""
        end = self.now + minutes * MINUTE
        chance = random.Random(seed)
        while self.next_at is not None and self.next_at <= end:
            between = self.now + chance.random() * (self.next_at - self.now)
            assert between == self.next_at or decide(self.diary.track, between).say == ()
            self.now = self.next_at
            self.next_at = self.diary.look(self.now)
        if self.next_at is None:
            assert decide(self.diary.track, end).say == ()
        self.now = end

    @rule(minutes=st.integers(1, 4 * 1440))
    def nobody_looks(self, minutes: int) -> None:
        self.now += minutes * MINUTE
        self.next_at = self.diary.look(self.now)

    @rule(minutes=st.integers(1, 3 * 1440))
    def the_clock_is_set_back(self, minutes: int) -> None:
        self.now -= minutes * MINUTE
        self.next_at = self.diary.look(self.now)

    @rule(sets=st.integers(0, 3))
    def she_books(self, sets: int) -> None:
        done = dict(self.diary.track.done)
        done[self.today] = done.get(self.today, 0) + sets
        self.change(done=done, last_heard_at=self.now)

    @rule()
    def she_closes_the_day(self) -> None:
        self.change(closed=self.diary.track.closed | {self.today}, last_heard_at=self.now)

    @rule(minutes=st.integers(5, 240))
    def she_puts_it_off(self, minutes: int) -> None:
        self.laters[self.today] = self.laters.get(self.today, 0) + 1
        if self.laters[self.today] > 4:
            return
        self.change(
            later_at=self.now + minutes * MINUTE, laters_today=self.laters[self.today], last_heard_at=self.now
        )

    @rule(days=st.sampled_from([1, 3, 7, None]))
    def she_pauses(self, days: int | None) -> None:
        until = None if days is None else self.today + days * DAY
        self.change(pause=Pause(until, "rest"), last_heard_at=self.now)

    @rule()
    def she_resumes(self) -> None:
        self.change(pause=None, last_heard_at=self.now, restarted_at=self.now)

    @rule(zone=st.sampled_from(ZONES))
    def she_travels(self, zone: str) -> None:
        self.change(zone=zone, last_heard_at=self.now)

    @rule(cap=st.integers(1, 3), mode=st.sampled_from(Mode))
    def she_wants_more_or_less(self, cap: int, mode: Mode) -> None:
        self.change(cap=cap, mode=mode, last_heard_at=self.now)

    @rule()
    def she_answers_the_check_in(self) -> None:
        self.change(last_check_in_on=self.today, last_heard_at=self.now)

    @rule(data=st.data(), ahead=st.integers(0, 2))
    def a_new_version_is_put_in_force(self, data: st.DataObject, ahead: int) -> None:
        versions = self.diary.track.versions
        starts_on = max(self.today + ahead * DAY, versions[-1].prescription.starts_on + DAY)
        self.change(versions=(*versions, InForce(len(versions) + 1, data.draw(plans(starts_on)))))

    @rule(times=st.lists(quarters(28, 84), min_size=6, max_size=6).map(sorted))
    def she_changes_her_times(self, times: list[dt.time]) -> None:
        *before, last = self.diary.track.versions
        edited = replace(last.prescription, nudge_times=tuple(times[: last.prescription.sets_a_day]))
        self.change(versions=(*before, replace(last, prescription=edited)), last_heard_at=self.now)


QUICK = settings(
    max_examples=50,
    stateful_step_count=25,
    deadline=None,
    derandomize=True,
    suppress_health_check=[HealthCheck.too_slow],
)


def test_whatever_happens_the_promises_hold() -> None:
    run_state_machine_as_test(Life, settings=QUICK)


@pytest.mark.slow
def test_whatever_happens_the_promises_hold_for_many() -> None:
    many = settings(QUICK, max_examples=1_000, stateful_step_count=60, derandomize=False)
    run_state_machine_as_test(Life, settings=many)
