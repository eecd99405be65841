"""A new client is enrolled with her first prescription, whichever way that was written down."""

import datetime as dt
from dataclasses import dataclass

from bot.domain.people import Client, Clinic, Staff, Stage
from bot.errors import RefusedError
from bot.rules import faults
from bot.rules.prescription_file import PrescriptionFile
from bot.rules.rulebook import Rulebook
from bot.service import invites, prescribing
from bot.service.approval import Approval
from bot.store import people
from bot.store.base import Tx
from bot.store.ids import new_id


@dataclass(frozen=True, slots=True)
class NewInvite:
    """An invite to hand over: the code for the link, the four digits to say aloud."""

    code: str
    digits: str
    expires_at: dt.datetime


@dataclass(frozen=True, slots=True)
class Enrolled:
    """A client who was enrolled, her first version, and her invite."""

    client: Client
    version: int
    starts_on: dt.date
    invite: NewInvite


def enrol(
    tx: Tx,
    approval: Approval,
    clinic: Clinic,
    therapist: Staff,
    file: PrescriptionFile,
    now: dt.datetime,
    rules: Rulebook,
    name: str,
) -> Enrolled:
    """Enrol a client with her first prescription, signed by `therapist`; `name` leads every fault.

    approval: who says whether the rules in force are signed off. Raises RefusedError when her code is taken,
    while therapist and fallback contact are not both linked or the rules are not signed off, or for whatever
    stands against putting the prescription in force. A programme that runs already may be taken over: its
    start may lie in the past.
    """
    missing = [
        *invites.ready_to_enrol(tx, clinic.id, therapist.id),
        *approval.missing(tx, file.language),
    ]
    if missing:
        raise RefusedError(*(f"client {file.client}: {line}" for line in missing))
    client = Client(
        id=new_id(now),
        clinic_id=clinic.id,
        therapist_id=therapist.id,
        code=file.client,
        initials=file.initials,
        zone=file.zone,
        language=file.language,
        stage=Stage.INVITED,
        baby_at_home=file.baby_at_home,
    )
    if not people.add_client(tx, client, now):
        taken = f"{file.client} is a client of {clinic.code} already"
        raise RefusedError(faults.line(name, "client", taken))
    made = prescribing.put_in_force(tx, client, file, therapist, now, rules, name, may_have_begun=True)
    return Enrolled(client, made.version, made.starts_on, NewInvite(*invites.make(tx, client, now)))
