"""What the verbs that report something ask for: read in one short transaction, worked out after it."""

import datetime as dt
import re
import uuid
from contextlib import suppress
from dataclasses import dataclass, replace
from pathlib import Path

from bot.clock import Clock
from bot.domain import attention, local_time
from bot.domain.contacts import zone_of
from bot.domain.endings import EndingKind
from bot.domain.people import Role
from bot.errors import RefusedError
from bot.reports.digest import Digest
from bot.reports.summary_parts import About, Discharged, Maintenance
from bot.rules import prescription_file, rulebook, signs
from bot.service import client_record, names, window
from bot.store import endings, people
from bot.store.base import Begin

WEEK = dt.timedelta(days=7)
A_SECOND = dt.timedelta(seconds=1)
_WEEK = re.compile(r"(\d{4})-W(\d{2})", re.ASCII)


@dataclass(frozen=True, slots=True)
class Reported:
    """A digest with whose it is. clinic: its code; name: what it is called; on: its day at `at`.

    therapist: a code, None for every therapist of the clinic.
    """

    digest: Digest
    clinic: str
    name: str
    therapist: str | None
    at: dt.datetime
    on: dt.date


def digest(
    begin: Begin,
    clock: Clock,
    clinic_code: str | None,
    therapist: str | None,
    week: str | None,
    told: window.Told | None = None,
) -> Reported:
    """The digest as it is now, or as it stood at the clinic's hour on the Monday after an ISO week.

    week: such as 2026-W10. Without a therapist all clients of the clinic are in it. told: is told how many
    clients are done, and of how many. Raises RefusedError.
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
    found = [one.week for part in window.every(begin, clinic, staff, at, told) for one in part]
    last_on = local_time.local_date(at, zone) - dt.timedelta(days=1)
    lines = attention.order(found, at)
    made = Digest(lines=lines, first_on=last_on - WEEK + dt.timedelta(days=1), last_on=last_on)
    return Reported(made, clinic.code, clinic.card.name, therapist, at, last_on + dt.timedelta(days=1))


def first_day(week: str) -> dt.date:
    """The Monday of an ISO week such as 2026-W10; raises RefusedError for anything else."""
    shape = _WEEK.fullmatch(week)
    if shape is not None:
        year, number = (int(part) for part in shape.groups())
        with suppress(ValueError):  # a week 60, or 53 of a year without one
            return dt.date.fromisocalendar(year, number, 1)
    raise RefusedError(f"--week: {week[:20]!r}: expected a week such as 2026-W10")


def about(begin: Begin, clock: Clock, clinic_code: str | None, code: str, on: dt.date | None = None) -> About:
    """Everything about a client; raises RefusedError for an unknown one.

    on: how it stood at the end of that day of the clinic's, None for now.
    """
    rules = rulebook.packaged()
    with begin() as tx:
        client, clinic = names.client(tx, clinic_code, code)
        end = None if on is None else local_time.day_span(on, zone_of(clinic.card))[1]
        now = clock.now()
        record = client_record.gather(tx, client, clinic, now if end is None else min(now, end - A_SECOND))
        therapist = people.staff_by_id(tx, client.therapist_id)
        steps = [one for one in endings.of_clients(tx, [client.id]).get(client.id, ()) if one.at <= record.at]
        codes: dict[uuid.UUID | None, str] = {
            one: people.staff_by_id(tx, one).code for step in steps for one in (step.owner, step.by) if one
        }
    taken = [step for step in steps if step.kind is EndingKind.MAINTENANCE]
    closed = [step for step in steps if step.kind is EndingKind.DISCHARGED]
    current = record.current
    return About(
        record=record,
        clinic=clinic.card.name,
        therapist=therapist.code,
        catalogue=rules.catalogue,
        figures=rules.figures,
        signs={sign.id: sign.title for sign in signs.load().signs.values()},
        maintenance=None
        if not taken or current is None
        else Maintenance(current.prescription, taken[-1].until, codes.get(taken[-1].owner)),
        discharged=None
        if not closed
        else Discharged(closed[-1].at, closed[-1].reason, codes.get(closed[-1].by)),
    )


def discharged(about: About, file: Path | None, until_on: dt.date | None, owner: str | None) -> About:
    """The same for a discharge.

    file: her maintenance plan, None for the prescription in force. until_on, owner: None for what she took.
    Raises RefusedError for a faulty file and for another client's.
    """
    record, kept = about.record, about.maintenance
    current = record.current
    plan = current.prescription if current and (until_on or kept) else None
    if file is not None:
        read = prescription_file.read_any(file, rulebook.packaged())
        if read.client != record.client.code:
            raise RefusedError(f"{file}: client: {read.client} is not {record.client.code}")
        plan = prescription_file.prescription(read)
    if plan is not None:
        taken = Maintenance(plan) if kept is None else kept
        kept = Maintenance(plan, until_on or taken.until_on, owner or taken.owner)
    return replace(about, discharge=True, maintenance=kept)
