"""A client's turn: her view is read, the conversation decides, the effects are written."""

import datetime as dt
import uuid
from dataclasses import dataclass, replace
from typing import assert_never

from bot.conversation import client as talk
from bot.conversation import effects as fx
from bot.conversation import mine
from bot.conversation.effects import Turn
from bot.conversation.incoming import Body, Incoming, Reachable, Text, typed
from bot.conversation.speech import Button, Say
from bot.conversation.view import contact_values
from bot.domain import contacts, local_time
from bot.domain.people import Chat, Client, Clinic, Role, Stage
from bot.domain.track import Mode, Pause
from bot.service import alerts as alert_service
from bot.service import ending, moving, own_data, plan_side, plan_told, post, rehearsal, technique
from bot.service.client_view import DEFAULT_CAP, open_record, read_view
from bot.service.office import Office
from bot.service.rota import rota_of
from bot.store import chats, diary, erase, extras, notices, outbox, people, rerouting
from bot.store.base import Tx
from bot.store.diary import ChoiceRow

LOSS = "loss"  # the sign
UNASKED_PARTS = 5  # unasked:client:what:day:ordinal
COMMANDS = {
    "today": "command.today",
    "week": "command.week",
    "plan": "command.plan",
    "times": "command.times",
    "call": "command.call",
    "symptoms": "command.symptoms",
    "notyet": "command.notyet",
    "pause": "command.pause",
    "resume": "command.resume",
    "language": "command.language",
    "privacy": "command.privacy",
    "stop": "command.stop",
    "help": "command.help",
}


@dataclass(frozen=True, slots=True)
class Source:
    """Which update a turn came from: its row in the inbox, and when it was said.

    waits: whether the conversation may be waiting for something.
    """

    inbox_id: uuid.UUID
    said_at: dt.datetime
    waits: bool = True


def _replied_on(tx: Tx, chat: Chat, body: Body) -> dt.date | None:
    """The day of the message of ours she replies to, where it was about a day."""
    if not isinstance(body, Text) or body.replies_to is None:
        return None
    parts = (outbox.key_of_sent(tx, chat.id, body.replies_to) or "").split(":")
    if len(parts) != UNASKED_PARTS or parts[0] != "unasked":
        return None
    return dt.datetime.strptime(parts[3], "%Y%m%d").replace(tzinfo=dt.UTC).date()


def turn(tx: Tx, office: Office, chat: Chat, incoming: Incoming, inbox_id: uuid.UUID) -> None:
    """Answer one update of a client, in the transaction that also settles it."""
    if chat.owner_id is None:
        return
    record = open_record(tx, chat.owner_id, office.clock.now())
    client, clinic = record.client, record.clinic
    view = read_view(tx, office, record, incoming.said_at, chat)
    if mine.is_asked(incoming.body):
        view = replace(
            view, record_years=erase.retention(tx).get(clinic.id), message_days=office.message_days
        )
    view = replace(view, replied_on=_replied_on(tx, chat, incoming.body))
    source = Source(inbox_id, incoming.said_at, waits=record.filled.talk)
    if client.stage is Stage.ACTIVE and technique.is_answer(incoming):
        technique.answered(tx, chat, client, view, incoming, inbox_id.hex)
        done = Turn()
    else:
        done = plan_side.answer(tx, office, view, incoming.body) or talk.step(view, incoming.body)
    apply(tx, chat, client, clinic, done, source, view.now)
    if any(isinstance(effect, fx.BookSets) for effect in done.effects):
        technique.ask_if_due(tx, office, chat, client, clinic, view)
    if record.track is not None and not isinstance(incoming.body, Reachable):
        _heard(tx, client, done, view.now)


def _heard(tx: Tx, client: Client, done: Turn, now: dt.datetime) -> None:
    heard: dict[str, dt.datetime | None] = {"last_heard_at": now}
    stages = [effect.stage for effect in done.effects if isinstance(effect, fx.SetStage)]
    if (stages[-1] if stages else client.stage) is Stage.ACTIVE:
        heard["next_at"] = now  # whatever she did may change what is to be said next
    kinds = {type(effect) for effect in done.effects}
    if fx.BookSets in kinds and fx.Postpone not in kinds:
        heard["later_at"] = None  # she did not wait for it
    diary.change_track(tx, client.id, **heard)


