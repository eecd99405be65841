"""What a therapist found, dated, and how to look it up.

Finger widths and millimetres are two scales. A finger is as wide as the hand it belongs to, so neither is
ever turned into the other, and a value in one says nothing about a limit in the other.
"""

import datetime as dt
import re
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from enum import StrEnum
from typing import Generic, TypeVar

from bot.errors import RefusedError

Value = TypeVar("Value")

DAYS_A_WEEK = 7


class Unit(StrEnum):
    """What an inter-recti distance is counted in."""

    FINGERS = "fingers"
    MM = "mm"


class Method(StrEnum):
    """How an inter-recti distance was taken."""

    FINGERS = "fingers"
    CALIPER = "caliper"
    ULTRASOUND = "ultrasound"

    @property
    def unit(self) -> Unit:
        """The unit this method gives."""
        return Unit.FINGERS if self is Method.FINGERS else Unit.MM


class Site(StrEnum):
    """Where along the midline, seen from the navel."""

    ABOVE = "above"
    AT = "at"
    BELOW = "below"


class State(StrEnum):
    """What she was doing while it was taken."""

    REST = "rest"
    HEAD_LIFT = "head-lift"


@dataclass(frozen=True, slots=True)
class Distance:
    """One inter-recti distance."""

    on: dt.date
    site: Site
    state: State
    method: Method
    unit: Unit
    width: float


class Assessed(StrEnum):
    """Whether something was seen, not seen, or not looked at."""

    YES = "yes"
    NO = "no"
    NOT_ASSESSED = "not-assessed"


class Tone(StrEnum):
    """The resting tone of the pelvic floor."""

    LOW = "low"
    NORMAL = "normal"
    RAISED = "raised"


class Leakage(StrEnum):
    """The kind of leakage."""

    NONE = "none"
    STRESS = "stress"
    URGE = "urge"
    MIXED = "mixed"


HIGHEST = {"power": 5, "endurance_s": 10, "repetitions": 10, "fast": 10}
"""The tops of the PERFECT scheme (Laycock & Jerwood 2001, Physiotherapy 87:631; ranges from memory)."""


@dataclass(frozen=True, slots=True)
class Perfect:
    """The values of the PERFECT scheme; a profile, never a sum.

    power: the modified Oxford grade, 0 to 5. endurance_s: seconds a maximal squeeze is held before it fades.
    repetitions: how many of those, with about 4 s of rest between. fast: one-second maximal squeezes. The
    last three go to 10.
    """

    power: int
    endurance_s: int
    repetitions: int
    fast: int

    def __str__(self) -> str:
        return f"{self.power}/{self.endurance_s}/{self.repetitions}//{self.fast}"


_BETWEEN = r"(?:\s*(?://?|[|,;:.-])\s*|\s+)"
_PERFECT = re.compile(_BETWEEN.join([r"(\d{1,3})"] * 4), re.ASCII)


def parse_perfect(typed: str) -> Perfect:
    """PERFECT values as therapists write them: 3/5/4//7, 3-5-4-7 or P3 E5 R4 F7. Echo them back.

    Raises RefusedError for anything else, and for a value beyond the scheme.
    """
    bare = re.sub(r"[perf]\s*(?=\d)", "", typed.strip().casefold())
    match = _PERFECT.fullmatch(bare)
    if match is None:
        raise RefusedError("expected PERFECT values such as 3/5/4//7 (power, endurance, repetitions, fast)")
    values = dict(zip(HIGHEST, map(int, match.groups()), strict=True))
    beyond = [
        f"{name} {values[name]}, expected 0 to {top}" for name, top in HIGHEST.items() if values[name] > top
    ]
    if beyond:
        raise RefusedError(*beyond)
    return Perfect(**values)


@dataclass(frozen=True, slots=True)
class Finding:
    """What was found on one day; None is "not recorded".

    contraction, full_release: whether she contracts the right muscles, and lets them go again fully; `how` it
    was seen, or why it was not. doming: a ridge along the midline on effort. heaviness, pain: 0 to 10, on
    effort. bleeding: blood loss that is not a period. prolapse_stage: 0 to 4. impact_screen: whether she
    passed the return-to-impact screen. scores: totals of outcome questionnaires by name.
    """

    on: dt.date
    contraction: Assessed | None = None
    full_release: Assessed | None = None
    how: str | None = None
    tone: Tone | None = None
    pain_on_contraction: bool | None = None
    perfect: Perfect | None = None
    distances: tuple[Distance, ...] = ()
    doming: bool | None = None
    heaviness: int | None = None
    pain: int | None = None
    bleeding: bool | None = None
    leaks_a_week: int | None = None
    leakage: Leakage | None = None
    prolapse_stage: int | None = None
    pessary: bool | None = None
    red_flags_screened: bool | None = None
    impact_screen: bool | None = None
    scores: Mapping[str, float] = field(default_factory=dict)
    note: str | None = None


@dataclass(frozen=True, slots=True)
class Dated(Generic[Value]):
    """A value and the day it was found."""

    on: dt.date
    value: Value

    def is_stale(self, on: dt.date, weeks: float) -> bool:
        """Whether it is more than so many weeks old on a day."""
        return (on - self.on).days > weeks * DAYS_A_WEEK


def latest(
    findings: Iterable[Finding], on: dt.date, get: Callable[[Finding], Value | None]
) -> Dated[Value] | None:
    """The newest value that had been recorded by a day, or None. Findings of one day: the last one counts."""
    found: Dated[Value] | None = None
    for finding in findings:
        value = get(finding)
        if value is not None and finding.on <= on and (found is None or finding.on >= found.on):
            found = Dated(finding.on, value)
    return found


def newest_distances(findings: Sequence[Finding], on: dt.date) -> tuple[Distance, ...]:
    """The newest distance for each site, state and unit by a day, whatever its age; the wider of one day.

    A later value in the other unit does not take the place of an earlier one: nothing says which is wider.
    """
    newest: dict[tuple[Site, State, Unit], Distance] = {}
    for distance in (one for finding in findings if finding.on <= on for one in finding.distances):
        key = distance.site, distance.state, distance.unit
        if key not in newest or (distance.on, distance.width) > (newest[key].on, newest[key].width):
            newest[key] = distance
    return tuple(newest.values())


def widest(distances: Iterable[Distance]) -> dict[Unit, Distance]:
    """The widest distance in each unit that occurs."""
    found: dict[Unit, Distance] = {}
    for distance in distances:
        if distance.unit not in found or distance.width > found[distance.unit].width:
            found[distance.unit] = distance
    return found


class BirthMode(StrEnum):
    """How a birth went."""

    VAGINAL = "vaginal"
    FORCEPS = "forceps"
    VACUUM = "vacuum"
    CAESAREAN = "caesarean"


@dataclass(frozen=True, slots=True)
class Birth:
    """A birth. `tear`: its grade as written (0, 1, 2, 3a, 3b, 3c, 4), None for not recorded."""

    on: dt.date
    mode: BirthMode | None = None
    tear: str | None = None


def weeks_since(birth_on: dt.date, on: dt.date) -> int:
    """Whole weeks from a birth to a day, both in the client's calendar; below 0 before the birth."""
    return (on - birth_on).days // DAYS_A_WEEK
