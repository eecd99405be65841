"""One update from the inbox: read, answered and settled in one transaction."""

import datetime as dt
import uuid
from collections.abc import Callable
from dataclasses import replace

from bot.conversation import enrol, reach
from bot.conversation.incoming import Command, Incoming, InGroup, Press, Reachable
from bot.conversation.speech import Say
from bot.domain.people import Chat, Role
from bot.logs import get
from bot.service import (
    administrator_side,
    caseload,
    client_side,
    drafting,
    ending,
    handing,
    invites,
    noting,
    own_hours,
    post,
    staff_side,
)
from bot.service.office import Office
from bot.store import chats, inbox
from bot.store.base import Tx
from bot.store.inbox import TRIES, Stored

Parse = Callable[[bytes, dt.datetime], Incoming]
# Asked in turn; what none of them knows is the staff's side.
STAFF_SIDES = (drafting, ending, noting, handing, own_hours, caseload)
TRY_AGAIN = dt.timedelta(seconds=2)
AT_ONCE = 8  # claimed in one commit; well within a lease
log = get()


def handle_some(office: Office, parse: Parse) -> int:
    """Handle the next updates, of a few senders; tells how many there were.

    1. The updates are claimed and the claim committed; then each is handled by itself. 2. Warning signs are
    read first, then the rest. 3. Effects, replies, alerts and the mark in the inbox are committed together. A
    failure in between leaves the update where it is; after three tries it is set aside, told to its sender,
    and nothing is deleted.

    Neither commit waits for the disk: the update itself is there, and a power cut has it handled again. What
    is answered leaves only after a commit that does wait.
    """
    with office.begin(flushed=False) as tx:
        inbox.wait_turn(tx)
        claimed = inbox.claim_some(tx, office.bot, office.worker, office.clock.now(), AT_ONCE)
    for stored in claimed:
        if stored.tries > TRIES:
            _set_aside(office, stored, parse)
        else:
            _handle(office, stored, parse)
    return len(claimed)


def _handle(office: Office, stored: Stored, parse: Parse) -> None:
    try:
        with office.begin(flushed=False) as tx:
            incoming = parse(stored.raw, stored.received_at)
            _answer(tx, office, incoming, stored)
            _settle(tx, office, stored)
    except _LeaseLostError:
        log.warning("update_taken_over", update=str(stored.id))
    except Exception as error:  # noqa: BLE001 - whatever it is, the next update must not wait for it
        log.error(  # noqa: TRY400 - a traceback could hold what she wrote
            "update_failed", update=str(stored.id), error=type(error).__name__, tries=stored.tries
        )
        with office.begin() as tx:
            inbox.push_back(tx, stored.id, office.worker, office.clock.now() + TRY_AGAIN)


def take_over(office: Office) -> int:
    """Free at once what a dead worker had in hand, where that can be known; tells how many updates."""
    if not office.alone:
        return 0
    with office.begin() as tx:
        return inbox.release_others(tx, office.worker)


def _settle(tx: Tx, office: Office, stored: Stored) -> None:
    if not inbox.settle(tx, stored.id, office.worker, "handled", office.clock.now()):
        raise _LeaseLostError


class _LeaseLostError(Exception):
    """Somebody else took the update over; what we wrote is rolled back."""


def _answer(tx: Tx, office: Office, incoming: Incoming, stored: Stored) -> None:
    if incoming.sender is None:
        return
    now = office.clock.now()
    chat = chats.chat_of(tx, office.bot, incoming.sender, now)
    if isinstance(incoming.body, Press):
        post.answer_press(tx, chat, incoming.body.press_id, now)
    if isinstance(incoming.body, InGroup):
        # Answered in private, to who wrote there, once a day.
        post.put_say(tx, chat, Say("group"), f"group:{chat.id.hex}:{now:%Y%m%d}", now)
        return
    if isinstance(incoming.body, Reachable) and not incoming.body.yes:
        post.lose(tx, chat.id, chat.role, chat.owner_id, now)
    elif chat.gone:
        chats.set_gone(tx, chat.id, None)
    if chat.owner_id is not None and _opens_invite(incoming) and not _is_own(tx, chat, incoming):
        invites.refuse_linked(tx, chat, stored.id, now)
        return
    deal(tx, office, chat, incoming, stored.id)


def deal(tx: Tx, office: Office, chat: Chat, incoming: Incoming, inbox_id: uuid.UUID) -> None:
    """Hand an update to the side of its sender, whatever it claims: only what is in reach of her role."""
    incoming = replace(incoming, body=reach.within(chat.role, incoming.body))
    match chat.role:
        case Role.CLIENT:
            client_side.turn(tx, office, chat, incoming, inbox_id)
        case Role.THERAPIST | Role.FALLBACK | Role.COLLEAGUE:
            if not any(one.turn(tx, office, chat, incoming, inbox_id) for one in STAFF_SIDES):
                staff_side.turn(tx, office, chat, incoming, inbox_id)
        case Role.ADMINISTRATOR:
            administrator_side.turn(tx, office, chat, incoming, inbox_id)
        case Role.STRANGER:
            invites.turn(tx, office, chat, incoming, inbox_id)


def _opens_invite(incoming: Incoming) -> bool:
    """Whether it comes from an invite's link; words after /start do not, and are read as words."""
    body = incoming.body
    return isinstance(body, Command) and body.name == "start" and enrol.is_invite_code(body.argument)


def _is_own(tx: Tx, chat: Chat, incoming: Incoming) -> bool:
    """Whether the invite is the one this chat was linked by: opening it twice is no mistake."""
    body = incoming.body
    invite = chats.invite_by_code(tx, body.argument) if isinstance(body, Command) else None
    return invite is not None and invite.subject_id == chat.owner_id


def _set_aside(office: Office, stored: Stored, parse: Parse) -> None:
    """An update that failed three times: kept, its sender told, the queue goes on."""
    now = office.clock.now()
    with office.begin() as tx:
        inbox.settle(tx, stored.id, office.worker, "set_aside", now)
    log.error("update_set_aside", update=str(stored.id))
    try:
        with office.begin() as tx:
            incoming = parse(stored.raw, stored.received_at)
            if incoming.sender is not None:
                chat = chats.chat_of(tx, office.bot, incoming.sender, now)
                client_side.tell_failure(tx, office, chat, incoming, stored.id, now)
    except Exception as error:  # noqa: BLE001 - the update itself may be what cannot be read
        log.error(  # noqa: TRY400 - the same
            "set_aside_untold", update=str(stored.id), error=type(error).__name__
        )
