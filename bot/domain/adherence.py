"""How much of the agreed programme was done, as a range: a day nobody answered is unknown, not zero.

The bounds follow the worst case and the best case of what is missing (Manski 2005, Int J Approx Reason
39:151): unknown days counted as none, then as all. No assumption about why they are missing is needed.
"""

import datetime as dt
from collections import Counter
from collections.abc import Iterable, Sequence
from dataclasses import astuple, dataclass, field
from enum import StrEnum
from fractions import Fraction

from bot.errors import RefusedError

# The usual cut-off for medicines (80 % of days covered). For exercise no dose-response cut-off was found, so
# it is a setting of the clinic and never a verdict.
THRESHOLD = Fraction(4, 5)


class DayState(StrEnum):
    """What kind of day it was for the programme.

    ACTIVE: it ran. PAUSED: the client or the therapist paused it. STOPPED: a warning sign or the therapist
    stopped it. TRAVEL: a date the client's journey across time zones skipped. Only active days count.
    """

    ACTIVE = "active"
    PAUSED = "paused"
    STOPPED = "stopped"
    TRAVEL = "travel"


_ACTIVE = DayState.ACTIVE


@dataclass(frozen=True, slots=True)
class Day:
    """One local day of a client: sets prescribed by the version in force, and sets reported.

    reported: None where nobody answered; 0 is an answer. due: whether the day counts: the programme ran and
    something was prescribed. done: sets that count: what was reported, at most what was prescribed; 0 on a
    day that is not due. Raises RefusedError on a count below 0.
    """

    on: dt.date
    prescribed: int
    reported: int | None
    state: DayState = DayState.ACTIVE
    # Worked out once: many figures ask the same days, and many clients share them.
    due: bool = field(init=False, repr=False, compare=False)
    done: int = field(init=False, repr=False, compare=False)

    def __post_init__(self) -> None:
        reported = self.reported or 0
        if self.prescribed < 0 or reported < 0:
            raise RefusedError(f"{self.on}: a count of sets cannot be below 0.")
        due = self.state is _ACTIVE and self.prescribed > 0
        object.__setattr__(self, "due", due)
        object.__setattr__(self, "done", min(reported, self.prescribed) if due else 0)

    @property
    def answered(self) -> bool:
        """Whether a count was reported."""
        return self.reported is not None

    @property
    def extra(self) -> int:
        """Sets beyond the prescription, and all sets of a day that is not due."""
        return (self.reported or 0) - self.done


def _share(part: int, whole: int) -> Fraction | None:
    return Fraction(part, whole) if whole else None


@dataclass(frozen=True, slots=True)
class Adherence:
    """Sets done out of sets prescribed over some days.

    prescribed, done, unknown: sets on days that count; `unknown` are those of days nobody answered. Each
    day's report is capped at its prescription, so `extra` sets are shown and never cover missed ones.
    days: the days that count; answered_days: those with a report. free_days: active days with nothing
    prescribed. paused_days, stopped_days and travel_days are outside the count.
    """

    prescribed: int
    done: int
    unknown: int
    extra: int
    days: int
    answered_days: int
    free_days: int
    paused_days: int
    stopped_days: int
    travel_days: int

    @property
    def at_most(self) -> int:
        """Sets done if every unanswered day was done in full."""
        return self.done + self.unknown

    @property
    def lower(self) -> Fraction | None:
        """Share done if every unanswered day was none, 0 to 1; None if nothing was prescribed."""
        return _share(self.done, self.prescribed)

    @property
    def upper(self) -> Fraction | None:
        """Share done if every unanswered day was done in full, 0 to 1; None if nothing was prescribed."""
        return _share(self.at_most, self.prescribed)

    @property
    def on_answered(self) -> Fraction | None:
        """Share done of what was prescribed on answered days, 0 to 1; None without such a day."""
        return _share(self.done, self.prescribed - self.unknown)

    @property
    def answered_share(self) -> Fraction | None:
        """Share of the days that count which were answered, 0 to 1; None without such a day."""
        return _share(self.answered_days, self.days)


