"""A therapist's turn about a note to a client.

Whatever a button carries, only her own client is written to, and whether she may be is asked again when it
is sent.
"""

import datetime as dt
import uuid

from bot.conversation import noting as talk
from bot.conversation.incoming import Command, Incoming, Press, Text
from bot.conversation.speech import Say
from bot.domain import client_notes, local_time
from bot.domain.client_notes import Fate
from bot.domain.people import Chat, Client, Role
from bot.domain.prescription import in_force
from bot.domain.track import What
from bot.service import post, unasked
from bot.service.desk import Desk, is_about
from bot.service.office import Office
from bot.service.programme import versions_of
from bot.store import alerts, chats, diary, people, unasked_log
from bot.store import client_notes as kept
from bot.store.base import Tx
from bot.store.unasked_log import UnaskedRow

LINE_WITHIN = dt.timedelta(minutes=10)  # a line that comes later was meant for something else
LIVES = dt.timedelta(hours=24)  # a note that has not reached her by then is let go, and her therapist told
LINES = {"note", "note-ready"}


def turn(tx: Tx, office: Office, chat: Chat, incoming: Incoming, inbox_id: uuid.UUID) -> bool:
    """Answer an update of a therapist that is about a note; False when it is about something else."""
    if chat.owner_id is None or chat.role is not Role.THERAPIST:
        return False
    now = office.clock.now()
    waiting = chats.waiting(tx, chat.owner_id, now - LINE_WITHIN) or {}
    if not is_about(incoming.body, talk.PREFIX, {"write"}, waiting.get("for") in LINES):
        return False
    staff = people.staff_by_id(tx, chat.owner_id)
    clinic = people.clinic_by_id(tx, staff.clinic_id)
    desk = Desk(tx, office, chat, staff, clinic, inbox_id, now)
    match incoming.body:
        case Press(data=data, message_id=message_id):
            _pressed(desk, data, waiting, message_id)
        case Command(argument=typed):
            _begun(desk, typed)
        case Text(text=text):
            _typed(desk, str(waiting.get("client", "")), text.strip())
        case _:
            return False
    return True


def _begun(desk: Desk, typed: str) -> None:
    code, _, text = typed.strip().partition(" ")
    mine = people.clients_of(desk.tx, desk.staff.id)
    client = next((one for one in mine if one.code.casefold() == code.casefold()), None)
    desk.waits(None)
    if not code:
        desk.says(Say("note.which"))
    elif client is None:
        desk.says(Say("staff.no_client", {"code": code}))
    elif text.strip():
        _show(desk, client, text.strip())
    else:
        _ask(desk, client)


def _label(desk: Desk, client: Client) -> str:
    return client.label(desk.clinic.labels)


def _refused(desk: Desk, client: Client) -> bool:
    """Whether she may not be written to; the therapist has been told why."""
    gone = chats.gone_since(desk.tx, [client.id])
    reachable = not gone and chats.chat_of_owner(desk.tx, client.id) is not None
    every = alerts.all_of(desk.tx, client.id)
    why = client_notes.refusal(client.stage, every, reachable=reachable)
    if why is not None:
        desk.waits(None)
        desk.says(Say(f"note.refused.{why.value}", {"client": _label(desk, client)}))
    return why is not None


def _ask(desk: Desk, client: Client) -> None:
    if not _refused(desk, client):
        desk.waits({"for": "note", "client": client.id.hex})
        desk.says(talk.ask(client, _label(desk, client)))


def _hers(desk: Desk, name: str) -> Client | None:
    try:
        client_id = uuid.UUID(hex=name)
    except ValueError:
        return None
    client = people.clients_by_id(desk.tx, [client_id]).get(client_id)
    return client if client is not None and client.therapist_id == desk.staff.id else None


