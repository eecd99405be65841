"""What lies ahead of each client: the next step of her dose, and gates that are ready or lift by a date."""

import datetime as dt
import uuid
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Any
from zoneinfo import ZoneInfo

from bot.domain import attention, dose, gating, local_time, progress
from bot.domain.adherence import Day
from bot.domain.alerts import Outcome
from bot.domain.client_week import ClientWeek
from bot.domain.day_book import fold
from bot.domain.findings import Dated
from bot.domain.gating import Decision, GateState, Record, SignSpan
from bot.domain.levels import Level
from bot.domain.prescription import InForce, in_force, prescribed_sets
from bot.domain.progress import Measure, Situation, Technique
from bot.rules import prescription_file
from bot.rules.rulebook import Rulebook
from bot.service.programme import day_state, read_whole
from bot.store import diary
from bot.store.base import Tx
from bot.store.diary import PauseEvent
from bot.store.window import AlertRow, Answers, Plans

SIGNS_WITHIN = dt.timedelta(weeks=3)  # of alerts looked at here: longer than a sign counts as new
TECHNIQUE = "technique"
"""The question about her own answer, as it stands among the symptom reports."""
_ANSWERS = {2: Technique.ALL, 1: Technique.UNSURE, 0: Technique.NOT_ALL}
VALUES = {answer: value for value, answer in _ANSWERS.items()}
_LIMITS = attention.Limits()

Found = list[tuple[dt.date, dict[str, Any]]]


@dataclass(frozen=True, slots=True)
class Known:
    """The rows of some clients, by client. findings: what was found at visits, day and fields.

    versions: their prescriptions in outline. zones: where each lives,
    or the clinic's while hers is not known.
    """

    zones: Mapping[uuid.UUID, ZoneInfo]
    plans: Mapping[uuid.UUID, Plans]
    versions: Mapping[uuid.UUID, tuple[InForce, ...]]
    alerts: Mapping[uuid.UUID, list[AlertRow]]
    answers: Mapping[uuid.UUID, Answers]
    pauses: Mapping[uuid.UUID, list[PauseEvent]]
    findings: Mapping[uuid.UUID, Found]


def with_findings(document: Mapping[str, Any], found: Found) -> dict[str, Any]:
    """A stored prescription with what was found at visits since; findings of one day become one."""
    by_day: dict[str, dict[str, Any]] = {entry["on"]: dict(entry) for entry in document.get("findings", ())}
    for on, fields in found:
        by_day[f"{on}"] = {**by_day.get(f"{on}", {}), "on": f"{on}", **fields}
    return {**document, "findings": [by_day[on] for on in sorted(by_day)]}


def technique_of(answers: Answers) -> Dated[Technique] | None:
    """Her newest answer about how she does her sets."""
    told = [(on, value) for on, value in answers.get(TECHNIQUE, ()) if value in _ANSWERS]
    return Dated(told[-1][0], _ANSWERS[told[-1][1]]) if told else None


def judged(
    tx: Tx, weeks: Mapping[uuid.UUID, ClientWeek], known: Known, book: Rulebook
) -> dict[uuid.UUID, ClientWeek]:
    """The weeks with what to consider, and the gates that are ready or lift by a date.

    The days that decide are read only for those whose findings allow a step at all.
    """
    current = {client_id: _current(client_id, week.today, known) for client_id, week in weeks.items()}
    open_to = [
        client_id
        for client_id, held in current.items()
        if held and not dose.against_more(held.record.findings, weeks[client_id].today)
    ]
    first_on = min((weeks[one].today for one in open_to), default=dt.date.min)
    since_on = first_on - dt.timedelta(days=book.criteria.window_days) if open_to else first_on
    reports = diary.set_reports(tx, open_to, since_on) if open_to else {}
    totals = {one: fold(reports.get(one, ())).totals for one in open_to}
    return {
        client_id: _judged(client_id, week, current[client_id], known, totals.get(client_id), book)
        for client_id, week in weeks.items()
    }