def apply(
    tx: Tx, chat: Chat, client: Client, clinic: Clinic, done: Turn, source: Source, now: dt.datetime
) -> None:
    """Write down a turn: its effects in order, then what is said."""
    waits = source.waits or any(isinstance(effect, fx.Wait) and effect.what for effect in done.effects)
    for place, effect in enumerate(done.effects):
        if isinstance(effect, fx.Wait) and not waits:
            continue  # nothing is waited for as it is
        _write(tx, chat, client, clinic, effect, source, place, now)
    for place, say in enumerate(done.says):
        post.put_say(tx, chat, say, f"re:{source.inbox_id.hex}:{place}", now)


def _write(
    tx: Tx,
    chat: Chat,
    client: Client,
    clinic: Clinic,
    effect: fx.Effect,
    source: Source,
    place: int,
    now: dt.datetime,
) -> None:
    own_key = f"said:{source.inbox_id.hex}:{place}"
    match effect:
        case fx.BookSets() | fx.BookExtra() | fx.KeepSymptom() | fx.FileNote():
            _keep(tx, client, effect, source, now)
        case fx.RaiseAlert():
            alert_service.raise_alert(tx, client, clinic, effect, now)
            if LOSS in effect.signs:
                # No word of a baby any more, until a prescription says that there is one.
                people.set_baby_at_home(tx, client.id, yes=False)
        case fx.AddToAlert() | fx.ReachedNobody():
            alert_service.answered(tx, effect, now)
        case fx.Wait(what=what):
            chats.wait(tx, client.id, None if what is None else dict(what), now)
        case fx.GiveConsent(text_version=version, given=given):
            people.add_consent(tx, client.id, version, given, now)
        case fx.SetStage(stage=stage):
            _set_stage(tx, chat, client, stage, now)
        case fx.SetZone(zone=zone):
            moving.move(tx, client, zone, now)
        case fx.ChooseTimes(times=times, cues=cues):
            diary.choose(tx, client.id, ChoiceRow(times, cues), now)
            diary.change_track(tx, client.id, restarted_at=now)
        case fx.ChooseAmount(cap=cap, evening_only=evening_only):
            mode = Mode.EVENING_ONLY if evening_only else Mode.ALL
            diary.change_track(tx, client.id, cap=cap, mode=mode.value)
        case fx.AnswerOffer(yes=yes):
            ending.answer_offer(tx, client, clinic, yes, now)
        case fx.AskCall(say=say):
            _ask_call(tx, client, clinic, say, own_key, now)
        case fx.Postpone(until=until):
            _postpone(tx, client, until, now)
        case fx.Pause(until=until, reason=reason):
            pause(tx, client, Pause(until, reason), now)
        case fx.Resume():
            resume(tx, client, now)
        case fx.SawChange():
            notices.seen(tx, client.id, now)
        case fx.AnswerTrial():
            rehearsal.answered(tx, chat, client, now)
        case fx.TakeButtons(message_id=message_id):
            post.take_buttons(tx, chat, message_id, now)
        case fx.Rewrite(message_id=message_id, say=say):
            post.rewrite(tx, chat, message_id, say, f"edit:{source.inbox_id.hex}:{place}", now)
        case fx.SendAllKept() | fx.EraseAll():
            own_data.act(tx, chat, client, clinic, effect, own_key, now)
        case fx.TellTherapist(say=say, key=key, in_hours=in_hours):
            message = replace(say, values={**say.values, "client": client.label(clinic.labels)})
            opening_at = _reads_at(tx, client, clinic, now) if in_hours else None
            post.put_for_owner(
                tx, client.therapist_id, message, f"{key}:{client.id.hex}:{own_key}", now, opening_at
            )
        case (
            fx.MarkSeen()
            | fx.CloseAlert()
            | fx.ReopenAlert()
            | fx.NoteNotReached()
            | fx.ResumeClient()
            | fx.ReadNotes()
            | fx.SendDigest()
            | fx.CallMade()
        ):
            raise TypeError(f"{type(effect).__name__} is a therapist's doing, not a client's")
        case _:
            assert_never(effect)


def _keep(
    tx: Tx,
    client: Client,
    effect: fx.BookSets | fx.BookExtra | fx.KeepSymptom | fx.FileNote,
    source: Source,
    now: dt.datetime,
) -> None:
    """What she told goes into her diary."""
    match effect:
        case fx.BookSets(report=report):
            diary.report_sets(tx, client.id, report, now)
        case fx.BookExtra(extra=extra):
            extras.report(tx, client.id, extra, now)
        case fx.KeepSymptom(on=on, question=question, value=value, key=key):
            told = diary.SymptomReport(on, question, value, source.said_at)
            diary.report_symptom(tx, client.id, key, told, now)
            diary.change_track(tx, client.id, last_check_in_on=on)
        case fx.FileNote(text=text):
            diary.file_note(tx, client.id, source.inbox_id, text, source.said_at, now)


