"""The rows a digest needs, for every client of some therapists at once: a handful of queries for any number.

Nothing is opened that is not shown: of alerts and notes only the dates are read here.
"""

import datetime as dt
import uuid
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any, TypeVar

from sqlalchemy import ColumnElement, ScalarSelect, and_, exists, func, or_, select, type_coerce
from sqlalchemy.types import NullType

from bot.domain.alerts import Outcome
from bot.domain.day_book import Meaning, Said
from bot.domain.levels import Level
from bot.domain.people import Stage
from bot.store import tables
from bot.store.base import Tx
from bot.store.diary import PauseEvent
from bot.store.vault import Place

_CLIENT = tables.client.c
_SETS = tables.set_report.c
_SYMPTOMS = tables.symptom_report.c
_ALERT = tables.alert.c
_TRACK = tables.track.c
ENDED = (Stage.WITHDRAWN.value, Stage.DISCHARGED.value, Stage.ERASED.value)


@dataclass(frozen=True, slots=True)
class Heard:
    """When a client was last heard of, and when her nudges last began."""

    last_heard_at: dt.datetime
    restarted_at: dt.datetime


@dataclass(frozen=True, slots=True)
class Plans:
    """A client's prescriptions. documents: number and document of each, oldest first."""

    first_starts_on: dt.date
    documents: list[tuple[int, dict[str, Any]]]


@dataclass(frozen=True, slots=True)
class AlertRow:
    """An alert without what was written."""

    level: Level
    handling: str
    raised_at: dt.datetime
    seen_at: dt.datetime | None
    client_at: dt.datetime | None
    closed_at: dt.datetime | None
    outcome: Outcome | None
    unreached: bool = False


@dataclass(frozen=True, slots=True)
class ClientRow:
    """A client and what a digest shows her as. initials: None unless they were asked for."""

    id: uuid.UUID
    therapist_id: uuid.UUID
    code: str
    initials: str | None
    zone: str
    joined_at: dt.datetime


Answers = Mapping[str, Sequence[tuple[dt.date, int]]]
"""Answers by question: the day each is about, and its value."""

Row = TypeVar("Row")


def _raw(client_id: ColumnElement[uuid.UUID]) -> ColumnElement[Any]:
    """An id as the driver gives it: making ids of many thousand rows takes longer than reading them."""
    return type_coerce(client_id, NullType())


def _by_id(found: Mapping[Any, Row]) -> dict[uuid.UUID, Row]:
    return {raw if isinstance(raw, uuid.UUID) else uuid.UUID(raw): rows for raw, rows in found.items()}


def numbers(tx: Tx, therapist_ids: Sequence[uuid.UUID]) -> dict[uuid.UUID, int]:
    """How many clients some therapists have, whatever stage they are at."""
    query = (
        select(_CLIENT.therapist_id, func.count().label("clients"))
        .where(_CLIENT.therapist_id.in_(list(therapist_ids)))
        .group_by(_CLIENT.therapist_id)
    )
    return {row.therapist_id: row.clients for row in tx.connection.execute(query)}


