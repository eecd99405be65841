"""A client's prescription, reports and alerts as a bundle of HL7 FHIR R4B (4.3.0), for the clinic's records.

R4B and not R4, since the maintained library that checks it in the tests offers no R4; what is used here has
the same shape in both. Codes are local where no confirmed one exists; pain carries its LOINC code too.
"""

import datetime as dt
import uuid
from collections.abc import Iterator
from typing import Any

from bot.conversation import prescribing_words
from bot.conversation.client import SAID
from bot.domain import extras
from bot.domain.adherence import Day
from bot.domain.check_in import QUESTIONS, span_of
from bot.domain.client_record import AlertRecord, Told, Version
from bot.domain.levels import Level
from bot.domain.prescription import Adjunct, Contractions
from bot.reports.summary_parts import About

VERSION = "4.3.0"
CODES = "https://programme-bot.invalid/fhir/codes"
CLIENTS = "https://programme-bot.invalid/fhir/clients"
UCUM = "http://unitsofmeasure.org"
LOINC = "http://loinc.org"
PAIN = {"system": LOINC, "code": "72514-3"}  # pain severity, 0 to 10 verbal numeric rating (read)
ABSENT = "http://terminology.hl7.org/CodeSystem/data-absent-reason"
DAYS = ("mon", "tue", "wed", "thu", "fri", "sat", "sun")
PRIORITY = {
    Level.EMERGENCY: "stat",
    Level.SAME_DAY: "urgent",
    Level.THERAPIST: "asap",
    Level.NEXT_REVIEW: "routine",
}
_NAMES = uuid.uuid5(uuid.NAMESPACE_URL, CODES)

Resource = dict[str, Any]


def bundle(of: About) -> Resource:
    """The whole as a collection; the same record gives the same ids."""
    return {
        "resourceType": "Bundle",
        "id": _id(of, "bundle"),
        "type": "collection",
        "timestamp": _instant(of.record.at),
        "entry": [
            {"fullUrl": f"urn:uuid:{resource['id']}", "resource": resource} for resource in _resources(of)
        ],
    }


def _id(of: About, *parts: object) -> str:
    return str(uuid.uuid5(_NAMES, ":".join(map(str, (of.record.client.id, *parts)))))


def _instant(at: dt.datetime) -> str:
    return at.astimezone(dt.UTC).isoformat(timespec="seconds").replace("+00:00", "Z")


def _to(of: About, *parts: object) -> Resource:
    return {"reference": f"urn:uuid:{_id(of, *parts)}"}


def _code(code: str, text: str, *more: Resource) -> Resource:
    return {"coding": [{"system": CODES, "code": code}, *more], "text": text}


def _resources(of: About) -> Iterator[Resource]:
    record = of.record
    yield {
        "resourceType": "Patient",
        "id": _id(of, "patient"),
        "extension": [
            {"url": "http://hl7.org/fhir/StructureDefinition/timezone", "valueCode": record.zone.key}
        ],
        "identifier": [{"system": CLIENTS, "value": record.client.code}],
    }
    for version in record.versions:
        yield from _version(of, version)
    for day in record.days:
        if day.due or day.answered:
            yield _sets(of, day)
    for (on, exercise), times in sorted(extras.told(record.extras).items()):
        yield _beside(of, on, exercise, times)
    for number, told in enumerate(record.symptoms):
        yield _answer(of, told, number)
    for number, alert in enumerate(record.alerts):
        yield from _alert(of, alert, number)


def _version(of: About, version: Version) -> Iterator[Resource]:
    """A version as a plan with a request for each exercise."""
    current, plan = of.record.current, version.prescription
    later = [v.prescription.starts_on for v in of.record.versions if v.number > version.number]
    last_on = min((on - dt.timedelta(days=1) for on in later), default=None)
    status = "active" if current and current.number == version.number else "revoked" if later else "draft"
    if of.discharge and status == "active":
        status = "completed"
    period = {"start": plan.starts_on.isoformat()}
    if last_on is not None and last_on >= plan.starts_on:
        period["end"] = last_on.isoformat()
    requests: list[Contractions | Adjunct] = [*plan.contractions, *plan.adjuncts]
    yield {
        "resourceType": "CarePlan",
        "id": _id(of, "plan", version.number),
        "status": status,
        "intent": "plan",
        "title": f"Home programme, version {version.number}",
        "subject": _to(of, "patient"),
        "period": period,
        "created": _instant(version.put_in_force_at),
        "author": {"display": f"therapist {version.by}"},
        "activity": [
            {"reference": _to(of, "request", version.number, place)} for place in range(len(requests))
        ],
        "note": [{"text": f"Review on {plan.review_on.isoformat()}"}],
    }
    for place, part in enumerate(requests):
        yield {
            "resourceType": "ServiceRequest",
            "id": _id(of, "request", version.number, place),
            "status": status,
            "intent": "plan",
            "code": _code(part.exercise, of.catalogue.title(part.exercise)),
            "subject": _to(of, "patient"),
            "authoredOn": _instant(version.put_in_force_at),
            "requester": {"display": f"therapist {version.by}"},
            "occurrenceTiming": {"repeat": _repeat(version, part, period)},
            "patientInstruction": _in_words(of, part),
        }


def _in_words(of: About, part: Contractions | Adjunct) -> str:
    if isinstance(part, Contractions):
        return prescribing_words.part(part, of.catalogue)
    return prescribing_words.adjunct(part, of.catalogue)


