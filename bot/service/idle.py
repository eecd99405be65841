"""When there is nothing to do, and when there will be something again."""

import datetime as dt

from bot.service.office import Office
from bot.store import alerts, diary, inbox, outbox, people


def next_at(office: Office) -> dt.datetime | None:
    """The next instant at which something is due; in the past when it is due already; None for never."""
    now = office.clock.now()
    with office.begin() as tx:
        if inbox.waiting(tx):
            return inbox.next_at(tx) or now
        found = (
            outbox.next_at(tx, now),
            diary.next_track_at(tx),
            alerts.next_step_at(tx),
            people.next_digest_at(tx),
        )
    return min((at for at in found if at is not None), default=None)


def amiss(office: Office) -> list[str]:
    """What keeps the service from being ready, a line each."""
    now = office.clock.now()
    with office.begin() as tx:
        oldest = inbox.oldest_waiting(tx)
        undelivered = alerts.undelivered(tx, now)
    lines = []
    if oldest is not None and now - oldest > dt.timedelta(minutes=1):
        lines.append(f"inbox: the oldest update has waited {int((now - oldest).total_seconds())} s")
    if undelivered:
        lines.append(f"alerts: {undelivered} could be delivered to nobody")
    return lines
