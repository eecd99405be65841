"""What can be wrong with a set-up though every setting is well formed: data, people, clock, disk."""

import datetime as dt
import shutil
from pathlib import Path

from bot.domain import local_time
from bot.store import people
from bot.store.base import Tx

LEAST_FREE_BYTES = 200 * 1024 * 1024  # a week of a busy clinic many times over
CLOCK_OFF = dt.timedelta(seconds=30)  # nudges are on the minute; beyond this the ladder of an alert is late


def zones(tx: Tx) -> list[str]:
    """Time zones in use that this machine's time-zone data does not know, a line each."""
    return [
        f"time-zone data: {zone} is in use and not known here; install a newer tzdata"
        for zone in people.zones_in_use(tx)
        if local_time.known_zone(zone) is None
    ]


def clinics(tx: Tx) -> list[str]:
    """Clinics that cannot enrol anybody, and why, a line each."""
    known = people.clinics(tx)
    if not known:
        return ["clinic: none yet; make one with `programme-bot add-clinic`"]
    return []


def clock(now: dt.datetime, there: dt.datetime | None) -> list[str]:
    """Whether this machine's clock agrees with the platform's; `there` None where it did not say."""
    if there is None or abs(now - there) <= CLOCK_OFF:
        return []
    seconds = round((now - there).total_seconds())
    return [f"clock: {seconds:+d} s from the platform's; expected within {CLOCK_OFF.seconds} s"]


def disk(folder: Path) -> list[str]:
    """Whether there is room left where the database grows."""
    free = shutil.disk_usage(folder).free
    if free >= LEAST_FREE_BYTES:
        return []
    return [
        f"disk: {free // 1024**2} MiB free in {folder}; expected at least {LEAST_FREE_BYTES // 1024**2} MiB"
    ]
