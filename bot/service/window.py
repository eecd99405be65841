"""The week of every client of some therapists, from one pass over the window's rows."""

import datetime as dt
import gc
import uuid
from collections.abc import Callable, Iterator, Mapping, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from functools import lru_cache
from typing import NamedTuple
from zoneinfo import ZoneInfo

from bot.domain import local_time, symptoms, track
from bot.domain.adherence import DayState
from bot.domain.alerts import ORDINARY
from bot.domain.client_week import ClientWeek, ClosedAlert, OpenAlert, StoppedBy
from bot.domain.contacts import zone_of
from bot.domain.day_book import Said, fold_in_order
from bot.domain.levels import Level
from bot.domain.people import Clinic, Staff
from bot.domain.prescription import InForce, Prescription, in_force
from bot.domain.symptoms import Answer
from bot.rules import prescription_file, rulebook
from bot.rules.rulebook import Rulebook
from bot.service import prospects
from bot.service.programme import day_state, days_of
from bot.store.base import Begin, Tx
from bot.store.diary import PauseEvent
from bot.store.window import Window, numbers
from bot.store.window_rows import AlertRow, ClientRow, Heard, Key, Plans

A_DAY = dt.timedelta(days=1)
A_WEEK = dt.timedelta(days=7)
WEEKS_SHOWN = 8
AT_ONCE = 2000
Told = Callable[[int, int], None]
MEASURED = ("leaks", "heaviness", "pain")
FARTHEST_ZONE = dt.timedelta(days=2)  # a client's day may be the one before or after the clinic's

_STOPS = {by.value: by for by in StoppedBy}


class ClientOf(NamedTuple):
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
    weeks_back = A_WEEK * WEEKS_SHOWN + FARTHEST_ZONE
    first_on = last_on - A_WEEK - FARTHEST_ZONE
    clients = window.clients(with_initials=labels == "initials")
    plans = window.plans(first_on)
    shelf = _Shelf(
        at,
        plans,
        {key: _versions(of) for key, of in plans.items()},
        window.review_dates(),
        window.set_reports(first_on),
        window.answers(last_on - weeks_back),
        window.pauses(),
        window.heard(),
        window.alerts(at - prospects.SIGNS_WITHIN),
        window.notes(),
        window.calls(),
        window.gone(),
        window.changes_unseen(),
    )
    found = []
    for client in clients:
        hers = local_time.known_zone(client.zone) or zone
        found.append(prospects.Told(client.key, client.id, hers, shelf.week(client, hers)))
    known = prospects.Known(shelf.plans, shelf.versions, shelf.alerts, shelf.pauses, window.findings())
    judged = prospects.judged(window, found, known, book or rulebook.packaged())
    return [
        ClientOf(client.id, client.therapist_id, week) for client, week in zip(clients, judged, strict=True)
    ]


