"""Invites: made by the clinic, opened by a stranger, who becomes a client, therapist or fallback contact."""

import datetime as dt
import secrets
import uuid
from dataclasses import replace

from bot.conversation import enrol
from bot.conversation.incoming import Command, Incoming, InGroup, Reachable, Text
from bot.conversation.speech import Say
from bot.conversation.view import DAY_NAMES
from bot.domain import warning_signs
from bot.domain.duties import Duty
from bot.domain.people import Chat, Client, Clinic, Invite, Role, Staff, Stage
from bot.service import client_side, post, staff_side
from bot.service.client_side import Source
from bot.service.client_view import open_record, read_view
from bot.service.office import Office
from bot.store import chats, duties, people, rerouting
from bot.store.base import Tx
from bot.store.ids import new_id

VALID_FOR = dt.timedelta(days=14)
CODE_BYTES = enrol.CODE_LETTERS * 3 // 4  # as base64
FACT_DIGITS = 4
TRIES = 3
WRONG_CODES = 5  # so many wrong codes from one person within the hour, then she has to wait
WRONG_WITHIN = dt.timedelta(hours=1)


def make(tx: Tx, subject: Client | Staff, now: dt.datetime) -> tuple[str, str, dt.datetime]:
    """A fresh invite: its code, the four digits to be told aloud, and when it ends.

    Whoever gets a link that was passed on has no digits, and opens nothing.
    """
    role = Role.CLIENT if isinstance(subject, Client) else subject.role
    code = secrets.token_urlsafe(CODE_BYTES)
    fact = f"{secrets.randbelow(10**FACT_DIGITS):0{FACT_DIGITS}}"
    invite = Invite(new_id(now), role, subject.id, now + VALID_FOR, 0, closed=False)
    chats.add_invite(tx, invite, code, fact, now)
    return code, fact, invite.expires_at


def ready_to_enrol(tx: Tx, clinic_id: uuid.UUID, therapist_id: uuid.UUID) -> list[str]:
    """What still stands in the way of a client: therapist and fallback contact have to be linked first."""
    missing = []
    if chats.chat_of_owner(tx, therapist_id) is None:
        therapist = people.staff_by_id(tx, therapist_id)
        missing.append(f"therapist {therapist.code} has not opened her invite")
    leaves_on = people.staff_by_id(tx, therapist_id).leaves_on
    if leaves_on is not None:
        missing.append(
            f"therapist {people.staff_by_id(tx, therapist_id).code} leaves the clinic on {leaves_on}"
        )
    fallback = people.staff_of(tx, clinic_id, Role.FALLBACK)
    if not fallback and any(one.duty is Duty.SOLO for one in duties.of_clinic(tx, clinic_id)):
        return missing
    if not fallback:
        missing.append(
            "the clinic has no fallback contact; add one with `programme-bot add-fallback`, "
            "or record that it is solo with `programme-bot duty solo`"
        )
    elif all(chats.chat_of_owner(tx, person.id) is None for person in fallback):
        missing.append("no fallback contact has opened the invite")
    return missing


def turn(tx: Tx, office: Office, chat: Chat, incoming: Incoming, inbox_id: uuid.UUID) -> None:
    """Answer a stranger: an invite leads on, anything else gets a kind no and where help is."""
    now = office.clock.now()
    source = Source(inbox_id, incoming.said_at)
    match incoming.body:
        case Command(name="start", argument=code) if code:
            _open(tx, office, chat, code, source, now)
        case Text(text=text) if (invite := chats.invite_opened_by(tx, chat.user_id)) is not None:
            _fact(tx, office, chat, invite, text, source, now)
        case Reachable() | InGroup():
            return
        case _:
            _reply(tx, chat, Say("stranger"), source, now)


def _reply(tx: Tx, chat: Chat, said: Say, source: Source, now: dt.datetime) -> None:
    post.put_say(tx, chat, said, f"re:{source.inbox_id.hex}:0", now)


def _usable(tx: Tx, chat: Chat, code: str, now: dt.datetime) -> Invite | None:
    invite = chats.invite_by_code(tx, code)
    if invite is None or invite.closed or invite.expires_at <= now:
        chats.add_wrong_code(tx, chat.id, now)
        return None
    return invite


def _open(tx: Tx, office: Office, chat: Chat, code: str, source: Source, now: dt.datetime) -> None:
    if chats.wrong_codes(tx, chat.id, now - WRONG_WITHIN) >= WRONG_CODES:
        _reply(tx, chat, Say("invite.slow_down"), source, now)
        return
    invite = _usable(tx, chat, code, now)
    if invite is None:
        _reply(tx, chat, Say("invite.unknown"), source, now)
        return
    if invite.role is Role.CLIENT:
        client = people.client_by_id(tx, invite.subject_id)
        unsigned = office.approval.missing(tx, client.language)
        if unsigned or ready_to_enrol(tx, client.clinic_id, client.therapist_id):
            _reply(tx, chat, Say("invite.not_ready"), source, now)
            return
    chats.open_invite(tx, invite.id, chat.user_id)
    key = "invite.ask_fact" if invite.role is Role.CLIENT else "invite.ask_fact.staff"
    _reply(tx, chat, Say(key), source, now)


