"""Clients handed over to a colleague: rows are only added, and ended once."""

import datetime as dt
import uuid
from collections.abc import Sequence
from dataclasses import dataclass

from sqlalchemy import Select, insert, or_, select, update

from bot.domain.hand_over import HandOver
from bot.store import tables
from bot.store.base import Tx
from bot.store.ids import new_id
from bot.store.vault import Place

_ROW = tables.hand_over.c
_CLIENT = tables.client.c


@dataclass(frozen=True, slots=True)
class New:
    """A hand-over to be kept. made_by: who decided it, by code or full name."""

    client_id: uuid.UUID
    from_id: uuid.UUID
    to_id: uuid.UUID
    until_on: dt.date | None
    made_by: str


def hand_over(tx: Tx, new: New, now: dt.datetime) -> bool:
    """Give a client another therapist; False when she is somebody else's by now."""
    moved = update(tables.client).where(_CLIENT.id == new.client_id, _CLIENT.therapist_id == new.from_id)
    if tx.connection.execute(moved.values(therapist_id=new.to_id)).rowcount != 1:
        return False
    row_id = new_id(now)
    tx.connection.execute(
        insert(tables.hand_over).values(
            id=row_id,
            client_id=new.client_id,
            from_id=new.from_id,
            to_id=new.to_id,
            until_on=new.until_on,
            made_by=tx.seal(new.client_id, Place("hand_over", row_id, "made_by"), new.made_by),
            made_at=now,
            # For good, there is nothing to come back from.
            ended_at=now if new.until_on is None else None,
        )
    )
    return True


def _found(tx: Tx, query: Select[tuple[uuid.UUID]]) -> list[HandOver]:
    return [
        HandOver(
            row.id,
            row.client_id,
            row.from_id,
            row.to_id,
            row.until_on,
            tx.open_text(Place("hand_over", row.id, "made_by"), row.made_by),
            row.made_at,
            None
            if row.ended_by is None
            else tx.open_text(Place("hand_over", row.id, "ended_by"), row.ended_by),
            row.ended_at,
        )
        for row in tx.connection.execute(query)
    ]


def lent(tx: Tx, staff_id: uuid.UUID) -> list[HandOver]:
    """The hand-overs that stand until a day, from or to somebody, oldest first."""
    query = select(tables.hand_over).where(
        _ROW.ended_at.is_(None), or_(_ROW.from_id == staff_id, _ROW.to_id == staff_id)
    )
    return _found(tx, query.order_by(_ROW.made_at, _ROW.id))


def over(tx: Tx, on_or_before: dt.date, limit: int) -> list[HandOver]:
    """Those whose last day is past or is a given one at the latest."""
    query = select(tables.hand_over).where(_ROW.ended_at.is_(None), _ROW.until_on <= on_or_before)
    return _found(tx, query.order_by(_ROW.until_on, _ROW.id).limit(limit))


def soonest(tx: Tx) -> HandOver | None:
    """The one that is over first."""
    query = select(tables.hand_over).where(_ROW.ended_at.is_(None)).order_by(_ROW.until_on, _ROW.id).limit(1)
    return next(iter(_found(tx, query)), None)


def of_clients(tx: Tx, client_ids: Sequence[uuid.UUID]) -> list[HandOver]:
    """Every hand-over of some clients, oldest first."""
    query = select(tables.hand_over).where(_ROW.client_id.in_(list(client_ids)))
    return _found(tx, query.order_by(_ROW.made_at, _ROW.id))


def end(tx: Tx, one: HandOver, ended_by: str, now: dt.datetime) -> bool:
    """End a hand-over and give the client back to whose she was; False when it had ended already."""
    place = Place("hand_over", one.id, "ended_by")
    ended = update(tables.hand_over).where(_ROW.id == one.id, _ROW.ended_at.is_(None))
    sealed = tx.seal(one.client_id, place, ended_by)
    if tx.connection.execute(ended.values(ended_at=now, ended_by=sealed)).rowcount != 1:
        return False
    back = update(tables.client).where(_CLIENT.id == one.client_id, _CLIENT.therapist_id == one.to_id)
    tx.connection.execute(back.values(therapist_id=one.from_id))
    return True
