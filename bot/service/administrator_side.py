"""A clinic administrator's turn: her own clinic, without anything a client said."""

import datetime as dt
import uuid

from bot.conversation import administrator as talk
from bot.conversation.administrator import AdministratorView, CodeLine, Fresh, PersonLine
from bot.conversation.incoming import Command, Incoming
from bot.domain import local_time
from bot.domain.contacts import zone_of
from bot.domain.people import Chat, Client, Clinic, Role, Staff, Stage
from bot.service import duties, invites, post
from bot.service.at_desk import link_of
from bot.service.office import Office
from bot.store import chats, erase, people
from bot.store.base import Tx

STAFF = tuple(role for role in Role if role not in {Role.STRANGER, Role.CLIENT})


def turn(tx: Tx, office: Office, chat: Chat, incoming: Incoming, inbox_id: uuid.UUID) -> None:
    """Answer one update of an administrator, of her own clinic only."""
    if chat.owner_id is None:
        return
    now = office.clock.now()
    me = people.staff_by_id(tx, chat.owner_id)
    clinic = people.clinic_by_id(tx, me.clinic_id)
    view = _view(tx, office, clinic, incoming, now)
    for place, say in enumerate(talk.step(view, incoming.body).says):
        post.put_say(tx, chat, say, f"re:{inbox_id.hex}:{place}", now)


def _view(tx: Tx, office: Office, clinic: Clinic, incoming: Incoming, now: dt.datetime) -> AdministratorView:
    match incoming.body:
        case Command(name="people"):
            return AdministratorView(clinic, people=_people(tx, clinic))
        case Command(name="clients"):
            return AdministratorView(clinic, clients=_clients(tx, clinic))
        case Command(name="cover"):
            return AdministratorView(clinic, duties=tuple(duties.lines(tx, clinic)))
        case Command(name="clinic"):
            return AdministratorView(clinic, record_years=erase.retention(tx).get(clinic.id))
        case body if (code := talk.wants_invite(body)) is not None:
            return AdministratorView(clinic, fresh=_fresh(tx, office, clinic, code, now))
        case _:
            return AdministratorView(clinic)


def _people(tx: Tx, clinic: Clinic) -> tuple[PersonLine, ...]:
    return tuple(
        PersonLine(one.code, one.name, one.role, chats.chat_of_owner(tx, one.id) is not None)
        for role in STAFF
        for one in people.staff_of(tx, clinic.id, role)
    )


def _clients(tx: Tx, clinic: Clinic) -> tuple[CodeLine, ...]:
    therapists = {one.id: one.code for one in people.staff_of(tx, clinic.id, Role.THERAPIST)}
    return tuple(
        CodeLine(one.code, therapists.get(one.therapist_id, "?"), one.stage)
        for one in people.clients_in(tx, clinic.id)
    )


def _fresh(tx: Tx, office: Office, clinic: Clinic, code: str, now: dt.datetime) -> Fresh | None:
    """A fresh invite for somebody of the clinic; None when nobody who can be invited has the code."""
    subject = _anybody(tx, clinic, code)
    if subject is None:
        return None
    again = chats.chat_of_owner(tx, subject.id) is not None or chats.has_open_invite(tx, subject.id)
    link, digits, until = invites.make(tx, subject, now)
    local = local_time.local(until, zone_of(clinic.card))
    return Fresh(subject.code, link_of(office, link), digits, f"{local.day} {local:%b %H:%M}", again)


def _anybody(tx: Tx, clinic: Clinic, code: str) -> Client | Staff | None:
    client = people.client_by_code(tx, clinic.id, code)
    if client is not None:
        return None if client.stage is Stage.ERASED else client
    return people.staff_by_code(tx, clinic.id, code)
