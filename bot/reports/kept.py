"""All that is kept of a client, as a text file for her."""

import datetime as dt
import json
from collections.abc import Iterator, Mapping, Sequence
from typing import Any

from bot.domain.client_record import ClientRecord
from bot.domain.local_time import local


def text(record: ClientRecord, plans: Sequence[Mapping[str, Any]], cues: Sequence[str]) -> str:
    """The file: her plan, her answers, what she wrote, what was passed on and what came of it.

    plans: each version's whole document, in the order of `record.versions`. cues: the moments she tied her
    reminders to. Times are her own. The number of her chat is the only thing kept of her that is left out.
    """
    return "\n".join(_lines(record, plans, cues)) + "\n"


def _lines(record: ClientRecord, plans: Sequence[Mapping[str, Any]], cues: Sequence[str]) -> Iterator[str]:
    def at(instant: dt.datetime | None) -> str:
        return "-" if instant is None else f"{local(instant, record.zone):%Y-%m-%d %H:%M}"

    client = record.client
    yield f"What is kept of {client.code}, as of {at(record.at)} ({record.zone.key})"
    yield f"language {client.language}, stage {client.stage.value}, initials {client.initials or '-'}"
    yield f"a baby at home: {'yes' if client.baby_at_home else 'no'}"
    yield f"agreed to take part: {record.joined_on or '-'}"
    yield ""
    yield "Plans"
    for version, plan in zip(record.versions, plans, strict=True):
        yield f"  {version.number}, put in force {at(version.put_in_force_at)} by {version.by}"
        yield json.dumps(plan, ensure_ascii=False, indent=2)
    yield f"Moments you tied your reminders to: {', '.join(filter(None, cues)) or '-'}"
    yield "Sets you reported (day, what was said, number, when)"
    for report in record.reports:
        yield f"  {report.on} {report.meaning.value} {report.value} {at(report.said_at)}"
    yield "Answers to the short questions (day, question, answer, when)"
    for told in record.symptoms:
        answer = "skipped" if told.value is None else told.value
        yield f"  {told.on} {told.question} {answer} {at(told.said_at)}"
    yield "What you wrote and the bot could not read (when, text, when your therapist opened it)"
    for note in record.notes:
        yield f"  {at(note.said_at)} {note.text!r} {at(note.read_at)}"
    yield "What your therapist wrote to you (when, text)"
    for sent in record.to_her:
        yield f"  {at(sent.at)} {sent.text!r}"
    yield "Warnings passed on (when, level, signs, your words, what came of it)"
    for kept in record.alerts:
        alert = kept.alert
        outcome = "open" if alert.outcome is None else alert.outcome.value
        signs = ", ".join(alert.signs)
        yield f"  {at(alert.raised_at)} {alert.level.value} {signs} {alert.words!r} {outcome}"
        for step in kept.steps:
            yield f"    {at(step.at)} {step.kind} {step.note or ''}".rstrip()
    yield "When you asked to be rung up (asked, done)"
    for call in record.calls:
        yield f"  {at(call.asked_at)} {at(call.answered_at)}"
    yield "Breaks (kind, reason, day, until)"
    for pause in record.pauses:
        yield f"  {pause.kind} {pause.reason or '-'} {pause.on} {pause.until or '-'}"
    yield "Visits (day, attendance)"
    for visit in record.visits:
        yield f"  {visit.on} {visit.attendance.value}"
    yield "Reviews (day, what they ended in, why)"
    for review in record.reviews:
        yield f"  {review.on} {review.outcome.value} {review.reason}"
