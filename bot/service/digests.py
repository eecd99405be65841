"""The weekly digest: one pass over the window's rows, drawn outside any transaction, put once."""

import datetime as dt
import uuid
from dataclasses import dataclass
from zoneinfo import ZoneInfo

from bot.conversation.speech import Say, to_json
from bot.domain import attention, local_time
from bot.domain.adherence import Day
from bot.domain.check_in import span_of
from bot.domain.client_week import ClientWeek, OpenAlert, StoppedBy
from bot.domain.contacts import zone_of
from bot.domain.day_book import DayBook
from bot.domain.delivery import Kind
from bot.domain.levels import Level
from bot.domain.people import Chat, Client, Clinic, Staff, Stage
from bot.domain.prescription import InForce, in_force, prescribed_sets
from bot.domain.track import Track
from bot.domain.track import silent_day as silent_days
from bot.domain.trend import Span, Weekly
from bot.reports import digest as report
from bot.reports import picture
from bot.service.agenda import track_from
from bot.service.office import Office
from bot.service.programme import books_of, day_state, versions_of
from bot.store import alerts, chats, diary, outbox, people
from bot.store.base import Tx
from bot.store.diary import PauseEvent, SymptomReport
from bot.store.outbox import Letter

WEEK = 7
WEEKS_SHOWN = 8
HISTORY_DAYS = WEEK * WEEKS_SHOWN + 2
OUT_OF_USE = (Stage.WITHDRAWN,)


@dataclass(frozen=True, slots=True)
class Drawn:
    """A finished digest."""

    text: str
    png: bytes
    caption: str


def next_due(clinic: Clinic, after: dt.datetime) -> dt.datetime:
    """The clinic's next digest instant after an instant."""
    zone = zone_of(clinic.card)
    today = local_time.local_date(after, zone)
    ahead = (clinic.digest_day - today.weekday()) % WEEK
    for days in (ahead, ahead + WEEK):
        at = local_time.instant(today + dt.timedelta(days=days), clinic.digest_at, zone)
        if at > after:
            return at
    raise AssertionError("a week has a digest instant")


def gather(tx: Tx, staff: Staff, clinic: Clinic, now: dt.datetime) -> report.Digest:
    """What one digest shows: the seven whole local days of each client before the instant."""
    zone = zone_of(clinic.card)
    last_on = local_time.local_date(now, zone) - dt.timedelta(days=1)
    clients = [c for c in people.clients_of(tx, staff.id) if c.stage not in OUT_OF_USE]
    ids = [client.id for client in clients]
    since = last_on - dt.timedelta(days=HISTORY_DAYS)
    book = _Shelf(
        versions=versions_of(tx, ids),
        books=dict(books_of(tx, ids, since)),
        symptoms=diary.symptom_reports(tx, ids, since),
        pauses=diary.pause_events(tx, ids),
        tracks={c: track_from(tx, c, row) for c, row in diary.tracks_of(tx, ids).items()},
        gone=chats.gone_since(tx, ids),
        calls=diary.calls_asked(tx, ids),
        joined=people.consented_at(tx, ids),
        labels=clinic.labels,
    )
    open_alerts = alerts.open_of(tx, ids)
    notes = diary.unread_notes(tx, ids)
    weeks = [
        book.week(
            client,
            tuple(
                OpenAlert(
                    a.level,
                    a.raised_at,
                    a.seen_at is not None,
                    a.raised_at if a.level is Level.THERAPIST else None,
                    a.handling == "sensitive",
                )
                for a in open_alerts
                if a.client_id == client.id and a.level is not Level.NEXT_REVIEW
            ),
            sum(note.client_id == client.id for note in notes),
            local_time.known_zone(client.zone) or zone,
            now,
        )
        for client in clients
        if client.id in book.joined
    ]
    lines = attention.order(tuple(weeks), now)
    return report.Digest(lines=lines, first_on=last_on - dt.timedelta(days=WEEK - 1), last_on=last_on)


