"""Clinics, staff and clients."""

import datetime as dt
import uuid
from collections.abc import Iterable
from types import SimpleNamespace
from typing import Any

from sqlalchemy import Row, Select, bindparam, func, insert, select, update

from bot.domain.contacts import ClinicCard, Hours
from bot.domain.people import Client, Clinic, Role, Staff, Stage
from bot.domain.prescription import InForce
from bot.store import facts, tables
from bot.store.base import Tx
from bot.store.ids import new_id
from bot.store.vault import Place

_CLINIC = tables.clinic.c
_STAFF = tables.staff.c
_CLIENT = tables.client.c
_PRESCRIPTION = tables.prescription.c
_CLINIC_NAMES = tuple(column.name for column in tables.clinic.c)
# Built once, as they are asked at every turn: building a query costs more than running it.
_NEXT_DIGEST_AT = select(func.min(_STAFF.next_digest_at))
_CLINIC_BY_ID = select(tables.clinic).where(_CLINIC.id == bindparam("clinic"))
_OWN_HOURS = select(_STAFF.id, _STAFF.hours).where(
    _STAFF.clinic_id == bindparam("clinic"), _STAFF.hours.is_not(None)
)
_CLIENT_BY_ID = select(tables.client).where(_CLIENT.id == bindparam("client"))
_PRESCRIPTIONS_OF = (
    select(_PRESCRIPTION.id, _PRESCRIPTION.client_id, _PRESCRIPTION.version, _PRESCRIPTION.document)
    .where(_PRESCRIPTION.client_id.in_(bindparam("clients", expanding=True)))
    .order_by(_PRESCRIPTION.client_id, _PRESCRIPTION.version)
)


def add_clinic(tx: Tx, clinic: Clinic, now: dt.datetime) -> bool:
    """Put a clinic in; False when its code is taken."""
    if tx.connection.scalar(select(_CLINIC.id).where(_CLINIC.code == clinic.code)) is not None:
        return False
    tx.make_key(clinic.id, now)
    values = {"id": clinic.id, "code": clinic.code, "made_at": now, **facts.of_clinic(tx, clinic)}
    tx.connection.execute(insert(tables.clinic).values(**values))
    return True


_read_before: dict[uuid.UUID, tuple[tuple[Any, ...], Clinic]] = {}


def read_clinic(tx: Tx, values: tuple[Any, ...]) -> Clinic:
    """The clinic of a row's values; it stands in every turn, and is opened anew only when it has changed."""
    clinic_id: uuid.UUID = values[_CLINIC_NAMES.index("id")]
    before = _read_before.get(clinic_id)
    if before is None or before[0] != values:
        named = SimpleNamespace(**dict(zip(_CLINIC_NAMES, values, strict=True)))
        before = _read_before[clinic_id] = values, _open_clinic(tx, named)
    return before[1]


def _open_clinic(tx: Tx, row: SimpleNamespace) -> Clinic:
    return Clinic(
        id=row.id,
        code=row.code,
        card=ClinicCard(
            name=tx.open_text(Place("clinic", row.id, "name"), row.name),
            zone=row.zone,
            phone=tx.open_text(Place("clinic", row.id, "phone"), row.phone),
            out_of_hours_line=tx.open_text(
                Place("clinic", row.id, "out_of_hours_line"),
                row.out_of_hours_line,
            ),
            emergency_number=row.emergency_number,
            hours=facts.hours_from_json(row.hours),
            closures=frozenset(dt.date.fromisoformat(day) for day in row.closures),
        ),
        country=row.country,
        digest_day=row.digest_day,
        digest_at=row.digest_at,
        labels=row.labels,
    )


def _one_clinic(tx: Tx, query: Select[Any]) -> Clinic | None:
    row = tx.connection.execute(query).first()
    return None if row is None else read_clinic(tx, tuple(row))


def clinic_by_code(tx: Tx, code: str) -> Clinic | None:
    """The clinic with a code."""
    return _one_clinic(tx, select(tables.clinic).where(_CLINIC.code == code))


def clinic_by_id(tx: Tx, clinic_id: uuid.UUID) -> Clinic:
    """A clinic that is known to be there."""
    return read_clinic(tx, tuple(tx.connection.execute(_CLINIC_BY_ID, {"clinic": clinic_id}).one()))


def clinics(tx: Tx) -> list[Clinic]:
    """All clinics, by code."""
    return [
        read_clinic(tx, tuple(row))
        for row in tx.connection.execute(select(tables.clinic).order_by(_CLINIC.code))
    ]


def add_staff(
    tx: Tx,
    staff: Staff,
    registration: str | None,
    next_digest_at: dt.datetime | None,
    now: dt.datetime,
) -> bool:
    """Put a therapist or fallback contact in; False when the code is taken in her clinic."""
    if staff_by_code(tx, staff.clinic_id, staff.code) is not None:
        return False
    tx.make_key(staff.id, now)
    place = Place("staff", staff.id, "registration")
    tx.connection.execute(
        insert(tables.staff).values(
            id=staff.id,
            clinic_id=staff.clinic_id,
            code=staff.code,
            role=staff.role.value,
            name=tx.seal(staff.id, Place("staff", staff.id, "name"), staff.name),
            registration=None if registration is None else tx.seal(staff.id, place, registration),
            next_digest_at=next_digest_at,
            made_at=now,
        ),
    )
    return True


