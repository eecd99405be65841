"""A client lives in another time zone from now on."""

import datetime as dt

from bot.domain import local_time
from bot.domain.people import Client, Stage
from bot.store import diary, people
from bot.store.base import Tx


def move(tx: Tx, client: Client, zone: str, now: dt.datetime) -> None:
    """Another time zone: a local day that the journey skips has nothing prescribed and is kept as travel."""
    before, after = local_time.known_zone(client.zone), local_time.known_zone(zone)
    people.set_zone(tx, client.id, zone)
    if before is None or after is None or client.stage is not Stage.ACTIVE:
        return
    for on in local_time.skipped_by_travel(before, after, now):
        event = diary.PauseEvent("travel", "", on, on + dt.timedelta(days=1))
        diary.add_pause_event(tx, client.id, event, now)
