"""Erasing a client on her request, and again after a restore.

Her chat, her words, her answers and her key go. Her prescriptions, the alerts with what came of them, and her
consents are clinical records: they stay, locked with the clinic's key, for as long as the clinic has said.
"""

import datetime as dt
import uuid
from pathlib import Path
from typing import Any

from bot.logs import get
from bot.service import erasures
from bot.service.office import Office
from bot.store import erase, people, record
from bot.store.base import Tx

AFTER = dt.timedelta(minutes=1)  # so that the last answer to her is sent first
AT_ONCE = 20
YEAR_DAYS = 365.25
HER_OWN = ("goal", "initials")  # in a prescription, her own words and what names her
# Steps of an alert whose note a member of staff or the program wrote; in the others are her words.
STAFF_WROTE = {"told", "unreachable", "seen", "outcome", "closed", "resumed"}
log = get()


def run(office: Office) -> int:
    """Erase who asked and has no open alert; drop locked records whose time is over. Tells how many."""
    now = office.clock.now()
    with office.begin() as tx:
        waiting = erase.ready(tx, now - AFTER, AT_ONCE)
    for client_id in waiting:
        # The list first: cut off in between she is erased by the next run, and by any restore.
        erasures.append(office.erasures, client_id, now)
        with office.begin() as tx:
            client = people.client_by_id(tx, client_id)
            _erase(tx, client_id, client.clinic_id, now)
        log.info("erased", client=str(client_id))
    with office.begin() as tx:
        for clinic_id, years in erase.retention(tx).items():
            erase.drop_records(tx, clinic_id, now - dt.timedelta(days=round(years * YEAR_DAYS)))
    return len(waiting)


def next_at(tx: Tx) -> dt.datetime | None:
    """When somebody is to be erased next, in the past when it is due already."""
    asked_at = erase.next_asked_at(tx)
    return None if asked_at is None else asked_at + AFTER


def replay(tx: Tx, path: Path, now: dt.datetime) -> int:
    """Erase in a restored database whoever is on the list of erasures; tells how many.

    Raises RefusedError when the list is missing or damaged; the restore must then not be kept.
    """
    salt, known = erasures.read(path)
    again = 0
    for client_id, clinic_id in erase.not_erased(tx).items():
        if erasures.salted(salt, client_id) in known:
            _erase(tx, client_id, clinic_id, now)
            again += 1
    return again


def _erase(tx: Tx, client_id: uuid.UUID, clinic_id: uuid.UUID, now: dt.datetime) -> None:
    erase.erase(tx, client_id, clinic_id, to_keep(tx, client_id), now)


def to_keep(tx: Tx, client_id: uuid.UUID) -> dict[str, Any]:
    """What the clinic has to keep of a client, as JSON; none of her own words, nothing that names her."""
    documents = people.prescription_documents(tx, [client_id]).get(client_id, [])
    signed = record.signatures_of(tx, client_id)
    return {
        "code": people.client_by_id(tx, client_id).code,
        "consents": [
            {"text": text, "given": given, "at": at.isoformat()}
            for text, given, at in erase.consents_of(tx, client_id)
        ],
        "prescriptions": [
            {
                "version": version,
                "put_in_force_at": signed[version][0].isoformat(),
                "by": signed[version][1],
                "document": {name: value for name, value in document.items() if name not in HER_OWN},
            }
            for version, document in documents
        ],
        "alerts": [
            {
                "level": kept.alert.level.value,
                "signs": list(kept.alert.signs),
                "raised_at": kept.alert.raised_at.isoformat(),
                "outcome": None if kept.alert.outcome is None else kept.alert.outcome.value,
                "history": [
                    {
                        "kind": step.kind,
                        "at": step.at.isoformat(),
                        "note": step.note if step.kind in STAFF_WROTE else None,
                    }
                    for step in kept.steps
                ],
            }
            for kept in record.alerts_of(tx, client_id)
        ],
    }
