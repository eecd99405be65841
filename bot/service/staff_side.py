"""A therapist's or fallback contact's turn."""

import datetime as dt
import uuid
from typing import assert_never

from bot.conversation import administrator, copy
from bot.conversation import effects as fx
from bot.conversation import staff as talk
from bot.conversation.incoming import Body, Command, Incoming, Press
from bot.conversation.speech import Say
from bot.conversation.staff_view import AlertView, ClientLine, NoteView, StaffView
from bot.domain import local_time
from bot.domain.alerts import Alert, Outcome
from bot.domain.people import Chat, Client, Clinic, Role, Staff
from bot.service import alerts as alert_service
from bot.service import client_side, post
from bot.service.office import Office
from bot.store import alerts, chats, diary, people
from bot.store.base import Tx

LINE_WITHIN = dt.timedelta(minutes=10)  # a line that comes later was meant for something else
COMMANDS = {
    "digest": "command.digest",
    "clients": "command.clients",
    "client": "command.client",
    "notes": "command.notes",
    "write": "command.write",
    "handover": "command.handover",
    "hours": "command.hours",
    "maintain": "command.maintain",
    "finish": "command.finish",
    "new": "command.new",
    "change": "command.change",
    "room": "command.room",
    "alerts": "command.alerts",
    "privacy": "command.privacy",
    "help": "command.help",
}
FALLBACK_COMMANDS = {"alerts": "command.alerts", "privacy": "command.privacy", "help": "command.help"}
# What her menu holds, by role.
MENUS = {Role.THERAPIST: COMMANDS, Role.ADMINISTRATOR: administrator.MENU}


def menu_of(role: Role) -> dict[str, str]:
    """The commands a member of staff finds in her menu, with their sentences."""
    return MENUS.get(role, FALLBACK_COMMANDS)


def _is_hers(staff: Staff, client: Client) -> bool:
    """A therapist sees her own clients; the fallback contact those of the clinic; a colleague none."""
    if staff.role is Role.FALLBACK:
        return staff.clinic_id == client.clinic_id
    return staff.id == client.therapist_id


def _open(tx: Tx, office: Office, staff: Staff) -> tuple[AlertView, ...]:
    """The open alerts that are hers to see: of her clients, and those she was told of."""
    clients = people.clients_of(tx, staff.id)
    if staff.role is Role.FALLBACK:
        clients = people.clients_in(tx, staff.clinic_id)
    hers = [*alerts.open_of(tx, [client.id for client in clients]), *alerts.told_to(tx, staff.id)]
    shown = (_alert_view(tx, office, staff, alert) for alert in {alert.id: alert for alert in hers}.values())
    return tuple(view for view in shown if view is not None)


def _paused(tx: Tx, client_id: uuid.UUID) -> bool:
    track = diary.track_of(tx, client_id)
    return track is not None and track.pause_reason is not None


def _alert_view(tx: Tx, office: Office, staff: Staff, alert: Alert) -> AlertView | None:
    client = people.client_by_id(tx, alert.client_id)
    if not _is_hers(staff, client) and staff.id not in alerts.told(tx, alert.id):
        return None
    return AlertView(
        alert=alert,
        client=client,
        titles=tuple(office.rules.signs[sign].title for sign in alert.signs if sign in office.rules.signs),
        history=tuple((event.at, event.kind, event.note or "") for event in alerts.history(tx, alert.id)),
        client_paused=_paused(tx, client.id),
        may_resume=_is_hers(staff, client),
    )


def _client_lines(tx: Tx, staff: Staff, now: dt.datetime) -> tuple[ClientLine, ...]:
    clients = people.clients_of(tx, staff.id)
    tracks = diary.tracks_of(tx, [client.id for client in clients])
    lines = []
    for client in clients:
        track = tracks.get(client.id)
        paused = track is not None and track.pause_reason is not None
        until = track.paused_until if track is not None and paused else None
        if until is not None and until <= local_time.day_in(client.zone, now):
            paused, until = False, None
        lines.append(ClientLine(client, paused, until))
    return tuple(lines)


