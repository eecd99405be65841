"""All clients in one pass, beside each on her own and beside her whole record: the same week three times."""

import dataclasses
import json
from collections.abc import Iterator

import pytest

from bot.domain import attention, symptoms
from bot.domain.adherence import adherence
from bot.domain.client_record import ClientRecord
from bot.domain.client_week import ClientWeek
from bot.domain.contacts import zone_of
from bot.domain.trend import Weekly
from bot.reports import documents
from bot.reports.digest import Digest
from bot.reports.words import words
from bot.service import client_record, window
from bot.store import people
from bot.store.base import Store
from tests.fixtures import caseloads
from tests.fixtures.caseloads import NOW, TODAY
from tests.fixtures.databases import Fresh
from tests.store import prepared

CLIENTS = 90


@pytest.fixture
def store(fresh_database: Fresh) -> Iterator[Store]:
    made = prepared.open_store(fresh_database(prepared.at_head), NOW)
    yield made
    made.close()


def as_json(weeks: list[ClientWeek]) -> list[str]:
    lines = attention.order(weeks, NOW)
    entries = documents.digest(Digest(lines, TODAY, TODAY), words("en"))
    return [json.dumps(entry) for entry in entries]


def test_one_pass_says_what_each_client_on_her_own_and_her_record_say(store: Store) -> None:
    clinic, staff = caseloads.fill(store, CLIENTS)
    zone = zone_of(clinic.card)
    together = [one for part in window.every(store.begin, clinic, staff, NOW) for one in part]
    assert len(together) > CLIENTS * 0.8
    with store.begin() as tx:
        for one in together:
            (alone,) = window.weeks(tx, [one.therapist_id], zone, clinic.labels, NOW, only=one.client_id)
            assert alone == one
            client = people.client_by_id(tx, one.client_id)
            of_record(one.week, client_record.gather(tx, client, clinic, NOW))
    shuffled = sorted(together, key=lambda one: one.client_id.int % 97)
    assert as_json([one.week for one in together]) == as_json([one.week for one in shuffled])
    seen = {line.rank for line in attention.order([one.week for one in together], NOW)}
    assert len(seen) >= 10, "the clients at random stand for most places of the list"


def of_record(week: ClientWeek, record: ClientRecord) -> None:
    """The figures of the week, worked out from everything that was ever said."""
    days = record.days[-7:]
    assert week.days == days
    assert dataclasses.astuple(adherence(week.days)) == dataclasses.astuple(adherence(days))
    for question, found in (("leaks", week.leaks), ("heaviness", week.heaviness), ("pain", week.pain)):
        course = symptoms.course(question, record.symptoms, record.today)
        assert found == since_the_first(course.weekly[-window.WEEKS_SHOWN :])
    assert len(week.alerts) == sum(one.alert.closed_at is None for one in record.alerts)
    assert week.joined_on == record.joined_on
    starts = [version.prescription.starts_on for version in record.versions]
    assert week.plan_starts_on == min(starts, default=None)


def since_the_first(weekly: Weekly) -> Weekly:
    first = next((place for place, span in enumerate(weekly) if span is not None), len(weekly))
    return weekly[first:]
