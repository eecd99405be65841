"""What a client did beside her sets: taps, kept once each; which exercise it was is sealed."""

import datetime as dt
import uuid
from collections.abc import Iterable

from sqlalchemy import select

from bot.domain.extras import Extra
from bot.store import tables
from bot.store.base import Tx
from bot.store.ids import new_id
from bot.store.vault import Place

_EXTRAS = tables.extra_report.c


def report(tx: Tx, client_id: uuid.UUID, extra: Extra, now: dt.datetime) -> bool:
    """Keep a tap; False when this very tap (by its key) was kept before."""
    row_id = new_id(now)
    values = {
        "id": row_id,
        "client_id": client_id,
        "key": extra.key,
        "undoes": extra.undoes or None,
        "on_date": extra.on,
        "exercise": tx.seal(client_id, Place("extra_report", row_id, "exercise"), extra.exercise),
        "said_at": extra.said_at,
        "entered_at": now,
    }
    return tx.put_once(tables.extra_report, values, "client_id", "key")


def of_clients(tx: Tx, client_ids: Iterable[uuid.UUID], since_on: dt.date) -> dict[uuid.UUID, list[Extra]]:
    """The taps of some clients about days from `since_on` on, oldest first, in one pass."""
    query = (
        select(tables.extra_report)
        .where(_EXTRAS.client_id.in_(list(client_ids)), _EXTRAS.on_date >= since_on)
        .order_by(_EXTRAS.said_at, _EXTRAS.id)
    )
    found: dict[uuid.UUID, list[Extra]] = {}
    for row in tx.connection.execute(query):
        exercise = tx.open_text(Place("extra_report", row.id, "exercise"), row.exercise)
        extra = Extra(row.on_date, exercise, row.said_at, row.key, row.undoes or "")
        found.setdefault(row.client_id, []).append(extra)
    return found
