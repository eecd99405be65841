"""Digest, summary and diary as JSON and CSV. Plain values in, plain values out."""

import csv
import datetime as dt
import io
from collections.abc import Iterable, Sequence
from dataclasses import asdict
from typing import Any

from bot.domain import estimates, stretches
from bot.domain.adherence import Day
from bot.domain.attention import Line
from bot.domain.client_record import AlertRecord, ClientRecord, Told
from bot.domain.day_book import SetReport
from bot.domain.extras import beside
from bot.domain.prescription import in_force
from bot.domain.symptoms import Change, Course
from bot.domain.trend import Span, Weekly, trend
from bot.reports import figures
from bot.reports.digest import Digest
from bot.reports.summary_parts import About
from bot.reports.words import Words

FIGURES = ("prescribed", "done", "lower", "upper", "on_answered", "answered_share")


def digest(of: Digest, say: Words) -> list[dict[str, Any]]:
    """The clients in the order of attention."""
    return [_client(line, say) for line in of.lines]


def _client(line: Line, say: Words) -> dict[str, Any]:
    week, judgement = line.client, line.client.judgement
    return {
        "client": line.code,
        "why": [say.reason(why) or say.label(why) for why in line.reasons],
        "rank": line.rank.name.lower(),
        "prescribed": line.figures.prescribed,
        "done": line.figures.done,
        **figures.shares(line.figures),
        "advice": None if judgement is None else judgement.advice.value,
        "grounds": [] if judgement is None else [ground.value for ground in judgement.grounds],
        "extra": line.figures.extra,
        "paused_days": line.figures.paused_days,
        "stopped_days": line.figures.stopped_days,
        "days": days(week.days),
        "symptoms": {
            name: weekly(series)
            for name, series in (("leaks", week.leaks), ("heaviness", week.heaviness), ("pain", week.pain))
            if series
        },
        "closed_alerts": [
            {
                "level": alert.level.value,
                "raised_on": _iso(alert.raised_on),
                "closed_on": _iso(alert.closed_on),
                "outcome": alert.outcome.value,
            }
            for alert in week.closed
        ],
        "signs_for_review": sum(not alert.pushed for alert in week.alerts),
    }


def digest_csv(of: Digest, say: Words) -> str:
    """The same as a table, a row for each client; shares are not rounded, what is unknown is empty."""
    rows = [{**entry, "why": "; ".join(entry["why"])} for entry in digest(of, say)]
    return table(("client", "why", *FIGURES, "extra", "paused_days", "stopped_days", "advice"), rows)


def table(columns: Sequence[str], rows: Iterable[dict[str, Any]]) -> str:
    """Rows as CSV with a line of headings; texts that a spreadsheet would take for a formula are defused."""
    out = io.StringIO(newline="")
    writer = csv.writer(out, lineterminator="\r\n")
    writer.writerow(columns)
    writer.writerows([_cell(row.get(column)) for column in columns] for row in rows)
    return out.getvalue()


def _cell(value: object) -> object:
    if value is None:
        return ""
    if isinstance(value, str) and value[:1] in {"=", "+", "-", "@", "\t"}:
        return f"'{value}"
    return value


def _iso(at: dt.date | dt.datetime | None) -> str | None:
    return None if at is None else at.isoformat()


def days(of: Sequence[Day]) -> list[dict[str, Any]]:
    """Days one by one; `reported` is null where nobody answered."""
    return [
        {
            "date": _iso(day.on),
            "prescribed": day.prescribed,
            "reported": day.reported,
            "state": day.state.value,
        }
        for day in of
    ]


def span(of: Span | None) -> dict[str, float | None] | None:
    """A figure as its range; `high` is null for an open one."""
    return None if of is None else {"low": of.low, "high": of.high}


def weekly(of: Weekly) -> dict[str, Any]:
    """A weekly figure with where it goes: the words, and from five values on the slope with its interval."""
    slope = estimates.slope(of)
    return {
        "weeks": [span(one) for one in of],
        "trend": trend(of).value,
        "slope": None if slope is None else asdict(slope),
    }


def _course(of: Course) -> dict[str, Any]:
    return {
        "question": of.question,
        **weekly(of.weekly),
        "weeks": [
            {"first_on": _iso(week.first_on), "median": span(week.median), "answers": week.answers}
            for week in of.weeks
        ],
        "baseline": span(of.baseline),
        "since_baseline": _change(of.since_baseline),
        "since_last_week": _change(of.since_last_week),
    }


def _change(of: Change | None) -> dict[str, Any] | None:
    if of is None:
        return None
    return {
        "points": list(of.points),
        "percent": list(of.percent),
        "verdict": None if of.verdict is None else of.verdict.value,
    }


