"""A prescription: what the therapist put in force for one client, from a date on.

Plain frozen data. Its limits are checked where it is read (`bot/rules/prescription_file.py`); here it is
taken as right.
"""

import datetime as dt
from collections.abc import Sequence
from dataclasses import dataclass
from enum import StrEnum


class Position(StrEnum):
    """The positions of an exercise, easiest first (common practice, no source).

    FOUR_POINT is on hands and knees; exercises that start from there, such as a plank, are filed under it.
    """

    LYING = "lying"
    SIDE_LYING = "side-lying"
    FOUR_POINT = "four-point"
    SITTING = "sitting"
    STANDING = "standing"

    @property
    def step(self) -> int:
        """How far up the ladder it is; a lower step is easier."""
        return list(Position).index(self)


@dataclass(frozen=True, slots=True)
class Contractions:
    """One exercise inside a set: `repetitions` holds of `hold_s` seconds with `rest_s` seconds between.

    days: the weekdays on which it belongs to the sets (0 = Monday), None for every day of the programme.
    easier_position: where she may do it instead when a set is caught up late, None where the therapist allows
    no other.
    """

    exercise: str
    repetitions: int
    hold_s: int
    rest_s: int
    position: Position
    days: frozenset[int] | None = None
    easier_position: Position | None = None

    def is_due(self, weekday: int) -> bool:
        """Whether it belongs to the sets of a weekday (0 = Monday) on which the programme is done."""
        return self.days is None or weekday in self.days


@dataclass(frozen=True, slots=True)
class Adjunct:
    """An exercise beside the sets, with a *done* tap of its own, `times_a_day` on each of `days`.

    days: weekdays (0 = Monday), None for every day of the programme. repetitions, hold_s and minutes: what
    the exercise is counted in, None for the rest.
    """

    exercise: str
    position: Position
    times_a_day: int = 1
    days: frozenset[int] | None = None
    repetitions: int | None = None
    hold_s: int | None = None
    minutes: int | None = None


@dataclass(frozen=True, slots=True)
class Prescription:
    """One version of a client's programme.

    A *set* is everything in `contractions` done together at one time of day; `sets_a_day` such times are due
    on each of `days` (0 = Monday). `nudge_times` are the client's local wall times, one for each set, in
    order. Nothing unasked is sent from `quiet_from` until `quiet_to` (local wall times, across midnight when
    `quiet_from` is the later). `round_up_at` is the evening question. `check_in_day` is the weekday of the
    weekly questions, `check_in_questions` their ids. In force from `starts_on`, to be reviewed on
    `review_on`; both are the client's local days. `pause_s` is the rest between two exercises of a set.
    """

    contractions: tuple[Contractions, ...]
    sets_a_day: int
    days: frozenset[int]
    nudge_times: tuple[dt.time, ...]
    quiet_from: dt.time
    quiet_to: dt.time
    round_up_at: dt.time
    check_in_day: int
    check_in_questions: tuple[str, ...]
    starts_on: dt.date
    review_on: dt.date
    adjuncts: tuple[Adjunct, ...] = ()
    pause_s: int = 0

    @property
    def exercises(self) -> frozenset[str]:
        """The ids of all that is prescribed."""
        return frozenset(
            {part.exercise for part in self.contractions} | {one.exercise for one in self.adjuncts}
        )


@dataclass(frozen=True, slots=True)
class InForce:
    """A version with its number; it holds from its start until the next version's start."""

    version: int
    prescription: Prescription


def in_force(versions: tuple[InForce, ...], on: dt.date) -> InForce | None:
    """The version that holds on a local day, or None before the first one starts.

    versions: in the order they were put in force. Where two start on the same day the later one holds.
    """
    held: InForce | None = None
    held_from = dt.date.min
    for version in versions:  # a plain loop: every day of every client is asked about
        starts_on = version.prescription.starts_on
        if held_from <= starts_on <= on and (
            held is None or starts_on > held_from or version.version > held.version
        ):
            held, held_from = version, starts_on
    return held


def prescribed_over(versions: tuple[InForce, ...], days: Sequence[dt.date]) -> list[int]:
    """How many sets are due on each of some local days in order."""
    if len(versions) != 1:
        return [prescribed_sets(versions, on) for on in days]
    plan = versions[0].prescription
    starts_on, weekdays, sets = plan.starts_on, plan.days, plan.sets_a_day
    return [sets if on >= starts_on and on.weekday() in weekdays else 0 for on in days]


def prescribed_sets(versions: tuple[InForce, ...], on: dt.date) -> int:
    """How many sets are due on a local day: 0 before the start and on days off."""
    version = in_force(versions, on)
    if version is None or on.weekday() not in version.prescription.days:
        return 0
    return version.prescription.sets_a_day
