"""A clinic's facts and people, shown and changed; every change stays on record with who made it."""

import datetime as dt
import uuid
from collections.abc import Mapping
from dataclasses import dataclass, replace

from bot.clock import Clock
from bot.domain import local_time
from bot.domain.contacts import Hours, zone_of
from bot.domain.duties import Duty
from bot.domain.people import Clinic, Role, Staff, Stage
from bot.errors import RefusedError
from bot.rules.prescription_fields import DAYS
from bot.service import clinic_form, digests, hand_overs, setup
from bot.service.hand_overs import Giving
from bot.service.setup import NewClinic
from bot.store import chats, duties, facts, office_changes, people
from bot.store.base import Begin, Tx
from bot.store.office_changes import Change

FACTS = (
    *("name", "hours", "closed_on", "phone", "out_of_hours_line", "emergency_number"),
    *("digest_day", "digest_at", "labels"),
)
"""What may be changed of a clinic; zone and country are its own from the first day."""
STAFF = tuple(role for role in Role if role not in {Role.STRANGER, Role.CLIENT})


def hours_text(hours: Hours) -> str:
    """Hours as they are typed, such as "mon-fri 09:00-12:30; mon-thu 13:15-17:00"."""
    by_span: dict[tuple[dt.time, dt.time], list[int]] = {}
    for day in sorted(hours):
        for span in hours[day]:
            by_span.setdefault(span, []).append(day)
    parts = []
    for (start, end), days in sorted(by_span.items(), key=lambda one: (one[1][0], one[0])):
        for run in _runs(days):
            named = DAYS[run[0]] if len(run) == 1 else f"{DAYS[run[0]]}-{DAYS[run[-1]]}"
            parts.append(f"{named} {start:%H:%M}-{end:%H:%M}")
    return "; ".join(parts)


def _runs(days: list[int]) -> list[list[int]]:
    """Days in a row, together."""
    runs = [[days[0]]]
    for day in days[1:]:
        if day == runs[-1][-1] + 1:
            runs[-1].append(day)
        else:
            runs.append([day])
    return runs


def answers(clinic: Clinic) -> dict[str, str]:
    """A clinic's facts as its form has them."""
    card = clinic.card
    return {
        "code": clinic.code,
        "name": card.name,
        "zone": card.zone,
        "country": clinic.country,
        "hours": hours_text(card.hours),
        "closed_on": ",".join(sorted(day.isoformat() for day in card.closures)),
        "phone": card.phone,
        "out_of_hours_line": card.out_of_hours_line,
        "emergency_number": card.emergency_number,
        "digest_day": DAYS[clinic.digest_day],
        "digest_at": f"{clinic.digest_at:%H:%M}",
        "labels": clinic.labels,
    }


def change_clinic(
    begin: Begin, clock: Clock, clinic_code: str | None, wanted: Mapping[str, str | None], by: str
) -> dict[str, str]:
    """Change some facts, those that are None stay; gives all of them as they are then.

    Raises RefusedError, nothing stored, with a line for each field that cannot be taken.
    """
    given = {name: text for name, text in wanted.items() if text is not None}
    now = clock.now()
    with begin() as tx:
        clinic = setup.clinic_of(tx, clinic_code)
        if not given:
            return answers(clinic)
        demand_name(by)
        before = answers(clinic)
        changed = _as(clinic, clinic_form.read({**before, **given}))
        after = answers(changed)
        facts.set_clinic(tx, changed)
        for name in FACTS:
            if before[name] != after[name]:
                office_changes.add(tx, clinic.id, Change(name, before[name], after[name], by), now)
        if (changed.digest_day, changed.digest_at) != (clinic.digest_day, clinic.digest_at):
            for therapist in people.staff_of(tx, clinic.id, Role.THERAPIST):
                people.digest_at(tx, therapist.id, digests.next_due(changed, now))
        return after


def _as(clinic: Clinic, new: NewClinic) -> Clinic:
    return replace(
        clinic, card=new.card, digest_day=new.digest_day, digest_at=new.digest_at, labels=new.labels
    )


def demand_name(by: str) -> None:
    """Raise RefusedError unless somebody is named for a change."""
    if len(by.split()) < 2:  # noqa: PLR2004 - first and last name
        raise RefusedError("--recorded-by: expected the full name of who makes the change")


