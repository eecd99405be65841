"""The client's diary: sets, symptoms, pauses, notes and choices, and her place in the agenda."""

import datetime as dt
import uuid
from collections.abc import Iterable
from dataclasses import dataclass

from sqlalchemy import BindParameter, Date, Integer, bindparam, func, insert, select, update

from bot.domain.day_book import Meaning, SetReport
from bot.store import tables
from bot.store.base import Tx
from bot.store.ids import new_id
from bot.store.types import Instant
from bot.store.vault import Place

_SETS = tables.set_report.c
_SYMPTOMS = tables.symptom_report.c
_TRACK = tables.track.c
_NOTES = tables.unread_note.c
_PAUSES = tables.pause_event.c
_CHOICES = tables.client_choice.c
# Built once, as they are asked at every turn: building a query costs more than running it.
_CLIENTS: BindParameter[list[uuid.UUID]] = bindparam("clients", expanding=True)
_SINCE_ON = bindparam("since_on", type_=Date)
_NEXT_TRACK_AT = select(func.min(_TRACK.next_at))
_SETS_OF = (
    select(
        _SETS.client_id,
        _SETS.on_date,
        _SETS.meaning,
        _SETS.value,
        _SETS.said_at,
        _SETS.key.label("report_key"),
        _SETS.undoes,
    )
    .where(_SETS.client_id.in_(_CLIENTS), _SETS.on_date >= _SINCE_ON)
    .order_by(_SETS.said_at, _SETS.id)
)
_SYMPTOMS_OF = (
    select(_SYMPTOMS.client_id, _SYMPTOMS.on_date, _SYMPTOMS.question, _SYMPTOMS.value, _SYMPTOMS.said_at)
    .where(_SYMPTOMS.client_id.in_(_CLIENTS), _SYMPTOMS.on_date >= _SINCE_ON)
    .order_by(_SYMPTOMS.said_at, _SYMPTOMS.id)
)
_CHANGE_TRACK = update(tables.track).where(_TRACK.client_id == bindparam("of_client"))
_TRACK_OF = select(tables.track).where(_TRACK.client_id == bindparam("client"))
_TRACKS_DUE = (
    select(tables.track)
    .where(_TRACK.next_at <= bindparam("at", type_=Instant))
    .order_by(_TRACK.next_at, _TRACK.client_id)
    .limit(bindparam("most", type_=Integer))
    .with_for_update(skip_locked=True)
)
_PAUSES_OF = (
    select(_PAUSES.client_id, _PAUSES.kind, _PAUSES.reason, _PAUSES.on_date, _PAUSES.until_on)
    .where(_PAUSES.client_id.in_(_CLIENTS))
    .order_by(_PAUSES.at, _PAUSES.id)
)
_UNREAD_OF = (
    select(_NOTES.id, _NOTES.client_id, _NOTES.text, _NOTES.said_at)
    .where(_NOTES.client_id.in_(_CLIENTS), _NOTES.read_at.is_(None))
    .order_by(_NOTES.said_at, _NOTES.id)
)
_CHOICES_OF = select(_CHOICES.client_id, _CHOICES.times, _CHOICES.cues).where(
    _CHOICES.client_id.in_(_CLIENTS)
)


def report_sets(tx: Tx, client_id: uuid.UUID, report: SetReport, now: dt.datetime) -> bool:
    """Keep a report of sets; False when this very report (by its key) was kept before."""
    values = {
        "id": new_id(now),
        "client_id": client_id,
        "key": report.key,
        "undoes": report.undoes or None,
        "on_date": report.on,
        "meaning": report.meaning.value,
        "value": report.value,
        "said_at": report.said_at,
        "entered_at": now,
    }
    return tx.put_once(tables.set_report, values, "client_id", "key")


def set_reports(
    tx: Tx,
    client_ids: Iterable[uuid.UUID],
    since_on: dt.date,
) -> dict[uuid.UUID, list[SetReport]]:
    """The reports of some clients about days from `since_on` on, oldest first, in one pass.

    The platform dates a message to the second; what was said in the same one keeps the order it came in.
    """
    values = {"clients": list(client_ids), "since_on": since_on}
    found: dict[uuid.UUID, list[SetReport]] = {}
    for row in tx.connection.execute(_SETS_OF, values):
        report = SetReport(
            on=row.on_date,
            meaning=Meaning(row.meaning),
            value=row.value or 0,
            said_at=row.said_at,
            key=row.report_key,
            undoes=row.undoes or "",
        )
        found.setdefault(row.client_id, []).append(report)
    return found