def _distinct(days: Sequence[Day]) -> None:
    if len({day.on for day in days}) == len(days):
        return
    twice = sorted(on for on, times in Counter(day.on for day in days).items() if times > 1)
    if twice:
        raise RefusedError(*(f"{on}: given twice; a local date is one diary day." for on in twice))


def adherence(days: Sequence[Day]) -> Adherence:
    """What was done over `days`, in any order, at most one for each local date.

    Raises RefusedError naming every date that is given twice.
    """
    _distinct(days)
    prescribed = done = unknown = booked = due = answered = 0
    outside: list[DayState] = []
    for day in days:  # one plain loop: every digest asks it of every client
        reported = day.reported
        if reported:
            booked += reported
        if day.due:
            due += 1
            prescribed += day.prescribed
            done += day.done
            if reported is None:
                unknown += day.prescribed
            else:
                answered += 1
        elif day.state is not _ACTIVE:
            outside.append(day.state)
    return Adherence(
        prescribed=prescribed,
        done=done,
        unknown=unknown,
        extra=booked - done,
        days=due,
        answered_days=answered,
        free_days=len(days) - due - len(outside),
        paused_days=outside.count(DayState.PAUSED) if outside else 0,
        stopped_days=outside.count(DayState.STOPPED) if outside else 0,
        travel_days=outside.count(DayState.TRAVEL) if outside else 0,
    )


def together(figures: Iterable[Adherence]) -> Adherence:
    """Several clients' or weeks' figures added up; all zeros of none."""
    columns = zip(*map(astuple, (adherence(()), *figures)), strict=True)
    return Adherence(*(sum(column) for column in columns))


class Standing(StrEnum):
    """Where a range stands against a threshold; reaching it exactly is above."""

    BELOW = "below"
    ABOVE = "above"
    CANNOT_TELL = "cannot tell"


def standing(at_least: int, at_most: int, whole: int, threshold: Fraction = THRESHOLD) -> Standing:
    """Where `at_least` to `at_most` out of `whole` stands; compared in whole numbers, so nothing is rounded.

    CANNOT_TELL where the threshold lies between the bounds, and where `whole` is 0.
    """
    needed = threshold.numerator * whole
    if whole and threshold.denominator * at_least >= needed:
        return Standing.ABOVE
    if whole and threshold.denominator * at_most < needed:
        return Standing.BELOW
    return Standing.CANNOT_TELL


def compare(figures: Adherence, threshold: Fraction = THRESHOLD) -> Standing:
    """Whether the share of sets done is below the threshold, above it, or cannot be told."""
    return standing(figures.done, figures.at_most, figures.prescribed, threshold)


class Cover(StrEnum):
    """What makes a day covered; a figure means nothing unless this is said with it."""

    ALL_SETS = "all sets"
    ANY_SET = "any set"


@dataclass(frozen=True, slots=True)
class Covered:
    """Days covered out of days that count, at least and at most (unanswered days: none, then all).

    The share is the proportion of days covered of the Pharmacy Quality Alliance, with one difference: an
    early refill of a medicine is carried forward, exercise cannot be banked, so nothing is.
    """

    cover: Cover
    at_least: int
    at_most: int
    days: int

    @property
    def lower(self) -> Fraction | None:
        """Share of days surely covered, 0 to 1; None without a day that counts."""
        return _share(self.at_least, self.days)

    @property
    def upper(self) -> Fraction | None:
        """Share of days that may have been covered, 0 to 1; None without a day that counts."""
        return _share(self.at_most, self.days)


def days_covered(days: Sequence[Day], cover: Cover) -> Covered:
    """How many of the days that count were covered, by the declared meaning.

    Raises RefusedError naming every date that is given twice.
    """
    _distinct(days)
    due = [day for day in days if day.due]
    sure = sum(day.done >= (day.prescribed if cover is Cover.ALL_SETS else 1) for day in due)
    return Covered(cover, sure, sure + sum(not day.answered for day in due), len(due))