def every(
    begin: Begin, clinic: Clinic, therapists: Sequence[Staff], at: dt.datetime, told: Told | None = None
) -> Iterator[list[ClientOf]]:
    """The weeks of all clients of many therapists, some thousand clients at a time.

    Each part is a short transaction of its own, so that nobody waits for the whole. told: is told after each
    part how many clients are done, and of how many.
    """
    with begin() as tx:
        counts = numbers(tx, [one.id for one in therapists])
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
    plans: Mapping[Key, Plans]
    versions: Mapping[Key, tuple[InForce, ...]]
    review_dates: Mapping[Key, list[tuple[dt.date, dt.date]]]
    reports: Mapping[Key, list[Said]]
    answers: Mapping[Key, list[Answer]]
    pauses: Mapping[Key, list[PauseEvent]]
    heard: Mapping[Key, Heard]
    alerts: Mapping[Key, list[AlertRow]]
    notes: Mapping[Key, int]
    calls: Mapping[Key, list[dt.datetime]]
    gone: Mapping[Key, dt.datetime]
    unseen: Mapping[Key, dt.datetime]

    def week(self, client: ClientRow, zone: ZoneInfo) -> ClientWeek:
        """What the digest knows of one client."""
        key = client.key
        today = _today(self.at, zone)
        plans = self.plans.get(key)
        versions = self.versions.get(key, ())
        joined_on = local_time.local_date(client.joined_at, zone)
        totals = fold_in_order(self.reports.get(key, ())).totals
        pauses = self.pauses.get(key, ())
        last_pause = _last_pause(pauses)
        paused = last_pause if last_pause and (not last_pause.until or today < last_pause.until) else None
        stopped = paused is not None and paused.until is None
        current = in_force(versions, today)
        alerts = self.alerts.get(key, ())
        answers = self.answers.get(key, ())
        leaks, heaviness, pain = (
            symptoms.weekly(answers, MEASURED, today, WEEKS_SHOWN) if answers else ((), (), ())
        )
        gone_at, unseen_at = self.gone.get(key), self.unseen.get(key)
        return ClientWeek(
            code=f"{client.initials} {client.code}" if client.initials else client.code,
            today=today,
            days=days_of(versions, totals, pauses, max(today - A_WEEK, joined_on), today),
            joined_on=joined_on,
            plan_starts_on=plans.first_starts_on if plans else None,
            alerts=tuple([_open(alert) for alert in alerts if alert.closed_at is None]),
            closed=self._closed(alerts, zone) if alerts else (),
            stopped_by=_STOPS.get(paused.reason, StoppedBy.THERAPIST) if paused and stopped else None,
            stopped_since_on=paused.on if paused and stopped else None,
            paused_until_on=paused.until if paused else None,
            silent_days=self._silent_days(key, versions, zone, today),
            leaks=leaks,
            heaviness=heaviness,
            pain=pain,
            review_on=self._review_on(key, current.prescription) if current else None,
            unread_notes=self.notes.get(key, 0),
            calls_asked_at=tuple(self.calls.get(key, ())),
            unreachable_since_on=None if gone_at is None else local_time.local_date(gone_at, zone),
            change_unseen_since_on=None if unseen_at is None else local_time.local_date(unseen_at, zone),
        )

    def _closed(self, alerts: Sequence[AlertRow], zone: ZoneInfo) -> tuple[ClosedAlert, ...]:
        """Those closed within the week."""
        return tuple(
            ClosedAlert(
                alert.level,
                local_time.local_date(alert.raised_at, zone),
                local_time.local_date(alert.closed_at, zone),
                alert.outcome,
            )
            for alert in alerts
            if alert.closed_at is not None
            and alert.outcome is not None
            and alert.closed_at > self.at - A_WEEK
        )

    def _review_on(self, key: Key, plan: Prescription) -> dt.date:
        """When it is to be reviewed: what the newest review since its start says, else what was planned."""
        said = [next_on for on, next_on in self.review_dates.get(key, ()) if on >= plan.starts_on]
        return said[-1] if said else plan.review_on

    def _silent_days(self, key: Key, versions: tuple[InForce, ...], zone: ZoneInfo, today: dt.date) -> int:
        heard = self.heard.get(key)
        if heard is None:
            return 0
        heard_on = local_time.local_date(max(heard.last_heard_at, heard.restarted_at), zone)
        pauses = self.pauses.get(key, ())
        pause = _last_pause(pauses)
        since = track.first_unheard(
            versions,
            heard_on,
            pause.until if pause else None,
            today - A_DAY,
            lambda on: bool(pauses) and day_state(pauses, on) is not DayState.ACTIVE,
        )
        return (today - since).days if since else 0


@lru_cache(maxsize=1024)
def _today(at: dt.datetime, zone: ZoneInfo) -> dt.date:
    """The local day of the digest's instant; few zones, many clients."""
    return local_time.local_date(at, zone)


def _versions(plans: Plans) -> tuple[InForce, ...]:
    return tuple(InForce(number, prescription_file.outline(document)) for number, document in plans.documents)


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
