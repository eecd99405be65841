"""Messages sent without being asked for: what, about which day, when."""

import datetime as dt
import uuid
from collections.abc import Iterable
from dataclasses import dataclass

from sqlalchemy import bindparam, select

from bot.store import tables
from bot.store.base import Tx
from bot.store.ids import new_id
from bot.store.types import Instant

_UNASKED = tables.unasked.c
# Built once, as it is asked at every turn.
_SINCE = (
    select(_UNASKED.client_id, _UNASKED.what, _UNASKED.on_date, _UNASKED.ordinal, _UNASKED.put_at)
    .where(
        _UNASKED.client_id.in_(bindparam("clients", expanding=True)),
        _UNASKED.put_at >= bindparam("since", type_=Instant),
    )
    .order_by(_UNASKED.put_at, _UNASKED.id)
)


@dataclass(frozen=True, slots=True)
class UnaskedRow:
    """An unasked message that was put in the outbox."""

    what: str
    on: dt.date
    ordinal: int
    put_at: dt.datetime


def add(tx: Tx, client_id: uuid.UUID, row: UnaskedRow) -> bool:
    """Keep that an unasked message was put; False when the same one was put before."""
    values = {
        "id": new_id(row.put_at),
        "client_id": client_id,
        "what": row.what,
        "on_date": row.on,
        "ordinal": row.ordinal,
        "put_at": row.put_at,
    }
    return tx.put_once(tables.unasked, values, "client_id", "what", "on_date", "ordinal")


def since(
    tx: Tx, client_ids: Iterable[uuid.UUID], earliest: dt.datetime
) -> dict[uuid.UUID, list[UnaskedRow]]:
    """The unasked messages to some clients since an instant, oldest first."""
    found: dict[uuid.UUID, list[UnaskedRow]] = {}
    for client_id, *values in tx.connection.execute(_SINCE, {"clients": list(client_ids), "since": earliest}):
        found.setdefault(client_id, []).append(UnaskedRow(*values))
    return found
