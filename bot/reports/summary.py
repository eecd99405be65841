"""The review-visit summary and the discharge summary: one page about one client, in words."""

import datetime as dt
import re
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from fractions import Fraction

from bot.conversation import prescribing_words
from bot.conversation.client import SAID
from bot.domain import estimates, stretches
from bot.domain.adherence import Adherence, Cover, Day
from bot.domain.changes import changes
from bot.domain.client_record import AlertRecord, ClientRecord, Version
from bot.domain.dose import Figures, dose
from bot.domain.exercises import Catalogue
from bot.domain.levels import Level
from bot.domain.prescription import Prescription
from bot.domain.symptoms import Change, Course
from bot.domain.trend import Span, Trend
from bot.domain.visits import Attendance
from bot.reports.digest import figures_parts
from bot.reports.words import Words

MOST_WEEKS = 12
MOST_ALERTS = 6
MOST_ASKED = 5
MOST_CHANGES = 6
LONGEST = 150
_SIGNED_ONLY = re.compile(r"\s*\(\w+\)\s*")
"""How much of one thing is shown on the page; all of it is in the JSON and in the diary."""


@dataclass(frozen=True, slots=True)
class Maintenance:
    """What she keeps going with after discharge. until_on, owner: None where nobody said so."""

    plan: Prescription
    until_on: dt.date | None = None
    owner: str | None = None


@dataclass(frozen=True, slots=True)
class About:
    """What the page is about: the client's record and what names and counts its parts.

    signs: titles of the warning signs by id. maintenance: given for a discharge that has a plan. discharge:
    whether it is the last page about her.
    """

    record: ClientRecord
    clinic: str
    therapist: str
    catalogue: Catalogue
    figures: Figures
    signs: Mapping[str, str]
    discharge: bool = False
    maintenance: Maintenance | None = None


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


@dataclass(frozen=True, slots=True)
class Page:
    """The whole page in words."""

    title: str
    client: str
    about: tuple[str, ...]
    sections: tuple[Section, ...]
    foot: str


def page(about: About, say: Words) -> Page:
    """The page in words."""
    record = about.record
    joined = (
        say.say("paper.not-joined")
        if record.joined_on is None
        else say.say(
            "paper.since", on=_day(record.joined_on, say), weeks=(record.today - record.joined_on).days // 7
        )
    )
    review = record.current.prescription.review_on if record.current and not about.discharge else None
    sections = (
        _programme(about, say),
        _adherence(about, say),
        _symptoms(record, say),
        _weeks(record, say),
        _alerts(about, say),
        _asked(record, say),
        _changed(about, say),
    )
    return Page(
        title=say.say("paper.discharge" if about.discharge else "paper.review"),
        client=say.say("paper.client", client=record.label),
        about=tuple(
            filter(
                None,
                (
                    say.say(
                        "paper.about",
                        on=_day(record.today, say),
                        clinic=about.clinic,
                        therapist=about.therapist,
                    ),
                    joined,
                    say.say("paper.next-review", on=_day(review, say)) if review else "",
                ),
            )
        ),
        sections=tuple(section for section in sections if section.lines or section.table),
        foot=say.say("paper.foot"),
    )


def _day(on: dt.date, say: Words) -> str:
    return f"{say.date(on)} {on.year}"


def _short(text: str) -> str:
    """A text that was written by somebody, in one line and not too long."""
    words = " ".join(text.split())
    return words if len(words) <= LONGEST else words[: LONGEST - 1].rstrip() + "…"


def _lines_of(plan: Prescription, about: About, say: Words) -> tuple[str, ...]:
    """A programme in lines: how often, each exercise, and what a day adds up to."""
    lines = prescribing_words.programme(about.record.label, plan, about.catalogue)[1:]
    adds_up = dose(plan, about.catalogue, about.figures)
    count = say.say("paper.sets-a-day", sets=adds_up.sets_a_day, contractions=adds_up.a_day.contractions)
    return (*lines, count)


def _programme(about: About, say: Words) -> Section:
    current = about.record.current
    if about.discharge:
        kept = about.maintenance
        plan = kept.plan if kept else current.prescription if current else None
        lines = _lines_of(plan, about, say) if plan else (say.say("paper.no-programme"),)
        if kept is None:
            lines = (say.say("paper.maintenance-none"), *lines)
        elif kept.until_on:
            owner = kept.owner or about.therapist
            lines += (say.say("paper.maintenance-until", on=_day(kept.until_on, say), owner=owner),)
        return Section(say.say("paper.maintenance"), lines)
    if current is None:
        return Section(say.say("paper.programme"), (say.say("paper.no-programme"),))
    version = say.say(
        "paper.version",
        number=current.number,
        on=_day(current.prescription.starts_on, say),
        by=current.by,
        signed=_day(about.record.local_day(current.put_in_force_at), say),
    )
    return Section(say.say("paper.programme"), (version, *_lines_of(current.prescription, about, say)))


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


def _adherence(about: About, say: Words) -> Section:
    title = say.say("paper.adherence")
    found = stretches.stretches(about.record, about.catalogue, about.figures)
    if not found:
        return Section(title, (say.say("paper.no-days"),))
    names = ("stretch", "sets", "share", "days", "on-answered", "full-days", "some-days", "work", "apart")
    rows = []
    for one in found:
        figures, work = one.figures, one.work
        rows.append(
            (
                say.say(f"stretch.{one.of.value}", on=say.date(one.first_on)),
                _range(figures.done, figures.at_most, figures.prescribed, say),
                percents(figures.lower, figures.upper, say),
                say.say("paper.of", part=f"{figures.answered_days}", whole=f"{figures.days}"),
                percents(figures.on_answered, figures.on_answered, say),
                *(
                    _range(covered.at_least, covered.at_most, covered.days, say)
                    for covered in (one.covered[Cover.ALL_SETS], one.covered[Cover.ANY_SET])
                ),
                _range(work.at_least, work.at_most, work.prescribed, say),
                _apart(one.figures, say),
            )
        )
    head = tuple(say.say(f"head.{name}") for name in names)
    if not any(row[-1] for row in rows):
        head, rows = head[:-1], [row[:-1] for row in rows]
    return Section(title, table=Table(head, tuple(rows)), notes=(say.say("paper.how"),))


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


