"""One client's whole programme, gathered from the store."""

import datetime as dt
from dataclasses import replace

from bot.domain import local_time
from bot.domain.adherence import Day
from bot.domain.client_record import AlertRecord, ClientRecord, PauseSpan, Told, Version
from bot.domain.contacts import zone_of
from bot.domain.day_book import fold
from bot.domain.people import Client, Clinic
from bot.domain.prescription import prescribed_sets
from bot.service.programme import day_state, versions_of
from bot.store import client_notes, diary, extras, people, record, visits
from bot.store.base import Tx

EVER = dt.date(1970, 1, 1)


def gather(tx: Tx, client: Client, clinic: Clinic, now: dt.datetime) -> ClientRecord:
    """What is on record about a client at an instant; her own texts are opened."""
    ids = [client.id]
    zone = local_time.known_zone(client.zone) or zone_of(clinic.card)
    today = local_time.local_date(now, zone)
    joined_at = people.consented_at(tx, ids).get(client.id)
    joined_on = None if joined_at is None else local_time.local_date(joined_at, zone)
    versions = versions_of(tx, ids).get(client.id, ())
    signed = record.signatures_of(tx, client.id)
    reports = diary.set_reports(tx, ids, EVER).get(client.id, [])
    pauses = diary.pause_events(tx, ids).get(client.id, [])
    totals = fold(reports).totals
    whole_days = 0 if joined_on is None else max(0, (today - joined_on).days)
    on_record = [today - dt.timedelta(days=back) for back in range(whole_days, 0, -1)]
    alerts = (_as_of(one, now) for one in record.alerts_of(tx, client.id) if one.alert.raised_at <= now)
    return ClientRecord(
        client=client,
        label=client.label(clinic.labels),
        zone=zone,
        at=now,
        today=today,
        joined_on=joined_on,
        versions=tuple(Version(v.version, v.prescription, *signed[v.version]) for v in versions),
        days=tuple(
            Day(on, prescribed_sets(versions, on), totals.get(on), day_state(pauses, on)) for on in on_record
        ),
        today_sets=totals.get(today),
        reports=tuple(reports),
        symptoms=tuple(
            Told(told.on, told.question, told.value, told.said_at)
            for told in diary.symptom_reports(tx, ids, EVER).get(client.id, [])
        ),
        alerts=tuple(alerts),
        notes=tuple(note for note in record.notes_of(tx, client.id) if note.said_at <= now),
        calls=tuple(call for call in record.calls_of(tx, client.id) if call.asked_at <= now),
        pauses=tuple(PauseSpan(event.kind, event.reason, event.on, event.until) for event in pauses),
        visits=visits.visits_of(tx, client.id),
        reviews=visits.reviews_of(tx, ids).get(client.id, ()),
        to_her=tuple(note for note in client_notes.of_client(tx, client.id) if note.written_at <= now),
        extras=tuple(extras.of_clients(tx, ids, EVER).get(client.id, ())),
    )


def _as_of(of: AlertRecord, now: dt.datetime) -> AlertRecord:
    """An alert as it stood at an instant."""
    alert = of.alert
    if alert.seen_at and alert.seen_at > now:
        alert = replace(alert, seen_at=None)
    if alert.closed_at and alert.closed_at > now:
        alert = replace(alert, closed_at=None, outcome=None)
    return AlertRecord(alert, tuple(step for step in of.steps if step.at <= now))