def summary(of: About) -> dict[str, Any]:
    """Everything the summary of a client says, and what had no room on its page."""
    record = of.record
    return {
        "client": record.client.code,
        "at": _iso(record.at),
        "zone": record.zone.key,
        "today": _iso(record.today),
        "joined_on": _iso(record.joined_on),
        "programme": None if record.current is None else record.current.number,
        "versions": [
            {
                "version": version.number,
                "starts_on": _iso(version.prescription.starts_on),
                "review_on": _iso(version.prescription.review_on),
                "sets_a_day": version.prescription.sets_a_day,
                "exercises": sorted(version.prescription.exercises),
                "put_in_force_at": _iso(version.put_in_force_at),
                "by": version.by,
            }
            for version in record.versions
        ],
        "adherence": [
            {
                "of": stretch.of.value,
                "first_on": _iso(stretch.first_on),
                "last_on": _iso(stretch.last_on),
                **figures.adherence(stretch.days),
                "contractions": asdict(stretch.work),
                "beside_the_sets": [
                    asdict(one) for one in beside(record.extras, record.in_force, stretch.days)
                ],
            }
            for stretch in stretches.stretches(record, of.catalogue, of.figures)
        ],
        "weeks": [
            {
                "first_on": _iso(week.first_on),
                **{
                    name: value
                    for name, value in {**asdict(week.figures), **figures.shares(week.figures)}.items()
                    if name in FIGURES
                },
            }
            for week in stretches.weeks(record)
        ],
        "symptoms": [_course(course) for course in stretches.courses(record)],
        "alerts": [_alert(one, of) for one in record.alerts],
        "calls": [
            {"asked_at": _iso(call.asked_at), "answered_at": _iso(call.answered_at)} for call in record.calls
        ],
        "notes": [
            {"said_at": _iso(note.said_at), "read_at": _iso(note.read_at), "text": note.text}
            for note in record.notes
        ],
        "visits": [{"on": _iso(visit.on), "attendance": visit.attendance.value} for visit in record.visits],
        "reviews": [
            {
                "on": _iso(review.on),
                "outcome": review.outcome.value,
                "reason": review.reason,
                "next_on": _iso(review.next_on),
                "by": review.by,
            }
            for review in record.reviews
        ],
        "discharge": of.discharge,
        "discharged": None
        if of.discharged is None
        else {"at": _iso(of.discharged.at), "reason": of.discharged.reason, "by": of.discharged.by},
        "maintenance": None
        if of.maintenance is None
        else {
            "sets_a_day": of.maintenance.plan.sets_a_day,
            "exercises": sorted(of.maintenance.plan.exercises),
            "until_on": _iso(of.maintenance.until_on),
            "owner": of.maintenance.owner,
        },
    }


def _alert(of: AlertRecord, about: About) -> dict[str, Any]:
    alert = of.alert
    return {
        "level": alert.level.value,
        "signs": [{"id": sign, "title": about.signs.get(sign, sign)} for sign in alert.signs],
        "words": alert.words,
        "raised_at": _iso(alert.raised_at),
        "seen_at": _iso(alert.seen_at),
        "closed_at": _iso(alert.closed_at),
        "outcome": None if alert.outcome is None else alert.outcome.value,
        "steps": [{"kind": step.kind, "at": _iso(step.at), "note": step.note} for step in of.steps],
    }


def summary_csv(of: About) -> str:
    """Her programme week by week as a table: figures and the weekly medians."""
    courses = stretches.courses(of.record)
    rows = []
    for week in stretches.weeks(of.record):
        first_on = week.days[-1].on - dt.timedelta(days=6)
        medians = {
            course.question: _span_text(one.median)
            for course in courses
            for one in course.weeks
            if one.first_on == first_on
        }
        shares = figures.shares(week.figures)
        rows.append({"week_from": _iso(week.first_on), **asdict(week.figures), **shares, **medians})
    return table(("week_from", *FIGURES, *(course.question for course in courses)), rows)


def _span_text(of: Span | None) -> str:
    if of is None:
        return ""
    if of.high is None:
        return f"{of.low:g}+"
    return f"{of.low:g}" if of.low == of.high else f"{of.low:g} to {of.high:g}"


DIARY = ("date", "prescribed", "reported", "state", "version")


def diary(record: ClientRecord) -> list[dict[str, Any]]:
    """Her whole days, each with its version, what she answered, and every report as it was said."""
    taken_back = {report.undoes for report in record.reports} - {""}
    said: dict[dt.date, list[SetReport]] = {}
    for report in record.reports:
        said.setdefault(report.on, []).append(report)
    told: dict[dt.date, list[Told]] = {}
    for one in record.symptoms:
        told.setdefault(one.on, []).append(one)
    found = []
    for day in record.days:
        held = in_force(record.in_force, day.on)
        found.append(
            {
                **days([day])[0],
                "version": held.version if held else None,
                "reports": [
                    {
                        "meaning": report.meaning.value,
                        "value": report.value,
                        "said_at": _iso(report.said_at),
                        "taken_back": report.key in taken_back,
                    }
                    for report in said.get(day.on, ())
                ],
                "symptoms": [
                    {"question": one.question, "value": one.value, "said_at": _iso(one.said_at)}
                    for one in told.get(day.on, ())
                ],
            }
        )
    return found


def diary_csv(record: ClientRecord) -> str:
    """Her diary as a table: a row for each whole day; the adherence verb reads its first four columns."""
    asked = list(dict.fromkeys(told.question for told in record.symptoms))
    rows = []
    for entry in diary(record):
        answers = {told["question"]: told["value"] for told in entry["symptoms"]}
        rows.append({**entry, **answers})
    return table((*DIARY, *asked), rows)
