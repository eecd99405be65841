"""What a client may do yet: allowed, not yet, or ready for her therapist to review.

An exercise is judged by what it loads. One that loads nothing needs only to be prescribed. For the others
every condition has to hold, and then a release by the therapist: a gate never opens itself. A release counts
if the conditions held on its day, and lapses with a later finding, sign or pregnancy that breaks one. An
override is a release that names conditions to set aside; all others must still hold.

The limits come in as data with their sources. No published week was found for curl-ups and planks.
"""

import datetime as dt
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from enum import StrEnum
from typing import Final

from bot.domain import findings as found
from bot.domain.exercises import Catalogue, Exercise, Load
from bot.domain.figures import Figure
from bot.domain.findings import Birth, Distance, Finding, Unit


class Condition(StrEnum):
    """What has to hold before an exercise is done."""

    PREGNANCY = "pregnancy"  # there is none
    SIGN = "sign"  # no warning sign is open
    BLEEDING = "bleeding"  # there is none
    HEAVINESS = "heaviness"  # at most the limit
    PAIN = "pain"  # at most the limit
    DOMING = "doming"  # there is none
    CLEARANCE = "clearance"  # somebody cleared her for this load
    WEEKS = "weeks"  # whole weeks since birth
    DISTANCE = "distance"  # measured lately, and narrow enough
    IMPACT_SCREEN = "impact-screen"  # passed


NEVER_SET_ASIDE: Final = frozenset({Condition.PREGNANCY, Condition.SIGN})
"""An alert is closed with an outcome, a pregnancy ends; neither is overridden."""

_BY_TIME: Final = frozenset({Condition.WEEKS, Condition.CLEARANCE})
"""Conditions that time or paper decides; no later finding breaks them."""


class Lack(StrEnum):
    """Why a condition does not hold."""

    NOT_RECORDED = "not-recorded"
    STALE = "stale"
    NOT_MET = "not-met"


class GateState(StrEnum):
    """Where an exercise stands."""

    ALLOWED = "allowed"
    NOT_YET = "not-yet"
    READY_FOR_REVIEW = "ready-for-review"


@dataclass(frozen=True, slots=True)
class Reason:
    """One reason why an exercise is not allowed yet.

    earliest_on: the first day it could lift, None where no day can be told: it takes a record, a finding or a
    closed alert. found: the value that does not meet `limit`, taken on `found_on`. distance: the same for a
    width. loads: what it is that asks for this. sign: the warning sign that is open.
    """

    condition: Condition
    lack: Lack
    loads: tuple[Load, ...] = ()
    earliest_on: dt.date | None = None
    limit: Figure | None = None
    found: float | None = None
    found_on: dt.date | None = None
    distance: Distance | None = None
    sign: str | None = None


@dataclass(frozen=True, slots=True)
class LoadLimits:
    """What one kind of load asks for.

    weeks: whole weeks since birth, not asked where there was no birth. narrower_than: the width, by unit,
    that every current distance in that unit must stay under; without one the distance only has to be known.
    """

    weeks: Figure
    narrower_than: Mapping[Unit, Figure]
    impact_screen: bool


@dataclass(frozen=True, slots=True)
class Limits:
    """The limits in force.

    fresh_weeks: after how many weeks a distance or a symptom has to be asked again.
    """

    loads: Mapping[Load, LoadLimits]
    heaviness: Figure
    pain: Figure
    fresh_weeks: Figure


@dataclass(frozen=True, slots=True)
class Clearance:
    """Somebody said on a day that she may load again; for which loads."""

    by: str
    on: dt.date
    loads: frozenset[Load]


@dataclass(frozen=True, slots=True)
class SignSpan:
    """A warning sign from the day it was told until the day its alert was closed (None: still open)."""

    sign: str
    opened_on: dt.date
    closed_on: dt.date | None = None


@dataclass(frozen=True, slots=True)
class Release:
    """The therapist opens an exercise, with a reason; an override names the conditions it sets aside."""

    exercise: str
    on: dt.date
    by: str
    reason: str
    sets_aside: frozenset[Condition] = frozenset()


@dataclass(frozen=True, slots=True)
class Record:
    """What is known of a client that gates look at. No birth: the weeks since birth are not asked."""

    birth: Birth | None = None
    clearances: tuple[Clearance, ...] = ()
    findings: tuple[Finding, ...] = ()
    signs: tuple[SignSpan, ...] = ()
    releases: tuple[Release, ...] = ()
    pregnant_since_on: dt.date | None = None


