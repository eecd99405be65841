"""What a prescription adds up to, how that compares with the published floor, a first dose from findings."""

import datetime as dt
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, fields
from enum import StrEnum
from typing import Final

from bot.domain import findings as found
from bot.domain.exercises import Catalogue, Counted, Group
from bot.domain.figures import Figure
from bot.domain.findings import Assessed, Finding, Perfect, Tone
from bot.domain.prescription import Adjunct, Contractions, Position, Prescription

LONG_HOLD: Final = "pelvic-floor-long-hold"
QUICK: Final = "pelvic-floor-quick"
"""The exercises a first dose is made of."""

IN_TEN_SECONDS_S: Final = 10
WEAKEST_GRADE: Final = 2
"""The lowest strength a dose is proposed for; below it there is nothing she could repeat alone."""


class FloorCounts(StrEnum):
    """Which contractions count towards the published floor. Its text does not say, so it is a setting."""

    LONG = "long"
    ALL = "all"


@dataclass(frozen=True, slots=True)
class Figures:
    """The figures of the dose, each with its source.

    floor_contractions, floor_sets: the published floor is so many contractions, so many times a day. rest_s,
    pause_s: rest between long holds, and before the quick ones. quick_rest_s: between quick ones. sets_a_day:
    what is proposed. repetition_s: how long a repetition without a hold takes, for the minutes only.
    fresh_weeks: findings older than this are named when a dose is proposed.
    """

    floor_contractions: Figure
    floor_sets: Figure
    floor_counts: FloorCounts
    floor_counts_source: str
    rest_s: Figure
    pause_s: Figure
    quick_rest_s: Figure
    sets_a_day: Figure
    repetition_s: Figure
    fresh_weeks: Figure


@dataclass(frozen=True, slots=True)
class Amount:
    """An amount of work: of one set, a day or a week. It can be added up.

    long, quick: contractions. held_s: seconds of long holds. quick_s: seconds of quick contractions that are
    counted one by one; those counted over ten seconds have no hold of their own. sets_s, adjuncts_s: how long
    it takes, rests included. floor_long, floor_quick: the pelvic-floor contractions among `long` and `quick`.
    """

    long: int = 0
    quick: int = 0
    held_s: int = 0
    quick_s: int = 0
    sets_s: int = 0
    adjuncts_s: int = 0
    floor_long: int = 0
    floor_quick: int = 0

    @property
    def contractions(self) -> int:
        """All contractions."""
        return self.long + self.quick

    @property
    def under_tension_s(self) -> int:
        """Seconds under tension."""
        return self.held_s + self.quick_s

    def __add__(self, other: "Amount") -> "Amount":
        return Amount(*(getattr(self, f.name) + getattr(other, f.name) for f in fields(self)))

    def __mul__(self, times: int) -> "Amount":
        return Amount(*(getattr(self, f.name) * times for f in fields(self)))


@dataclass(frozen=True, slots=True)
class Floor:
    """A day's pelvic-floor contractions against the published floor.

    counted: those that count, by `counts`. Below the floor is worth a note, never an error.
    """

    counted: int
    floor: int
    counts: FloorCounts
    source: str

    @property
    def is_met(self) -> bool:
        """Whether the day reaches the floor."""
        return self.counted >= self.floor


@dataclass(frozen=True, slots=True)
class Dose:
    """What a prescription asks for.

    a_set, a_day: on the fullest weekday. by_weekday: Monday first, nothing on days off. floor: None where no
    pelvic-floor contraction is prescribed.
    """

    a_set: Amount
    a_day: Amount
    a_week: Amount
    by_weekday: tuple[Amount, ...]
    sets_a_day: int
    floor: Floor | None


