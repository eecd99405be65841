"""Visits, findings and reviews: rows are only added."""

import datetime as dt
import uuid
from collections.abc import Iterable
from typing import Any

from sqlalchemy import Table, insert, select

from bot.domain.visits import Attendance, Review, ReviewOutcome, Visit
from bot.store import tables
from bot.store.base import Tx
from bot.store.ids import new_id
from bot.store.vault import Place


def add_visit(
    tx: Tx, client_id: uuid.UUID, staff_id: uuid.UUID, on: dt.date, attendance: Attendance, now: dt.datetime
) -> None:
    """Keep that a visit took place, or did not."""
    tx.connection.execute(
        insert(tables.visit).values(
            id=new_id(now),
            client_id=client_id,
            staff_id=staff_id,
            on_date=on,
            attendance=attendance.value,
            recorded_at=now,
        ),
    )


def visits_of(tx: Tx, client_id: uuid.UUID) -> tuple[Visit, ...]:
    """A client's visits, oldest first."""
    return tuple(
        Visit(row.id, row.on_date, Attendance(row.attendance), row.code, row.recorded_at)
        for row in _signed(tx, tables.visit, [client_id])
    )


def add_finding(
    tx: Tx, client_id: uuid.UUID, staff_id: uuid.UUID, on: dt.date, detail: dict[str, Any], now: dt.datetime
) -> None:
    """Keep what was found at a visit: `words` as typed, `fields` as they were read."""
    row_id = new_id(now)
    tx.connection.execute(
        insert(tables.finding).values(
            id=row_id,
            client_id=client_id,
            staff_id=staff_id,
            on_date=on,
            detail=tx.seal_json(client_id, Place("finding", row_id, "detail"), detail),
            recorded_at=now,
        ),
    )


def findings_of(
    tx: Tx, client_ids: Iterable[uuid.UUID]
) -> dict[uuid.UUID, list[tuple[dt.date, dict[str, Any]]]]:
    """What was found at some clients' visits, oldest first: day, and detail as `add_finding` took it."""
    found: dict[uuid.UUID, list[tuple[dt.date, dict[str, Any]]]] = {}
    for row in _signed(tx, tables.finding, client_ids):
        detail = tx.open_json(Place("finding", row.id, "detail"), row.detail)
        found.setdefault(row.client_id, []).append((row.on_date, detail))
    return found


def add_review(tx: Tx, client_id: uuid.UUID, staff_id: uuid.UUID, review: Review) -> None:
    """Keep what a review ended in."""
    row_id = new_id(review.recorded_at)
    tx.connection.execute(
        insert(tables.review).values(
            id=row_id,
            client_id=client_id,
            staff_id=staff_id,
            on_date=review.on,
            outcome=review.outcome.value,
            reason=tx.seal(client_id, Place("review", row_id, "reason"), review.reason),
            next_on=review.next_on,
            recorded_at=review.recorded_at,
        ),
    )


def reviews_of(tx: Tx, client_ids: Iterable[uuid.UUID]) -> dict[uuid.UUID, tuple[Review, ...]]:
    """Some clients' reviews, oldest first."""
    found: dict[uuid.UUID, tuple[Review, ...]] = {}
    for row in _signed(tx, tables.review, client_ids):
        reason = tx.open_text(Place("review", row.id, "reason"), row.reason)
        review = Review(
            row.on_date, ReviewOutcome(row.outcome), reason, row.next_on, row.code, row.recorded_at
        )
        found[row.client_id] = (*found.get(row.client_id, ()), review)
    return found


def _signed(tx: Tx, table: Table, client_ids: Iterable[uuid.UUID]) -> Iterable[Any]:
    """The rows of some clients with the code of who recorded each, oldest first."""
    query = (
        select(table, tables.staff.c.code)
        .join(tables.staff, tables.staff.c.id == table.c.staff_id)
        .where(table.c.client_id.in_(list(client_ids)))
        .order_by(table.c.on_date, table.c.id)
    )
    return tx.connection.execute(query)