@dataclass(frozen=True, slots=True)
class NewFacts:
    """What is to change of a person, None for what stays.

    hours: as typed, "clinic" for the clinic's own. leaves_on: her last day; `stays` takes it back.
    """

    name: str | None = None
    registration: str | None = None
    hours: str | None = None
    leaves_on: dt.date | None = None
    stays: bool = False

    @property
    def any(self) -> bool:
        """Whether anything is to change."""
        return self.stays or any(
            one is not None for one in (self.name, self.registration, self.hours, self.leaves_on)
        )


def people_lines(begin: Begin, clinic_code: str | None) -> list[str]:
    """A line for everybody who works for a clinic: code, name, role, link, clients, hours, last day."""
    with begin() as tx:
        clinic = setup.clinic_of(tx, clinic_code)
        return [_line(tx, one) for role in STAFF for one in people.staff_of(tx, clinic.id, role)]


def _line(tx: Tx, one: Staff) -> str:
    parts = [one.code, one.name, one.role.value]
    linked = chats.chat_of_owner(tx, one.id) is not None
    parts.append("linked" if linked else "has not opened the invite")
    if one.role is Role.THERAPIST:
        parts.append(f"{len(_hers(tx, one))} clients")
    if one.hours is not None:
        parts.append(hours_text(one.hours))
    if one.leaves_on is not None:
        parts.append(f"last day {one.leaves_on}")
    return ", ".join(parts)


def change_person(
    begin: Begin, clock: Clock, clinic_code: str | None, code: str, new: NewFacts, by: str
) -> str:
    """Change facts of a person; gives her line as it is then.

    Raises RefusedError, nothing stored, with a line for each thing that cannot be taken or stands in the way.
    """
    now = clock.now()
    with begin() as tx:
        clinic = setup.clinic_of(tx, clinic_code)
        staff = person(tx, clinic, code)
        if new.any:
            demand_name(by)
            for change in apply(tx, clinic, staff, new, now):
                office_changes.add(tx, clinic.id, replace(change, by=by, about_id=staff.id), now)
        return _line(tx, people.staff_by_id(tx, staff.id))


def person(tx: Tx, clinic: Clinic, code: str) -> Staff:
    """Somebody of a clinic by her code; raises RefusedError when there is nobody."""
    found = people.staff_by_code(tx, clinic.id, code)
    if found is None:
        raise RefusedError(
            f"{code}: nobody in clinic {clinic.code} has this code; see `programme-bot people`"
        )
    return found


def apply(tx: Tx, clinic: Clinic, staff: Staff, new: NewFacts, now: dt.datetime) -> list[Change]:
    """Write the new facts down; gives what changed. Raises RefusedError with every reason at once."""
    faults: list[str] = []
    changed, changes = staff, []
    if new.name is not None:
        if not new.name.strip():
            faults.append("--name: expected a name")
        changed = replace(changed, name=new.name.strip())
        changes.append(Change("name", staff.name, changed.name, ""))
    if new.registration is not None:
        if staff.role is not Role.THERAPIST or not new.registration.strip():
            faults.append("--registration: expected the registration number of a therapist")
        changes.append(Change("registration", "", new.registration.strip(), ""))
    if new.hours is not None:
        hours = _hours(staff, new.hours, faults)
        changed = replace(changed, hours=hours)
        changes.append(
            Change("hours", hours_text(staff.hours or {}), hours_text(hours) if hours else "clinic", "")
        )
    if new.stays or new.leaves_on is not None:
        changed = replace(changed, leaves_on=new.leaves_on)
        faults += against_leaving(tx, clinic, staff, new.leaves_on, now) if new.leaves_on else []
        changes.append(Change("leaves_on", f"{staff.leaves_on or ''}", f"{new.leaves_on or ''}", ""))
    if faults:
        raise RefusedError(*faults)
    facts.set_person(tx, changed, new.registration)
    return changes


def _hours(staff: Staff, text: str, faults: list[str]) -> Hours | None:
    if text.strip().casefold() == "clinic":
        return None
    if staff.role is not Role.THERAPIST:
        faults.append(
            "--hours: only a therapist has working hours of her own; see `programme-bot duty on-call`"
        )
        return None
    try:
        return clinic_form.hours(text)
    except ValueError as error:
        faults.append(f"--hours: {error}; or `clinic` for the clinic's own")
        return None


def _hers(tx: Tx, staff: Staff) -> list[uuid.UUID]:
    return [client.id for client in people.clients_of(tx, staff.id) if client.stage is not Stage.ERASED]


