"""The clinic's side: a clinic, its people, its clients, and their invites."""

import datetime as dt
from dataclasses import dataclass
from pathlib import Path

from bot.clock import Clock
from bot.domain.contacts import ClinicCard
from bot.domain.people import Client, Clinic, Role, Staff, Stage
from bot.domain.prescription import InForce
from bot.errors import RefusedError
from bot.rules import prescription_file
from bot.service import digests, invites
from bot.service.approval import Approval
from bot.store import people
from bot.store.base import Begin, Tx
from bot.store.ids import new_id


@dataclass(frozen=True, slots=True)
class NewClinic:
    """What sets a clinic up."""

    code: str
    card: ClinicCard
    country: str
    digest_day: int
    digest_at: dt.time
    labels: str


@dataclass(frozen=True, slots=True)
class NewInvite:
    """An invite to hand over: the code for the link, the four digits to say aloud (clients only)."""

    code: str
    digits: str | None
    expires_at: dt.datetime


def add_clinic(begin: Begin, clock: Clock, new: NewClinic) -> None:
    """Set a clinic up; raises RefusedError when its code is taken."""
    now = clock.now()
    clinic = Clinic(new_id(now), new.code, new.card, new.country, new.digest_day, new.digest_at, new.labels)
    with begin() as tx:
        tx.prepare_installation(now)
        if not people.add_clinic(tx, clinic, now):
            raise RefusedError(f"clinic {new.code}: there is one with this code already")


def _clinic(tx: Tx, code: str | None) -> Clinic:
    """The clinic with a code, or the only one there is."""
    if code is not None:
        found = people.clinic_by_code(tx, code)
        if found is None:
            known = ", ".join(clinic.code for clinic in people.clinics(tx)) or "none yet"
            raise RefusedError(f"clinic {code}: unknown; known are: {known}")
        return found
    every = people.clinics(tx)
    if len(every) != 1:
        known = ", ".join(clinic.code for clinic in every) or "none yet, see `programme-bot add-clinic`"
        raise RefusedError(f"--clinic: expected the code of one; known are: {known}")
    return every[0]


@dataclass(frozen=True, slots=True)
class NewStaff:
    """A therapist (with her registration number) or the fallback contact."""

    code: str
    name: str
    role: Role
    registration: str | None = None


def add_staff(begin: Begin, clock: Clock, clinic_code: str | None, new: NewStaff) -> NewInvite:
    """Add a therapist or fallback contact and make her invite."""
    if new.role is Role.THERAPIST and not (new.registration or "").strip():
        raise RefusedError(
            "--registration: expected her registration number; only a registered therapist prescribes"
        )
    now = clock.now()
    with begin() as tx:
        clinic = _clinic(tx, clinic_code)
        staff = Staff(new_id(now), clinic.id, new.code, new.role, new.name)
        due = digests.next_due(clinic, now) if new.role is Role.THERAPIST else None
        if not people.add_staff(tx, staff, new.registration, due, now):
            raise RefusedError(f"{new.code}: clinic {clinic.code} has somebody with this code already")
        return NewInvite(*invites.make(tx, staff, now))


def add_client(
    begin: Begin,
    clock: Clock,
    approval: Approval,
    clinic_code: str | None,
    therapist_code: str | None,
    path: Path,
) -> tuple[str, NewInvite]:
    """Enrol a client from her prescription file; gives her code and her invite.

    Raises RefusedError, and stores nothing, for a faulty file, a code that is taken, an unknown therapist,
    while therapist and fallback contact are not both linked, or while what is in force is not signed off.
    """
    file = prescription_file.read(path)
    now = clock.now()
    with begin() as tx:
        clinic = _clinic(tx, clinic_code)
        therapist = _therapist(tx, clinic, therapist_code)
        missing = [
            *invites.ready_to_enrol(tx, clinic.id, therapist.id),
            *approval.missing(tx, file.language),
        ]
        if missing:
            raise RefusedError(*(f"client {file.client}: {line}" for line in missing))
        client = Client(
            id=new_id(now),
            clinic_id=clinic.id,
            therapist_id=therapist.id,
            code=file.client,
            initials=file.initials,
            zone=file.zone,
            language=file.language,
            stage=Stage.INVITED,
            baby_at_home=file.baby_at_home,
        )
        if not people.add_client(tx, client, now):
            raise RefusedError(f"{path}: client: {file.client} is a client of {clinic.code} already")
        version = InForce(1, prescription_file.prescription(file))
        document = prescription_file.to_document(file)
        people.add_prescription(tx, client.id, version, document, therapist.id, now)
        return client.code, NewInvite(*invites.make(tx, client, now))


def _therapist(tx: Tx, clinic: Clinic, code: str | None) -> Staff:
    every = people.staff_of(tx, clinic.id, Role.THERAPIST)
    known = ", ".join(staff.code for staff in every) or "none yet, see `programme-bot add-therapist`"
    if code is None:
        if len(every) != 1:
            raise RefusedError(f"--therapist: expected the code of one; known are: {known}")
        return every[0]
    found = next((staff for staff in every if staff.code == code), None)
    if found is None:
        raise RefusedError(f"therapist {code}: unknown in clinic {clinic.code}; known are: {known}")
    return found


def invite(begin: Begin, clock: Clock, clinic_code: str | None, code: str) -> NewInvite:
    """A fresh invite for a client, therapist or fallback contact; an earlier one stops working."""
    now = clock.now()
    with begin() as tx:
        clinic = _clinic(tx, clinic_code)
        subject: Client | Staff | None = people.client_by_code(tx, clinic.id, code)
        subject = subject or people.staff_by_code(tx, clinic.id, code)
        if subject is None:
            raise RefusedError(f"{code}: nobody in clinic {clinic.code} has this code")
        return NewInvite(*invites.make(tx, subject, now))