@dataclass(frozen=True, slots=True)
class _Current:
    """The version that holds, every version of the window, and what is on record."""

    version: InForce
    versions: tuple[InForce, ...]
    record: Record


def _current(client_id: uuid.UUID, today: dt.date, known: Known) -> _Current | None:
    plans = known.plans.get(client_id)
    if plans is None:
        return None
    outlines = known.versions[client_id]
    held = in_force(outlines, today)
    if held is None:
        return None
    document = dict(plans.documents)[held.version]
    found = known.findings.get(client_id, [])
    if not document.get("findings") and not document.get("birth") and not found:
        return _Current(held, outlines, Record())  # nothing is known of her: no step, no gate
    plan, record = read_whole(client_id, held.version, document)
    if found:
        whole = prescription_file.from_document(with_findings(document, found), "stored")
        record = prescription_file.record(whole)
    return _Current(InForce(held.version, plan), outlines, record)


def _judged(
    client_id: uuid.UUID,
    week: ClientWeek,
    current: _Current | None,
    known: Known,
    totals: Mapping[dt.date, int] | None,
    book: Rulebook,
) -> ClientWeek:
    if current is None:
        return week
    signs = tuple(_signs(known.alerts.get(client_id, ()), known.zones[client_id]))
    days: tuple[Day, ...] = ()
    if totals is not None:
        pauses = known.pauses.get(client_id, [])
        first = max(week.joined_on, week.today - dt.timedelta(days=book.criteria.window_days))
        on_record = [first + dt.timedelta(days=n) for n in range((week.today - first).days)]
        days = tuple(
            Day(on, prescribed_sets(current.versions, on), totals.get(on), day_state(pauses, on))
            for on in on_record
        )
    judgement = progress.judge(
        Situation(
            today=week.today,
            version=current.version,
            days=days,
            findings=current.record.findings,
            open_signs=sum(alert.pushed for alert in week.alerts),
            signs_on=tuple(sign.opened_on for sign in signs),
            stopped=week.stopped_by is not None,
            paused=week.paused_until_on is not None,
            silent=week.silent_days >= _LIMITS.silent_days,
            worse=_worse(week),
            technique=technique_of(known.answers.get(client_id, {})),
        ),
        book.criteria,
        book.catalogue,
    )
    record = replace(current.record, signs=(*current.record.signs, *signs))
    ready, lifts_on = _gates(record, week.today, book)
    return replace(week, judgement=judgement, gates_ready=ready, gate_lifts_on=lifts_on)


def _worse(week: ClientWeek) -> frozenset[Measure]:
    return frozenset(
        measure
        for measure, series, by in (
            (Measure.LEAKS, week.leaks, _LIMITS.leaks_up),
            (Measure.HEAVINESS, week.heaviness, _LIMITS.rating_up),
            (Measure.PAIN, week.pain, _LIMITS.rating_up),
        )
        if attention.rose(series, by)
    )


def _signs(alerts: Sequence[AlertRow], zone: ZoneInfo) -> Iterator[SignSpan]:
    """The alerts that count as warning signs: not what waits for the next review, and no false alarm."""
    for alert in alerts:
        if alert.level is not Level.NEXT_REVIEW and alert.outcome is not Outcome.FALSE_ALARM:
            closed_on = None if alert.closed_at is None else local_time.local_date(alert.closed_at, zone)
            yield SignSpan("alert", local_time.local_date(alert.raised_at, zone), closed_on)


def _gates(record: Record, today: dt.date, book: Rulebook) -> tuple[int, dt.date | None]:
    """How many exercises wait for a release, and the next day on which only a date stood in the way."""
    if record.birth is None and not record.findings:
        return 0, None
    decisions = gating.gates(book.catalogue, record, today, book.limits)
    dates = [on for one in decisions if (on := _lifts_on(one)) is not None and on >= today]
    ready = sum(one.state is GateState.READY_FOR_REVIEW for one in decisions)
    return ready, min(dates, default=None)


def _lifts_on(decision: Decision) -> dt.date | None:
    return decision.earliest_on if decision.state is GateState.NOT_YET else None