class Window:
    """The rows of the clients of some therapists, as they stood at an instant."""

    def __init__(
        self, tx: Tx, therapist_ids: Sequence[uuid.UUID], at: dt.datetime, only: uuid.UUID | None = None
    ) -> None:
        """Of one client where `only` names her and she is one of theirs."""
        self._tx = tx
        self._at = at
        theirs = _CLIENT.therapist_id.in_(list(therapist_ids))
        self._theirs = theirs if only is None else and_(theirs, _CLIENT.id == only)

    def _hers(self) -> ScalarSelect[uuid.UUID]:
        return select(_CLIENT.id).where(self._theirs).scalar_subquery()

    def _rows(self, query: Any) -> Any:  # noqa: ANN401 - rows have the columns asked for
        return self._tx.connection.execute(query).all()

    def clients(self, with_initials: bool) -> list[ClientRow]:
        """Those who have agreed to take part and not ended, by code; their data keys are at hand then."""
        self._tx.hold_keys(self._hers())
        agreed = tables.consent.c
        # An alert that is open keeps a client in sight, whatever else has ended.
        alerted = exists().where(
            _ALERT.client_id == _CLIENT.id,
            _ALERT.level != Level.NEXT_REVIEW.value,
            _ALERT.raised_at <= self._at,
            or_(_ALERT.closed_at.is_(None), _ALERT.closed_at > self._at),
        )
        joined_at = func.min(agreed.at).label("joined_at")
        query = (
            select(_CLIENT.id, _CLIENT.therapist_id, _CLIENT.code, _CLIENT.initials, _CLIENT.zone, joined_at)
            .join(tables.consent, agreed.client_id == _CLIENT.id)
            .where(
                self._theirs, agreed.given, agreed.at <= self._at, or_(_CLIENT.stage.notin_(ENDED), alerted)
            )
            .group_by(_CLIENT.id)
            .order_by(_CLIENT.code)
        )
        return [
            ClientRow(
                row.id,
                row.therapist_id,
                row.code,
                self._tx.open_text(Place("client", row.id, "initials"), row.initials)
                if with_initials and row.initials
                else None,
                row.zone,
                row.joined_at,
            )
            for row in self._rows(query)
        ]

    def plans(self, from_on: dt.date) -> dict[uuid.UUID, Plans]:
        """The prescriptions that hold on or after a day; one replaced by then stays sealed."""
        table = tables.prescription.c
        query = (
            select(table.id, table.client_id, table.version, table.starts_on, table.document)
            .where(table.client_id.in_(self._hers()), table.put_in_force_at <= self._at)
            .order_by(table.client_id, table.starts_on, table.version)
        )
        first_on: dict[uuid.UUID, dt.date] = {}
        held: dict[uuid.UUID, list[Any]] = {}
        for row in self._rows(query):
            first_on.setdefault(row.client_id, row.starts_on)
            hers = held.setdefault(row.client_id, [])
            if row.starts_on <= from_on:
                hers.clear()
            hers.append(row)
        return {
            client_id: Plans(
                first_on[client_id],
                [
                    (row.version, self._tx.open_json(Place("prescription", row.id, "document"), row.document))
                    for row in rows
                ],
            )
            for client_id, rows in held.items()
        }

    def review_dates(self) -> dict[uuid.UUID, list[tuple[dt.date, dt.date]]]:
        """The reviews that set a next date: their day and that date, oldest first."""
        table = tables.review.c
        query = (
            select(table.client_id, table.on_date, table.next_on)
            .where(
                table.client_id.in_(self._hers()), table.next_on.is_not(None), table.recorded_at <= self._at
            )
            .order_by(table.on_date, table.id)
        )
        found: dict[uuid.UUID, list[tuple[dt.date, dt.date]]] = {}
        for row in self._rows(query):
            found.setdefault(row.client_id, []).append((row.on_date, row.next_on))
        return found

    def set_reports(self, since_on: dt.date) -> dict[uuid.UUID, list[Said]]:
        """The reports about days from `since_on` on, in the order they were said."""
        query = (
            select(_raw(_SETS.client_id), _SETS.on_date, _SETS.meaning, _SETS.value, _SETS.key, _SETS.undoes)
            .where(_SETS.client_id.in_(self._hers()), _SETS.on_date >= since_on)
            .order_by(_SETS.said_at, _SETS.id)
        )
        meanings = {meaning.value: meaning for meaning in Meaning}
        found: dict[Any, list[Said]] = {}
        for client_id, on, meaning, value, key, undoes in self._rows(query):
            said = Said(on, meanings[meaning], value or 0, key, undoes or "")
            if client_id in found:
                found[client_id].append(said)
            else:
                found[client_id] = [said]
        return _by_id(found)

    def answers(self, questions: Sequence[str], since_on: dt.date) -> dict[uuid.UUID, Answers]:
        """The answers to some questions about days from `since_on` on, by question, as they were given."""
        query = (
            select(_raw(_SYMPTOMS.client_id), _SYMPTOMS.question, _SYMPTOMS.on_date, _SYMPTOMS.value)
            .where(
                _SYMPTOMS.client_id.in_(self._hers()),
                _SYMPTOMS.on_date >= since_on,
                _SYMPTOMS.question.in_(list(questions)),
                _SYMPTOMS.value.is_not(None),
            )
            .order_by(_SYMPTOMS.said_at, _SYMPTOMS.id)
        )
        found: dict[Any, dict[str, list[tuple[dt.date, int]]]] = {}
        for client_id, question, on, value in self._rows(query):
            if client_id not in found:
                found[client_id] = {asked: [] for asked in questions}
            found[client_id][question].append((on, value))
        return _by_id(found)

    def pauses(self) -> dict[uuid.UUID, list[PauseEvent]]:
        """Every beginning and end of a pause up to the instant, in order."""
        table = tables.pause_event.c
        query = (
            select(table.client_id, table.kind, table.reason, table.on_date, table.until_on)
            .where(table.client_id.in_(self._hers()), table.at <= self._at)
            .order_by(table.at, table.id)
        )
        found: dict[uuid.UUID, list[PauseEvent]] = {}
        for client_id, *event in self._rows(query):
            found.setdefault(client_id, []).append(PauseEvent(*event))
        return found

    def heard(self) -> dict[uuid.UUID, Heard]:
        """When each client was last heard of, up to the instant.

        Of somebody who has been heard since, it is the last thing she reported before.
        """
        query = select(_TRACK.client_id, _TRACK.last_heard_at, _TRACK.restarted_at).where(
            _TRACK.client_id.in_(self._hers()),
        )
        found = {client_id: Heard(*row) for client_id, *row in self._rows(query)}
        later = [client_id for client_id, heard in found.items() if heard.last_heard_at > self._at]
        return {**found, **self._heard_before(later)} if later else found

    def _heard_before(self, client_ids: list[uuid.UUID]) -> dict[uuid.UUID, Heard]:
        last: dict[uuid.UUID, dt.datetime] = {}
        for table in (tables.set_report, tables.symptom_report, tables.unread_note):
            query = (
                select(table.c.client_id, func.max(table.c.said_at).label("said_at"))
                .where(table.c.client_id.in_(client_ids), table.c.said_at <= self._at)
                .group_by(table.c.client_id)
            )
            for row in self._rows(query):
                last[row.client_id] = max(row.said_at, last.get(row.client_id, row.said_at))
        return {client_id: Heard(said_at, said_at) for client_id, said_at in last.items()}

    def alerts(self, closed_since: dt.datetime) -> dict[uuid.UUID, list[AlertRow]]:
        """The alerts open at the instant and those closed since an earlier one, oldest first."""
        event = tables.alert_event.c
        lost = exists().where(event.alert_id == _ALERT.id, event.kind == "unreachable", event.at <= self._at)
        query = (
            select(
                *(_ALERT.client_id, _ALERT.level, _ALERT.handling, _ALERT.raised_at),
                *(_ALERT.seen_at, _ALERT.client_at, _ALERT.closed_at, _ALERT.outcome),
                lost.label("unreached"),
            )
            .where(
                _ALERT.client_id.in_(self._hers()),
                _ALERT.raised_at <= self._at,
                or_(_ALERT.closed_at.is_(None), _ALERT.closed_at > closed_since),
            )
            .order_by(_ALERT.raised_at, _ALERT.id)
        )
        found: dict[uuid.UUID, list[AlertRow]] = {}
        for row in self._rows(query):
            found.setdefault(row.client_id, []).append(
                AlertRow(
                    Level(row.level),
                    row.handling,
                    row.raised_at,
                    row.seen_at if row.seen_at and row.seen_at <= self._at else None,
                    row.client_at if row.client_at and row.client_at > self._at else None,
                    row.closed_at if row.closed_at and row.closed_at <= self._at else None,
                    Outcome(row.outcome) if row.outcome else None,
                    bool(row.unreached),
                ),
            )
        return found

    def notes(self) -> dict[uuid.UUID, int]:
        """How many of each client's notes nobody had opened at the instant."""
        table = tables.unread_note.c
        query = (
            select(table.client_id, func.count().label("notes"))
            .where(
                table.client_id.in_(self._hers()),
                table.said_at <= self._at,
                or_(table.read_at.is_(None), table.read_at > self._at),
            )
            .group_by(table.client_id)
        )
        return {row.client_id: row.notes for row in self._rows(query)}

    def calls(self) -> dict[uuid.UUID, list[dt.datetime]]:
        """When each client asked to be rung up, requests open at the instant."""
        table = tables.call_request.c
        query = (
            select(table.client_id, table.asked_at)
            .where(
                table.client_id.in_(self._hers()),
                table.asked_at <= self._at,
                or_(table.answered_at.is_(None), table.answered_at > self._at),
            )
            .order_by(table.asked_at)
        )
        found: dict[uuid.UUID, list[dt.datetime]] = {}
        for row in self._rows(query):
            found.setdefault(row.client_id, []).append(row.asked_at)
        return found

    def changes_unseen(self) -> dict[uuid.UUID, dt.datetime]:
        """When clients were told of the oldest change of their plan that they have not looked at."""
        table = tables.change_notice.c
        query = (
            select(table.client_id, func.min(table.told_at).label("since"))
            .where(
                table.client_id.in_(self._hers()),
                table.told_at <= self._at,
                or_(table.seen_at.is_(None), table.seen_at > self._at),
            )
            .group_by(table.client_id)
        )
        return {row.client_id: row.since for row in self._rows(query)}

    def gone(self) -> dict[uuid.UUID, dt.datetime]:
        """Since when the platform has refused messages to some clients."""
        table = tables.chat.c
        query = select(table.owner_id, table.gone_at).where(
            table.owner_id.in_(self._hers()), table.gone_at <= self._at
        )
        return {row.owner_id: row.gone_at for row in self._rows(query)}

    def findings(self) -> dict[uuid.UUID, list[tuple[dt.date, dict[str, Any]]]]:
        """What was found at visits, oldest first: day and fields."""
        table = tables.finding.c
        query = (
            select(table.id, table.client_id, table.on_date, table.detail)
            .where(table.client_id.in_(self._hers()), table.recorded_at <= self._at)
            .order_by(table.on_date, table.id)
        )
        found: dict[uuid.UUID, list[tuple[dt.date, dict[str, Any]]]] = {}
        for row in self._rows(query):
            detail = self._tx.open_json(Place("finding", row.id, "detail"), row.detail)
            found.setdefault(row.client_id, []).append((row.on_date, detail["fields"]))
        return found
