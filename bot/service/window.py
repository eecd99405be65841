"""The week of every client of some therapists, from one pass over the window's rows."""

import datetime as dt
import gc
import uuid
from collections.abc import Callable, Iterator, Mapping, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from zoneinfo import ZoneInfo

from bot.domain import local_time, symptoms
from bot.domain.adherence import Day, DayState
from bot.domain.alerts import ORDINARY
from bot.domain.client_week import ClientWeek, ClosedAlert, OpenAlert, StoppedBy
from bot.domain.contacts import zone_of
from bot.domain.day_book import Said, fold_in_order
from bot.domain.levels import Level
from bot.domain.people import Clinic, Staff
from bot.domain.prescription import InForce, Prescription, in_force, prescribed_sets
from bot.domain.track import Mode, Pause, Track, silent_day
from bot.rules import prescription_file, rulebook
from bot.rules.rulebook import Rulebook
from bot.service import prospects
from bot.service.programme import day_state
from bot.store import window as window_rows
from bot.store.base import Begin, Tx
from bot.store.diary import PauseEvent
from bot.store.window import AlertRow, Answers, ClientRow, Heard, Plans, Window

WEEK = 7
WEEKS_SHOWN = 8
AT_ONCE = 2000
Told = Callable[[int, int], None]
MEASURED = ("leaks", "heaviness", "pain")
FARTHEST_ZONE = dt.timedelta(days=2)  # a client's day may be the one before or after the clinic's

_STOPS = {by.value: by for by in StoppedBy}


@dataclass(frozen=True, slots=True)
class ClientOf:
    """A client's week, and whose client she is."""

    client_id: uuid.UUID
    therapist_id: uuid.UUID
    week: ClientWeek


def weeks(
    tx: Tx,
    therapist_ids: Sequence[uuid.UUID],
    zone: ZoneInfo,
    labels: str,
    at: dt.datetime,
    book: Rulebook | None = None,
    only: uuid.UUID | None = None,
) -> list[ClientOf]:
    """The seven whole local days of each client before an instant, and what stands open at it.

    zone: of a client whose own is not known. labels: the clinic's choice of how clients are shown. What was
    told later about a day counts; alerts, notes, calls and pauses are those of the instant. book: what doses
    and gates are judged by, None for the packaged rules.
    only: one client, if she is theirs.
    """
    window = Window(tx, therapist_ids, at, only)
    last_on = local_time.local_date(at, zone)
    weeks_back = dt.timedelta(days=WEEK * WEEKS_SHOWN) + FARTHEST_ZONE
    first_on = last_on - dt.timedelta(days=WEEK) - FARTHEST_ZONE
    clients = window.clients(with_initials=labels == "initials")
    plans = window.plans(first_on)
    shelf = _Shelf(
        at,
        plans,
        {client_id: _versions(of) for client_id, of in plans.items()},
        window.review_dates(),
        window.set_reports(first_on),
        window.answers((*MEASURED, prospects.TECHNIQUE), last_on - weeks_back),
        window.pauses(),
        window.heard(),
        window.alerts(at - prospects.SIGNS_WITHIN),
        window.notes(),
        window.calls(),
        window.gone(),
        window.changes_unseen(),
    )
    zones = {client.id: local_time.known_zone(client.zone) or zone for client in clients}
    found = {client.id: shelf.week(client, zones[client.id]) for client in clients}
    known = prospects.Known(
        zones, shelf.plans, shelf.versions, shelf.alerts, shelf.answers, shelf.pauses, window.findings()
    )
    judged = prospects.judged(tx, found, known, book or rulebook.packaged())
    return [ClientOf(client.id, client.therapist_id, judged[client.id]) for client in clients]


def every(
    begin: Begin, clinic: Clinic, therapists: Sequence[Staff], at: dt.datetime, told: Told | None = None
) -> Iterator[list[ClientOf]]:
    """The weeks of all clients of many therapists, some thousand clients at a time.

    Each part is a short transaction of its own, so that nobody waits for the whole. told: is told after each
    part how many clients are done, and of how many.
    """
    with begin() as tx:
        counts = window_rows.numbers(tx, [one.id for one in therapists])
    done, whole = 0, sum(counts.values())
    for part in _parts([one.id for one in therapists], counts):
        with _no_collecting(), begin() as tx:
            found = weeks(tx, part, zone_of(clinic.card), clinic.labels, at)
        done += sum(counts.get(one, 0) for one in part)
        if told is not None:
            told(done, whole)
        yield found


@contextmanager
def _no_collecting() -> Iterator[None]:
    """Many rows become many small objects, none of them circular: looking for circles takes half the time."""
    was_on = gc.isenabled()
    gc.disable()
    try:
        yield
    finally:
        if was_on:
            gc.enable()


def _parts(ids: Sequence[uuid.UUID], counts: Mapping[uuid.UUID, int]) -> Iterator[list[uuid.UUID]]:
    """The therapists in parts of about `AT_ONCE` clients."""
    part: list[uuid.UUID] = []
    for one in ids:
        part.append(one)
        if sum(counts.get(each, 0) for each in part) >= AT_ONCE:
            yield part
            part = []
    if part:
        yield part


