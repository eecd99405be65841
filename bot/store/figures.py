"""Counts that name nobody, for monitoring."""

import datetime as dt

from sqlalchemy import func, select

from bot.domain.levels import Level
from bot.store import tables
from bot.store.base import Tx

_OUTBOX = tables.outbox.c
_ALERT = tables.alert.c
FAILED = ("refused", "unknown", "expired")


def queued(tx: Tx, now: dt.datetime) -> dict[str, int]:
    """Messages that wait although they may go, by kind."""
    query = (
        select(_OUTBOX.kind, func.count())
        .where(_OUTBOX.state == "queued", _OUTBOX.not_before <= now)
        .group_by(_OUTBOX.kind)
    )
    return {kind: number for kind, number in tx.connection.execute(query)}  # noqa: C416 - rows, not tuples


def failed(tx: Tx, since: dt.datetime) -> dict[str, int]:
    """Messages taken since an instant that ended otherwise than sent, by state."""
    query = (
        select(_OUTBOX.state, func.count())
        .where(_OUTBOX.taken_at >= since, _OUTBOX.state.in_(FAILED))
        .group_by(_OUTBOX.state)
    )
    found = dict.fromkeys(FAILED, 0)
    found.update({state: number for state, number in tx.connection.execute(query)})  # noqa: C416 - the same
    return found


def unseen_alerts(tx: Tx) -> dict[str, int]:
    """Open alerts that nobody has marked as seen, by level."""
    query = (
        select(_ALERT.level, func.count())
        .where(_ALERT.closed_at.is_(None), _ALERT.seen_at.is_(None))
        .group_by(_ALERT.level)
    )
    found = {level.value: 0 for level in Level}
    found.update({level: number for level, number in tx.connection.execute(query)})  # noqa: C416 - the same
    return found
