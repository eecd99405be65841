"""A new version of a client's prescription is put in force; nothing that was in force is ever edited."""

import datetime as dt
from dataclasses import dataclass, replace
from pathlib import Path

from bot.clock import Clock
from bot.conversation import prescribing_words as words
from bot.domain import local_time
from bot.domain.changes import changes
from bot.domain.gating import Record, SignSpan
from bot.domain.levels import Level
from bot.domain.people import Client, Role, Staff, Stage
from bot.domain.prescription import InForce
from bot.errors import RefusedError
from bot.rules import prescription_check, prescription_file, rulebook
from bot.rules.prescription_file import PrescriptionFile
from bot.rules.rulebook import Rulebook
from bot.store import alerts, diary, people
from bot.store.base import Begin, Tx


@dataclass(frozen=True, slots=True)
class Prescribed:
    """What was put in force: whose version, which number, from when, and what it changes in words."""

    client: str
    version: int
    starts_on: dt.date
    changes: tuple[str, ...]


def prescribe(
    begin: Begin,
    clock: Clock,
    clinic_code: str | None,
    therapist_code: str | None,
    path: Path,
    own: Path | None = None,
) -> Prescribed:
    """Put a file in force as the next version for the client it names; her therapist signs, or the one named.

    own: a clinic's own exercises and limits. Raises RefusedError, with nothing stored, for a faulty file, an
    unknown client or therapist, and whatever `put_in_force` refuses.
    """
    now = clock.now()
    rules = rulebook.with_own(own)
    # A first look tells who and where she is; the second one knows what day she has.
    zone = local_time.zone(prescription_file.read_any(path, rules).zone)
    file = prescription_file.read_any(path, rules, local_time.local_date(now, zone))
    with begin() as tx:
        client = _client(tx, clinic_code, file.client)
        therapist = _therapist(tx, client, therapist_code)
        return put_in_force(tx, client, file, therapist, now, rules, str(path))


def put_in_force(
    tx: Tx,
    client: Client,
    file: PrescriptionFile,
    therapist: Staff,
    now: dt.datetime,
    rules: Rulebook,
    name: str,
) -> Prescribed:
    """Keep a prescription as the client's next version, in force from its start; `name` leads every fault.

    Raises RefusedError, with nothing stored, when it is another client's, starts in the past or not after
    every version there is, or when a gate stands against it; alerts that are open close gates too. Her nudges
    are worked out anew at once.
    """
    plan = prescription_file.prescription(file)
    documents = people.prescription_documents(tx, [client.id]).get(client.id, [])
    before = [
        InForce(number, prescription_file.prescription(prescription_file.from_document(document, "stored")))
        for number, document in documents
    ]
    today = local_time.local_date(now, local_time.zone(client.zone))
    place = f"{name}: programme.starts_on: {plan.starts_on}"
    wrong = []
    if file.client != client.code:
        wrong.append(f"{name}: client: {file.client} is not {client.code}")
    if client.stage is Stage.WITHDRAWN:
        wrong.append(f"{name}: client: {client.code} has stopped; expected one who takes part")
    if plan.starts_on < today:
        wrong.append(f"{place} lies in the past; expected {today} or later")
    latest = max(before, key=lambda version: version.prescription.starts_on, default=None)
    if latest and plan.starts_on <= latest.prescription.starts_on:
        wrong.append(
            f"{place} overlaps version {latest.version}, which starts on {latest.prescription.starts_on}; "
            "expected a later day"
        )
    if wrong:
        raise RefusedError(*wrong)
    prescription_check.refuse_unless_fit(file, rules, name, _record(tx, client, file))
    version = InForce(max((number for number, _ in documents), default=0) + 1, plan)
    people.add_prescription(tx, client.id, version, prescription_file.to_document(file), therapist.id, now)
    diary.change_track(tx, client.id, next_at=now)
    told = words.changes(changes(latest.prescription, plan), rules.catalogue) if latest else ()
    return Prescribed(client.code, version.version, plan.starts_on, told)


def _record(tx: Tx, client: Client, file: PrescriptionFile) -> Record:
    """What the file holds of her, and the alerts that are open."""
    record = prescription_file.record(file)
    zone = local_time.zone(client.zone)
    still_open = tuple(
        SignSpan(sign, local_time.local_date(alert.raised_at, zone))
        for alert in alerts.open_of(tx, [client.id])
        if alert.level is not Level.NEXT_REVIEW
        for sign in alert.signs
    )
    return replace(record, signs=(*record.signs, *still_open))


def _client(tx: Tx, clinic_code: str | None, code: str) -> Client:
    clinics = [clinic for clinic in people.clinics(tx) if clinic_code in {None, clinic.code}]
    if not clinics:
        raise RefusedError(f"clinic {clinic_code}: unknown")
    found = [client for clinic in clinics if (client := people.client_by_code(tx, clinic.id, code))]
    if not found:
        raise RefusedError(f"client {code}: unknown; enrol her with `programme-bot add-client`")
    if len(found) > 1:
        raise RefusedError(f"--clinic: expected the code of one, as client {code} stands in several")
    return found[0]


def _therapist(tx: Tx, client: Client, code: str | None) -> Staff:
    """Only a registered therapist puts a prescription in force."""
    if code is None:
        return people.staff_by_id(tx, client.therapist_id)
    every = people.staff_of(tx, client.clinic_id, Role.THERAPIST)
    found = next((staff for staff in every if staff.code == code), None)
    if found is None:
        known = ", ".join(staff.code for staff in every)
        raise RefusedError(f"therapist {code}: unknown; known are: {known}")
    return found
