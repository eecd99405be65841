"""What the verbs that report something ask for: read in one short transaction, worked out after it."""

import datetime as dt
import re
from contextlib import suppress
from dataclasses import dataclass

from bot.clock import Clock
from bot.domain import attention, local_time
from bot.domain.contacts import zone_of
from bot.domain.people import Role
from bot.errors import RefusedError
from bot.reports.digest import Digest
from bot.reports.summary import About
from bot.rules import rulebook, signs
from bot.service import client_record, names, window
from bot.store import people
from bot.store.base import Begin

WEEK = dt.timedelta(days=7)
_WEEK = re.compile(r"(\d{4})-W(\d{2})", re.ASCII)


@dataclass(frozen=True, slots=True)
class Reported:
    """A digest with whose it is. therapist: a code, None for every therapist of the clinic."""

    digest: Digest
    clinic: str
    therapist: str | None
    at: dt.datetime


def digest(
    begin: Begin, clock: Clock, clinic_code: str | None, therapist: str | None, week: str | None
) -> Reported:
    """The digest as it is now, or as it stood at the clinic's hour on the Monday after an ISO week.

    week: such as 2026-W10. Without a therapist all clients of the clinic are in it. Raises RefusedError.
    """
    monday = None if week is None else first_day(week) + WEEK
    with begin() as tx:
        clinic = names.clinic(tx, clinic_code)
        staff = (
            people.staff_of(tx, clinic.id, Role.THERAPIST)
            if therapist is None
            else [names.therapist(tx, clinic, therapist)]
        )
        zone = zone_of(clinic.card)
        at = clock.now() if monday is None else local_time.instant(monday, clinic.digest_at, zone)
        found = window.weeks(tx, [one.id for one in staff], zone, clinic.labels, at)
    last_on = local_time.local_date(at, zone) - dt.timedelta(days=1)
    lines = attention.order(tuple(one.week for one in found), at)
    made = Digest(lines=lines, first_on=last_on - WEEK + dt.timedelta(days=1), last_on=last_on)
    return Reported(made, clinic.code, therapist, at)


def first_day(week: str) -> dt.date:
    """The Monday of an ISO week such as 2026-W10; raises RefusedError for anything else."""
    shape = _WEEK.fullmatch(week)
    if shape is not None:
        year, number = (int(part) for part in shape.groups())
        with suppress(ValueError):  # a week 60, or 53 of a year without one
            return dt.date.fromisocalendar(year, number, 1)
    raise RefusedError(f"--week: {week[:20]!r}: expected a week such as 2026-W10")


def about(begin: Begin, clock: Clock, clinic_code: str | None, code: str) -> About:
    """Everything about a client; raises RefusedError for an unknown one."""
    rules = rulebook.packaged()
    with begin() as tx:
        client, clinic = names.client(tx, clinic_code, code)
        record = client_record.gather(tx, client, clinic, clock.now())
        therapist = people.staff_by_id(tx, client.therapist_id)
    return About(
        record=record,
        clinic=clinic.card.name,
        therapist=therapist.code,
        catalogue=rules.catalogue,
        figures=rules.figures,
        signs={sign.id: sign.title for sign in signs.load().signs.values()},
    )