@dataclass(frozen=True, slots=True)
class _Shelf:
    """The rows by client."""

    at: dt.datetime
    plans: Mapping[uuid.UUID, Plans]
    versions: Mapping[uuid.UUID, tuple[InForce, ...]]
    review_dates: Mapping[uuid.UUID, list[tuple[dt.date, dt.date]]]
    reports: Mapping[uuid.UUID, list[Said]]
    answers: Mapping[uuid.UUID, Answers]
    pauses: Mapping[uuid.UUID, list[PauseEvent]]
    heard: Mapping[uuid.UUID, Heard]
    alerts: Mapping[uuid.UUID, list[AlertRow]]
    notes: Mapping[uuid.UUID, int]
    calls: Mapping[uuid.UUID, list[dt.datetime]]
    gone: Mapping[uuid.UUID, dt.datetime]
    unseen: Mapping[uuid.UUID, dt.datetime]

    def week(self, client: ClientRow, zone: ZoneInfo) -> ClientWeek:
        """What the digest knows of one client."""
        today = local_time.local_date(self.at, zone)
        plans = self.plans.get(client.id)
        versions = self.versions.get(client.id, ())
        joined_on = local_time.local_date(client.joined_at, zone)
        first = max(today - dt.timedelta(days=WEEK), joined_on)
        totals = fold_in_order(self.reports.get(client.id, ())).totals
        pauses = self.pauses.get(client.id, [])
        last_pause = _last_pause(pauses)
        paused = last_pause if last_pause and (not last_pause.until or today < last_pause.until) else None
        stopped = paused is not None and paused.until is None
        current = in_force(versions, today)
        alerts = self.alerts.get(client.id, ())
        answers = self.answers.get(client.id, {})
        leaks, heaviness, pain = (
            symptoms.weekly(answers.get(asked, ()), asked, today, WEEKS_SHOWN) for asked in MEASURED
        )
        gone_at, unseen_at = self.gone.get(client.id), self.unseen.get(client.id)
        return ClientWeek(
            code=f"{client.initials} {client.code}" if client.initials else client.code,
            today=today,
            days=tuple(
                Day(on, prescribed_sets(versions, on), totals.get(on), day_state(pauses, on))
                for on in _days(first, today)
            ),
            joined_on=joined_on,
            plan_starts_on=plans.first_starts_on if plans else None,
            alerts=tuple(_open(alert) for alert in alerts if alert.closed_at is None),
            closed=tuple(
                ClosedAlert(
                    alert.level,
                    local_time.local_date(alert.raised_at, zone),
                    local_time.local_date(alert.closed_at, zone),
                    alert.outcome,
                )
                for alert in alerts
                if alert.closed_at is not None
                and alert.outcome is not None
                and alert.closed_at > self.at - dt.timedelta(days=WEEK)
            ),
            stopped_by=_STOPS.get(paused.reason, StoppedBy.THERAPIST) if paused and stopped else None,
            stopped_since_on=paused.on if paused and stopped else None,
            paused_until_on=paused.until if paused else None,
            silent_days=self._silent_days(client, versions, zone, today),
            leaks=leaks,
            heaviness=heaviness,
            pain=pain,
            review_on=self._review_on(client, current.prescription) if current else None,
            unread_notes=self.notes.get(client.id, 0),
            calls_asked_at=tuple(self.calls.get(client.id, ())),
            unreachable_since_on=None if gone_at is None else local_time.local_date(gone_at, zone),
            change_unseen_since_on=None if unseen_at is None else local_time.local_date(unseen_at, zone),
        )

    def _review_on(self, client: ClientRow, plan: Prescription) -> dt.date:
        """When it is to be reviewed: what the newest review since its start says, else what was planned."""
        said = [next_on for on, next_on in self.review_dates.get(client.id, ()) if on >= plan.starts_on]
        return said[-1] if said else plan.review_on

    def _silent_days(
        self, client: ClientRow, versions: tuple[InForce, ...], zone: ZoneInfo, today: dt.date
    ) -> int:
        heard = self.heard.get(client.id)
        if heard is None:
            return 0
        pauses = self.pauses.get(client.id, [])
        pause = _last_pause(pauses)
        since = local_time.local_date(heard.last_heard_at, zone)
        track = Track(
            zone=client.zone,
            versions=versions,
            mode=Mode.ALL,
            cap=1,
            done={},
            closed=frozenset(),
            said=(),
            later_at=None,
            laters_today=0,
            pause=Pause(pause.until, pause.reason) if pause else None,
            last_heard_at=heard.last_heard_at,
            last_check_in_on=None,
            restarted_at=heard.restarted_at,
            excused=frozenset(
                on for on in _days(since, today) if pauses and day_state(pauses, on) is not DayState.ACTIVE
            ),
        )
        return silent_day(track, zone, today - dt.timedelta(days=1))


def _versions(plans: Plans) -> tuple[InForce, ...]:
    return tuple(InForce(number, prescription_file.outline(document)) for number, document in plans.documents)


def _days(first: dt.date, end: dt.date) -> list[dt.date]:
    """The days from `first` up to the one before `end`."""
    return [first + dt.timedelta(days=n) for n in range((end - first).days)]


def _last_pause(pauses: Sequence[PauseEvent]) -> PauseEvent | None:
    """The last pause that nobody ended before its time; it may be over."""
    for event in reversed(pauses):
        if event.kind == "resumed":
            return None
        if event.kind == "paused":
            return event
    return None


def _open(alert: AlertRow) -> OpenAlert:
    return OpenAlert(
        alert.level,
        alert.raised_at,
        alert.seen_at is not None,
        # Until two working days have passed she has not yet waited for a decision.
        alert.raised_at if alert.level is Level.THERAPIST and alert.client_at is None else None,
        alert.handling != ORDINARY,
        alert.unreached,
    )