def _fact(
    tx: Tx,
    office: Office,
    chat: Chat,
    invite: Invite,
    text: str,
    source: Source,
    now: dt.datetime,
) -> None:
    is_client = invite.role is Role.CLIENT
    subject = (people.client_by_id if is_client else people.staff_by_id)(tx, invite.subject_id)
    clinic = people.clinic_by_id(tx, subject.clinic_id)
    digits = "".join(str(int(letter)) for letter in text if letter.isdecimal())
    if invite.expires_at <= now:
        chats.close_invite(tx, invite.id, "refused", now)
        _reply(tx, chat, Say("invite.unknown"), source, now)
    elif warning_signs.hear(text, office.rules).level is not None or not digits:
        # Not an answer to the question: she may be unwell. The safety net comes first, the question stays.
        _reply(tx, chat, Say("stranger"), source, now)
    elif chats.fact_fits(tx, invite.id, digits):
        chats.close_invite(tx, invite.id, "used", now)
        if isinstance(subject, Client):
            _link_client(tx, office, chat, subject, clinic, source, now)
        else:
            _link_staff(tx, chat, subject, clinic, source, now)
    elif invite.tries + 1 >= TRIES:
        chats.close_invite(tx, invite.id, "refused", now)
        _reply(tx, chat, Say("invite.fact_closed", {"phone": clinic.card.phone}), source, now)
    else:
        left = TRIES - invite.tries - 1
        wrong = Say("invite.fact_wrong", {"left": left}) if left > 1 else Say("invite.fact_wrong.last")
        _reply(tx, chat, wrong, source, now)


def _link_client(
    tx: Tx,
    office: Office,
    chat: Chat,
    client: Client,
    clinic: Clinic,
    source: Source,
    now: dt.datetime,
) -> None:
    linked = _link(tx, chat, client, clinic, now)
    view = read_view(tx, office, open_record(tx, client.id, now), source.said_at)
    client_side.apply(tx, linked, client, clinic, enrol.ask_consent(view), source, now)


def _link(tx: Tx, chat: Chat, subject: Client | Staff, clinic: Clinic, now: dt.datetime) -> Chat:
    """Link a chat; the one used so far is cut off and told so, and whoever should know of it is told."""
    before = chats.chat_of_owner(tx, subject.id)
    again = before is not None or (isinstance(subject, Client) and subject.stage is not Stage.INVITED)
    if before is not None:
        chats.unlink(tx, subject.id)
    role = Role.CLIENT if isinstance(subject, Client) else subject.role
    linked = chats.link(tx, chat, role, subject.id, now)
    key = f"{linked.id.hex}:{now:%Y%m%d%H%M%S}"
    if before is not None:
        rerouting.follow(tx, before.id, linked.id, now)
        gone = replace(before, role=Role.STRANGER, owner_id=None)
        post.put_say(tx, gone, Say("invite.moved_away", {"phone": clinic.card.phone}), f"away:{key}", now)
    if isinstance(subject, Client):
        if again:
            say = Say("staff.client_moved", {"client": subject.label(clinic.labels)})
            post.put_for_owner(tx, subject.therapist_id, say, f"moved:{key}", now)
        return linked
    say = Say("admin.moved" if again else "admin.joined", {"code": subject.code})
    watch = people.staff_of(tx, clinic.id, Role.ADMINISTRATOR)
    if again and not watch:
        watch = people.staff_of(tx, clinic.id, Role.FALLBACK)  # a changed phone is somebody's to notice
    for person in watch:
        if person.id != subject.id:
            post.put_for_owner(tx, person.id, say, f"joined:{key}:{person.id.hex}", now)
    return linked


def cut_off(tx: Tx, subject: Client | Staff, now: dt.datetime) -> bool:
    """Cut off the chat somebody uses, as when a phone is lost: nothing goes there or is done from there.

    Tells whether there was one. What waited for it is let go of; alerts are told again by their ladder.
    """
    before = chats.chat_of_owner(tx, subject.id)
    if before is None:
        return False
    chats.unlink(tx, subject.id)
    rerouting.follow(tx, before.id, None, now)
    return True


def _link_staff(tx: Tx, chat: Chat, staff: Staff, clinic: Clinic, source: Source, now: dt.datetime) -> None:
    linked = _link(tx, chat, staff, clinic, now)
    said = Say(
        f"staff.linked.{staff.role.value}",
        {
            "code": staff.code,
            "digest_day": DAY_NAMES[clinic.digest_day],
            "digest_clock": f"{clinic.digest_at:%H:%M}",
        },
    )
    _reply(tx, linked, said, source, now)
    post.put_menu(
        tx, linked, staff_side.menu_of(staff.role), f"menu:{staff.id.hex}:{source.inbox_id.hex}", now
    )


def refuse_linked(tx: Tx, chat: Chat, inbox_id: uuid.UUID, now: dt.datetime) -> None:
    """Somebody who is linked already opens another invite."""
    post.put_say(tx, chat, Say("invite.linked_elsewhere"), f"re:{inbox_id.hex}:0", now)
