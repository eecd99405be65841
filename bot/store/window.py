"""The rows a digest needs, for every client of some therapists at once: a handful of queries for any number.

Nothing is opened that is not shown: of alerts and notes only the dates are read here. Of what there is most
of, reports and answers, the columns come as the driver gives them: making dates and ids of many thousand
rows takes longer than reading them.
"""

import datetime as dt
import uuid
from collections.abc import Callable, Sequence
from operator import itemgetter
from typing import Any, TypeVar

from pydantic_core import from_json  # reads many documents in half the time
from sqlalchemy import (
    ScalarSelect,
    String,
    and_,
    cast,
    exists,
    func,
    null,
    or_,
    select,
    type_coerce,
)

from bot.domain.alerts import Outcome
from bot.domain.day_book import Meaning, Said
from bot.domain.levels import Level
from bot.domain.people import Stage
from bot.domain.symptoms import Answer
from bot.store import raw, tables
from bot.store.base import Tx
from bot.store.diary import PauseEvent
from bot.store.types import SealedBytes
from bot.store.vault import Place
from bot.store.window_rows import AlertRow, ClientRow, Heard, Key, Plans

_CLIENT = tables.client.c
_SETS = tables.set_report.c
_SYMPTOMS = tables.symptom_report.c
_ALERT = tables.alert.c
_TRACK = tables.track.c
ENDED = (Stage.WITHDRAWN.value, Stage.DISCHARGED.value, Stage.ERASED.value)


Value = TypeVar("Value")


_MEANINGS = {meaning.value: meaning for meaning in Meaning}


def numbers(tx: Tx, therapist_ids: Sequence[uuid.UUID]) -> dict[uuid.UUID, int]:
    """How many clients some therapists have, whatever stage they are at."""
    query = (
        select(_CLIENT.therapist_id, func.count().label("clients"))
        .where(_CLIENT.therapist_id.in_(list(therapist_ids)))
        .group_by(_CLIENT.therapist_id)
    )
    return {row.therapist_id: row.clients for row in tx.connection.execute(query)}


