"""A client's programme and day book, read from the store into the domain's own types."""

import datetime as dt
import uuid
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import replace
from functools import lru_cache
from typing import Any

from bot.domain.adherence import Day, DayState
from bot.domain.day_book import DayBook, fold
from bot.domain.gating import Record
from bot.domain.prescription import InForce, Prescription, prescribed_over
from bot.domain.visits import Review, moved_review
from bot.rules import prescription_file
from bot.store import diary, people, visits
from bot.store.base import Tx
from bot.store.diary import ChoiceRow, PauseEvent


def versions_of(
    tx: Tx,
    client_ids: Iterable[uuid.UUID],
    choices: Mapping[uuid.UUID, ChoiceRow] | None = None,
    reviews: Mapping[uuid.UUID, tuple[Review, ...]] | None = None,
) -> dict[uuid.UUID, tuple[InForce, ...]]:
    """Every version of some clients' prescriptions, in the order they were put in force.

    choices, reviews: those of all these clients, where they have been read already.
    """
    ids = list(client_ids)
    choices = diary.choices_of(tx, ids) if choices is None else choices
    reviews = visits.reviews_of(tx, ids) if reviews is None else reviews
    return {
        client_id: tuple(
            InForce(
                version,
                _with_review(
                    _with_choice(read_whole(client_id, version, document)[0], choices.get(client_id)),
                    reviews.get(client_id, ()),
                ),
            )
            for version, document in documents
        )
        for client_id, documents in people.prescription_documents(tx, ids).items()
    }


Whole = tuple[Prescription, Record]
_read_before: dict[tuple[uuid.UUID, int], Whole] = {}
MOST_REMEMBERED = 20_000
WEEK_DAYS = 7


def read_whole(client_id: uuid.UUID, version: int, document: Mapping[str, Any]) -> Whole:
    """The prescription of a stored version and what it holds of her; a version never changes: read once."""
    known = _read_before.get((client_id, version))
    if known is None:
        file = prescription_file.from_document(document, "stored")
        known = prescription_file.prescription(file), prescription_file.record(file)
        if len(_read_before) >= MOST_REMEMBERED:
            _read_before.clear()
        _read_before[client_id, version] = known
    return known


def _with_choice(prescription: Prescription, choice: ChoiceRow | None) -> Prescription:
    """The prescription at the times she chose, as long as there is one for each set."""
    if choice is None or len(choice.times) != prescription.sets_a_day:
        return prescription
    return replace(prescription, nudge_times=choice.times)


def _with_review(prescription: Prescription, reviews: tuple[Review, ...]) -> Prescription:
    """The prescription with the review date that her last review set."""
    if not reviews:
        return prescription
    said = [(review.on, review.next_on) for review in reviews]
    review_on = moved_review(prescription.review_on, prescription.starts_on, said)
    return replace(prescription, review_on=review_on)


def books_of(tx: Tx, client_ids: list[uuid.UUID], since_on: dt.date) -> Mapping[uuid.UUID, DayBook]:
    """The day books of some clients from a day on."""
    reports = diary.set_reports(tx, client_ids, since_on)
    return {client_id: fold(reports.get(client_id, [])) for client_id in client_ids}


def day_state(events: Sequence[PauseEvent], on: dt.date) -> DayState:
    """Whether a local day was a paused one. The day a pause began counts as paused."""
    state = DayState.ACTIVE
    for event in events:
        if event.on > on:
            break
        if event.kind == "travel":
            state = DayState.TRAVEL if event.on == on else state
        elif event.kind == "resumed":
            state = DayState.ACTIVE if event.on < on else state
        elif event.until is None or on < event.until:
            state = DayState.PAUSED if event.reason == "own" else DayState.STOPPED
        else:
            state = DayState.ACTIVE
    return state


_day = lru_cache(maxsize=16384)(Day)  # many clients share their days, figures included
_ACTIVE = DayState.ACTIVE


def days_of(
    versions: tuple[InForce, ...],
    totals: Mapping[dt.date, int],
    pauses: Sequence[PauseEvent],
    first: dt.date,
    end: dt.date,
) -> tuple[Day, ...]:
    """A client's days from `first` up to the one before `end`."""
    days = _between(first, end)
    due = prescribed_over(versions, days)
    if not pauses:
        return tuple([_day(on, sets, totals.get(on), _ACTIVE) for on, sets in zip(days, due, strict=True)])
    return tuple(
        [_day(on, sets, totals.get(on), day_state(pauses, on)) for on, sets in zip(days, due, strict=True)]
    )


@lru_cache(maxsize=1024)
def _between(first: dt.date, end: dt.date) -> tuple[dt.date, ...]:
    return tuple(first + dt.timedelta(days=n) for n in range((end - first).days))


def away_lately(tx: Tx, client_id: uuid.UUID, today: dt.date) -> dict[dt.date, DayState]:
    """The days of the last week on which a client's programme did not run."""
    events = diary.pause_events(tx, [client_id]).get(client_id, [])
    days = (today - dt.timedelta(days=back) for back in range(WEEK_DAYS))
    found = {on: day_state(events, on) for on in days} if events else {}
    return {on: state for on, state in found.items() if state is not DayState.ACTIVE}
