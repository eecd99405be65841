"""The facts of clinics and people as the tables hold them, and changing them."""

import datetime as dt
from typing import Any

from sqlalchemy import update

from bot.domain.contacts import Hours
from bot.domain.people import Clinic, Staff
from bot.store import tables
from bot.store.base import Tx
from bot.store.types import SealedBytes
from bot.store.vault import Place


def hours_to_json(hours: Hours) -> dict[str, list[list[str]]]:
    """Hours as the tables hold them."""
    return {
        str(day): [[start.isoformat("minutes"), end.isoformat("minutes")] for start, end in spans]
        for day, spans in hours.items()
    }


def hours_from_json(kept: dict[str, list[list[str]]]) -> Hours:
    """Hours from what the tables hold."""
    return {
        int(day): tuple((dt.time.fromisoformat(start), dt.time.fromisoformat(end)) for start, end in spans)
        for day, spans in kept.items()
    }


def of_clinic(tx: Tx, clinic: Clinic) -> dict[str, Any]:
    """A clinic's facts as the table holds them."""
    card = clinic.card

    def sealed(name: str, text: str) -> SealedBytes:
        return tx.seal(clinic.id, Place("clinic", clinic.id, name), text)

    return {
        "name": sealed("name", card.name),
        "zone": card.zone,
        "country": clinic.country,
        "hours": hours_to_json(card.hours),
        "closures": sorted(day.isoformat() for day in card.closures),
        "phone": sealed("phone", card.phone),
        "out_of_hours_line": sealed("out_of_hours_line", card.out_of_hours_line),
        "emergency_number": card.emergency_number,
        "digest_day": clinic.digest_day,
        "digest_at": clinic.digest_at,
        "labels": clinic.labels,
    }


def set_clinic(tx: Tx, clinic: Clinic) -> None:
    """Write a clinic's facts down as they are now."""
    tx.connection.execute(
        update(tables.clinic).where(tables.clinic.c.id == clinic.id).values(**of_clinic(tx, clinic))
    )


def set_person(tx: Tx, staff: Staff, registration: str | None) -> None:
    """Write somebody's facts down as they are now; `registration` None leaves hers as it is."""
    values: dict[str, Any] = {
        "name": tx.seal(staff.id, Place("staff", staff.id, "name"), staff.name),
        "hours": None if staff.hours is None else hours_to_json(staff.hours),
        "leaves_on": staff.leaves_on,
    }
    if registration is not None:
        place = Place("staff", staff.id, "registration")
        values["registration"] = tx.seal(staff.id, place, registration.strip())
    tx.connection.execute(update(tables.staff).where(tables.staff.c.id == staff.id).values(**values))