def dose(prescription: Prescription, catalogue: Catalogue, figures: Figures) -> Dose:
    """What a prescription adds up to; its exercises should be in the catalogue.

    One that is not, as after a clinic changed its own file, counts as contractions of other muscles.
    """
    sets, days = [], []
    for weekday in range(7):
        a_set = day = Amount()
        if weekday in prescription.days:
            due = [part for part in prescription.contractions if part.is_due(weekday)]
            a_set = _total(_part(part, catalogue) for part in due)
            a_set += Amount(sets_s=prescription.pause_s * max(len(due) - 1, 0))
            extras = [one for one in prescription.adjuncts if one.days is None or weekday in one.days]
            day = a_set * prescription.sets_a_day + _total(_adjunct(one, figures) for one in extras)
        sets.append(a_set)
        days.append(day)
    fullest = max(range(7), key=lambda weekday: (days[weekday].contractions, days[weekday].sets_s))
    return Dose(
        a_set=sets[fullest],
        a_day=days[fullest],
        a_week=_total(days),
        by_weekday=tuple(days),
        sets_a_day=prescription.sets_a_day,
        floor=_floor(days[fullest], figures),
    )


def _total(amounts: Iterable[Amount]) -> Amount:
    return sum(amounts, start=Amount())


def _part(part: Contractions, catalogue: Catalogue) -> Amount:
    """One exercise of one set. After its last hold there is no rest."""
    exercise = catalogue.exercises.get(part.exercise)
    held_s = part.repetitions * part.hold_s
    takes_s = held_s + (part.repetitions - 1) * part.rest_s
    if exercise is None:
        return Amount(long=part.repetitions, held_s=held_s, sets_s=takes_s)
    if exercise.group is not Group.CONTRACTIONS:
        return Amount(sets_s=takes_s)
    on_the_floor = part.repetitions if exercise.pelvic_floor else 0
    match exercise.counted:
        case Counted.HOLDS:
            return Amount(long=part.repetitions, held_s=held_s, sets_s=takes_s, floor_long=on_the_floor)
        case Counted.QUICK_IN_10_S:
            return Amount(quick=part.repetitions, sets_s=IN_TEN_SECONDS_S, floor_quick=on_the_floor)
        case _:
            return Amount(quick=part.repetitions, quick_s=held_s, sets_s=takes_s, floor_quick=on_the_floor)


def _adjunct(one: Adjunct, figures: Figures) -> Amount:
    """How long an adjunct takes in a day. One with only a *done* tap is not timed."""
    each_s = figures.repetition_s.value if one.hold_s is None else one.hold_s
    takes_s = 60 * (one.minutes or 0) + round(each_s * (one.repetitions or 0))
    return Amount(adjuncts_s=takes_s * one.times_a_day)


def _floor(day: Amount, figures: Figures) -> Floor | None:
    if not day.floor_long + day.floor_quick:
        return None
    counted = day.floor_long
    if figures.floor_counts is FloorCounts.ALL:
        counted += day.floor_quick
    floor = int(figures.floor_contractions.value * figures.floor_sets.value)
    return Floor(counted, floor, figures.floor_counts, figures.floor_contractions.source)


class NoDose(StrEnum):
    """Why no dose is proposed from findings."""

    CONTRACTION_NOT_CONFIRMED = "contraction-not-confirmed"
    RELEASE_NOT_FULL = "release-not-full"
    NO_VALUES = "no-values"
    TOO_WEAK = "too-weak"
    NOTHING_TO_REPEAT = "nothing-to-repeat"
    RAISED_TONE = "raised-tone"
    PAIN_ON_CONTRACTION = "pain-on-contraction"


class DoseNote(StrEnum):
    """What the therapist is told beside a proposed dose."""

    RELEASE_NOT_ASSESSED = "release-not-assessed"
    TONE_NOT_RECORDED = "tone-not-recorded"
    OLD_VALUES = "old-values"
    NO_QUICK = "no-quick"


@dataclass(frozen=True, slots=True)
class Proposal:
    """A first dose, for the therapist to take or change; `pause_s` lies between the exercises of a set."""

    contractions: tuple[Contractions, ...]
    pause_s: int
    sets_a_day: int
    perfect: Perfect
    found_on: dt.date
    notes: tuple[DoseNote, ...]


