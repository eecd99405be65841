"""A year of invented clients through the agenda: `python -m tests.year [--clients N] [--days N] [--seed N]`.

Each client lives her own year: her plan, zone and habits come from the seed; she answers, puts off, closes
days, takes breaks, travels, falls silent and returns. Every message is held against the promises (quiet
hours, her cap, nothing after the day is complete, an hour apart, each set once) by the same checks as the
tests of the agenda; the counts are printed.
"""

import argparse
import datetime as dt
import random
import sys
import time
from collections import Counter
from dataclasses import replace
from zoneinfo import ZoneInfo

from bot.domain.agenda import decide
from bot.domain.prescription import prescribed_sets
from bot.domain.track import Mode, Pause, Said, Track
from tests.domain.test_agenda_life import Diary
from tests.fixtures.tracks import clocks, plan, track

START = dt.datetime(2026, 3, 1, 12, tzinfo=dt.UTC)
ZONES = (
    "Europe/Dublin",
    "America/New_York",
    "Australia/Sydney",
    "Australia/Lord_Howe",
    "Africa/Cairo",
    "Asia/Tokyo",
)
KEPT = dt.timedelta(days=45)
TIMES = {
    1: ("09:00",),
    2: ("09:00", "18:00"),
    3: ("08:30", "13:00", "18:30"),
    4: ("08:00", "11:00", "15:00", "18:45"),
}


class Life:
    """One client's habits, drawn once, and what she does in return."""

    def __init__(self, seed: int) -> None:
        self.rng = random.Random(seed)
        sets = self.rng.choice(list(TIMES))
        days = frozenset(self.rng.sample(range(7), self.rng.randint(4, 7)))
        first = START.date() + dt.timedelta(days=1)
        own = plan(
            sets_a_day=sets,
            nudge_times=clocks(*TIMES[sets]),
            days=days,
            check_in_day=self.rng.randrange(7),
            starts_on=first,
            review_on=first + dt.timedelta(weeks=self.rng.choice([12, 30, 60, 60])),
        )
        self.answers = self.rng.choice([0.95, 0.7, 0.4, 0.1])
        self.track = track(own, zone=self.rng.choice(ZONES), cap=self.rng.randint(1, 3))

    def react(self, at: dt.datetime) -> None:
        """What she does about a message, or of her own accord."""
        chance, today = self.rng.random(), at.astimezone(ZoneInfo(self.track.zone)).date()
        change = self.track
        if chance < self.answers:
            sets = prescribed_sets(change.versions, today)
            done = min(sets, change.done.get(today, 0) + self.rng.randint(0, 2))
            change = replace(change, done={**change.done, today: done}, last_heard_at=at)
        elif chance > 0.995:
            change = replace(change, pause=Pause(today + dt.timedelta(days=self.rng.randint(1, 20)), "own"))
        elif chance > 0.985:
            change = replace(change, closed=change.closed | {today}, last_heard_at=at)
        elif chance > 0.98:
            change = replace(change, zone=self.rng.choice(ZONES))
        elif chance > 0.975:
            change = replace(change, mode=self.rng.choice(list(Mode)), last_heard_at=at)
        self.track = change


def trimmed(one: Track, at: dt.datetime) -> Track:
    """The track as the store would read it: what was said in the last weeks."""
    return replace(one, said=tuple(said for said in one.said if said.at > at - KEPT))


def live(life: Life, days: int) -> Counter[str]:
    """Walk one client's days by `next_at` only, checking each message; gives counts by kind."""
    counts: Counter[str] = Counter()
    at: dt.datetime | None = START
    end = START + dt.timedelta(days=days)
    while at is not None and at < end:
        decision = decide(life.track, at)
        counts["decisions"] += 1
        for due in decision.say:
            diary = Diary(life.track)
            diary.check(due, at)
            counts[due.what.value] += 1
            said = Said(due.what, due.on, due.ordinal, at)
            life.track = trimmed(replace(life.track, said=(*life.track.said, said)), at)
            life.react(at)
        if decision.say or decision.next_at is None:
            later = at + dt.timedelta(minutes=life.rng.randint(1, 90))
            if decision.next_at is None:
                # Nothing comes until somebody acts: some day she does.
                later = at + dt.timedelta(days=life.rng.randint(1, 40))
                life.track = replace(life.track, last_heard_at=later)
            at = later
        else:
            at = decision.next_at
    return counts


def main() -> int:
    """Live every client's year and print what was sent."""
    parser = argparse.ArgumentParser(prog="python -m tests.year")
    parser.add_argument("--clients", type=int, default=200)
    parser.add_argument("--days", type=int, default=365)
    parser.add_argument("--seed", type=int, default=1)
    options = parser.parse_args()
    started, total = time.perf_counter(), Counter[str]()
    for number in range(options.clients):
        total += live(Life(options.seed * 100_000 + number), options.days)
        if number % 20 == 0:
            print(f"client {number} of {options.clients}", file=sys.stderr, flush=True)
    for kind, count in sorted(total.items()):
        print(f"{kind:12} {count:8}")
    spent = time.perf_counter() - started
    print(f"{options.clients} clients, {options.days} days, promises held, {spent:.1f} s")
    return 0


if __name__ == "__main__":
    sys.exit(main())
