"""A client's programme in stretches: the last week, since the last review, the whole, and week by week."""

import datetime as dt
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from enum import StrEnum
from fractions import Fraction

from bot.domain import adherence as adh
from bot.domain import symptoms
from bot.domain.adherence import Adherence, Cover, Covered, Day
from bot.domain.check_in import QUESTIONS
from bot.domain.client_record import ClientRecord
from bot.domain.dose import Figures, dose
from bot.domain.exercises import Catalogue
from bot.domain.prescription import InForce, in_force
from bot.domain.symptoms import DAYS_A_WEEK, Course
from bot.domain.visits import Attendance

_ORDER = list(QUESTIONS)


class Of(StrEnum):
    """Which stretch: the last seven days, since the last review or visit, since the version, all of it."""

    LAST_WEEK = "last week"
    SINCE_REVIEW = "since the last review"
    SINCE_VERSION = "since this version"
    WHOLE = "whole programme"


@dataclass(frozen=True, slots=True)
class Work:
    """The same in contractions: prescribed, done at least, done at most; by the version of each day."""

    prescribed: int
    at_least: int
    at_most: int


@dataclass(frozen=True, slots=True)
class Stretch:
    """Adherence over some days. covered: days covered by both meanings of the word."""

    of: Of
    first_on: dt.date
    last_on: dt.date
    days: tuple[Day, ...]
    figures: Adherence
    covered: Mapping[Cover, Covered]
    work: Work


@dataclass(frozen=True, slots=True)
class Week:
    """Seven days of hers, fewer where she joined later."""

    first_on: dt.date
    days: tuple[Day, ...]
    figures: Adherence


def contractions_a_set(
    versions: tuple[InForce, ...], on: dt.date, catalogue: Catalogue, figures: Figures
) -> Fraction:
    """Contractions in one set of the version that holds on a day; 0 on a day off or before the first one."""
    held = in_force(versions, on)
    if held is None:
        return Fraction(0)
    adds_up = dose(held.prescription, catalogue, figures)
    return Fraction(adds_up.by_weekday[on.weekday()].contractions, adds_up.sets_a_day)


def work(record: ClientRecord, days: Sequence[Day], catalogue: Catalogue, figures: Figures) -> Work:
    """Some days in contractions."""
    of_version: dict[tuple[int, int], Fraction] = {}
    sums = [Fraction(0)] * 3
    for day in days:
        held = in_force(record.in_force, day.on)
        key = (held.version if held else 0, day.on.weekday())
        if key not in of_version:
            of_version[key] = contractions_a_set(record.in_force, day.on, catalogue, figures)
        due = day.prescribed if day.due else 0
        counts = (due, day.done, day.done if day.answered else due)
        sums = [total + sets * of_version[key] for total, sets in zip(sums, counts, strict=True)]
    return Work(*(int(total) for total in sums))


def stretches(record: ClientRecord, catalogue: Catalogue, figures: Figures) -> tuple[Stretch, ...]:
    """The stretches that a review looks at, the latest first; of those that begin on one day only the widest.

    None before her first whole day.
    """
    return tuple(_stretches(record, catalogue, figures))[::-1]


def _stretches(record: ClientRecord, catalogue: Catalogue, figures: Figures) -> Iterator[Stretch]:
    starts = {
        Of.LAST_WEEK: record.today - dt.timedelta(days=DAYS_A_WEEK),
        Of.SINCE_REVIEW: _last_seen_on(record),
        Of.SINCE_VERSION: record.current.prescription.starts_on if record.current else None,
        Of.WHOLE: _begun_on(record),
    }
    shown: set[dt.date] = set()
    for of, start in reversed(starts.items()):
        days = record.since(start) if start else ()
        if days and days[0].on not in shown:
            shown.add(days[0].on)
            yield Stretch(
                of,
                days[0].on,
                days[-1].on,
                days,
                adh.adherence(days),
                {cover: adh.days_covered(days, cover) for cover in Cover},
                work(record, days, catalogue, figures),
            )


def _begun_on(record: ClientRecord) -> dt.date | None:
    return min((version.prescription.starts_on for version in record.versions), default=None)


def _last_seen_on(record: ClientRecord) -> dt.date | None:
    """The day of her last review, or of her last visit if that is later."""
    came = [visit.on for visit in record.visits if visit.attendance is Attendance.ATTENDED]
    return max((*came, *(review.on for review in record.reviews)), default=None)


def weeks(record: ClientRecord) -> tuple[Week, ...]:
    """Her whole days in weeks back from yesterday, oldest first, from the start of her programme."""
    days = record.since(_begun_on(record) or record.today)
    found = []
    for end in range(len(days), 0, -DAYS_A_WEEK):
        some = days[max(0, end - DAYS_A_WEEK) : end]
        found.append(Week(some[0].on, some, adh.adherence(some)))
    return tuple(reversed(found))


def courses(record: ClientRecord) -> tuple[Course, ...]:
    """Her symptoms week by week: every question that she ever answered, those of the check-in first."""
    answered = dict.fromkeys(told.question for told in record.symptoms if told.value is not None)
    asked = sorted(answered, key=lambda key: _ORDER.index(key) if key in _ORDER else len(_ORDER))
    return tuple(symptoms.course(question, record.symptoms, record.today) for question in asked)