@dataclass(frozen=True, slots=True)
class NotProposed:
    """No dose, with every reason."""

    reasons: tuple[NoDose, ...]


def propose(findings: Sequence[Finding], on: dt.date, figures: Figures) -> Proposal | NotProposed:
    """A first dose from the newest findings by a day: E seconds R times, then F quick ones, lying down.

    Source of the derivation: Laycock & Jerwood 2001, Physiotherapy 87:631, from memory. No dose without a
    confirmed correct contraction, with strength 0 or 1, or with raised tone or pain on contraction (common
    practice, no source).
    """
    values = found.latest(findings, on, lambda finding: finding.perfect)
    full_release = found.latest(findings, on, lambda finding: finding.full_release)
    tone = found.latest(findings, on, lambda finding: finding.tone)
    reasons = tuple(_against(findings, on, values.value if values else None))
    if reasons or values is None:
        return NotProposed(reasons)
    perfect = values.value
    rest_s, quick_rest_s = int(figures.rest_s.value), int(figures.quick_rest_s.value)
    sets = [Contractions(LONG_HOLD, perfect.repetitions, perfect.endurance_s, rest_s, Position.LYING)]
    if perfect.fast:
        sets.append(Contractions(QUICK, perfect.fast, 1, quick_rest_s, Position.LYING))
    notes = {
        DoseNote.RELEASE_NOT_ASSESSED: full_release is None or full_release.value is not Assessed.YES,
        DoseNote.TONE_NOT_RECORDED: tone is None,
        DoseNote.OLD_VALUES: values.is_stale(on, figures.fresh_weeks.value),
        DoseNote.NO_QUICK: not perfect.fast,
    }
    return Proposal(
        contractions=tuple(sets),
        pause_s=int(figures.pause_s.value) if perfect.fast else 0,
        sets_a_day=int(figures.sets_a_day.value),
        perfect=perfect,
        found_on=values.on,
        notes=tuple(note for note, applies in notes.items() if applies),
    )


def _against(findings: Sequence[Finding], on: dt.date, perfect: Perfect | None) -> Iterator[NoDose]:
    contraction = found.latest(findings, on, lambda finding: finding.contraction)
    full_release = found.latest(findings, on, lambda finding: finding.full_release)
    tone = found.latest(findings, on, lambda finding: finding.tone)
    pain = found.latest(findings, on, lambda finding: finding.pain_on_contraction)
    if contraction is None or contraction.value is not Assessed.YES:
        yield NoDose.CONTRACTION_NOT_CONFIRMED
    if full_release and full_release.value is Assessed.NO:
        yield NoDose.RELEASE_NOT_FULL
    if perfect is None:
        yield NoDose.NO_VALUES
    elif perfect.power < WEAKEST_GRADE:
        yield NoDose.TOO_WEAK
    elif not perfect.endurance_s or not perfect.repetitions:
        yield NoDose.NOTHING_TO_REPEAT
    if tone and tone.value is Tone.RAISED:
        yield NoDose.RAISED_TONE
    if pain and pain.value:
        yield NoDose.PAIN_ON_CONTRACTION


_OF_FIRST_DOSE = frozenset({NoDose.NO_VALUES, NoDose.NOTHING_TO_REPEAT})


def against_more(findings: Sequence[Finding], on: dt.date) -> tuple[NoDose, ...]:
    """What stands against making a programme that is there harder, from the newest findings by a day.

    The same as for a first dose, but that she may have a programme without PERFECT values.
    """
    if not findings:
        return (NoDose.CONTRACTION_NOT_CONFIRMED,)
    values = found.latest(findings, on, lambda finding: finding.perfect)
    reasons = _against(findings, on, values.value if values else None)
    return tuple(why for why in reasons if why not in _OF_FIRST_DOSE)
