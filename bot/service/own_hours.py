"""A therapist's working hours, shown and changed by herself; each change stays on record."""

import uuid
from dataclasses import replace

from bot.conversation.incoming import Command, Incoming
from bot.conversation.speech import Say
from bot.domain.people import Chat, Role
from bot.errors import RefusedError
from bot.service import clinic_facts
from bot.service.clinic_facts import NewFacts, hours_text
from bot.service.desk import Desk
from bot.service.office import Office
from bot.store import office_changes, people
from bot.store.base import Tx


def turn(tx: Tx, office: Office, chat: Chat, incoming: Incoming, inbox_id: uuid.UUID) -> bool:
    """Answer a therapist's /hours; False when it is about something else."""
    body = incoming.body
    if chat.owner_id is None or chat.role is not Role.THERAPIST:
        return False
    if not isinstance(body, Command) or body.name != "hours":
        return False
    staff = people.staff_by_id(tx, chat.owner_id)
    clinic = people.clinic_by_id(tx, staff.clinic_id)
    desk = Desk(tx, office, chat, staff, clinic, inbox_id, office.clock.now())
    desk.waits(None)
    if body.argument.strip() and not _changed(desk, body.argument.strip()):
        return True
    hours = people.staff_by_id(tx, staff.id).hours
    if hours is None:
        desk.says(Say("hours.clinic", {"text": hours_text(clinic.card.hours)}))
    else:
        desk.says(Say("hours.own", {"text": hours_text(hours)}))
    return True


def _changed(desk: Desk, typed: str) -> bool:
    """Whether the hours were taken; what was wrong has been said otherwise."""
    try:
        changes = clinic_facts.apply(desk.tx, desk.clinic, desk.staff, NewFacts(hours=typed), desk.now)
    except RefusedError:
        desk.says(Say("hours.unread"))
        return False
    for change in changes:
        kept = replace(change, by=desk.staff.code, about_id=desk.staff.id)
        office_changes.add(desk.tx, desk.clinic.id, kept, desk.now)
    return True
