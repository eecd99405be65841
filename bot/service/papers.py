"""What the agenda looks at for its clients, read for all of a tick in a few questions."""

import datetime as dt
import uuid
from collections.abc import Sequence
from dataclasses import dataclass

from bot.domain.day_book import SetReport
from bot.domain.endings import Ending
from bot.domain.people import Client, Clinic, Stage
from bot.domain.prescription import InForce
from bot.service.programme import versions_of
from bot.store import diary, endings, people, unasked_log
from bot.store.base import Tx
from bot.store.diary import ChoiceRow, PauseEvent, TrackRow
from bot.store.unasked_log import UnaskedRow

MEMORY = dt.timedelta(days=45)  # how far back the agenda looks


@dataclass(frozen=True, slots=True)
class Papers:
    """One client's: her place in the agenda, her plan, and what was said on either side since `since`."""

    row: TrackRow
    client: Client
    clinic: Clinic
    since: dt.datetime
    versions: tuple[InForce, ...]
    reports: Sequence[SetReport]
    said: Sequence[UnaskedRow]
    pauses: Sequence[PauseEvent]
    ending: Ending | None
    choice: ChoiceRow | None


def of_active(tx: Tx, rows: Sequence[TrackRow]) -> dict[uuid.UUID, Papers]:
    """The papers of those clients whose programme runs, by client."""
    clients = people.clients_by_id(tx, [row.client_id for row in rows])
    active = [row for row in rows if clients[row.client_id].stage is Stage.ACTIVE]
    if not active:
        return {}
    ids = [row.client_id for row in active]
    clinics = {
        clinic_id: people.clinic_by_id(tx, clinic_id) for clinic_id in {clients[id_].clinic_id for id_ in ids}
    }
    earliest = min(row.last_heard_at for row in active) - MEMORY
    choices = diary.choices_of(tx, ids)
    versions = versions_of(tx, ids, choices)
    reports = diary.set_reports(tx, ids, earliest.date())
    said = unasked_log.since(tx, ids, earliest)
    pauses = diary.pause_events(tx, ids)
    steps = endings.of_clients(tx, ids)
    found = {}
    for row in active:
        id_, since = row.client_id, row.last_heard_at - MEMORY
        found[id_] = Papers(
            row=row,
            client=clients[id_],
            clinic=clinics[clients[id_].clinic_id],
            since=since,
            versions=versions.get(id_, ()),
            reports=[report for report in reports.get(id_, ()) if report.on >= since.date()],
            said=[message for message in said.get(id_, ()) if message.put_at >= since],
            pauses=pauses.get(id_, ()),
            ending=steps[id_][-1] if id_ in steps else None,
            choice=choices.get(id_),
        )
    return found
