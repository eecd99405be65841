"""A new version of a client's prescription is put in force; nothing that was in force is ever edited."""

import datetime as dt
from collections.abc import Iterator
from dataclasses import dataclass, replace
from pathlib import Path

from bot.clock import Clock
from bot.conversation import prescribing_words as words
from bot.domain import local_time
from bot.domain.alerts import Outcome
from bot.domain.changes import changes
from bot.domain.gating import Record, SignSpan
from bot.domain.levels import Level
from bot.domain.people import Client, Role, Staff, Stage
from bot.domain.prescription import InForce
from bot.errors import RefusedError
from bot.rules import faults, prescription_check, prescription_file, rulebook
from bot.rules.prescription_file import PrescriptionFile
from bot.rules.rulebook import Rulebook
from bot.service import moving, plan_told, prospects
from bot.store import alerts, diary, people, visits
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
    rules: Rulebook | None = None,
) -> Prescribed:
    """Put a file in force as the next version for the client it names; her therapist signs, or the one named.

    rules: exercises and limits, None for the packaged ones. Raises RefusedError, with nothing stored, for a
    faulty file, an unknown client or therapist, and whatever `put_in_force` refuses.
    """
    now = clock.now()
    rules = rules or rulebook.packaged()
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
    *,
    may_have_begun: bool = False,
    why: str = "",
) -> Prescribed:
    """Keep a prescription as the client's next version, in force from its start, signed by `therapist`.

    The one way a version comes into force, from a file, the chat or a proposal. `file` is the whole next
    version: take `newest` and change it. name: what leads every fault, such as the file's path or "". Nothing
    is committed here; the caller's transaction does that. A client who takes part is told once, with `why` as
    a sentence ("" for the usual one), and goes on with the old version until the start. may_have_begun: a
    programme that ran before she was enrolled may have started in the past.

    Raises RefusedError, with nothing stored and a line for each reason, when who signs is no registered
    therapist of her clinic, when it is another client's, starts in the past or not after every version there
    is, or when a gate stands against it; alerts close gates too. Her nudges are worked out anew at once.
    """
    plan = prescription_file.prescription(file)
    before = stored(tx, client)
    latest = max(before, key=lambda version: version.prescription.starts_on, default=None)
    today = local_time.day_in(client.zone, now)
    wrong = list(_against(tx, client, file, therapist, latest, None if may_have_begun else today))
    if wrong:
        raise RefusedError(*(faults.line(name, *fault) for fault in wrong))
    prescription_check.refuse_unless_fit(file, rules, name, record_of(tx, client, file))
    version = InForce(max((one.version for one in before), default=0) + 1, plan)
    _take_over(tx, client, file, now)
    people.add_prescription(tx, client.id, version, prescription_file.to_document(file), therapist.id, now)
    diary.change_track(tx, client.id, next_at=now)
    if latest:
        plan_told.announce(tx, client, version.version, why, now)
    told = words.changes(changes(latest.prescription, plan), rules.catalogue) if latest else ()
    return Prescribed(client.code, version.version, plan.starts_on, told)


def _take_over(tx: Tx, client: Client, file: PrescriptionFile, now: dt.datetime) -> None:
    """What a version says of the client herself holds from now on, where it says otherwise than the last one.

    What it says the same as ever is left as it stands: she may have moved, or asked for less, since.
    """
    before = newest(tx, client)
    if before is None:
        return
    if file.zone not in {before.zone, client.zone}:
        moving.move(tx, client, file.zone, now)
    if file.baby_at_home is not before.baby_at_home:
        people.set_baby_at_home(tx, client.id, file.baby_at_home)
    if file.most_messages_a_day != before.most_messages_a_day:
        diary.change_track(tx, client.id, cap=file.most_messages_a_day)


def newest(tx: Tx, client: Client) -> PrescriptionFile | None:
    """The client's newest version as a file, with what was found at visits since; the next starts from it."""
    documents = people.prescription_documents(tx, [client.id]).get(client.id, [])
    if not documents:
        return None
    whole = prospects.with_findings(documents[-1][1], _found(tx, client))
    return prescription_file.from_document(whole, "stored")


def _found(tx: Tx, client: Client) -> prospects.Found:
    """What was found at her visits: day and fields."""
    rows = visits.findings_of(tx, [client.id]).get(client.id, [])
    return [(on, detail["fields"]) for on, detail in rows]


def stored(tx: Tx, client: Client) -> list[InForce]:
    """Every version of a client's as it was put in force, without the times she has chosen since."""
    documents = people.prescription_documents(tx, [client.id]).get(client.id, [])
    return [
        InForce(number, prescription_file.prescription(prescription_file.from_document(document, "stored")))
        for number, document in documents
    ]


def _against(
    tx: Tx,
    client: Client,
    file: PrescriptionFile,
    therapist: Staff,
    latest: InForce | None,
    today: dt.date | None,
) -> Iterator[tuple[str, str]]:
    """What stands against a next version besides gates, as place and reason."""
    starts_on = file.programme.starts_on
    if therapist.clinic_id != client.clinic_id or not people.is_registered(tx, therapist.id):
        yield "", f"{therapist.code} may not sign; expected a registered therapist of the client's clinic"
    if file.client != client.code:
        yield "client", f"{file.client} is not {client.code}"
    if client.stage in {Stage.WITHDRAWN, Stage.DISCHARGED}:
        yield "client", f"{client.code} has stopped; expected one who takes part"
    if today is not None and starts_on < today:
        yield "programme.starts_on", f"{starts_on} lies in the past; expected {today} or later"
    if latest and starts_on <= latest.prescription.starts_on:
        overlapped = f"version {latest.version}, which starts on {latest.prescription.starts_on}"
        yield "programme.starts_on", f"{starts_on} overlaps {overlapped}; expected a later day"


def record_of(tx: Tx, client: Client, file: PrescriptionFile) -> Record:
    """What gates look at: what the file holds of her, what was found at visits, and her warning signs.

    An open alert closes gates; one that has been closed ends the releases that were given before it. What
    only waits for the next review is known and unchanged, and a false alarm was none: they count for nothing.
    """
    document = prospects.with_findings(prescription_file.to_document(file), _found(tx, client))
    record = prescription_file.record(prescription_file.from_document(document, "stored"))
    zone = local_time.zone(client.zone)
    signs = tuple(
        SignSpan(
            sign,
            local_time.local_date(alert.raised_at, zone),
            None if alert.closed_at is None else local_time.local_date(alert.closed_at, zone),
        )
        for alert in alerts.all_of(tx, client.id)
        if alert.level is not Level.NEXT_REVIEW and alert.outcome is not Outcome.FALSE_ALARM
        for sign in alert.signs
    )
    return replace(record, signs=(*record.signs, *signs))


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
