"""What lies ahead of each client: the next step of her dose, and gates that are ready or lift by a date."""

import datetime as dt
import uuid
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from typing import Any, NamedTuple
from zoneinfo import ZoneInfo

from bot.domain import attention, dose, gating, local_time, progress
from bot.domain.alerts import Outcome
from bot.domain.client_week import ClientWeek
from bot.domain.day_book import Said, fold_in_order
from bot.domain.findings import Dated
from bot.domain.gating import Decision, GateState, Record, SignSpan
from bot.domain.levels import Level
from bot.domain.prescription import InForce, in_force
from bot.domain.progress import Measure, Situation, Technique
from bot.rules import prescription_file
from bot.rules.rulebook import Rulebook
from bot.service.programme import days_of, read_whole
from bot.store.diary import PauseEvent
from bot.store.window import Window
from bot.store.window_rows import AlertRow, Key, Plans

SIGNS_WITHIN = dt.timedelta(weeks=3)  # of alerts looked at here: longer than a sign counts as new
TECHNIQUE = "technique"
"""The question about her own answer, as it stands among the symptom reports."""
_ANSWERS = {2: Technique.ALL, 1: Technique.UNSURE, 0: Technique.NOT_ALL}
VALUES = {answer: value for value, answer in _ANSWERS.items()}
_LIMITS = attention.Limits()

Found = list[tuple[dt.date, dict[str, Any]]]


class Told(NamedTuple):
    """A client and her week. zone: where she lives, or the clinic's while hers is not known."""

    key: Key
    id: uuid.UUID
    zone: ZoneInfo
    week: ClientWeek


@dataclass(frozen=True, slots=True)
class Known:
    """The rows of some clients, by client. findings: what was found at visits, day and fields.

    versions: their prescriptions in outline.
    """

    plans: Mapping[Key, Plans]
    versions: Mapping[Key, tuple[InForce, ...]]
    alerts: Mapping[Key, list[AlertRow]]
    pauses: Mapping[Key, list[PauseEvent]]
    findings: Mapping[Key, Found]


def with_findings(document: Mapping[str, Any], found: Found) -> dict[str, Any]:
    """A stored prescription with what was found at visits since; findings of one day become one."""
    by_day: dict[str, dict[str, Any]] = {entry["on"]: dict(entry) for entry in document.get("findings", ())}
    for on, fields in found:
        by_day[f"{on}"] = {**by_day.get(f"{on}", {}), "on": f"{on}", **fields}
    return {**document, "findings": [by_day[on] for on in sorted(by_day)]}


def technique_of(answers: Sequence[tuple[dt.date, int]]) -> Dated[Technique] | None:
    """Her newest answer about how she does her sets."""
    told = [(on, value) for on, value in answers if value in _ANSWERS]
    return Dated(told[-1][0], _ANSWERS[told[-1][1]]) if told else None


def judged(window: Window, clients: Sequence[Told], known: Known, book: Rulebook) -> list[ClientWeek]:
    """The weeks with what to consider, and the gates that are ready or lift by a date.

    The days that decide are read only for those whose findings allow a step at all.
    """
    current = [_current(of, known) for of in clients]
    held = zip(clients, current, strict=True)
    open_to = [of for of, now in held if now and not dose.against_more(now.record.findings, of.week.today)]
    more = _More.read(window, open_to, book)
    return [_judged(of, now, known, more, book) for of, now in zip(clients, current, strict=True)]


@dataclass(frozen=True, slots=True)
class _More:
    """What decides beyond the week, of those whose findings allow a step: reports and her own answers."""

    keys: frozenset[Key] = frozenset()
    reports: Mapping[Key, list[Said]] = field(default_factory=dict)
    technique: Mapping[Key, list[tuple[dt.date, int]]] = field(default_factory=dict)

    @classmethod
    def read(cls, window: Window, of: Sequence[Told], book: Rulebook) -> "_More":
        if not of:
            return cls()
        ids = [one.id for one in of]
        first_on = min(one.week.today for one in of)
        return cls(
            frozenset(one.key for one in of),
            window.set_reports(first_on - dt.timedelta(days=book.criteria.window_days), ids),
            window.answers_in_order(
                TECHNIQUE, first_on - dt.timedelta(weeks=book.criteria.technique_weeks.value), ids
            ),
        )


class _Current(NamedTuple):
    """The version that holds, every version of the window, and what is on record."""

    version: InForce
    versions: tuple[InForce, ...]
    record: Record


_NOTHING = Record()


def _current(of: Told, known: Known) -> _Current | None:
    plans = known.plans.get(of.key)
    if plans is None:
        return None
    outlines = known.versions[of.key]
    held = in_force(outlines, of.week.today)
    if held is None:
        return None
    document = next(document for version, document in plans.documents if version == held.version)
    found = known.findings.get(of.key, [])
    if not document.get("findings") and not document.get("birth") and not found:
        return _Current(held, outlines, _NOTHING)  # nothing is known of her: no step, no gate
    plan, record = read_whole(of.id, held.version, document)
    if found:
        whole = prescription_file.from_document(with_findings(document, found), "stored")
        record = prescription_file.record(whole)
    return _Current(InForce(held.version, plan), outlines, record)


def _judged(of: Told, current: _Current | None, known: Known, more: _More, book: Rulebook) -> ClientWeek:
    week = of.week
    if current is None:
        return week
    alerts = known.alerts.get(of.key)
    signs = tuple(_signs(alerts, of.zone)) if alerts else ()
    situation = Situation(
        today=week.today,
        version=current.version,
        findings=current.record.findings,
        open_signs=sum(alert.pushed for alert in week.alerts),
        signs_on=tuple(sign.opened_on for sign in signs),
        stopped=week.stopped_by is not None,
        paused=week.paused_until_on is not None,
        silent=week.silent_days >= _LIMITS.silent_days,
    )
    if of.key in more.keys:
        first = max(week.joined_on, week.today - dt.timedelta(days=book.criteria.window_days))
        totals = fold_in_order(more.reports.get(of.key, ())).totals
        situation = replace(
            situation,
            days=days_of(current.versions, totals, known.pauses.get(of.key, ()), first, week.today),
            worse=_worse(week),
            technique=technique_of(more.technique.get(of.key, ())),
        )
    judgement = progress.judge(situation, book.criteria, book.catalogue)
    ready, lifts_on = _gates(current.record, signs, week.today, book)
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


def _gates(
    record: Record, signs: tuple[SignSpan, ...], today: dt.date, book: Rulebook
) -> tuple[int, dt.date | None]:
    """How many exercises wait for a release, and the next day on which only a date stood in the way."""
    if record.birth is None and not record.findings:
        return 0, None
    record = replace(record, signs=(*record.signs, *signs))
    decisions = gating.gates(book.catalogue, record, today, book.limits)
    dates = [on for one in decisions if (on := _lifts_on(one)) is not None and on >= today]
    ready = sum(one.state is GateState.READY_FOR_REVIEW for one in decisions)
    return ready, min(dates, default=None)


def _lifts_on(decision: Decision) -> dt.date | None:
    return decision.earliest_on if decision.state is GateState.NOT_YET else None
