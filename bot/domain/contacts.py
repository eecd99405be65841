"""Whom a client can ring, and which number answers now."""

import datetime as dt
from collections.abc import Mapping
from dataclasses import dataclass
from zoneinfo import ZoneInfo

from bot.domain import local_time

Hours = Mapping[int, tuple[tuple[dt.time, dt.time], ...]]
LOOK_AHEAD_DAYS = 60


@dataclass(frozen=True, slots=True)
class ClinicCard:
    """What a message may say of a clinic.

    hours: opening times by weekday (0 = Monday) in the clinic's `zone`; closures: local days it is shut.
    emergency_number is the one of the client's country, as the clinic recorded it.
    """

    name: str
    zone: str
    phone: str
    out_of_hours_line: str
    emergency_number: str
    hours: Hours
    closures: frozenset[dt.date]


def zone_of(card: ClinicCard) -> ZoneInfo:
    """The clinic's zone; UTC should it ever vanish from the time zone data."""
    return local_time.known_zone(card.zone) or ZoneInfo("UTC")


def is_open(card: ClinicCard, now: dt.datetime) -> bool:
    """Whether somebody is at the clinic's phone at an instant."""
    local = local_time.local(now, zone_of(card))
    if local.date() in card.closures:
        return False
    return any(start <= local.time() < end for start, end in card.hours.get(local.weekday(), ()))


def next_opening(card: ClinicCard, now: dt.datetime) -> dt.datetime:
    """The next instant at which the clinic is open: now, if it is.

    A clinic without any opening in the coming 60 days gives the instant one day on, so that nothing waits
    for ever.
    """
    if is_open(card, now):
        return now
    today = local_time.local(now, zone_of(card)).date()
    for days in range(LOOK_AHEAD_DAYS):
        on = today + dt.timedelta(days=days)
        if on in card.closures:
            continue
        for start, _ in sorted(card.hours.get(on.weekday(), ())):
            at = local_time.instant(on, start, zone_of(card))
            if at > now:
                return at
    return now + dt.timedelta(days=1)


def next_morning(card: ClinicCard, now: dt.datetime) -> dt.datetime:
    """The first opening of a later local day than today's."""
    today = local_time.local(now, zone_of(card)).date()
    midnight = local_time.instant(today + dt.timedelta(days=1), dt.time(0), zone_of(card))
    return next_opening(card, midnight)


def after_working_days(card: ClinicCard, now: dt.datetime, days: int) -> dt.datetime:
    """The opening of the clinic on the so-many-th working day after today's."""
    at = now
    for _ in range(days):
        at = next_morning(card, at)
    return at


def number_now(card: ClinicCard, now: dt.datetime) -> str:
    """The number under which a person answers now: the clinic's in its hours, else the out-of-hours line."""
    return card.phone if is_open(card, now) else card.out_of_hours_line