def _repeat(version: Version, part: Contractions | Adjunct, period: Resource) -> Resource:
    """How often: the sets of a day at her local times; her zone stands with the patient."""
    plan = version.prescription
    days = plan.days if part.days is None else part.days
    repeat: Resource = {
        "boundsPeriod": period,
        "frequency": plan.sets_a_day if isinstance(part, Contractions) else part.times_a_day,
        "period": 1,
        "periodUnit": "d",
    }
    if len(days) < len(DAYS):
        repeat["dayOfWeek"] = [DAYS[day] for day in sorted(days)]
    if isinstance(part, Contractions):
        repeat["timeOfDay"] = [at.isoformat("seconds") for at in plan.nudge_times]
    if part.repetitions is not None:
        repeat["count"] = part.repetitions
    return repeat


def _sets(of: About, day: Day) -> Resource:
    """A day's sets as she reported them; silence is a reason why there is no value, never a zero."""
    said = [report.said_at for report in of.record.reports if report.on == day.on]
    made: Resource = {
        "resourceType": "Observation",
        "id": _id(of, "sets", day.on),
        "status": "final",
        "code": _code("sets-done", "Sets done, as reported by the client"),
        "subject": _to(of, "patient"),
        "effectiveDateTime": day.on.isoformat(),
        "component": [
            {
                "code": _code("sets-prescribed", "Sets prescribed"),
                "valueQuantity": _quantity(day.prescribed, "{sets}"),
            },
            {"code": _code("day-state", "State of the day"), "valueString": day.state.value},
        ],
    }
    if said:
        made["issued"] = _instant(max(said))
    if day.reported is None:
        made["dataAbsentReason"] = _absent("temp-unknown")
    else:
        made["valueQuantity"] = _quantity(day.reported, "{sets}")
    return made


def _beside(of: About, on: dt.date, exercise: str, times: int) -> Resource:
    """How often she told of an exercise beside the sets on a day; a day without a word has no entry."""
    title = of.catalogue.title(exercise)
    return {
        "resourceType": "Observation",
        "id": _id(of, "beside", on, exercise),
        "status": "final",
        "code": _code(exercise, f"{title}, done beside the sets, as reported by the client"),
        "subject": _to(of, "patient"),
        "effectiveDateTime": on.isoformat(),
        "valueQuantity": _quantity(times, "{times}"),
    }


def _quantity(value: float, unit: str) -> Resource:
    return {"value": value, "unit": unit, "system": UCUM, "code": unit}


def _absent(reason: str) -> Resource:
    return {"coding": [{"system": ABSENT, "code": reason}]}


def _answer(of: About, told: Told, number: int) -> Resource:
    """An answer of a check-in: a range as she tapped it, open at the top where the button was."""
    question = told.question.removesuffix(SAID)
    unit = {"leaks": "{episodes}/wk", "doming": "1"}.get(question, "{score}")
    more = (PAIN,) if question == "pain" and told.question == question else ()
    made: Resource = {
        "resourceType": "Observation",
        "id": _id(of, "answer", number),
        "status": "final",
        "code": _code(told.question, f"{question}, as reported by the client", *more),
        "subject": _to(of, "patient"),
        "effectiveDateTime": told.on.isoformat(),
        "issued": _instant(told.said_at),
    }
    if told.value is None:
        made["dataAbsentReason"] = _absent("asked-declined")
    elif told.question in QUESTIONS:
        span = span_of(told.question, told.value)
        made["valueRange"] = {"low": _quantity(span.low, unit)}
        if span.high is not None:
            made["valueRange"]["high"] = _quantity(span.high, unit)
    else:
        made["valueQuantity"] = _quantity(told.value, unit)
    return made


def _alert(of: About, one: AlertRecord, number: int) -> Iterator[Resource]:
    """An alert as a flag on her record, and as what was sent to the therapist and came of it."""
    alert = one.alert
    titles = ", ".join(of.signs.get(sign, sign) for sign in alert.signs)
    period = {"start": _instant(alert.raised_at)}
    if alert.closed_at is not None:
        period["end"] = _instant(alert.closed_at)
    yield {
        "resourceType": "Flag",
        "id": _id(of, "flag", number),
        "status": "active" if alert.closed_at is None else "inactive",
        "code": {
            "coding": [{"system": CODES, "code": sign} for sign in alert.signs],
            "text": f"{alert.level.value.replace('_', ' ')}: {titles}",
        },
        "subject": _to(of, "patient"),
        "period": period,
    }
    told = [step.at for step in one.steps if step.kind == "told"]
    message: Resource = {
        "resourceType": "Communication",
        "id": _id(of, "alert", number),
        "status": "completed" if told else "preparation",
        "priority": PRIORITY[alert.level],
        "subject": _to(of, "patient"),
        "about": [_to(of, "flag", number)],
        "recipient": [{"display": f"therapist {of.therapist}"}],
        "payload": [{"contentString": text} for text in (titles, alert.words) if text],
        "note": [
            {"time": _instant(step.at), "text": f"{step.kind}: {step.note}" if step.note else step.kind}
            for step in one.steps
        ],
    }
    if told:
        message["sent"] = _instant(min(told))
    if alert.seen_at is not None:
        message["received"] = _instant(alert.seen_at)
    if alert.outcome is not None:
        message["statusReason"] = _code(alert.outcome.value, alert.outcome.value.replace("_", " "))
    yield {key: value for key, value in message.items() if value != []}