@dataclass(frozen=True, slots=True)
class SymptomReport:
    """One answer of a check-in, or a figure from a message. `value` is None for a skipped question."""

    on: dt.date
    question: str
    value: int | None
    said_at: dt.datetime


def report_symptom(tx: Tx, client_id: uuid.UUID, key: str, report: SymptomReport, now: dt.datetime) -> bool:
    """Keep a symptom report; False when this very report was kept before."""
    values = {
        "id": new_id(now),
        "client_id": client_id,
        "key": key,
        "on_date": report.on,
        "question": report.question,
        "value": report.value,
        "said_at": report.said_at,
        "entered_at": now,
    }
    return tx.put_once(tables.symptom_report, values, "client_id", "key")


def symptom_reports(
    tx: Tx,
    client_ids: Iterable[uuid.UUID],
    since_on: dt.date,
) -> dict[uuid.UUID, list[SymptomReport]]:
    """The symptom reports of some clients since a day, oldest first."""
    values = {"clients": list(client_ids), "since_on": since_on}
    found: dict[uuid.UUID, list[SymptomReport]] = {}
    for row in tx.connection.execute(_SYMPTOMS_OF, values):
        report = SymptomReport(row.on_date, row.question, row.value, row.said_at)
        found.setdefault(row.client_id, []).append(report)
    return found


@dataclass(frozen=True, slots=True)
class TrackRow:
    """A client's place in the agenda, as the table holds it."""

    client_id: uuid.UUID
    next_at: dt.datetime | None
    cap: int
    mode: str
    later_at: dt.datetime | None
    laters_on: dt.date | None
    laters: int
    paused_until: dt.date | None
    pause_reason: str | None
    last_heard_at: dt.datetime
    last_check_in_on: dt.date | None
    restarted_at: dt.datetime


def read_track(row: object) -> TrackRow:
    """A client's place in the agenda, from a row that holds its columns."""
    return TrackRow(**{name: getattr(row, name) for name in TrackRow.__dataclass_fields__})


def start_track(tx: Tx, client_id: uuid.UUID, cap: int, mode: str, now: dt.datetime) -> None:
    """Begin a client's agenda."""
    tx.connection.execute(
        insert(tables.track).values(
            client_id=client_id,
            next_at=now,
            cap=cap,
            mode=mode,
            laters=0,
            last_heard_at=now,
            restarted_at=now,
        ),
    )


def track_of(tx: Tx, client_id: uuid.UUID) -> TrackRow | None:
    """A client's place in the agenda, None before it begins."""
    row = tx.connection.execute(_TRACK_OF, {"client": client_id}).first()
    return None if row is None else read_track(row)


def tracks_of(tx: Tx, client_ids: Iterable[uuid.UUID]) -> dict[uuid.UUID, TrackRow]:
    """Several clients' places at once."""
    query = select(tables.track).where(_TRACK.client_id.in_(list(client_ids)))
    return {row.client_id: read_track(row) for row in tx.connection.execute(query)}


def tracks_due(tx: Tx, now: dt.datetime, limit: int) -> list[TrackRow]:
    """The tracks that are due, locked until the end of the transaction."""
    return [read_track(row) for row in tx.connection.execute(_TRACKS_DUE, {"at": now, "most": limit})]


def change_track(tx: Tx, client_id: uuid.UUID, **values: object) -> None:
    """Change columns of a client's track."""
    tx.connection.execute(_CHANGE_TRACK, {"of_client": client_id, **values})


def next_track_at(tx: Tx) -> dt.datetime | None:
    """When the next client's agenda is due."""
    soonest: dt.datetime | None = tx.connection.scalar(_NEXT_TRACK_AT)
    return soonest


@dataclass(frozen=True, slots=True)
class PauseEvent:
    """A pause that began on a local day (`until` None: until resumed), or the end of one on that day."""

    kind: str
    reason: str
    on: dt.date
    until: dt.date | None


def add_pause_event(tx: Tx, client_id: uuid.UUID, event: PauseEvent, now: dt.datetime) -> None:
    """Keep that a pause began or ended."""
    tx.connection.execute(
        insert(tables.pause_event).values(
            id=new_id(now),
            client_id=client_id,
            kind=event.kind,
            reason=event.reason,
            on_date=event.on,
            until_on=event.until,
            at=now,
        ),
    )


