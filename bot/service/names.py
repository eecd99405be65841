"""From the codes that people type to whom they mean."""

from bot.domain.people import Client, Clinic, Role, Staff
from bot.errors import RefusedError
from bot.store import people
from bot.store.base import Tx


def clinic(tx: Tx, code: str | None) -> Clinic:
    """The clinic with a code, or the only one; raises RefusedError for none and for several."""
    found = [one for one in people.clinics(tx) if code in {None, one.code}]
    if not found:
        none = "no clinic yet; make one with `programme-bot add-clinic`"
        raise RefusedError(f"clinic {code}: unknown" if code else none)
    if len(found) > 1:
        raise RefusedError(f"--clinic: expected one of {', '.join(one.code for one in found)}")
    return found[0]


def client(tx: Tx, clinic_code: str | None, code: str) -> tuple[Client, Clinic]:
    """The client with a code; raises RefusedError for an unknown one, and where several clinics have her."""
    clinics = [one for one in people.clinics(tx) if clinic_code in {None, one.code}]
    if clinic_code and not clinics:
        raise RefusedError(f"clinic {clinic_code}: unknown")
    found = [(one, clinic) for clinic in clinics if (one := people.client_by_code(tx, clinic.id, code))]
    if not found:
        raise RefusedError(f"client {code}: unknown; enrol her with `programme-bot add-client`")
    if len(found) > 1:
        raise RefusedError(f"--clinic: expected the code of one, as client {code} stands in several")
    return found[0]


def therapist(tx: Tx, clinic: Clinic, code: str) -> Staff:
    """A clinic's therapist with a code; raises RefusedError naming those there are."""
    every = people.staff_of(tx, clinic.id, Role.THERAPIST)
    found = next((one for one in every if one.code == code), None)
    if found is None:
        known = ", ".join(one.code for one in every) or "none"
        raise RefusedError(f"therapist {code}: unknown; known are: {known}")
    return found