def turn(tx: Tx, office: Office, chat: Chat, incoming: Incoming, inbox_id: uuid.UUID) -> None:
    """Answer one update of a therapist or fallback contact."""
    if chat.owner_id is None:
        return
    now = office.clock.now()
    staff = people.staff_by_id(tx, chat.owner_id)
    clinic = people.clinic_by_id(tx, staff.clinic_id)
    waiting = chats.waiting(tx, staff.id, now - LINE_WITHIN)
    alert_id = talk.alert_id_of(incoming.body, waiting)
    alert = None if alert_id is None else alerts.by_id(tx, alert_id)
    lines: tuple[ClientLine, ...] = ()
    notes: tuple[NoteView, ...] = ()
    if isinstance(incoming.body, Command) and staff.role is Role.THERAPIST:
        lines = _client_lines(tx, staff, now)
        by_id = {line.client.id: line.client for line in lines}
        notes = tuple(
            NoteView(note.id, by_id[note.client_id], note.text, note.said_at)
            for note in diary.unread_notes(tx, list(by_id))
        )
    caller = talk.caller_of(incoming.body)
    if caller is not None:
        lines = tuple(line for line in _client_lines(tx, staff, now) if line.client.id == caller)
    alert = _resumes(tx, incoming.body, alert, lines)
    shown = None if alert is None else _alert_view(tx, office, staff, alert)
    asked = isinstance(incoming.body, Command) and incoming.body.name in {"alerts", "reviewed"}
    opened = _open(tx, office, staff) if asked else ()
    view = StaffView(staff, clinic, now, waiting, shown, lines, notes, opened)
    done = talk.step(view, incoming.body)
    for effect in done.effects:
        _write(tx, chat, staff, clinic, effect, inbox_id, now)
    for place, say in enumerate(done.says):
        post.put_say(tx, chat, say, f"re:{inbox_id.hex}:{place}", now)


def _stands_against_resuming(tx: Tx, client_id: uuid.UUID) -> Alert | None:
    """The alert after which somebody has to have reviewed her; None once that stands on record."""
    alert = alerts.latest_stopping(tx, client_id)
    if alert is None or alert.closed_at is None:
        return alert
    closed_at = alert.closed_at
    reviewed = any(
        step.kind == "resumed" and step.note and step.at >= closed_at for step in alerts.history(tx, alert.id)
    )
    return None if reviewed else alert


def _resumes(tx: Tx, body: Body, alert: Alert | None, lines: tuple[ClientLine, ...]) -> Alert | None:
    """The alert a turn is about; where a programme is to be resumed, the one that stands against it."""
    if isinstance(body, Command) and body.name == "resume":
        wanted = body.argument.strip().casefold()
        found = [line.client.id for line in lines if line.client.code.casefold() == wanted]
        return _stands_against_resuming(tx, found[0]) if found else None
    if isinstance(body, Press) and body.data.startswith("resume:") and alert is not None:
        return _stands_against_resuming(tx, alert.client_id) or alert
    return alert


