"""The clinic's side: a clinic, its people, its clients, and their invites."""

import datetime as dt
import re
from dataclasses import dataclass
from pathlib import Path

from bot.clock import Clock
from bot.domain import local_time
from bot.domain.contacts import ClinicCard, zone_of
from bot.domain.people import Client, Clinic, Role, Staff, Stage
from bot.errors import RefusedError
from bot.rules import enrolment_table, prescription_file, rulebook
from bot.rules.rulebook import Rulebook
from bot.service import digests, enrolling, invites
from bot.service.approval import Approval
from bot.service.enrolling import NewInvite
from bot.store import erase, people
from bot.store.base import Begin, Tx
from bot.store.ids import new_id

__all__ = ["NewInvite", "add_client", "add_clinic", "add_staff", "invite", "retention"]

STAFF_CODE = re.compile(r"[A-Za-z0-9][A-Za-z0-9-]{0,31}", re.ASCII)
LONGEST_RETENTION_YEARS = 40  # beyond what any country's rules ask for that we know of (from memory)


@dataclass(frozen=True, slots=True)
class NewClinic:
    """What sets a clinic up."""

    code: str
    card: ClinicCard
    country: str
    digest_day: int
    digest_at: dt.time
    labels: str


def add_clinic(begin: Begin, clock: Clock, new: NewClinic) -> None:
    """Set a clinic up; raises RefusedError when its code is taken."""
    now = clock.now()
    clinic = Clinic(new_id(now), new.code, new.card, new.country, new.digest_day, new.digest_at, new.labels)
    with begin() as tx:
        tx.prepare_installation(now)
        if not people.add_clinic(tx, clinic, now):
            raise RefusedError(f"clinic {new.code}: there is one with this code already")


def clinic_of(tx: Tx, code: str | None) -> Clinic:
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
    if not STAFF_CODE.fullmatch(new.code):
        raise RefusedError(
            f"code: {new.code[:40]!r} has {len(new.code)} characters; expected 1 to 32 letters, digits and "
            "hyphens, such as T1"
        )
    now = clock.now()
    with begin() as tx:
        clinic = clinic_of(tx, clinic_code)
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
    rules: Rulebook | None = None,
) -> tuple[str, NewInvite]:
    """Enrol a client from her prescription file; gives her code and her invite.

    rules: exercises and limits, None for the packaged ones.

    Raises RefusedError, and stores nothing, for a faulty file, a code that is taken, an unknown therapist,
    while therapist and fallback contact are not both linked, or while what is in force is not signed off.
    """
    now = clock.now()
    rules = rules or rulebook.packaged()
    # A first look tells where she is; the second one knows what day she has.
    zone = local_time.zone(prescription_file.read_any(path, rules).zone)
    file = prescription_file.read(path, rules, local_time.local_date(now, zone))
    with begin() as tx:
        clinic = clinic_of(tx, clinic_code)
        therapist = _therapist(tx, clinic, therapist_code)
        made = enrolling.enrol(tx, approval, clinic, therapist, file, now, rules, str(path))
        return made.client.code, made.invite


def add_clients(
    begin: Begin,
    clock: Clock,
    approval: Approval,
    clinic_code: str | None,
    therapist_code: str | None,
    path: Path,
    rules: Rulebook | None = None,
) -> list[tuple[str, NewInvite]]:
    """Enrol every client of a table, in one transaction; gives their codes and invites in its order.

    Raises RefusedError with every fault of every row, nothing stored, where `add_client` would for any of
    them.
    """
    now = clock.now()
    rules = rules or rulebook.packaged()
    with begin() as tx:
        clinic = clinic_of(tx, clinic_code)
        therapist = _therapist(tx, clinic, therapist_code)
        missing = invites.ready_to_enrol(tx, clinic.id, therapist.id)
        if missing:
            raise RefusedError(*(f"{path}: {line}" for line in missing))
        today = local_time.local_date(now, zone_of(clinic.card))
        taken = people.client_codes(tx, clinic.id)
        made: list[tuple[str, NewInvite]] = []
        wrong: list[str] = []
        for row, file in enrolment_table.read_rows(path, rules, today, taken):
            try:
                with tx.attempt():
                    done = enrolling.enrol(tx, approval, clinic, therapist, file, now, rules, row)
            except RefusedError as fault:
                wrong.extend(fault.faults)
            else:
                made.append((done.client.code, done.invite))
        if wrong:
            raise RefusedError(*wrong)
        return made


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


def invite(
    begin: Begin, clock: Clock, clinic_code: str | None, code: str, *, cut_off: bool = False
) -> NewInvite:
    """A fresh invite for a client or somebody of the clinic; an earlier one stops working.

    cut_off: the chat used so far is cut off now, and not only when the new invite is opened. Raises
    RefusedError for an unknown code and for a client who was erased.
    """
    now = clock.now()
    with begin() as tx:
        clinic = clinic_of(tx, clinic_code)
        subject: Client | Staff | None = people.client_by_code(tx, clinic.id, code)
        subject = subject or people.staff_by_code(tx, clinic.id, code)
        if subject is None:
            raise RefusedError(f"{code}: nobody in clinic {clinic.code} has this code")
        if isinstance(subject, Client) and subject.stage is Stage.ERASED:
            raise RefusedError(f"{code}: she was erased; enrol her anew, with another code")
        if isinstance(subject, Staff) and _has_left(subject, clinic, now):
            raise RefusedError(f"{code}: has left the clinic")
        if cut_off:
            invites.cut_off(tx, subject, now)
        return NewInvite(*invites.make(tx, subject, now))


def _has_left(staff: Staff, clinic: Clinic, now: dt.datetime) -> bool:
    return staff.leaves_on is not None and staff.leaves_on < local_time.local_date(now, zone_of(clinic.card))


def retention(
    begin: Begin, clock: Clock, clinic_code: str | None, years: int | None
) -> tuple[str, int | None]:
    """A clinic's code and for how many years it keeps records; `years` None leaves it as it is.

    Raises RefusedError for years out of range or an unknown clinic.
    """
    if years is not None and not 1 <= years <= LONGEST_RETENTION_YEARS:
        raise RefusedError(f"--record-years: {years}; expected 1 to {LONGEST_RETENTION_YEARS}")
    with begin() as tx:
        clinic = clinic_of(tx, clinic_code)
        if years is not None:
            erase.set_retention(tx, clinic.id, years, clock.now())
        return clinic.code, erase.retention(tx).get(clinic.id)