@dataclass(frozen=True, slots=True)
class _Shelf:
    """The rows of one therapist's clients, by client."""

    versions: dict[uuid.UUID, tuple[InForce, ...]]
    books: dict[uuid.UUID, DayBook]
    symptoms: dict[uuid.UUID, list[SymptomReport]]
    pauses: dict[uuid.UUID, list[PauseEvent]]
    tracks: dict[uuid.UUID, Track]
    gone: dict[uuid.UUID, dt.datetime]
    calls: dict[uuid.UUID, list[dt.datetime]]
    joined: dict[uuid.UUID, dt.datetime]
    labels: str

    def week(
        self,
        client: Client,
        open_alerts: tuple[OpenAlert, ...],
        unread: int,
        zone: ZoneInfo,
        now: dt.datetime,
    ) -> ClientWeek:
        """What the digest knows of one client."""
        today = local_time.local_date(now, zone)
        versions = self.versions.get(client.id, ())
        joined_on = local_time.local_date(self.joined[client.id], zone)
        first = max(today - dt.timedelta(days=WEEK), joined_on)
        days = [first + dt.timedelta(days=n) for n in range(max(0, (today - first).days))]
        pauses = self.pauses.get(client.id, [])
        track = self.tracks.get(client.id)
        pause = track.pause if track is not None and track.is_paused(today) else None
        stopped = pause is not None and pause.until is None
        current = in_force(versions, today)
        gone_at = self.gone.get(client.id)
        return ClientWeek(
            code=client.label(self.labels),
            today=today,
            days=tuple(
                Day(
                    on,
                    prescribed_sets(versions, on),
                    self.books[client.id].totals.get(on),
                    day_state(pauses, on),
                )
                for on in days
            ),
            joined_on=joined_on,
            plan_starts_on=min((v.prescription.starts_on for v in versions), default=None),
            alerts=open_alerts,
            stopped_by=StoppedBy.WARNING if stopped else None,
            stopped_since_on=pauses[-1].on if stopped and pauses else None,
            paused_until_on=pause.until if pause is not None else None,
            silent_days=silent_days(track, zone, today - dt.timedelta(days=1)) if track else 0,
            leaks=self._weekly(client.id, "leaks", today),
            heaviness=self._weekly(client.id, "heaviness", today),
            pain=self._weekly(client.id, "pain", today),
            review_on=current.prescription.review_on if current else None,
            unread_notes=unread,
            calls_asked_at=tuple(self.calls.get(client.id, ())),
            unreachable_since_on=None if gone_at is None else local_time.local_date(gone_at, zone),
        )

    def _weekly(self, client_id: uuid.UUID, question: str, today: dt.date) -> Weekly:
        """The answers by week back from today, oldest first; a week without an answer stays a gap."""
        weeks: list[Span | None] = [None] * WEEKS_SHOWN
        for told in self.symptoms.get(client_id, []):
            back = (today - dt.timedelta(days=1) - told.on).days // WEEK
            if told.question == question and told.value is not None and 0 <= back < WEEKS_SHOWN:
                weeks[WEEKS_SHOWN - 1 - back] = span_of(question, told.value)
        while weeks and weeks[0] is None:
            weeks.pop(0)
        return tuple(weeks)


def draw(data: report.Digest) -> Drawn:
    """The digest as text and one picture; takes a moment, so never inside a transaction."""
    return Drawn(report.digest_text(data), picture.digest_picture(data), picture.picture_caption(data))


def run(office: Office) -> int:
    """Send the digests that are due; tells how many were."""
    now = office.clock.now()
    with office.begin() as tx:
        due = people.digests_due(tx, now, 20)
        work = [(staff, at, people.clinic_by_id(tx, staff.clinic_id)) for staff, at in due]
        data = [gather(tx, staff, clinic, at) for staff, at, clinic in work]
    for (staff, at, clinic), digest in zip(work, data, strict=True):
        drawn = draw(digest)
        with office.begin() as tx:
            if not people.move_digest(tx, staff.id, at, next_due(clinic, now)):
                continue
            chat = chats.chat_of_owner(tx, staff.id)
            if chat is not None:
                _put(tx, chat, drawn, f"digest:{staff.id.hex}:{at:%Y%m%d%H%M%S}", now)
    return len(work)


def _put(tx: Tx, chat: Chat, drawn: Drawn, key: str, now: dt.datetime) -> None:
    text = Say("digest.text", {"text": drawn.text}, kind=Kind.DIGEST, keep_private=True)
    outbox.put(tx, Letter(f"{key}:text", chat.id, chat.owner_id, Kind.DIGEST, to_json(text)), now)
    caption = Say("digest.caption", {"text": drawn.caption}, kind=Kind.DIGEST, silent=True, keep_private=True)
    content = {**to_json(caption), "method": "photo"}
    letter = Letter(f"{key}:picture", chat.id, chat.owner_id, Kind.DIGEST, content, picture=drawn.png)
    outbox.put(tx, letter, now)
