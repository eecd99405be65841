"""Letting go of what went through the chat: the raw updates that were handled and the messages that arrived.

The rows stay, since others refer to them and their keys keep anything from being taken or sent twice; what
they held is overwritten. A mark for each table says how far that has come, so that a run goes on where the
last one ended. Rows are in the order of their ids, which begin with the instant they were made.

What is still under way, or may be handled or sent once more by hand, keeps what it holds. Should it come to
its end later on, the next round finds it: once the marks have caught up they begin anew now and then.
"""

import datetime as dt
import uuid
from dataclasses import dataclass
from typing import Any

from sqlalchemy import Table, delete, func, select, update

from bot.domain.delivery import State
from bot.store import tables
from bot.store.base import INSTALLATION, Tx
from bot.store.vault import Place

ROUND = dt.timedelta(days=30)
_MARK = tables.let_go.c
_FIRST = uuid.UUID(int=0)


@dataclass(frozen=True, slots=True)
class Kept:
    """A table whose contents are let go of.

    done: the state of a row that has come to its good end. column: what holds the content, and `empty` what
    stands there afterwards. picture: whether a picture goes with it.
    """

    table: Table
    done: str
    column: str
    empty: bytes
    picture: bool


UPDATES = Kept(tables.inbox, "handled", "raw", b"", picture=False)
MESSAGES = Kept(tables.outbox, State.SENT.value, "content", b"{}", picture=True)
EVERY = (UPDATES, MESSAGES)


def first_of(at: dt.datetime) -> uuid.UUID:
    """The smallest id that a row made at an instant can have."""
    return uuid.UUID(int=int(at.timestamp() * 1000) << 80)


def batch(tx: Tx, kept: Kept, before: dt.datetime, limit: int, now: dt.datetime) -> int:
    """Look at up to `limit` rows made before an instant, and overwrite what those held that are done.

    Tells how many rows were looked at; 0 where the mark has caught up.
    """
    row = kept.table.c
    mark = tx.connection.execute(select(tables.let_go).where(_MARK.what == kept.table.name)).first()
    content = row[kept.column]
    query = (
        select(row.id, row.state, func.length(content).label("size"))
        .where(row.id > (mark.up_to if mark else _FIRST), row.id < first_of(before))
        .order_by(row.id)
        .limit(limit)
    )
    rows = tx.connection.execute(query).all()
    if not rows:
        if mark is not None and now - mark.at >= ROUND:
            tx.connection.execute(delete(tables.let_go).where(_MARK.what == kept.table.name))
        return 0
    size = len(_empty(tx, kept, _FIRST))
    _overwrite(tx, kept, [one.id for one in rows if one.state == kept.done and one.size > size])
    if mark is None:
        begun = {"what": kept.table.name, "up_to": rows[-1].id, "at": now}
        tx.put_once(tables.let_go, begun, "what")  # another worker may begin at the same moment
    else:
        here = update(tables.let_go).where(_MARK.what == kept.table.name)
        tx.connection.execute(here.values(up_to=rows[-1].id))
    return len(rows)


def _empty(tx: Tx, kept: Kept, row_id: uuid.UUID) -> bytes:
    return tx.seal(INSTALLATION, Place(kept.table.name, row_id, kept.column), kept.empty)


def _overwrite(tx: Tx, kept: Kept, ids: list[uuid.UUID]) -> None:
    if tx.on_sqlite and ids:
        # What is overwritten does not stay behind in free parts of the file.
        tx.connection.exec_driver_sql("PRAGMA secure_delete=ON")
    for row_id in ids:
        values: dict[str, Any] = {kept.column: _empty(tx, kept, row_id)}
        if kept.picture:
            values["picture"] = None
        tx.connection.execute(update(kept.table).where(kept.table.c.id == row_id).values(**values))
