"""Exercises beside the sets: what was told of, out of what was due; the rest is unknown."""

import datetime as dt

from bot.domain.adherence import Day, DayState
from bot.domain.extras import Beside, Extra, beside, done_on
from bot.domain.prescription import Adjunct, InForce, Position
from tests.fixtures.plans import holds, plan

MON = dt.date(2026, 6, 1)
AT = dt.datetime(2026, 6, 1, 20, tzinfo=dt.UTC)
WALKING = Adjunct("walking", Position.STANDING)
SCAR = Adjunct("scar-massage", Position.LYING, times_a_day=2, days=frozenset({0, 3}))
PLAN = InForce(1, plan(holds(8, 6, 10), adjuncts=(WALKING, SCAR), starts_on=MON))


def tap(day: int, exercise: str, key: str, undoes: str = "") -> Extra:
    return Extra(MON + dt.timedelta(days=day), exercise, AT, key, undoes)


def week(**states: DayState) -> list[Day]:
    days = [MON + dt.timedelta(days=n) for n in range(7)]
    return [Day(on, 3, None, states.get(f"{on:%a}".lower(), DayState.ACTIVE)) for on in days]


def test_a_week_worked_out_by_hand() -> None:
    taps = [
        tap(0, "walking", "a"),
        tap(0, "walking", "b"),  # once was due
        tap(1, "walking", "c"),
        tap(1, "", "d", undoes="c"),  # taken back
        tap(2, "walking", "e"),
        tap(3, "scar-massage", "f"),
        tap(4, "scar-massage", "g"),  # due on Monday and Thursday only
        tap(9, "walking", "h"),  # another week
    ]
    assert beside(taps, (PLAN,), week()) == (
        Beside("walking", due=7, done=2, extra=1),
        Beside("scar-massage", due=4, done=1, extra=1),
    )
    assert done_on(taps, MON, "walking") == 2


def test_what_was_paused_was_not_due_and_what_was_done_then_is_extra() -> None:
    found = beside([tap(1, "walking", "a")], (PLAN,), week(mon=DayState.PAUSED, tue=DayState.STOPPED))
    assert found[0] == Beside("walking", due=5, done=0, extra=1)


def test_each_day_goes_by_the_version_that_held() -> None:
    later = InForce(2, plan(holds(8, 6, 10), adjuncts=(SCAR,), starts_on=MON + dt.timedelta(days=2)))
    found = beside([tap(3, "walking", "a")], (PLAN, later), week())
    assert found == (
        Beside("walking", due=2, done=0, extra=1),
        Beside("scar-massage", due=4, done=0, extra=0),
    )


def test_a_plan_without_any_has_no_figures() -> None:
    assert beside([], (InForce(1, plan(holds(8, 6, 10), starts_on=MON)),), week()) == ()
