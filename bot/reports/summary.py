"""The review-visit summary and the discharge summary: one page about one client, in words."""

import datetime as dt
import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from bot.conversation import prescribing_words
from bot.domain.changes import changes
from bot.domain.client_record import AlertRecord, CallAsked, ClientRecord, Version
from bot.domain.dose import dose
from bot.domain.levels import Level
from bot.domain.prescription import Prescription
from bot.domain.visits import Attendance
from bot.reports.summary_parts import (
    ROOMY,
    About,
    Room,
    Section,
    Table,
    adherence,
    beside_the_sets,
    full_date,
    short_date,
    shortened,
    symptoms,
    weeks,
)
from bot.reports.words import Words

_SIGNED_ONLY = re.compile(r"\s*\(\w+\)\s*")
"""How much of one thing is shown on the page; all of it is in the JSON and in the diary."""


@dataclass(frozen=True, slots=True)
class Page:
    """The whole page in words."""

    title: str
    client: str
    about: tuple[str, ...]
    sections: tuple[Section, ...]
    foot: str


def page(about: About, say: Words, room: Room = ROOMY) -> Page:
    """The page in words."""
    record = about.record
    joined = (
        say.say("paper.not-joined")
        if record.joined_on is None
        else say.say(
            "paper.since",
            on=full_date(record.joined_on, say),
            weeks=(record.today - record.joined_on).days // 7,
        )
    )
    review = record.current.prescription.review_on if record.current and not about.discharge else None
    sections = (
        _programme(about, room.parts, say),
        adherence(about, say),
        beside_the_sets(about, room.beside, say),
        symptoms(record, say),
        weeks(record, room.weeks, say),
        _alerts(about, room.alerts, say),
        _asked(record, room.asked, say),
        _changed(about, room.changes, say),
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
                        on=full_date(record.today, say),
                        clinic=about.clinic,
                        therapist=about.therapist,
                    ),
                    joined,
                    say.say("paper.next-review", on=full_date(review, say)) if review else "",
                    _closed(about, say),
                ),
            )
        ),
        sections=tuple(section for section in sections if section.lines or section.table),
        foot=say.say("paper.foot"),
    )


def _closed(about: About, say: Words) -> str:
    """When her programme was closed and why, "" while it is open."""
    closed = about.discharged
    if closed is None:
        return ""
    on = full_date(about.record.local_day(closed.at), say)
    return say.say("paper.discharged", on=on, reason=shortened(closed.reason).rstrip("."))


def _lines_of(plan: Prescription, about: About, most: int, say: Words) -> tuple[str, ...]:
    """A programme in lines: how often, each exercise, and what a day adds up to."""
    told = prescribing_words.programme(about.record.label, plan, about.catalogue)[1:]
    lines = tuple(f"{line[:1].upper()}{line[1:]}" for line in told)
    if len(lines) > most:
        lines = (*lines[:most], say.say("paper.more", more=len(lines) - most))
    adds_up = dose(plan, about.catalogue, about.figures)
    count = say.say("paper.sets-a-day", sets=adds_up.sets_a_day, contractions=adds_up.a_day.contractions)
    return (*lines, count)


def _programme(about: About, most: int, say: Words) -> Section:
    current = about.record.current
    if about.discharge:
        kept = about.maintenance
        plan = kept.plan if kept else current.prescription if current else None
        lines = _lines_of(plan, about, most, say) if plan else (say.say("paper.no-programme"),)
        if kept is None:
            lines = (say.say("paper.maintenance-none"), *lines)
        elif kept.until_on:
            owner = kept.owner or about.therapist
            lines += (say.say("paper.maintenance-until", on=full_date(kept.until_on, say), owner=owner),)
        return Section(say.say("paper.maintenance"), lines)
    if current is None:
        return Section(say.say("paper.programme"), (say.say("paper.no-programme"),))
    version = say.say(
        "paper.version",
        number=current.number,
        on=full_date(current.prescription.starts_on, say),
        by=current.by,
        signed=full_date(about.record.local_day(current.put_in_force_at), say),
    )
    return Section(say.say("paper.programme"), (version, *_lines_of(current.prescription, about, most, say)))


def _newest(lines: Sequence[str], most: int, say: Words) -> tuple[str, ...]:
    """The newest lines first, and how many more there are."""
    left = len(lines) - most
    return (*reversed(lines[-most:]), *((say.say("paper.more", more=left),) if left > 0 else ()))


def _alerts(about: About, most: int, say: Words) -> Section:
    lines = [_alert(one, about, say) for one in about.record.alerts]
    return Section(say.say("paper.alerts"), _newest(lines, most, say) or (say.say("paper.no-alerts"),))


def _alert(of: AlertRecord, about: About, say: Words) -> str:
    alert, record = of.alert, about.record
    if alert.closed_at is None or alert.outcome is None:
        later = alert.level is Level.NEXT_REVIEW
        outcome = say.say("paper.alert-kept" if later else "paper.alert-open")
    else:
        name = say.say(f"outcome.{alert.outcome.value}")
        notes = (note.removeprefix(name).strip(" .:") for note in of.closing_notes)
        note = "; ".join(note for note in notes if note and not _SIGNED_ONLY.fullmatch(note))
        outcome = say.say(
            "paper.alert-noted" if note else "paper.alert-closed",
            on=short_date(record.local_day(alert.closed_at), record, say),
            outcome=name,
            note=shortened(note),
        )
    return say.say(
        "paper.alert",
        on=short_date(record.local_day(alert.raised_at), record, say),
        level=say.say(f"level.{alert.level.value}"),
        signs=", ".join(about.signs.get(sign, sign).lower() for sign in alert.signs),
        outcome=outcome,
    )


def _asked(record: ClientRecord, most: int, say: Words) -> Section:
    def on(at: dt.datetime) -> str:
        return short_date(record.local_day(at), record, say)

    def answer(call: CallAsked) -> str:
        if call.answered_at is None:
            return say.say("paper.call-open")
        return say.say("paper.call-answered", on=on(call.answered_at))

    told = [
        (call.asked_at, say.say("paper.call", on=on(call.asked_at), answered=answer(call)))
        for call in record.calls
    ]
    told += [
        (note.said_at, say.say("paper.note", on=on(note.said_at), text=shortened(note.text)))
        for note in record.notes
    ]
    told += [
        (note.at, say.say("paper.to-her", on=on(note.at), by=note.by, text=shortened(note.text)))
        for note in record.to_her
    ]
    lines = [line for _, line in sorted(told)]
    return Section(say.say("paper.asked"), _newest(lines, most, say) or (say.say("paper.no-asked"),))


def _changed(about: About, most: int, say: Words) -> Section:
    record = about.record
    told = [
        (
            after.prescription.starts_on,
            say.say(
                "paper.change",
                on=short_date(after.prescription.starts_on, record, say),
                number=after.number,
                changes=shortened("; ".join(_what_changed(before, after, about)))
                or say.say("paper.unchanged"),
            ),
        )
        for before, after in zip(record.versions, record.versions[1:], strict=False)
    ]
    told += [
        (
            review.on,
            say.say(
                "paper.review-line",
                on=short_date(review.on, record, say),
                outcome=say.say(f"review.{review.outcome.value}"),
                reason=f": {shortened(review.reason).rstrip('.')}" if review.reason else "",
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
        (*(_newest(lines, most, say) or (say.say("paper.no-changed"),)), *visits),
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
