"""Parts of a summary in words: what it is made from, and the sections that hold figures."""

import datetime as dt
from collections.abc import Mapping
from dataclasses import dataclass
from fractions import Fraction

from bot.conversation.client import SAID
from bot.domain import estimates, stretches
from bot.domain.adherence import Adherence, Cover, Day
from bot.domain.client_record import ClientRecord
from bot.domain.dose import Figures
from bot.domain.exercises import Catalogue
from bot.domain.extras import Beside, beside
from bot.domain.prescription import Prescription
from bot.domain.symptoms import Change, Course
from bot.domain.trend import Span, Trend
from bot.reports.digest import figures_parts
from bot.reports.words import Words

LONGEST = 150
"""Characters shown of what somebody wrote; all of it is in the JSON."""


@dataclass(frozen=True, slots=True)
class Room:
    """How many of a thing a page shows, the newest; it says how many more there are.

    parts: of the programme, its first; beside: exercises beside the sets that have figures of their own.
    """

    weeks: int
    alerts: int
    asked: int
    changes: int
    parts: int = 24
    beside: int = 6


ROOMY = Room(weeks=12, alerts=6, asked=5, changes=6)
ROOMS = (
    ROOMY,
    Room(weeks=8, alerts=4, asked=3, changes=4),
    Room(weeks=6, alerts=3, asked=2, changes=3),
    Room(weeks=4, alerts=2, asked=1, changes=2),
    Room(weeks=4, alerts=1, asked=1, changes=1, beside=3),
    Room(weeks=2, alerts=1, asked=1, changes=1, parts=9, beside=1),
)
"""From the widest to what fits on a page whatever happened."""


@dataclass(frozen=True, slots=True)
class Maintenance:
    """What she keeps going with after discharge. until_on, owner: None where nobody said so."""

    plan: Prescription
    until_on: dt.date | None = None
    owner: str | None = None


@dataclass(frozen=True, slots=True)
class Discharged:
    """That a programme was closed: when, and why as written. by: a therapist's code, None if unknown."""

    at: dt.datetime
    reason: str
    by: str | None


@dataclass(frozen=True, slots=True)
class About:
    """What the page is about: the client's record and what names and counts its parts.

    signs: titles of the warning signs by id. maintenance: what she took or was given to keep going with, None
    for neither. discharge: whether it is the last page about her. discharged: when her programme was closed
    and why, None while it is open.
    """

    record: ClientRecord
    clinic: str
    therapist: str
    catalogue: Catalogue
    figures: Figures
    signs: Mapping[str, str]
    discharge: bool = False
    maintenance: Maintenance | None = None
    discharged: Discharged | None = None


@dataclass(frozen=True, slots=True)
class Table:
    """A table of words: its headings and rows, the first cell of each row naming it."""

    head: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]


@dataclass(frozen=True, slots=True)
class Section:
    """A part of the page: lines and tables; days: for each row of the table, the week as marks."""

    title: str
    lines: tuple[str, ...] = ()
    table: Table | None = None
    days: tuple[tuple[Day, ...], ...] = ()
    notes: tuple[str, ...] = ()


def full_date(on: dt.date, say: Words) -> str:
    """A day with its year."""
    return f"{say.date(on)} {on.year}"


def short_date(on: dt.date, record: ClientRecord, say: Words) -> str:
    """A day, with its year where that is not this one."""
    return say.date(on) if on.year == record.today.year else full_date(on, say)


def shortened(text: str) -> str:
    """A text that was written by somebody, in one line and not too long."""
    words = " ".join(text.split())
    return words if len(words) <= LONGEST else words[: LONGEST - 1].rstrip() + "…"


def percent(share: Fraction | None) -> str:
    """A share as a whole per cent, "-" for none."""
    return "-" if share is None else f"{float(share) * 100:.0f}"


def percents(low: Fraction | None, high: Fraction | None, say: Words) -> str:
    """A range of shares in per cent."""
    if low is None or high is None:
        return "-"
    if low == high:
        return say.say("paper.percent", share=percent(low))
    return say.say("paper.percents", low=percent(low), high=percent(high))


def _range(low: int, high: int, whole: int, say: Words) -> str:
    part = f"{low}" if low == high else say.say("range", low=f"{low}", high=f"{high}")
    return say.say("paper.of", part=part, whole=f"{whole}")


def adherence(about: About, say: Words) -> Section:
    """Sets and days over each stretch, the range never without how much was answered."""
    title = say.say("paper.adherence")
    found = stretches.stretches(about.record, about.catalogue, about.figures)
    if not found:
        return Section(title, (say.say("paper.no-days"),))
    names = ("stretch", "sets", "share", "days", "on-answered", "full-days", "some-days", "work")
    rows, apart = [], []
    for one in found:
        figures, work = one.figures, one.work
        name = say.say(f"stretch.{one.of.value}", on=short_date(one.first_on, about.record, say))
        rows.append(
            (
                name,
                _range(figures.done, figures.at_most, figures.prescribed, say),
                percents(figures.lower, figures.upper, say),
                say.say("paper.of", part=f"{figures.answered_days}", whole=f"{figures.days}"),
                percents(figures.on_answered, figures.on_answered, say),
                *(
                    _range(covered.at_least, covered.at_most, covered.days, say)
                    for covered in (one.covered[Cover.ALL_SETS], one.covered[Cover.ANY_SET])
                ),
                _range(work.at_least, work.at_most, work.prescribed, say),
            )
        )
        if beside := _apart(figures, say):
            apart.append(say.say("paper.apart", stretch=name, parts=beside))
    head = tuple(say.say(f"head.{name}") for name in names)
    notes = (*((say.say("paper.apart-all", parts="; ".join(apart)),) if apart else ()), say.say("paper.how"))
    return Section(title, table=Table(head, tuple(rows)), notes=notes)