@dataclass(frozen=True, slots=True)
class Decision:
    """Where one exercise stands on one day.

    reasons: why not yet, in the order of `Condition`; empty in every other state. release: the one that
    holds, for an allowed exercise that loads something. set_aside: what that release sets aside and would be
    a reason.
    """

    exercise: str
    state: GateState
    reasons: tuple[Reason, ...] = ()
    release: Release | None = None
    set_aside: tuple[Reason, ...] = ()

    @property
    def earliest_on(self) -> dt.date | None:
        """The first day on which all reasons could have lifted, None where no day can be told."""
        days = [reason.earliest_on for reason in self.reasons]
        return None if None in days else max((day for day in days if day), default=None)


def decide(exercise: Exercise, record: Record, on: dt.date, limits: Limits) -> Decision:
    """Where an exercise stands on a day of the client's."""
    return _decide(exercise, tuple(_reasons(exercise.loads, record, on, limits)), record, on, limits)


def _decide(
    exercise: Exercise, reasons: tuple[Reason, ...], record: Record, on: dt.date, limits: Limits
) -> Decision:
    if not exercise.loads:
        return Decision(exercise.id, GateState.ALLOWED)
    given = [one for one in record.releases if one.exercise == exercise.id and one.on <= on]
    for release in sorted(given, key=lambda one: len(one.sets_aside)):
        aside = release.sets_aside - NEVER_SET_ASIDE
        left = [reason for reason in reasons if reason.condition not in aside]
        if not left and _holds(release, aside, exercise, record, on, limits):
            return Decision(exercise.id, GateState.ALLOWED, release=release, set_aside=reasons)
    if reasons:
        return Decision(exercise.id, GateState.NOT_YET, reasons)
    return Decision(exercise.id, GateState.READY_FOR_REVIEW)


def gates(catalogue: Catalogue, record: Record, on: dt.date, limits: Limits) -> tuple[Decision, ...]:
    """Where every exercise of a catalogue stands on a day, in the catalogue's order."""
    exercises = catalogue.exercises.values()
    kinds = {exercise.loads for exercise in exercises}  # few; what an exercise loads decides its reasons
    reasons = {loads: tuple(_reasons(loads, record, on, limits)) for loads in kinds}
    return tuple(_decide(exercise, reasons[exercise.loads], record, on, limits) for exercise in exercises)


def faulty_releases(
    catalogue: Catalogue, record: Record, limits: Limits
) -> tuple[tuple[Release, tuple[Reason, ...]], ...]:
    """The releases that do not count, each with the conditions that did not hold on its day."""
    wrong = []
    for release in record.releases:
        exercise = catalogue.exercises.get(release.exercise)
        if exercise is not None:
            reasons = _left_on_its_day(
                release, release.sets_aside - NEVER_SET_ASIDE, exercise, record, limits
            )
            if reasons:
                wrong.append((release, reasons))
    return tuple(wrong)


def _left_on_its_day(
    release: Release, aside: frozenset[Condition], exercise: Exercise, record: Record, limits: Limits
) -> tuple[Reason, ...]:
    reasons = _reasons(exercise.loads, record, release.on, limits)
    return tuple(reason for reason in reasons if reason.condition not in aside)


def _holds(
    release: Release,
    aside: frozenset[Condition],
    exercise: Exercise,
    record: Record,
    on: dt.date,
    limits: Limits,
) -> bool:
    if _left_on_its_day(release, aside, exercise, record, limits):
        return False
    if any(release.on < sign.opened_on <= on for sign in record.signs):
        return False  # closing the alert does not bring the release back
    happened = {finding.on for finding in record.findings}
    if record.pregnant_since_on:
        happened.add(record.pregnant_since_on)
    return not any(
        reason.lack is Lack.NOT_MET and reason.condition not in aside | _BY_TIME
        for day in happened
        if release.on < day <= on
        for reason in _reasons(exercise.loads, record, day, limits)
    )


def _reasons(loads: Iterable[Load], record: Record, on: dt.date, limits: Limits) -> Iterator[Reason]:
    """Every condition that does not hold on a day; where several loads ask for one, the strictest."""
    asked = sorted(loads, key=list(Load).index)
    if not asked:
        return
    if record.pregnant_since_on and record.pregnant_since_on <= on:
        since_on = record.pregnant_since_on
        yield Reason(Condition.PREGNANCY, Lack.NOT_MET, found_on=since_on)
    for sign in record.signs:
        if sign.opened_on <= on and (sign.closed_on is None or on < sign.closed_on):
            yield Reason(Condition.SIGN, Lack.NOT_MET, found_on=sign.opened_on, sign=sign.sign)
    yield from _symptoms(record.findings, on, limits)
    yield from _clearance(asked, record, on)
    yield from _weeks(asked, record, on, limits)
    yield from _distance(asked, record, on, limits)
    if any(limits.loads[load].impact_screen for load in asked):
        yield from _impact_screen(record.findings, on)