def _set_stage(tx: Tx, chat: Chat, client: Client, stage: Stage, now: dt.datetime) -> None:
    people.set_stage(tx, client.id, stage)
    if stage is Stage.WITHDRAWN:
        rerouting.drop_unasked(tx, chat.id, now)
    if stage is Stage.ACTIVE and diary.track_of(tx, client.id) is None:
        cap = _cap(tx, client)
        diary.start_track(tx, client.id, cap, Mode.ALL.value, now)
        key = f"menu:{client.id.hex}:{now:%Y%m%d%H%M%S}"
        post.put_menu(tx, chat, COMMANDS, key, now, client.language)
    elif stage is Stage.ACTIVE:
        diary.change_track(tx, client.id, next_at=now, restarted_at=now, last_heard_at=now)
    elif diary.track_of(tx, client.id) is not None:
        diary.change_track(tx, client.id, next_at=None)


def _ask_call(tx: Tx, client: Client, clinic: Clinic, say: Say, key: str, now: dt.datetime) -> None:
    """Tell the therapist, in her hours, that a client would like to be rung up; once while it is open."""
    chat = chats.chat_of_owner(tx, client.therapist_id)
    if not diary.ask_call(tx, client.id, now) or chat is None:
        return
    zone = contacts.zone_of(clinic.card)
    values = {"client": client.label(clinic.labels), "when": f"{local_time.local(now, zone):%a %H:%M}"}
    rows = ((Button("staff.call_button", f"called:{client.id.hex}"),),)
    told = replace(say, values=values, rows=rows)
    post.put_say(tx, chat, told, f"call:{key}", now, not_before=_reads_at(tx, client, clinic, now))


def _reads_at(tx: Tx, client: Client, clinic: Clinic, now: dt.datetime) -> dt.datetime:
    """When her therapist, or who stands in for her, is at work next."""
    return contacts.next_opening(rota_of(tx, clinic).reads(client.therapist_id, now), now)


def _cap(tx: Tx, client: Client) -> int:
    documents = people.prescription_documents(tx, [client.id]).get(client.id, [])
    return int(documents[-1][1].get("most_messages_a_day", DEFAULT_CAP)) if documents else DEFAULT_CAP


def _postpone(tx: Tx, client: Client, until: dt.datetime, now: dt.datetime) -> None:
    track = diary.track_of(tx, client.id)
    if track is None:
        return
    today = local_time.day_in(client.zone, now)
    laters = track.laters + 1 if track.laters_on == today else 1
    diary.change_track(tx, client.id, later_at=until, laters_on=today, laters=laters)


def pause(tx: Tx, client: Client, wanted: Pause, now: dt.datetime) -> None:
    """Begin a pause. One that a warning began is never shortened by a break of her own."""
    track = diary.track_of(tx, client.id)
    if track is None:
        return
    open_ended = track.pause_reason is not None and track.paused_until is None
    if open_ended and wanted.until is not None:
        return
    diary.change_track(
        tx, client.id, paused_until=wanted.until, pause_reason=wanted.reason, later_at=None, next_at=now
    )
    event = diary.PauseEvent("paused", wanted.reason, local_time.day_in(client.zone, now), wanted.until)
    diary.add_pause_event(tx, client.id, event, now)


def resume(tx: Tx, client: Client, now: dt.datetime) -> None:
    """End a pause; nudges begin anew from now."""
    diary.change_track(
        tx, client.id, paused_until=None, pause_reason=None, restarted_at=now, next_at=now, later_at=None
    )
    event = diary.PauseEvent("resumed", "", local_time.day_in(client.zone, now), None)
    diary.add_pause_event(tx, client.id, event, now)
    plan_told.tell_waiting(tx, client, now)


def tell(tx: Tx, client: Client, say: Say, key: str, now: dt.datetime) -> None:
    """Say something to a client outside a turn of hers."""
    post.put_for_owner(tx, client.id, say, key, now)


def tell_failure(
    tx: Tx,
    office: Office,
    chat: Chat,
    incoming: Incoming,
    inbox_id: uuid.UUID,
    now: dt.datetime,
) -> None:
    """Tell a client that her message could not be handled, and keep it for her therapist."""
    if chat.role is not Role.CLIENT or chat.owner_id is None:
        return
    view = read_view(tx, office, open_record(tx, chat.owner_id, now), incoming.said_at)
    diary.file_note(tx, chat.owner_id, inbox_id, typed(incoming.body) or "", incoming.said_at, now)
    post.put_say(tx, chat, Say("failed", contact_values(view)), f"failed:{inbox_id.hex}", now)
