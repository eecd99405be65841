"""What a turn with a client may look at, read from the store in one go."""

import datetime as dt
import uuid
from collections.abc import Sequence

from bot.conversation.view import ClientView
from bot.domain import local_time
from bot.domain.check_in import MOOD, MOOD_EVERY_DAYS
from bot.domain.day_book import fold
from bot.domain.duties import Rota
from bot.domain.endings import EndingKind
from bot.domain.people import Chat, Stage
from bot.domain.prescription import InForce, in_force
from bot.domain.track import Mode, Pause, Said, What
from bot.rules import rulebook
from bot.rules.discretion import indiscreet
from bot.service.office import Office
from bot.service.programme import away_lately, versions_of
from bot.service.rota import rota_of
from bot.store import alerts, chats, diary, endings, extras, records, unasked_log, visits
from bot.store.base import Tx
from bot.store.diary import SymptomReport
from bot.store.records import Record

DIARY_MEMORY = dt.timedelta(days=40)
LATELY = dt.timedelta(days=1)
DEFAULT_CAP = 3
CHAT_REF = 12
ANSWER_WITHIN = dt.timedelta(hours=18)  # a question of ours is not answered by what is typed a day later
UNREAD_ONCE = dt.timedelta(minutes=2)  # one answer for the parts of a long text


def open_record(tx: Tx, client_id: uuid.UUID, now: dt.datetime) -> Record:
    """Who a client is, and which drawers of her record a turn need not open."""
    return records.of_client(tx, client_id, (now - DIARY_MEMORY).date(), now - LATELY)


def read_view(
    tx: Tx, office: Office, record: Record, said_at: dt.datetime, chat: Chat | None = None
) -> ClientView:
    """Everything a turn with this client may look at; `chat`: hers, where it is known already."""
    now = office.clock.now()
    since = (now - DIARY_MEMORY).date()
    client, clinic, track, filled = record.client, record.clinic, record.track, record.filled
    chat = chat or chats.chat_of_owner(tx, client.id)
    choices = diary.choices_of(tx, [client.id]) if filled.choice else {}
    choice = choices.get(client.id)
    reports = diary.set_reports(tx, [client.id], since).get(client.id, [])
    symptoms = diary.symptom_reports(tx, [client.id], dt.date.min)[client.id] if filled.symptom else []
    baseline: dict[str, int] = {}
    last_answers: dict[str, int] = {}
    for report in symptoms:
        if report.value is not None:
            baseline.setdefault(report.question, report.value)
            last_answers[report.question] = report.value
    notes = diary.unread_notes(tx, [client.id]) if filled.unread_note else []
    today = local_time.day_in(client.zone, now)
    rota = rota_of(tx, clinic) if filled.clinic_duty or filled.own_hours else Rota(clinic.card, ())
    leave = rota.leave_of(client.therapist_id, now)
    pause = None
    if track is not None and track.pause_reason is not None:
        pause = Pause(track.paused_until, track.pause_reason)
    standing = _standing(tx, client.id, now - LATELY) if filled.unasked else None
    reviews = visits.reviews_of(tx, [client.id]) if filled.review else {}
    versions = versions_of(tx, [client.id], choices, reviews).get(client.id, ())
    return ClientView(
        client=client,
        card=clinic.card,
        now=now,
        said_at=said_at,
        versions=versions,
        book=fold(reports),
        waiting=chats.waiting(tx, client.id, now - ANSWER_WITHIN) if filled.talk else None,
        pause=pause,
        open_alerts=tuple(alerts.open_of(tx, [client.id])) if filled.open_alert else (),
        baseline=baseline,
        laters=track.laters if track is not None and track.laters_on == today else 0,
        digest_day=clinic.digest_day,
        rules=office.rules,
        chat_ref="" if chat is None else chat.id.hex[-CHAT_REF:],
        reports=tuple(reports),
        cues=choice.cues if choice is not None else (),
        cap=track.cap if track is not None else DEFAULT_CAP,
        evening_only=track is not None and track.mode == Mode.EVENING_ONLY.value,
        is_discreet=lambda text: not indiscreet(text),
        may_join=client.stage is Stage.ACTIVE or not office.approval.missing(tx, client.language),
        own_advice=office.own_advice,
        away_until=leave.until_on if leave is not None and leave.cover_id is None else None,
        on_call=rota.on_call(now) is not None,
        reads=rota.reads(client.therapist_id, now),
        solo=rota.solo,
        mood_due=not any(
            report.question == MOOD.key and (today - report.on).days < MOOD_EVERY_DAYS for report in symptoms
        ),
        last_answers=last_answers,
        crisis_line=rota.mood.number if rota.mood is not None else "",
        unread_lately=any(now - note.said_at < UNREAD_ONCE for note in notes),
        standing=standing,
        questions_open=_open_questions(standing, local_time.day_in(client.zone, said_at), versions, symptoms),
        offered=filled.ending and _offered(tx, client.id),
        extras=tuple(extras.of_clients(tx, [client.id], since)[client.id]) if filled.extra else (),
        catalogue=rulebook.packaged().catalogue,
        away=away_lately(tx, client.id, today) if filled.pause else {},
    )


def _standing(tx: Tx, client_id: uuid.UUID, since: dt.datetime) -> Said | None:
    """The newest message sent unasked since an instant."""
    sent = unasked_log.since(tx, [client_id], since).get(client_id)
    return Said(What(sent[-1].what), sent[-1].on, sent[-1].ordinal, sent[-1].put_at) if sent else None


def _open_questions(
    standing: Said | None,
    today: dt.date,
    versions: tuple[InForce, ...],
    symptoms: Sequence[SymptomReport],
) -> bool:
    """Whether today's newest message puts the questions of the week, and the last one has no answer."""
    if standing is None or standing.what is not What.CHECK_IN or standing.on != today:
        return False
    version = in_force(versions, standing.on)
    keys = version.prescription.check_in_questions if version else ()
    return bool(keys) and not any(s.on == standing.on and s.question == keys[-1] for s in symptoms)


def _offered(tx: Tx, client_id: uuid.UUID) -> bool:
    """Whether maintenance is offered to her and she has not answered."""
    step = endings.latest(tx, client_id)
    return step is not None and step.kind is EndingKind.OFFERED