def _symptoms(findings: Sequence[Finding], on: dt.date, limits: Limits) -> Iterator[Reason]:
    asked: tuple[tuple[Condition, Figure | None, Callable[[Finding], float | None]], ...] = (
        (Condition.BLEEDING, None, lambda finding: _number(finding.bleeding)),
        (Condition.HEAVINESS, limits.heaviness, lambda finding: finding.heaviness),
        (Condition.PAIN, limits.pain, lambda finding: finding.pain),
        (Condition.DOMING, None, lambda finding: _number(finding.doming)),
    )
    for condition, limit, get in asked:
        value = found.latest(findings, on, get)
        if value is None:
            yield Reason(condition, Lack.NOT_RECORDED)
        elif value.value > (limit.value if limit else 0):
            yield Reason(condition, Lack.NOT_MET, limit=limit, found=value.value, found_on=value.on)
        elif value.is_stale(on, limits.fresh_weeks.value):
            yield Reason(condition, Lack.STALE, limit=limits.fresh_weeks, found_on=value.on)
    squeeze = found.latest(findings, on, lambda finding: finding.pain_on_contraction)
    if squeeze and squeeze.value:
        yield Reason(Condition.PAIN, Lack.NOT_MET, found_on=squeeze.on)


def _number(value: bool | None) -> float | None:
    return None if value is None else float(value)


def _clearance(asked: Sequence[Load], record: Record, on: dt.date) -> Iterator[Reason]:
    """Later clearance for what is asked lifts the reason on its day; without one no day can be told."""
    missing = {
        load: min((one.on for one in record.clearances if load in one.loads), default=None) for load in asked
    }
    missing = {load: day for load, day in missing.items() if day is None or day > on}
    if missing:
        days = list(missing.values())
        earliest_on = None if None in days else max(day for day in days if day)
        yield Reason(Condition.CLEARANCE, Lack.NOT_RECORDED, tuple(missing), earliest_on)


def _weeks(asked: Sequence[Load], record: Record, on: dt.date, limits: Limits) -> Iterator[Reason]:
    if record.birth is None:
        return
    weeks = found.weeks_since(record.birth.on, on)
    limit = max((limits.loads[load].weeks for load in asked), key=lambda figure: figure.value)
    if weeks < limit.value:
        loads = tuple(load for load in asked if limits.loads[load].weeks.value > weeks)
        earliest_on = record.birth.on + dt.timedelta(weeks=int(limit.value))
        yield Reason(Condition.WEEKS, Lack.NOT_MET, loads, earliest_on, limit, weeks, record.birth.on)


def _distance(asked: Sequence[Load], record: Record, on: dt.date, limits: Limits) -> Iterator[Reason]:
    known = found.newest_distances(record.findings, on)
    fresh = [one for one in known if (on - one.on).days <= limits.fresh_weeks.value * found.DAYS_A_WEEK]
    if not fresh:
        newest = max(known, key=lambda one: one.on, default=None)
        lack = Lack.NOT_RECORDED if newest is None else Lack.STALE
        limit = None if newest is None else limits.fresh_weeks
        yield Reason(
            Condition.DISTANCE,
            lack,
            tuple(asked),
            limit=limit,
            found_on=newest.on if newest else None,
            distance=newest,
        )
    for unit, distance in found.widest(fresh).items():
        strictest = [
            (limits.loads[load].narrower_than[unit], load)
            for load in asked
            if unit in limits.loads[load].narrower_than
        ]
        if strictest:
            limit, load = min(strictest, key=lambda pair: pair[0].value)
            if distance.width >= limit.value:
                yield Reason(
                    Condition.DISTANCE,
                    Lack.NOT_MET,
                    (load,),
                    limit=limit,
                    found=distance.width,
                    found_on=distance.on,
                    distance=distance,
                )


def _impact_screen(findings: Sequence[Finding], on: dt.date) -> Iterator[Reason]:
    screen = found.latest(findings, on, lambda finding: finding.impact_screen)
    if screen is None:
        yield Reason(Condition.IMPACT_SCREEN, Lack.NOT_RECORDED, (Load.IMPACT,))
    elif not screen.value:
        yield Reason(Condition.IMPACT_SCREEN, Lack.NOT_MET, (Load.IMPACT,), found_on=screen.on)
