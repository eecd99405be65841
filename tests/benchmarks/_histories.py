"""A database with half a year of answers for many clients, written in bulk."""

import datetime as dt
import random
import uuid
from collections.abc import Iterator
from typing import Any

import sqlalchemy as sa

from bot.domain.people import Role
from bot.rules import prescription_file
from bot.store import people, tables
from bot.store.base import Store
from bot.store.ids import new_id
from bot.store.vault import Place
from tests.fixtures import histories
from tests.store import prepared

WEEKS = 26
A_THERAPIST = 400
LAST_ON = dt.date(2026, 3, 8)
NOW = dt.datetime(2026, 3, 9, 9, tzinfo=dt.UTC)
FIRST_ON = LAST_ON - dt.timedelta(days=WEEKS * 7 - 1)
JOINED = dt.datetime.combine(FIRST_ON, dt.time(9), dt.UTC)
LEAKS, RATINGS = (0, 1, 3, 7), (0, 1, 4)
AT_ONCE = 500


def fill(store: Store, clients: int) -> None:
    """One clinic, a therapist for each 400 clients, a total on four days of five, three questions a week."""
    chance = random.Random(1)
    with store.begin() as tx:
        clinic = prepared.clinic(JOINED)
        people.add_clinic(tx, clinic, JOINED)
        staff = []
        for n in range(-(-clients // A_THERAPIST)):
            staff.append(prepared.staff(JOINED, clinic.id, f"T{n + 1}", Role.THERAPIST))
            people.add_staff(tx, staff[-1], "REG 0001", None, JOINED)
    documents = [
        prescription_file.to_document(
            prescription_file.parse(histories.FILE.replace("2026-03-02", f"{on}"), "K1.toml")
        )
        for on in (FIRST_ON, FIRST_ON + dt.timedelta(weeks=18))
    ]
    for first in range(0, clients, AT_ONCE):
        with store.begin() as tx:
            rows: dict[sa.Table, list[dict[str, Any]]] = {}
            for n in range(first, min(first + AT_ONCE, clients)):
                client_id = new_id(JOINED)
                tx.make_key(client_id, JOINED)
                row = {
                    "id": client_id,
                    "clinic_id": clinic.id,
                    "therapist_id": staff[n // A_THERAPIST].id,
                    "code": f"C{n}",
                    "zone": "Europe/Dublin",
                    "language": "en",
                    "stage": "active",
                    "baby_at_home": True,
                    "made_at": JOINED,
                }
                rows.setdefault(tables.client, []).append(row)
                for table, row in _history(client_id, chance):
                    rows.setdefault(table, []).append(row)
                for version, document in enumerate(documents, start=1):
                    row_id = new_id(JOINED)
                    place = Place("prescription", row_id, "document")
                    row = {
                        "id": row_id,
                        "client_id": client_id,
                        "version": version,
                        "starts_on": dt.date.fromisoformat(document["programme"]["starts_on"]),
                        "document": tx.seal_json(client_id, place, document),
                        "put_in_force_at": JOINED,
                        "put_in_force_by": staff[0].id,
                    }
                    rows.setdefault(tables.prescription, []).append(row)
            for table, many in rows.items():
                tx.connection.execute(sa.insert(table), many)


def _history(client_id: uuid.UUID, chance: random.Random) -> Iterator[tuple[sa.Table, dict[str, Any]]]:
    hers = {"client_id": client_id}
    yield tables.consent, {**hers, "id": new_id(JOINED), "text_version": "1", "given": True, "at": JOINED}
    yield (
        tables.track,
        {
            **hers,
            "cap": 3,
            "mode": "all",
            "laters": 0,
            "last_heard_at": NOW,
            "restarted_at": JOINED,
            "next_at": NOW,
        },
    )
    for n in range(WEEKS * 7):
        on = FIRST_ON + dt.timedelta(days=n)
        at = dt.datetime.combine(on, dt.time(20), dt.UTC)
        if chance.random() < 0.8:
            told = {"meaning": "total", "value": chance.randrange(4), "said_at": at, "entered_at": at}
            yield tables.set_report, {**hers, **told, "id": new_id(at), "key": f"{n}", "on_date": on}
        if on.weekday() == 6:
            for question, values in (("leaks", LEAKS), ("heaviness", RATINGS), ("pain", RATINGS)):
                told = {"question": question, "value": chance.choice(values), "said_at": at, "entered_at": at}
                key = f"{question}:{n}"
                yield tables.symptom_report, {**hers, **told, "id": new_id(at), "key": key, "on_date": on}