def _write(
    tx: Tx,
    chat: Chat,
    staff: Staff,
    clinic: Clinic,
    effect: fx.Effect,
    inbox_id: uuid.UUID,
    now: dt.datetime,
) -> None:
    match effect:
        case fx.Wait(what=what):
            chats.wait(tx, staff.id, None if what is None else dict(what), now)
        case fx.TakeButtons(message_id=message_id):
            post.take_buttons(tx, chat, message_id, now)
        case fx.Rewrite(message_id=message_id, say=say):
            post.rewrite(tx, chat, message_id, say, f"edit:{inbox_id.hex}", now)
        case fx.MarkSeen(alert_id=alert_id):
            _mark_seen(tx, alert_id, staff, clinic, now)
        case fx.CloseAlert(alert_id=alert_id, outcome=outcome, note=note):
            _close(tx, alert_id, outcome, note, staff, now)
        case fx.ReopenAlert(alert_id=alert_id):
            _reopen(tx, alert_id, staff, clinic, now)
        case fx.NoteNotReached(alert_id=alert_id):
            alert = alerts.by_id(tx, alert_id)
            if alert is not None and alert.closed_at is None:
                alert_service.not_reached(tx, alert, staff, now)
        case fx.ResumeClient(client_id=client_id, note=note):
            _resume(tx, client_id, note, staff, now)
        case fx.ReadNotes(note_ids=note_ids):
            diary.mark_read(tx, note_ids, now)
        case fx.CallMade(client_id=client_id):
            if _is_hers(staff, people.client_by_id(tx, client_id)):
                diary.answer_calls(tx, client_id, now)
        case fx.SendDigest():
            people.digest_at(tx, staff.id, now)
        case (
            fx.BookSets()
            | fx.BookExtra()
            | fx.KeepSymptom()
            | fx.RaiseAlert()
            | fx.AddToAlert()
            | fx.ReachedNobody()
            | fx.FileNote()
            | fx.GiveConsent()
            | fx.SetStage()
            | fx.SetZone()
            | fx.Postpone()
            | fx.ChooseTimes()
            | fx.ChooseAmount()
            | fx.AnswerOffer()
            | fx.AskCall()
            | fx.SendAllKept()
            | fx.EraseAll()
            | fx.Pause()
            | fx.Resume()
            | fx.TellTherapist()
            | fx.AnswerTrial()
            | fx.SawChange()
        ):
            raise TypeError(f"{type(effect).__name__} is a client's doing, not a therapist's")
        case _:
            assert_never(effect)


def _mark_seen(tx: Tx, alert_id: uuid.UUID, staff: Staff, clinic: Clinic, now: dt.datetime) -> None:
    alert = alerts.by_id(tx, alert_id)
    if alert is None or alert.closed_at is not None:
        return
    alerts.add_event(tx, alert, "seen", now, staff.id, staff.code)
    alerts.change(
        tx,
        alert.id,
        seen_at=alert.seen_at or now,
        next_step_at=alert_service.next_morning(tx, alert, clinic, now),
    )
    alert_service.tell_others(tx, alert, staff, "alert.seen_by", now)


def _reopen(tx: Tx, alert_id: uuid.UUID, staff: Staff, clinic: Clinic, now: dt.datetime) -> None:
    alert = alerts.by_id(tx, alert_id)
    if alert is None or alert.closed_at is None:
        return
    again_at = alert_service.next_morning(tx, alert, clinic, now)
    alerts.change(tx, alert.id, closed_at=None, outcome=None, seen_at=now, next_step_at=again_at)
    alerts.add_event(tx, alert, "reopened", now, staff.id, staff.code)
    alert_service.tell_others(tx, alert, staff, "alert.reopened_by", now)


def _close(tx: Tx, alert_id: uuid.UUID, outcome: Outcome, note: str, staff: Staff, now: dt.datetime) -> None:
    alert = alerts.by_id(tx, alert_id)
    if alert is None or alert.closed_at is not None:
        return
    alerts.change(tx, alert.id, closed_at=now, outcome=outcome.value, next_step_at=None, client_at=None)
    said = copy.text(copy.FALLBACK, f"alert.outcome.{outcome.value}", {})
    alerts.add_event(
        tx,
        alert,
        "closed",
        now,
        staff.id,
        f"{said}: {note} ({staff.code})" if note else f"{said} ({staff.code})",
    )
    alert_service.tell_others(tx, alert, staff, "alert.closed_by", now, said)


def _resume(tx: Tx, client_id: uuid.UUID, note: str, staff: Staff, now: dt.datetime) -> None:
    client = people.client_by_id(tx, client_id)
    if not _is_hers(staff, client):
        return
    alert = alerts.latest_stopping(tx, client_id)
    if alert is not None:
        alerts.add_event(tx, alert, "resumed", now, staff.id, note)
    client_side.resume(tx, client, now)
    client_side.tell(
        tx, client, Say("resumed.by_therapist"), f"resumed:{client.id.hex}:{now.isoformat()}", now
    )