def _symptoms(record: ClientRecord, say: Words) -> Section:
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


def _weeks(record: ClientRecord, say: Words) -> Section:
    weeks = stretches.weeks(record)
    title = say.say("paper.weeks")
    shown = weeks[-MOST_WEEKS:]
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
                say.date(week.first_on),
                _range(week.figures.done, week.figures.at_most, week.figures.prescribed, say),
                say.say("paper.of", part=f"{week.figures.answered_days}", whole=f"{week.figures.days}"),
                *(_span(by_week[question].get(first_on), say) for question in asked),
            )
        )
    if not rows:
        return Section(title)
    left = len(weeks) - len(shown)
    return Section(
        title,
        table=Table(tuple(say.say(f"head.{name}") for name in ("week", "sets", "days", *asked)), tuple(rows)),
        days=tuple(week.days for week in shown),
        notes=(say.say("paper.weeks-left", weeks=left),) if left else (),
    )


def _newest(lines: Sequence[str], most: int, say: Words) -> tuple[str, ...]:
    """The newest lines first, and how many more there are."""
    left = len(lines) - most
    return (*reversed(lines[-most:]), *((say.say("paper.more", more=left),) if left > 0 else ()))


def _alerts(about: About, say: Words) -> Section:
    lines = [_alert(one, about, say) for one in about.record.alerts]
    return Section(say.say("paper.alerts"), _newest(lines, MOST_ALERTS, say) or (say.say("paper.no-alerts"),))


def _alert(of: AlertRecord, about: About, say: Words) -> str:
    alert, record = of.alert, about.record
    if alert.closed_at is None or alert.outcome is None:
        later = alert.level is Level.NEXT_REVIEW
        outcome = say.say("paper.alert-kept" if later else "paper.alert-open")
    else:
        name = say.say(f"outcome.{alert.outcome.value}")
        note = (of.closing_note or "").removeprefix(name)
        note = "" if _SIGNED_ONLY.fullmatch(note) else note
        outcome = say.say(
            "paper.alert-noted" if note else "paper.alert-closed",
            on=say.date(record.local_day(alert.closed_at)),
            outcome=name,
            note=_short(note).strip(" .:"),
        )
    return say.say(
        "paper.alert",
        on=say.date(record.local_day(alert.raised_at)),
        level=say.say(f"level.{alert.level.value}"),
        signs=", ".join(about.signs.get(sign, sign).lower() for sign in alert.signs),
        outcome=outcome,
    )


def _asked(record: ClientRecord, say: Words) -> Section:
    told = [
        (
            call.asked_at,
            say.say(
                "paper.call",
                on=say.date(record.local_day(call.asked_at)),
                answered=say.say("paper.call-open")
                if call.answered_at is None
                else say.say("paper.call-answered", on=say.date(record.local_day(call.answered_at))),
            ),
        )
        for call in record.calls
    ]
    told += [
        (
            note.said_at,
            say.say("paper.note", on=say.date(record.local_day(note.said_at)), text=_short(note.text)),
        )
        for note in record.notes
    ]
    lines = [line for _, line in sorted(told)]
    return Section(say.say("paper.asked"), _newest(lines, MOST_ASKED, say) or (say.say("paper.no-asked"),))


def _changed(about: About, say: Words) -> Section:
    record = about.record
    told = [
        (
            after.prescription.starts_on,
            say.say(
                "paper.change",
                on=say.date(after.prescription.starts_on),
                number=after.number,
                changes="; ".join(_what_changed(before, after, about)) or say.say("paper.unchanged"),
            ),
        )
        for before, after in zip(record.versions, record.versions[1:], strict=False)
    ]
    told += [
        (
            review.on,
            say.say(
                "paper.review-line",
                on=say.date(review.on),
                outcome=say.say(f"review.{review.outcome.value}"),
                reason=f": {_short(review.reason).rstrip('.')}" if review.reason else "",
            ),
        )
        for review in record.reviews
    ]
    lines = [line for _, line in sorted(told)]
    attended = sum(visit.attendance is Attendance.ATTENDED for visit in record.visits)
    visits = (
        (say.say("paper.visits", attended=attended, missed=len(record.visits) - attended),)
        if record.visits
        else ()
    )
    return Section(
        say.say("paper.changed"),
        (*(_newest(lines, MOST_CHANGES, say) or (say.say("paper.no-changed"),)), *visits),
    )


def _what_changed(before: Version, after: Version, about: About) -> Iterator[str]:
    yield from prescribing_words.changes(changes(before.prescription, after.prescription), about.catalogue)


def text(of: Page) -> str:
    """The page for a terminal."""
    lines = [f"{of.title}: {of.client}", *of.about]
    for section in of.sections:
        lines += ["", section.title, *(f"  {line}" for line in section.lines)]
        if section.table:
            lines += [f"  {line}" for line in _columns(section.table)]
        lines += (f"  {line}" for line in section.notes)
    return "\n".join((*lines, "", of.foot))


def _columns(table: Table) -> Iterator[str]:
    rows = (table.head, *table.rows)
    widths = [max(len(row[place]) for row in rows) for place in range(len(table.head))]
    for row in rows:
        yield "  ".join(cell.ljust(width) for cell, width in zip(row, widths, strict=True)).rstrip()