def pause_events(tx: Tx, client_ids: Iterable[uuid.UUID]) -> dict[uuid.UUID, list[PauseEvent]]:
    """The pauses of some clients and their ends, oldest first."""
    found: dict[uuid.UUID, list[PauseEvent]] = {}
    for row in tx.connection.execute(_PAUSES_OF, {"clients": list(client_ids)}):
        found.setdefault(row.client_id, []).append(
            PauseEvent(row.kind, row.reason, row.on_date, row.until_on),
        )
    return found


def file_note(
    tx: Tx,
    client_id: uuid.UUID,
    inbox_id: uuid.UUID,
    text: str,
    said_at: dt.datetime,
    now: dt.datetime,
) -> bool:
    """Keep what the bot could not read, for the therapist; False when this message was filed before."""
    note_id = new_id(now)
    values = {
        "id": note_id,
        "client_id": client_id,
        "inbox_id": inbox_id,
        "text": tx.seal(client_id, Place("unread_note", note_id, "text"), text),
        "said_at": said_at,
    }
    return tx.put_once(tables.unread_note, values, "inbox_id")


@dataclass(frozen=True, slots=True)
class Note:
    """Something a client wrote that the bot could not read."""

    id: uuid.UUID
    client_id: uuid.UUID
    text: str
    said_at: dt.datetime


def unread_notes(tx: Tx, client_ids: Iterable[uuid.UUID]) -> list[Note]:
    """The notes nobody has opened yet, oldest first."""
    return [
        Note(row.id, row.client_id, tx.open_text(Place("unread_note", row.id, "text"), row.text), row.said_at)
        for row in tx.connection.execute(_UNREAD_OF, {"clients": list(client_ids)})
    ]


def mark_read(tx: Tx, note_ids: Iterable[uuid.UUID], now: dt.datetime) -> None:
    """Mark notes as opened by the therapist."""
    tx.connection.execute(
        update(tables.unread_note).where(_NOTES.id.in_(list(note_ids))).values(read_at=now),
    )


@dataclass(frozen=True, slots=True)
class ChoiceRow:
    """What a client chose for herself: times of her own and the moments she ties them to."""

    times: tuple[dt.time, ...]
    cues: tuple[str, ...]


def choices_of(tx: Tx, client_ids: Iterable[uuid.UUID]) -> dict[uuid.UUID, ChoiceRow]:
    """The choices of some clients; those who made none are missing."""
    return {
        row.client_id: ChoiceRow(
            tuple(dt.time.fromisoformat(at) for at in row.times),
            tuple(tx.open_json(Place("client_choice", row.client_id, "cues"), row.cues)),
        )
        for row in tx.connection.execute(_CHOICES_OF, {"clients": list(client_ids)})
    }


def choose(tx: Tx, client_id: uuid.UUID, choice: ChoiceRow, now: dt.datetime) -> None:
    """Keep a client's choice in place of an earlier one."""
    table = tables.client_choice
    values = {
        "times": [at.isoformat("minutes") for at in choice.times],
        "cues": tx.seal_json(client_id, Place("client_choice", client_id, "cues"), list(choice.cues)),
        "chosen_at": now,
    }
    changed = tx.connection.execute(update(table).where(table.c.client_id == client_id).values(**values))
    if not changed.rowcount:
        tx.connection.execute(insert(table).values(client_id=client_id, **values))


def ask_call(tx: Tx, client_id: uuid.UUID, now: dt.datetime) -> bool:
    """Keep that a client would like to be rung up; False when an earlier request is still open."""
    table = tables.call_request
    query = select(table.c.id).where(table.c.client_id == client_id, table.c.answered_at.is_(None))
    if tx.connection.scalar(query) is not None:
        return False
    tx.connection.execute(insert(table).values(id=new_id(now), client_id=client_id, asked_at=now))
    return True


def answer_calls(tx: Tx, client_id: uuid.UUID, now: dt.datetime) -> int:
    """Close a client's open requests; tells how many there were."""
    table = tables.call_request
    statement = (
        update(table)
        .where(table.c.client_id == client_id, table.c.answered_at.is_(None))
        .values(answered_at=now)
    )
    return tx.connection.execute(statement).rowcount


def calls_asked(tx: Tx, client_ids: Iterable[uuid.UUID]) -> dict[uuid.UUID, list[dt.datetime]]:
    """When some clients asked to be rung up, open requests only."""
    table = tables.call_request.c
    query = (
        select(table.client_id, table.asked_at)
        .where(table.client_id.in_(list(client_ids)), table.answered_at.is_(None))
        .order_by(table.asked_at)
    )
    found: dict[uuid.UUID, list[dt.datetime]] = {}
    for row in tx.connection.execute(query):
        found.setdefault(row.client_id, []).append(row.asked_at)
    return found