def _place(row_id: Any) -> Place:  # noqa: ANN401 - as the driver gives it
    return Place("prescription", raw.id_of(row_id), "document")


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

    def _lists(self, query: Any, make: Callable[..., Value]) -> dict[Key, list[Value]]:  # noqa: ANN401 - the same
        """What is made of each row's columns after the first, which is whose it is."""
        found: dict[Key, list[Value]] = {}
        for client, *columns in self._rows(query):
            found.setdefault(client, []).append(make(*columns))
        return found

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
        joined_at = raw.column(func.min(agreed.at))
        initials = _CLIENT.initials if with_initials else null()
        query = (
            select(
                raw.column(_CLIENT.id),
                raw.column(_CLIENT.therapist_id),
                _CLIENT.code,
                initials,
                _CLIENT.zone,
                joined_at,
            )
            .join(tables.consent, agreed.client_id == _CLIENT.id)
            .where(
                self._theirs, agreed.given, agreed.at <= self._at, or_(_CLIENT.stage.notin_(ENDED), alerted)
            )
            .group_by(_CLIENT.id)
            .order_by(_CLIENT.code)
        )
        found = []
        for key, therapist, code, sealed, zone, joined in self._rows(query):
            client_id = raw.id_of(key)
            shown = self._tx.open_text(Place("client", client_id, "initials"), sealed) if sealed else None
            found.append(
                ClientRow(
                    key, client_id, raw.staff_id_of(therapist), code, shown, zone, raw.instant_of(joined)
                )
            )
        return found

    def plans(self, from_on: dt.date) -> dict[Key, Plans]:
        """The prescriptions that hold on or after a day; one replaced by then stays sealed."""
        table = tables.prescription.c
        query = select(
            *(raw.column(table.client_id), raw.column(table.starts_on), table.version),
            *(raw.column(table.id), raw.column(table.document)),
        ).where(table.client_id.in_(self._hers()), table.put_in_force_at <= self._at)
        rows: dict[Key, list[tuple[dt.date, int, Any, bytes]]] = {}
        for client, starts_on, version, row_id, document in self._rows(query):
            rows.setdefault(client, []).append((raw.day_of(starts_on), version, row_id, document))
        return {client: self._plans(hers, from_on) for client, hers in rows.items()}

    def _plans(self, rows: list[tuple[dt.date, int, Any, bytes]], from_on: dt.date) -> Plans:
        rows.sort(key=itemgetter(0, 1))
        replaced = sum(starts_on <= from_on for starts_on, *_ in rows) - 1
        return Plans(
            rows[0][0],
            [
                (version, from_json(self._tx.open(_place(row_id), SealedBytes(document))))
                for _, version, row_id, document in rows[max(replaced, 0) :]
            ],
        )

    def review_dates(self) -> dict[Key, list[tuple[dt.date, dt.date]]]:
        """The reviews that set a next date: their day and that date, oldest first."""
        table = tables.review.c
        query = (
            select(raw.column(table.client_id), table.on_date, table.next_on)
            .where(
                table.client_id.in_(self._hers()), table.next_on.is_not(None), table.recorded_at <= self._at
            )
            .order_by(table.on_date, table.id)
        )
        return self._lists(query, lambda on, next_on: (on, next_on))

    def set_reports(self, since_on: dt.date, of: Sequence[uuid.UUID] | None = None) -> dict[Key, list[Said]]:
        """The reports about days from `since_on` on, as they were said; of some clients or of all."""
        query = (
            select(
                *(raw.column(_SETS.client_id), raw.column(_SETS.on_date), _SETS.meaning),
                *(_SETS.value, _SETS.key, _SETS.undoes),
            )
            .where(_SETS.client_id.in_(self._hers() if of is None else of), _SETS.on_date >= since_on)
            .order_by(_SETS.said_at, _SETS.id)
        )
        found: dict[Key, list[Said]] = {}
        for client, on, meaning, value, key, undoes in self._rows(query):
            said = Said(raw.day_of(on), _MEANINGS[meaning], value or 0, key, undoes or "")
            if client in found:
                found[client].append(said)
            else:
                found[client] = [said]
        return found

    def answers(self, since_on: dt.date) -> dict[Key, list[Answer]]:
        """The answers to every question about days from `since_on` on, in no order, without the skipped ones.

        There are more of them than of anything else, so the database puts each client's in one line.
        """
        on, value = _SYMPTOMS.on_date, _SYMPTOMS.value
        # SQLite joins values of any type, and a cast takes it half as long again; PostgreSQL needs it.
        whole = type_coerce if self._tx.on_sqlite else cast
        told = whole(on, String) + _SYMPTOMS.question + whole(value, String)
        query = (
            select(raw.column(_SYMPTOMS.client_id), func.aggregate_strings(told, ","))
            .where(_SYMPTOMS.client_id.in_(self._hers()), _SYMPTOMS.on_date >= since_on)
            .group_by(_SYMPTOMS.client_id)
        )
        return {
            client: [raw.answer_of(each) for each in line.split(",")]
            for client, line in self._rows(query)
            if line
        }

    def answers_in_order(
        self, question: str, since_on: dt.date, of: Sequence[uuid.UUID]
    ) -> dict[Key, list[tuple[dt.date, int]]]:
        """Some clients' answers to one question about days from `since_on` on, as they were given."""
        query = (
            select(raw.column(_SYMPTOMS.client_id), _SYMPTOMS.on_date, _SYMPTOMS.value)
            .where(
                _SYMPTOMS.client_id.in_(of),
                _SYMPTOMS.on_date >= since_on,
                _SYMPTOMS.question == question,
                _SYMPTOMS.value.is_not(None),
            )
            .order_by(_SYMPTOMS.said_at, _SYMPTOMS.id)
        )
        return self._lists(query, lambda on, value: (on, value))

    def pauses(self) -> dict[Key, list[PauseEvent]]:
        """Every beginning and end of a pause up to the instant, in order."""
        table = tables.pause_event.c
        query = (
            select(raw.column(table.client_id), table.kind, table.reason, table.on_date, table.until_on)
            .where(table.client_id.in_(self._hers()), table.at <= self._at)
            .order_by(table.at, table.id)
        )
        return self._lists(query, PauseEvent)

    def heard(self) -> dict[Key, Heard]:
        """When each client was last heard of, up to the instant.

        Of somebody who has been heard since, it is the last thing she reported before.
        """
        query = select(
            raw.column(_TRACK.client_id), raw.column(_TRACK.last_heard_at), raw.column(_TRACK.restarted_at)
        ).where(_TRACK.client_id.in_(self._hers()))
        found = {
            client: Heard(raw.instant_of(last_at), raw.instant_of(began_at))
            for client, last_at, began_at in self._rows(query)
        }
        later = [raw.id_of(client) for client, heard in found.items() if heard.last_heard_at > self._at]
        return {**found, **self._heard_before(later)} if later else found

    def _heard_before(self, client_ids: list[uuid.UUID]) -> dict[Key, Heard]:
        last: dict[Key, dt.datetime] = {}
        for table in (tables.set_report, tables.symptom_report, tables.unread_note):
            query = (
                select(raw.column(table.c.client_id), func.max(table.c.said_at))
                .where(table.c.client_id.in_(client_ids), table.c.said_at <= self._at)
                .group_by(table.c.client_id)
            )
            for client, said_at in self._rows(query):
                last[client] = max(said_at, last.get(client, said_at))
        return {client: Heard(said_at, said_at) for client, said_at in last.items()}

    def alerts(self, closed_since: dt.datetime) -> dict[Key, list[AlertRow]]:
        """The alerts open at the instant and those closed since an earlier one, oldest first."""
        event = tables.alert_event.c
        lost = exists().where(event.alert_id == _ALERT.id, event.kind == "unreachable", event.at <= self._at)
        query = (
            select(
                *(
                    raw.column(_ALERT.client_id).label("client"),
                    _ALERT.level,
                    _ALERT.handling,
                    _ALERT.raised_at,
                ),
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
        found: dict[Key, list[AlertRow]] = {}
        for row in self._rows(query):
            found.setdefault(row.client, []).append(
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

    def notes(self) -> dict[Key, int]:
        """How many of each client's notes nobody had opened at the instant."""
        table = tables.unread_note.c
        query = (
            select(raw.column(table.client_id), func.count())
            .where(
                table.client_id.in_(self._hers()),
                table.said_at <= self._at,
                or_(table.read_at.is_(None), table.read_at > self._at),
            )
            .group_by(table.client_id)
        )
        return dict(map(tuple, self._rows(query)))

    def calls(self) -> dict[Key, list[dt.datetime]]:
        """When each client asked to be rung up, requests open at the instant."""
        table = tables.call_request.c
        query = (
            select(raw.column(table.client_id), table.asked_at)
            .where(
                table.client_id.in_(self._hers()),
                table.asked_at <= self._at,
                or_(table.answered_at.is_(None), table.answered_at > self._at),
            )
            .order_by(table.asked_at)
        )
        return self._lists(query, lambda asked_at: asked_at)

    def changes_unseen(self) -> dict[Key, dt.datetime]:
        """When clients were told of the oldest change of their plan that they have not looked at."""
        table = tables.change_notice.c
        query = (
            select(raw.column(table.client_id), func.min(table.told_at))
            .where(
                table.client_id.in_(self._hers()),
                table.told_at <= self._at,
                or_(table.seen_at.is_(None), table.seen_at > self._at),
            )
            .group_by(table.client_id)
        )
        return dict(map(tuple, self._rows(query)))

    def gone(self) -> dict[Key, dt.datetime]:
        """Since when the platform has refused messages to some clients."""
        table = tables.chat.c
        query = select(raw.column(table.owner_id), table.gone_at).where(
            table.owner_id.in_(self._hers()), table.gone_at <= self._at
        )
        return dict(map(tuple, self._rows(query)))

    def findings(self) -> dict[Key, list[tuple[dt.date, dict[str, Any]]]]:
        """What was found at visits, oldest first: day and fields."""
        table = tables.finding.c
        query = (
            select(raw.column(table.client_id), table.id, table.on_date, table.detail)
            .where(table.client_id.in_(self._hers()), table.recorded_at <= self._at)
            .order_by(table.on_date, table.id)
        )
        return self._lists(
            query,
            lambda row_id, on, sealed: (
                on,
                self._tx.open_json(Place("finding", row_id, "detail"), sealed)["fields"],
            ),
        )