def beside_the_sets(about: About, most: int, say: Words) -> Section:
    """Each exercise beside the sets over the same stretches: at least how often, of how often it was due."""
    record = about.record
    found = {
        say.say(f"stretch.{one.of.value}", on=short_date(one.first_on, record, say)): {
            each.exercise: each for each in beside(record.extras, record.in_force, one.days)
        }
        for one in stretches.stretches(record, about.catalogue, about.figures)
    }
    exercises = list(dict.fromkeys(exercise for of in found.values() for exercise in of))
    title = say.say("paper.beside")
    if not exercises:
        return Section(title)
    rows = tuple(
        (about.catalogue.title(exercise), *(_times(of.get(exercise), say) for of in found.values()))
        for exercise in exercises[:most]
    )
    left = len(exercises) - most
    more = (say.say("paper.more", more=left),) if left > 0 else ()
    head = (say.say("head.exercise"), *found)
    return Section(title, table=Table(head, rows), notes=(*more, say.say("paper.beside-how")))


def _times(of: Beside | None, say: Words) -> str:
    if of is None:
        return "-"
    told = say.say("paper.of", part=f"{of.done}", whole=f"{of.due}") if of.due else ""
    extra = say.say("paper.times-extra", times=f"{of.extra}") if of.extra else ""
    return ", ".join(filter(None, (told, extra)))


def _apart(figures: Adherence, say: Words) -> str:
    """Extra sets, and the days that do not count."""
    parts = figures_parts(figures, say)
    return ", ".join(parts[2:] if figures.prescribed else parts[1:])


def _span(span: Span | None, say: Words) -> str:
    return "?" if span is None else say.short_span(span)


def _change(asked: str, change: Change | None, say: Words) -> str:
    if change is None:
        return "-"
    verdict = change.verdict.value if change.verdict else "-"
    least, most = change.percent
    if asked != "leaks" or least is None or most is None or (change.was.high or 0) <= 2:  # noqa: PLR2004 - with one or two leaks a per cent says nothing
        return verdict
    shown = f"{most:+.0f} %"
    if round(least) != round(most):
        shown = say.say("range", low=f"{least:+.0f}", high=shown)
    return say.say("paper.verdict-percent", verdict=verdict, percent=shown)


def slope_text(course: Course, say: Words) -> str:
    """The robust slope with its interval, or that there are too few weeks to tell."""
    found = estimates.slope(course.weekly)
    if found is None:
        return Trend.TOO_FEW.value
    return say.say(
        "paper.slope", slope=f"{found.a_week:+.2g}", low=f"{found.low:+.2g}", high=f"{found.high:+.2g}"
    )


def question(key: str, say: Words) -> str:
    """What a question asks; a figure from a message is told apart."""
    asked = key.removesuffix(SAID)
    known = f"question.{asked}"
    name = say.say(known) if known in say.sayings else asked
    return name if asked == key else say.say("question.said", question=name)


def symptoms(record: ClientRecord, say: Words) -> Section:
    """Each question: first week, last and this, whether the change matters, and the slope."""
    title = say.say("paper.symptoms")
    courses = stretches.courses(record)
    if not courses:
        return Section(title, (say.say("paper.no-symptoms"),))
    rows = tuple(
        (
            question(course.question, say),
            _span(course.baseline, say),
            _span(course.weekly[-2], say) if len(course.weekly) > 1 else "-",
            _span(course.weekly[-1], say),
            _change(course.question, course.since_baseline, say),
            slope_text(course, say),
        )
        for course in courses
    )
    names = ("symptom", "baseline", "last", "now", "since-first", "slope")
    return Section(title, table=Table(tuple(say.say(f"head.{name}") for name in names), rows))


def weeks(record: ClientRecord, most: int, say: Words) -> Section:
    """The last weeks, oldest first, with a mark for each day."""
    all_weeks = stretches.weeks(record)
    title = say.say("paper.weeks")
    shown = all_weeks[-most:]
    by_week = {
        course.question: {week.first_on: week.median for week in course.weeks}
        for course in stretches.courses(record)
    }
    asked = [question for question in ("leaks", "heaviness", "pain") if question in by_week]
    rows = []
    for week in shown:
        first_on = week.days[-1].on - dt.timedelta(days=6)
        rows.append(
            (
                short_date(week.first_on, record, say),
                _range(week.figures.done, week.figures.at_most, week.figures.prescribed, say),
                say.say("paper.of", part=f"{week.figures.answered_days}", whole=f"{week.figures.days}"),
                *(_span(by_week[question].get(first_on), say) for question in asked),
            )
        )
    if not rows:
        return Section(title)
    left = len(all_weeks) - len(shown)
    return Section(
        title,
        table=Table(tuple(say.say(f"head.{name}") for name in ("week", "sets", "days", *asked)), tuple(rows)),
        days=tuple(week.days for week in shown),
        notes=(say.say("paper.weeks-left", weeks=left),) if left else (),
    )
