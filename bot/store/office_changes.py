"""What was changed of a clinic and its people: when, by whom, from what to what. Rows are only added."""

import datetime as dt
import uuid
from dataclasses import dataclass

from sqlalchemy import insert, select

from bot.store import tables
from bot.store.base import Tx
from bot.store.ids import new_id
from bot.store.vault import Place

_CHANGE = tables.office_change.c


@dataclass(frozen=True, slots=True)
class Change:
    """One change. about_id: the person it is about, None for the clinic. by: who made it, as recorded."""

    what: str
    before: str
    after: str
    by: str
    about_id: uuid.UUID | None = None


def add(tx: Tx, clinic_id: uuid.UUID, change: Change, now: dt.datetime) -> None:
    """Keep a change; what it was and who made it are sealed."""
    row_id = new_id(now)
    detail = {"before": change.before, "after": change.after, "by": change.by}
    tx.connection.execute(
        insert(tables.office_change).values(
            id=row_id,
            clinic_id=clinic_id,
            about_id=change.about_id,
            what=change.what,
            detail=tx.seal_json(clinic_id, Place("office_change", row_id, "detail"), detail),
            at=now,
        )
    )


def of_clinic(tx: Tx, clinic_id: uuid.UUID) -> list[tuple[dt.datetime, Change]]:
    """Every change with its instant, oldest first."""
    query = (
        select(tables.office_change).where(_CHANGE.clinic_id == clinic_id).order_by(_CHANGE.at, _CHANGE.id)
    )
    found = []
    for row in tx.connection.execute(query):
        detail = tx.open_json(Place("office_change", row.id, "detail"), row.detail)
        found.append((row.at, Change(row.what, **detail, about_id=row.about_id)))
    return found
