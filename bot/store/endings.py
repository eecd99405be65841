"""How programmes end: every step is a row, reasons are sealed."""

import datetime as dt
import uuid
from collections.abc import Iterable

from sqlalchemy import insert, select

from bot.domain.endings import Ending, EndingKind
from bot.store import tables
from bot.store.base import Tx
from bot.store.ids import new_id
from bot.store.vault import Place

_ENDINGS = tables.ending.c


def add(tx: Tx, client_id: uuid.UUID, ending: Ending) -> None:
    """Keep a step."""
    row_id = new_id(ending.at)
    place = Place("ending", row_id, "reason")
    tx.connection.execute(
        insert(tables.ending).values(
            id=row_id,
            client_id=client_id,
            kind=ending.kind.value,
            until_on=ending.until,
            owner_id=ending.owner,
            by_id=ending.by,
            reason=tx.seal(client_id, place, ending.reason) if ending.reason else None,
            at=ending.at,
        )
    )


def of_clients(tx: Tx, client_ids: Iterable[uuid.UUID]) -> dict[uuid.UUID, list[Ending]]:
    """The steps of some clients, oldest first; clients without any are missing."""
    query = (
        select(tables.ending)
        .where(_ENDINGS.client_id.in_(list(client_ids)))
        .order_by(_ENDINGS.at, _ENDINGS.id)
    )
    found: dict[uuid.UUID, list[Ending]] = {}
    for row in tx.connection.execute(query):
        reason = tx.open_text(Place("ending", row.id, "reason"), row.reason) if row.reason else ""
        found.setdefault(row.client_id, []).append(
            Ending(EndingKind(row.kind), row.at, row.until_on, row.owner_id, row.by_id, reason)
        )
    return found


def latest(tx: Tx, client_id: uuid.UUID) -> Ending | None:
    """The newest step of a client, None for none."""
    steps = of_clients(tx, [client_id]).get(client_id)
    return steps[-1] if steps else None


def maintained_until(tx: Tx, client_id: uuid.UUID) -> dt.date | None:
    """The last local day of a client's maintenance, None while she is not in it."""
    step = latest(tx, client_id)
    if step is None or step.kind is not EndingKind.MAINTENANCE:
        return None
    return step.until
