"""A step of a client's dose: worked out from her newest version, and put in force as the next one."""

import datetime as dt
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

from bot.conversation import prescribing_words as words
from bot.domain import dose, ladder, local_time
from bot.domain.changes import changes
from bot.domain.ladder import Rung, Step
from bot.domain.people import Client
from bot.domain.prescription import InForce, Prescription, in_force
from bot.domain.progress import Ground
from bot.rules import prescription_file
from bot.rules.prescription_file import PrescriptionFile
from bot.rules.rulebook import Rulebook
from bot.service import prospects
from bot.store import people, visits
from bot.store.base import Tx

REVIEW_WEEKS = 4  # a new dose is looked at after so long, unless a later review is agreed; common practice
SOONEST_REVIEW_DAYS = 14


@dataclass(frozen=True, slots=True)
class Made:
    """A step made ready: the file of the next version, what it changes in words, and its dates."""

    step: Step
    file: PrescriptionFile
    changes: tuple[str, ...]
    starts_on: dt.date
    review_on: dt.date


@dataclass(frozen=True, slots=True)
class Now:
    """Where a client stands: the version in force with its whole document, and every finding on record."""

    version: InForce
    document: dict[str, Any]
    newest: int
    today: dt.date


def now_of(tx: Tx, client: Client, at: dt.datetime) -> Now | None:
    """The version that holds today as it was put in force, with what was found at visits since."""
    documents = people.prescription_documents(tx, [client.id]).get(client.id, [])
    today = local_time.day_in(client.zone, at)
    versions = tuple(
        InForce(number, prescription_file.prescription(prescription_file.from_document(document, "stored")))
        for number, document in documents
    )
    held = in_force(versions, today)
    if held is None:
        return None
    found = [
        (on, detail["fields"])
        for on, detail in visits.findings_of(tx, [client.id]).get(client.id, [])
        if detail["fields"]
    ]
    document = prospects.with_findings(dict(documents)[held.version], found)
    return Now(held, document, max(number for number, _ in documents), today)


def against(stands: Now) -> tuple[Ground, ...]:
    """What in her findings stands against any harder step."""
    record = prescription_file.record(prescription_file.from_document(stands.document, "stored"))
    return tuple(Ground(why.value) for why in dose.against_more(record.findings, stands.today))


def first(stands: Now, rules: Rulebook, *, harder: bool) -> Step | None:
    """The first step there is, for a therapist who has decided on a direction herself."""
    if harder and against(stands):
        return None
    rungs = rules.criteria.harder if harder else rules.criteria.easier
    plan = stands.version.prescription
    return next(ladder.steps(plan, rungs, rules.catalogue, harder=harder), None)


def named(stands: Now, rules: Rulebook, name: str) -> Step | None:
    """The step with a name, None if the version is another one by now or there is no such step."""
    number, _, step_name = name.partition(".")
    if number != f"{stands.version.version}" or stands.newest != stands.version.version:
        return None
    return next((step for step in _every(stands, rules) if step.name == step_name), None)


def _every(stands: Now, rules: Rulebook) -> Iterator[Step]:
    plan, criteria = stands.version.prescription, rules.criteria
    if not against(stands):
        yield from ladder.steps(plan, criteria.harder, rules.catalogue, harder=True)
    for rungs in (criteria.easier, criteria.fewer):
        yield from ladder.steps(plan, rungs, rules.catalogue, harder=False)


def made(stands: Now, step: Step, rules: Rulebook) -> Made:
    """The next version with one step taken, from tomorrow on."""
    before = stands.version.prescription
    after = ladder.taken(before, step)
    starts_on = stands.today + dt.timedelta(days=1)
    review_on = before.review_on
    if review_on < starts_on + dt.timedelta(days=SOONEST_REVIEW_DAYS):
        review_on = starts_on + dt.timedelta(weeks=REVIEW_WEEKS)
    document = _document(stands.document, after, step, starts_on, review_on)
    file = prescription_file.from_document(document, "", rules, stands.today)
    found = changes(before, prescription_file.prescription(file))
    return Made(step, file, words.changes(found, rules.catalogue), starts_on, review_on)


def _document(
    document: dict[str, Any], after: Prescription, step: Step, starts_on: dt.date, review_on: dt.date
) -> dict[str, Any]:
    """The stored document with the step in it: nothing else is touched."""
    programme = {
        **document["programme"],
        "starts_on": f"{starts_on}",
        "review_on": f"{review_on}",
        "sets_a_day": after.sets_a_day,
        "nudge_times": [at.isoformat() for at in after.nudge_times],
    }
    if step.place is not None and step.rung is not Rung.SETS:
        parts = [dict(part) for part in programme["contractions"]]
        part = after.contractions[step.place]
        parts[step.place] |= {
            "repetitions": part.repetitions,
            "hold_s": part.hold_s,
            "position": part.position.value,
            "easier_position": part.easier_position.value if part.easier_position else None,
        }
        programme["contractions"] = parts
    return {**document, "programme": programme}
