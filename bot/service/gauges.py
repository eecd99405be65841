"""How the service stands, in figures that name nobody: what monitoring asks for."""

import datetime as dt
from dataclasses import dataclass

from bot.service.office import Office
from bot.store import alerts, diary, figures, inbox


@dataclass(frozen=True, slots=True)
class Gauges:
    """The figures of one moment.

    due_lag_s: how late the agenda is. inbox_age_s: how long the oldest update has waited. queued: messages
    that may go now, by kind. failed: messages that ended otherwise than sent in the last hour, by state.
    unseen_alerts: open alerts nobody has marked as seen, by level. undelivered_alerts: told to nobody.
    """

    due_lag_s: float
    inbox_age_s: float
    queued: dict[str, int]
    failed: dict[str, int]
    unseen_alerts: dict[str, int]
    undelivered_alerts: int


def read(office: Office) -> Gauges:
    """The figures as of now; a handful of small queries, each by an index."""
    now = office.clock.now()

    def seconds_since(at: dt.datetime | None) -> float:
        return 0.0 if at is None else max(0.0, (now - at).total_seconds())

    with office.begin() as tx:
        return Gauges(
            due_lag_s=seconds_since(diary.next_track_at(tx)),
            inbox_age_s=seconds_since(inbox.oldest_waiting(tx)),
            queued=figures.queued(tx, now),
            failed=figures.failed(tx, now - dt.timedelta(hours=1)),
            unseen_alerts=figures.unseen_alerts(tx),
            undelivered_alerts=alerts.undelivered(tx),
        )
