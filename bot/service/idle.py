"""When there is nothing to do, and when there will be something again."""

import datetime as dt

from bot.service import erasing, hand_overs, incidents
from bot.service.office import Office
from bot.store import alerts, diary, inbox, outbox, people, sent_files


def due_at(office: Office) -> dict[str, dt.datetime]:
    """When each kind of work is due next, in the past when it is due already; what never comes is missing.

    While an update can be handled, only the inbox is named: handling it may change everything else.
    """
    now = office.clock.now()
    with office.begin() as tx:
        inbox_at = (inbox.next_at(tx) or now) if inbox.waiting(tx) else None
        if inbox_at is not None and inbox_at <= now:
            return {"inbox": inbox_at}
        found = {
            "inbox": inbox_at,
            "alerts": alerts.next_step_at(tx),
            "agenda": diary.next_track_at(tx),
            "files": sent_files.next_at(tx),
            "watching": incidents.next_at(tx, office, now),
            "housekeeping": hand_overs.next_end_at(tx),
            "erasing": erasing.next_at(tx),
            "digests": people.next_digest_at(tx),
            "outbox": outbox.next_at(tx, office.bot, now),
        }
    return {name: at for name, at in found.items() if at is not None}


def amiss(office: Office) -> list[str]:
    """What keeps the service from being ready, a line each."""
    now = office.clock.now()
    with office.begin() as tx:
        oldest = inbox.oldest_waiting(tx)
        undelivered = alerts.undelivered(tx)
    lines = []
    if oldest is not None and now - oldest > dt.timedelta(minutes=1):
        lines.append(f"inbox: the oldest update has waited {int((now - oldest).total_seconds())} s")
    if undelivered:
        lines.append(f"alerts: {undelivered} could be delivered to nobody")
    return lines
