"""Visits, findings and reviews as they are kept, on both engines."""

import datetime as dt

from bot.domain.visits import Attendance, Review, ReviewOutcome, moved_review
from bot.store import visits
from bot.store.base import Store
from tests.fixtures.clock import MovableClock
from tests.store import prepared

DAY = dt.date(2026, 3, 2)


def test_what_was_recorded_comes_back_signed_and_in_order(store: Store, clock: MovableClock) -> None:
    now = clock.now()
    later = DAY + dt.timedelta(days=7)
    first = Review(DAY, ReviewOutcome.HOLD, "", later, "T1", now)
    second = Review(later, ReviewOutcome.REFER, "to her GP", None, "T1", now)
    with store.begin() as tx:
        anna, berta = prepared.enrol(tx, now, ("C1", "C2"))
        visits.add_visit(tx, anna.id, anna.therapist_id, later, Attendance.DID_NOT_ATTEND, now)
        visits.add_visit(tx, anna.id, anna.therapist_id, DAY, Attendance.ATTENDED, now)
        for review in (second, first):
            visits.add_review(tx, anna.id, anna.therapist_id, review)
        found = {"words": "3/5/4//7", "fields": {"perfect": "3/5/4//7"}}
        visits.add_finding(tx, anna.id, anna.therapist_id, DAY, found, now)
    with store.begin() as tx:
        told = [(visit.on, visit.attendance, visit.by) for visit in visits.visits_of(tx, anna.id)]
        assert told == [(DAY, Attendance.ATTENDED, "T1"), (later, Attendance.DID_NOT_ATTEND, "T1")]
        assert visits.reviews_of(tx, [anna.id, berta.id]) == {anna.id: (first, second)}
        assert visits.findings_of(tx, [anna.id, berta.id]) == {anna.id: [(DAY, found)]}


def test_a_review_moves_the_review_date_of_the_version_it_was_about() -> None:
    held = [(DAY, DAY + dt.timedelta(weeks=4)), (DAY, None)]
    planned = DAY + dt.timedelta(weeks=1)
    assert moved_review(planned, DAY - dt.timedelta(weeks=5), held) == DAY + dt.timedelta(weeks=4)
    assert moved_review(planned, DAY + dt.timedelta(days=1), held) == planned
    assert moved_review(planned, DAY, ()) == planned
