"""Naming who is on call, who leads safeguarding, who stands in: the clinic's side of the duties."""

import uuid
from dataclasses import replace

from bot.clock import Clock
from bot.domain.duties import Duty, Named
from bot.domain.people import Clinic, Role, Staff
from bot.errors import RefusedError
from bot.service import setup
from bot.service.rota import rota_of
from bot.store import chats, duties, people
from bot.store.base import Begin, Tx

NEEDS_PERSON = frozenset({Duty.ON_CALL, Duty.SAFEGUARDING, Duty.MOOD, Duty.COVER})


def name(
    begin: Begin, clock: Clock, clinic_code: str | None, wanted: Named, who: str | None, whose: str | None
) -> None:
    """Record a duty. `who` has it, `whose` leave it is about, both by code.

    Raises RefusedError, and stores nothing, with a line for each thing that is missing or wrong.
    """
    with begin() as tx:
        clinic = setup.clinic_of(tx, clinic_code)
        faults: list[str] = []
        staff_id = _person(tx, clinic, who, faults)
        for_id = _person(tx, clinic, whose, faults)
        if wanted.duty in NEEDS_PERSON and who is None:
            faults.append(f"{wanted.duty.value}: expected the code of a person, such as C1")
        faults += _gaps(wanted, staff_id, for_id)
        if staff_id is not None:
            faults += _unfit(people.staff_by_id(tx, staff_id), wanted)
        if wanted.duty is Duty.SOLO and people.staff_of(tx, clinic.id, Role.FALLBACK):
            faults.append("solo: the clinic has a fallback contact; it is solo only without one")
        if faults:
            raise RefusedError(*faults)
        duties.add(tx, clinic.id, replace(wanted, staff_id=staff_id, for_id=for_id), clock.now())


def _unfit(person: Staff, wanted: Named) -> list[str]:
    """Why somebody cannot have a duty, a line each."""
    faults = []
    if person.role is Role.ADMINISTRATOR:
        faults.append(
            f"{person.code}: an administrator is shown no alert; expected a therapist, fallback or colleague"
        )
    last = person.leaves_on
    if last is not None and (wanted.until_on is None or last < wanted.until_on):
        faults.append(f"{person.code}: leaves the clinic on {last}; expected somebody who stays")
    return faults


def _person(tx: Tx, clinic: Clinic, code: str | None, faults: list[str]) -> uuid.UUID | None:
    if code is None:
        return None
    found = people.staff_by_code(tx, clinic.id, code)
    if found is None:
        faults.append(
            f"{code}: nobody in clinic {clinic.code} has this code; see `programme-bot add-colleague`"
        )
        return None
    return found.id


def _gaps(wanted: Named, staff_id: uuid.UUID | None, for_id: uuid.UUID | None) -> list[str]:
    faults = []
    if wanted.duty is Duty.ON_CALL and not wanted.hours:
        faults.append('--hours: expected the hours on call, such as "mon-sun 17:00-09:00"')
    if wanted.duty is Duty.MOOD and not wanted.number:
        faults.append("--crisis-line: expected the number of a crisis line")
    if wanted.duty is Duty.SOLO and len(wanted.recorded_by.split()) < 2:  # noqa: PLR2004 - first and last name
        faults.append("--recorded-by: expected the full name of who says so")
    if wanted.duty in {Duty.COVER, Duty.NO_COVER}:
        if wanted.from_on is None or wanted.until_on is None or wanted.until_on < wanted.from_on:
            faults.append("--from, --until: expected the first and the last day of the leave")
        if for_id is None:
            faults.append("--for: expected the code of the therapist on leave")
        elif for_id == staff_id:
            faults.append("--for: nobody stands in for herself")
    return faults


def end(begin: Begin, clock: Clock, clinic_code: str | None, duty: Duty, who: str | None) -> int:
    """End a duty of one person, or of everybody; tells how many ended."""
    with begin() as tx:
        clinic = setup.clinic_of(tx, clinic_code)
        faults: list[str] = []
        staff_id = _person(tx, clinic, who, faults)
        if faults:
            raise RefusedError(*faults)
        return duties.end(tx, clinic.id, duty, staff_id, clock.now())


def listed(begin: Begin, clinic_code: str | None) -> list[str]:
    """The duties of a clinic that stand, as `lines` gives them."""
    with begin() as tx:
        return lines(tx, setup.clinic_of(tx, clinic_code))


def lines(tx: Tx, clinic: Clinic) -> list[str]:
    """The duties that stand, a line each, and what a clinic would do well to name."""
    rota = rota_of(tx, clinic)
    codes = {staff.id: staff for role in Role for staff in people.staff_of(tx, clinic.id, role)}
    found = []
    for one in rota.named:
        who = codes[one.staff_id].code if one.staff_id in codes else "nobody"
        linked = one.staff_id is None or chats.chat_of_owner(tx, one.staff_id) is not None
        parts = [one.duty.value, who]
        parts += [f"for {codes[one.for_id].code}"] if one.for_id in codes else []
        parts += [f"{one.from_on} to {one.until_on}"] if one.from_on is not None else []
        parts += [one.number] if one.number else []
        parts += [f"recorded by {one.recorded_by}"] if one.recorded_by else []
        found.append(", ".join(parts) + ("" if linked else " (has not opened the invite)"))
    if not rota.safeguarding:
        found.append("safeguarding: nobody is named; expected a safeguarding lead")
    return found
