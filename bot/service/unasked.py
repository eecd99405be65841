"""When something that nobody asked for may reach a client, outside the agenda's own order."""

import datetime as dt
import uuid

from bot.domain import local_time
from bot.domain.people import Client
from bot.domain.prescription import Prescription
from bot.domain.track import What
from bot.store import diary, unasked_log
from bot.store.base import Tx

MOST_DAYS = 14


def next_moment(
    tx: Tx, client: Client, plan: Prescription, track: diary.TrackRow, now: dt.datetime
) -> dt.datetime:
    """The first instant from now on outside her quiet hours, her own pause, and within the day's messages."""
    zone = local_time.zone(client.zone)
    at = now
    if track.paused_until is not None and track.pause_reason is not None:
        at = max(now, local_time.instant(track.paused_until, plan.quiet_to, zone))
    at = local_time.quiet_ends(at, plan.quiet_from, plan.quiet_to, zone)
    on = local_time.local_date(at, zone)
    for _ in range(MOST_DAYS):
        if said_on(tx, client.id, on, now) < track.cap:
            break
        on += dt.timedelta(days=1)
        at = local_time.instant(on, plan.quiet_to, zone)
    return at


def said_on(tx: Tx, client_id: uuid.UUID, on: dt.date, now: dt.datetime) -> int:
    """How many of a day's messages are used up; a nudge she put off herself uses none."""
    near = unasked_log.since(tx, [client_id], now - dt.timedelta(days=2)).get(client_id, ())
    return sum(one.on == on and one.what != What.LATER.value for one in near)