def against_leaving(tx: Tx, clinic: Clinic, staff: Staff, on: dt.date, now: dt.datetime) -> list[str]:
    """What stands in the way of somebody's last day, a line each."""
    faults = []
    if on < local_time.local_date(now, zone_of(clinic.card)):
        faults.append(f"--leaves-on: {on} is past; expected today or a later day")
    clients = len(_hers(tx, staff))
    if clients:
        faults.append(
            f"--leaves-on: {staff.code} has {clients} clients; hand them over first, "
            f"`programme-bot hand-over {staff.code} COLLEAGUE`"
        )
    if any(one.from_id == staff.id for one in hand_overs.lent_of(tx, staff.id)):
        faults.append(
            f"--leaves-on: clients of {staff.code} are with a colleague until a day; "
            f"end that first, `programme-bot hand-over {staff.code} --back`, and hand them over for good"
        )
    named = sorted(
        {
            one.duty.value.replace("_", "-")
            for one in duties.of_clinic(tx, clinic.id)
            if one.staff_id == staff.id
            and not (one.duty is Duty.COVER and one.until_on is not None and one.until_on <= on)
        }
    )
    if named:
        faults.append(
            f"--leaves-on: {staff.code} is named for {', '.join(named)}; "
            f"end that first, `programme-bot duty {named[0]} {staff.code} --end`"
        )
    others = [
        one
        for one in people.staff_of(tx, clinic.id, Role.FALLBACK)
        if one.id != staff.id and not one.leaves_on
    ]
    if staff.role is Role.FALLBACK and not others:
        faults.append(
            f"--leaves-on: {staff.code} is the only fallback contact; "
            "add another one first, `programme-bot add-fallback`"
        )
    return faults


def hand_over(
    begin: Begin,
    clock: Clock,
    clinic_code: str | None,
    codes: tuple[str, str],
    clients: tuple[str, ...],
    until_on: dt.date | None,
    by: str,
) -> list[str]:
    """Hand clients of one therapist, `clients` by code or all of them, to another; gives their codes.

    codes: from whom, to whom. Raises RefusedError, nothing stored, when it cannot be.
    """
    now = clock.now()
    demand_name(by)
    with begin() as tx:
        clinic = setup.clinic_of(tx, clinic_code)
        giver, taker = (person(tx, clinic, code) for code in codes)
        own = hand_overs.own(tx, giver)
        wrong = [code for code in clients if code not in {client.code for client in own}]
        if wrong:
            raise RefusedError(*(f"{code}: not a client that {giver.code} can hand over" for code in wrong))
        chosen = tuple(client for client in own if not clients or client.code in clients)
        giving = Giving(clinic, giver, taker, chosen, until_on)
        why = hand_overs.refusal(tx, giving, now)
        if why is not None:
            raise RefusedError(hand_overs.refusal_text(why, taker))
        return [client.code for client in hand_overs.give(tx, giving, by, now)]


def hand_back(begin: Begin, clock: Clock, clinic_code: str | None, code: str, by: str) -> int:
    """End every hand-over until a day from or to somebody; tells how many clients went back."""
    demand_name(by)
    with begin() as tx:
        staff = person(tx, setup.clinic_of(tx, clinic_code), code)
        return hand_overs.give_back(tx, hand_overs.lent_of(tx, staff.id), by, clock.now())


def changes(begin: Begin, clinic_code: str | None) -> list[str]:
    """Every change of facts and people, a line each, oldest first, in the clinic's time."""
    with begin() as tx:
        clinic = setup.clinic_of(tx, clinic_code)
        zone = zone_of(clinic.card)
        codes = {one.id: one.code for role in STAFF for one in people.staff_of(tx, clinic.id, role)}
        lines = []
        for at, one in office_changes.of_clinic(tx, clinic.id):
            whose = f"{codes.get(one.about_id, '?')} " if one.about_id else ""
            when = f"{local_time.local(at, zone):%Y-%m-%d %H:%M}"
            lines.append(f"{when} {whose}{one.what}: {one.before or '-'} -> {one.after or '-'}, {one.by}")
        return lines


def let_leave(tx: Tx, now: dt.datetime) -> int:
    """Cut the chats of those whose last day is past; who still has clients keeps hers. Tells how many."""
    gone = 0
    for clinic in people.clinics(tx):
        today = local_time.local_date(now, zone_of(clinic.card))
        for staff in people.leaving(tx, clinic.id, today):
            if chats.chat_of_owner(tx, staff.id) is None or _hers(tx, staff):
                continue
            chats.unlink(tx, staff.id)
            chats.withdraw_invites(tx, staff.id, now)
            people.digest_at(tx, staff.id, None)
            gone += 1
    return gone