def _pressed(desk: Desk, data: str, waiting: dict[str, object], message_id: int | None) -> None:
    verb, *rest = data.split(":")[1:]
    client = _hers(desk, rest[-1] if rest else "")
    if client is None:
        desk.says(Say("caseload.nobody"))
        return
    match verb:
        case "new":
            _ask(desk, client)
        case "ask":
            desk.done_with(message_id)
            _ask(desk, client)
        case "leave" if waiting.get("for") in LINES and waiting.get("client") == client.id.hex:
            desk.done_with(message_id)
            desk.waits(None)
            desk.says(Say("note.left", {"client": _label(desk, client)}))
        case "send" if _is_ready(waiting, client, rest[0]):
            desk.done_with(message_id)
            _send(desk, client, str(waiting["text"]))
        case "send":
            desk.done_with(message_id)
            desk.says(Say("note.too_late"))
        case _:
            desk.says(Say("staff.old_button"))


def _is_ready(waiting: dict[str, object], client: Client, mark: str) -> bool:
    """Whether this very text, for this client, is what was shown last."""
    ready = waiting.get("for") == "note-ready" and waiting.get("client") == client.id.hex
    return ready and waiting.get("mark") == mark


def _typed(desk: Desk, name: str, text: str) -> None:
    client = _hers(desk, name)
    if client is None:
        desk.waits(None)
        desk.says(Say("caseload.nobody"))
    else:
        _show(desk, client, text)


def _show(desk: Desk, client: Client, text: str) -> None:
    label = _label(desk, client)
    if _refused(desk, client):
        return
    if len(text) > client_notes.LONGEST:
        desk.waits({"for": "note", "client": client.id.hex})
        desk.says(Say("note.too_long", {"client": label, "length": len(text), "most": client_notes.LONGEST}))
        return
    ready = talk.Ready(text, _when(desk, client), desk.inbox_id.hex[-8:])
    desk.waits({"for": "note-ready", "client": client.id.hex, "text": text, "mark": ready.mark})
    desk.says(talk.read_back(client, label, desk.clinic, ready, desk.now))


def _when(desk: Desk, client: Client) -> dt.datetime:
    """When it may reach her: outside her quiet hours and her own break, and within the day's messages."""
    track = diary.track_of(desk.tx, client.id)
    versions = versions_of(desk.tx, [client.id]).get(client.id, ())
    today = local_time.day_in(client.zone, desk.now)
    held = in_force(versions, today) or (versions[-1] if versions else None)
    if track is None or held is None:
        return desk.now
    return unasked.next_moment(desk.tx, client, held.prescription, track, desk.now)


def _send(desk: Desk, client: Client, text: str) -> None:
    if _refused(desk, client):
        return
    desk.waits(None)
    at = _when(desk, client)
    on = local_time.day_in(client.zone, at)
    row = UnaskedRow(What.NOTE.value, on, 1 + unasked.said_on(desk.tx, client.id, on, desk.now), at)
    chat = chats.chat_of_owner(desk.tx, client.id)
    if chat is None or not unasked_log.add(desk.tx, client.id, row):
        desk.says(Say("note.too_late"))
        return
    note_id = kept.add(desk.tx, client.id, desk.staff.id, text, at, desk.now)
    say = talk.to_her(desk.clinic, text, at)
    later = at if at > desk.now else None
    post.put_say(desk.tx, chat, say, kept.key(note_id), desk.now, at + LIVES, later)
    diary.change_track(desk.tx, client.id, next_at=desk.now)
    label = _label(desk, client)
    if later is None:
        desk.says(Say("note.sent", {"client": label}))
    else:
        desk.says(Say("note.later", {"client": label, **talk.her_time(client, at)}))


def settle(tx: Tx, now: dt.datetime) -> int:
    """Write down what became of notes; the client's therapist is told of one that did not arrive.

    Tells how many had come to an end.
    """
    found = kept.landed(tx)
    for note_id, client_id, fate in found:
        if kept.settle(tx, note_id, fate) and fate is Fate.LOST:
            client = people.client_by_id(tx, client_id)
            clinic = people.clinic_by_id(tx, client.clinic_id)
            say = Say("note.lost", {"client": client.label(clinic.labels)})
            post.put_for_owner(tx, client.therapist_id, say, f"note-lost:{note_id.hex}", now)
    return len(found)