def _staff(tx: Tx, row: Row[Any]) -> Staff:
    name = tx.open_text(Place("staff", row.id, "name"), row.name)
    hours = None if row.hours is None else facts.hours_from_json(row.hours)
    return Staff(row.id, row.clinic_id, row.code, Role(row.role), name, hours, row.leaves_on)


def _staff_where(tx: Tx, *conditions: Any) -> list[Staff]:  # noqa: ANN401 - SQL conditions
    query = select(tables.staff).where(*conditions).order_by(_STAFF.code)
    return [_staff(tx, row) for row in tx.connection.execute(query)]


def leaving(tx: Tx, clinic_id: uuid.UUID, before: dt.date) -> list[Staff]:
    """Those of a clinic whose last day lies before a day."""
    return _staff_where(tx, _STAFF.clinic_id == clinic_id, _STAFF.leaves_on < before)


def own_hours(tx: Tx, clinic_id: uuid.UUID) -> dict[uuid.UUID, Hours]:
    """The working hours of a clinic's therapists who have hours of their own."""
    found = tx.connection.execute(_OWN_HOURS, {"clinic": clinic_id})
    return {row.id: facts.hours_from_json(row.hours) for row in found}


def staff_by_code(tx: Tx, clinic_id: uuid.UUID, code: str) -> Staff | None:
    """The therapist or fallback contact with a code in a clinic."""
    return next(iter(_staff_where(tx, _STAFF.clinic_id == clinic_id, _STAFF.code == code)), None)


def staff_by_id(tx: Tx, staff_id: uuid.UUID) -> Staff:
    """A therapist or fallback contact that is known to be there."""
    return _staff_where(tx, _STAFF.id == staff_id)[0]


def is_registered(tx: Tx, staff_id: uuid.UUID) -> bool:
    """Whether somebody is a therapist with a registration number on record."""
    query = select(_STAFF.registration).where(_STAFF.id == staff_id, _STAFF.role == Role.THERAPIST.value)
    sealed = tx.connection.scalar(query)
    return sealed is not None and bool(tx.open_text(Place("staff", staff_id, "registration"), sealed).strip())


def staff_of(tx: Tx, clinic_id: uuid.UUID, role: Role) -> list[Staff]:
    """A clinic's therapists, or its fallback contacts."""
    return _staff_where(tx, _STAFF.clinic_id == clinic_id, _STAFF.role == role.value)


def digests_due(tx: Tx, now: dt.datetime, limit: int) -> list[tuple[Staff, dt.datetime]]:
    """Therapists whose digest is due, with the instant it was due at."""
    query = (
        select(tables.staff)
        .where(_STAFF.next_digest_at <= now)
        .order_by(_STAFF.next_digest_at, _STAFF.id)
        .limit(limit)
    )
    return [(_staff(tx, row), row.next_digest_at) for row in tx.connection.execute(query)]


def move_digest(tx: Tx, staff_id: uuid.UUID, due_at: dt.datetime, next_at: dt.datetime) -> bool:
    """Move a therapist's digest on, unless somebody else did; tells whether it was us."""
    statement = (
        update(tables.staff)
        .where(_STAFF.id == staff_id, _STAFF.next_digest_at == due_at)
        .values(next_digest_at=next_at)
    )
    return tx.connection.execute(statement).rowcount == 1


def digest_at(tx: Tx, staff_id: uuid.UUID, at: dt.datetime | None) -> None:
    """Make a therapist's next digest due at an instant, None for never."""
    tx.connection.execute(update(tables.staff).where(_STAFF.id == staff_id).values(next_digest_at=at))


def next_digest_at(tx: Tx) -> dt.datetime | None:
    """When the next digest is due."""
    soonest: dt.datetime | None = tx.connection.scalar(_NEXT_DIGEST_AT)
    return soonest


def add_client(tx: Tx, client: Client, now: dt.datetime) -> bool:
    """Put a client in; False when her code is taken in the clinic."""
    if client_by_code(tx, client.clinic_id, client.code) is not None:
        return False
    tx.make_key(client.id, now)
    place = Place("client", client.id, "initials")
    tx.connection.execute(
        insert(tables.client).values(
            id=client.id,
            clinic_id=client.clinic_id,
            therapist_id=client.therapist_id,
            code=client.code,
            initials=None if client.initials is None else tx.seal(client.id, place, client.initials),
            zone=client.zone,
            language=client.language,
            stage=client.stage.value,
            baby_at_home=client.baby_at_home,
            made_at=now,
        ),
    )
    return True


