"""The duties of a clinic's people, as they were recorded and ended."""

import datetime as dt
import uuid
from typing import Any

from sqlalchemy import Row, bindparam, insert, select, update

from bot.domain.duties import Duty, Named
from bot.store import tables
from bot.store.base import Tx
from bot.store.ids import new_id
from bot.store.vault import Place

_DUTY = tables.duty.c
# Built once, as it is asked at every turn.
_STANDING = (
    select(tables.duty)
    .where(_DUTY.clinic_id == bindparam("clinic"), _DUTY.ended_at.is_(None))
    .order_by(_DUTY.recorded_at, _DUTY.id)
)


def add(tx: Tx, clinic_id: uuid.UUID, named: Named, now: dt.datetime) -> None:
    """Record a duty; the row stays when it ends."""
    row_id = new_id(now)
    hours = {
        str(day): [[start.isoformat(), end.isoformat()] for start, end in spans]
        for day, spans in named.hours.items()
    }
    detail = {"hours": hours, "number": named.number, "recorded_by": named.recorded_by}
    tx.connection.execute(
        insert(tables.duty).values(
            id=row_id,
            clinic_id=clinic_id,
            kind=named.duty.value,
            staff_id=named.staff_id,
            for_id=named.for_id,
            from_on=named.from_on,
            until_on=named.until_on,
            detail=tx.seal_json(clinic_id, Place("duty", row_id, "detail"), detail),
            recorded_at=now,
        ),
    )


def end(tx: Tx, clinic_id: uuid.UUID, duty: Duty, staff_id: uuid.UUID | None, now: dt.datetime) -> int:
    """End the duties of a kind, of one person or of everybody; tells how many there were."""
    statement = (
        update(tables.duty)
        .where(_DUTY.clinic_id == clinic_id, _DUTY.kind == duty.value, _DUTY.ended_at.is_(None))
        .values(ended_at=now)
    )
    if staff_id is not None:
        statement = statement.where((_DUTY.staff_id == staff_id) | (_DUTY.for_id == staff_id))
    return tx.connection.execute(statement).rowcount


def of_clinic(tx: Tx, clinic_id: uuid.UUID) -> tuple[Named, ...]:
    """The duties that stand, oldest first."""
    return tuple(_named(tx, row) for row in tx.connection.execute(_STANDING, {"clinic": clinic_id}))


def _named(tx: Tx, row: Row[Any]) -> Named:
    detail = tx.open_json(Place("duty", row.id, "detail"), row.detail)
    return Named(
        duty=Duty(row.kind),
        staff_id=row.staff_id,
        for_id=row.for_id,
        from_on=row.from_on,
        until_on=row.until_on,
        hours={
            int(day): tuple(
                (dt.time.fromisoformat(start), dt.time.fromisoformat(end)) for start, end in spans
            )
            for day, spans in detail["hours"].items()
        },
        number=detail["number"],
        recorded_by=detail["recorded_by"],
    )