def read_client(tx: Tx, row: Row[*tuple[Any, ...]]) -> Client:
    """A client, from a row that holds her columns."""
    place = Place("client", row.id, "initials")
    return Client(
        id=row.id,
        clinic_id=row.clinic_id,
        therapist_id=row.therapist_id,
        code=row.code,
        initials=None if row.initials is None else tx.open_text(place, row.initials),
        zone=row.zone,
        language=row.language,
        stage=Stage(row.stage),
        baby_at_home=row.baby_at_home,
    )


def _clients_where(tx: Tx, *conditions: Any) -> list[Client]:  # noqa: ANN401 - SQL conditions
    query = select(tables.client).where(*conditions).order_by(_CLIENT.code)
    return [read_client(tx, row) for row in tx.connection.execute(query)]


def client_by_code(tx: Tx, clinic_id: uuid.UUID, code: str) -> Client | None:
    """The client with a code in a clinic."""
    return next(iter(_clients_where(tx, _CLIENT.clinic_id == clinic_id, _CLIENT.code == code)), None)


def client_codes(tx: Tx, clinic_id: uuid.UUID) -> frozenset[str]:
    """The codes that are taken in a clinic."""
    return frozenset(tx.connection.scalars(select(_CLIENT.code).where(_CLIENT.clinic_id == clinic_id)))


def client_by_id(tx: Tx, client_id: uuid.UUID) -> Client:
    """A client that is known to be there."""
    return read_client(tx, tx.connection.execute(_CLIENT_BY_ID, {"client": client_id}).one())


def clients_by_id(tx: Tx, ids: Iterable[uuid.UUID]) -> dict[uuid.UUID, Client]:
    """Several clients at once."""
    return {client.id: client for client in _clients_where(tx, _CLIENT.id.in_(list(ids)))}


def clients_of(tx: Tx, therapist_id: uuid.UUID) -> list[Client]:
    """A therapist's clients, by code."""
    return _clients_where(tx, _CLIENT.therapist_id == therapist_id)


def clients_in(tx: Tx, clinic_id: uuid.UUID) -> list[Client]:
    """A clinic's clients, by code."""
    return _clients_where(tx, _CLIENT.clinic_id == clinic_id)


def set_stage(tx: Tx, client_id: uuid.UUID, stage: Stage) -> None:
    """How far she is."""
    tx.connection.execute(update(tables.client).where(_CLIENT.id == client_id).values(stage=stage.value))


def zones_in_use(tx: Tx) -> list[str]:
    """The names of all time zones that a clinic or client lives in."""
    both = select(_CLINIC.zone).union(select(_CLIENT.zone))
    return sorted(tx.connection.scalars(both))


def set_zone(tx: Tx, client_id: uuid.UUID, zone: str) -> None:
    """The time zone she lives in."""
    tx.connection.execute(update(tables.client).where(_CLIENT.id == client_id).values(zone=zone))


def set_baby_at_home(tx: Tx, client_id: uuid.UUID, yes: bool) -> None:
    """Whether there is a baby at home."""
    tx.connection.execute(update(tables.client).where(_CLIENT.id == client_id).values(baby_at_home=yes))


def add_consent(tx: Tx, client_id: uuid.UUID, text_version: str, given: bool, now: dt.datetime) -> None:
    """Keep that she agreed to a version of the consent text, or took it back."""
    tx.connection.execute(
        insert(tables.consent).values(
            id=new_id(now),
            client_id=client_id,
            text_version=text_version,
            given=given,
            at=now,
        ),
    )


def add_prescription(
    tx: Tx,
    client_id: uuid.UUID,
    version: InForce,
    document: dict[str, Any],
    by: uuid.UUID,
    now: dt.datetime,
) -> None:
    """Put a prescription in force; `document` is the whole of it, and is sealed."""
    row_id = new_id(now)
    tx.connection.execute(
        insert(tables.prescription).values(
            id=row_id,
            client_id=client_id,
            version=version.version,
            starts_on=version.prescription.starts_on,
            document=tx.seal_json(client_id, Place("prescription", row_id, "document"), document),
            put_in_force_at=now,
            put_in_force_by=by,
        ),
    )


def prescription_documents(
    tx: Tx,
    client_ids: Iterable[uuid.UUID],
) -> dict[uuid.UUID, list[tuple[int, dict[str, Any]]]]:
    """Every version of some clients' prescriptions, oldest first: number and document."""
    found: dict[uuid.UUID, list[tuple[int, dict[str, Any]]]] = {}
    for row in tx.connection.execute(_PRESCRIPTIONS_OF, {"clients": list(client_ids)}):
        document = tx.open_json(Place("prescription", row.id, "document"), row.document)
        found.setdefault(row.client_id, []).append((row.version, document))
    return found


def consented_at(tx: Tx, client_ids: Iterable[uuid.UUID]) -> dict[uuid.UUID, dt.datetime]:
    """When some clients first agreed to take part; those who have not are missing."""
    table = tables.consent.c
    query = (
        select(table.client_id, table.at)
        .where(table.client_id.in_(list(client_ids)), table.given)
        .order_by(table.at.desc())
    )
    return {row.client_id: row.at for row in tx.connection.execute(query)}
