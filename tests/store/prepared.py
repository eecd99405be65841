"""What a test of the store starts from: the tables, made once and copied."""

import datetime as dt
import time
import uuid

import sqlalchemy as sa

from bot.domain.contacts import ClinicCard
from bot.domain.people import Client, Clinic, Role, Staff, Stage
from bot.store import inbox, migrate, people, tables, vault
from bot.store.base import Store, Tx, open_engine, read_url
from bot.store.ids import new_id

BOT = "4242"
NINE, FIVE = dt.time(9), dt.time(17)


def at_head(url: str) -> None:
    """A database with every table and no row."""
    engine = open_engine(read_url(url))
    migrate.upgrade(engine)
    engine.dispose()


def open_store(url: str, now: dt.datetime, keys: str | None = None) -> Store:
    """The store on a database with tables, its own key made. `keys`: as in DATA_KEYS, None for fresh ones."""
    masters = vault.parse_master_keys(keys or vault.new_master_key())
    store = Store(open_engine(read_url(url)), masters)
    with store.begin() as tx:
        tx.prepare_installation(now)
    return store


def empty_store(engine: sa.Engine, now: dt.datetime) -> Store:
    """The same on a PostgreSQL engine that was used before: whatever is in the tables goes first."""
    deletes = [str(sa.delete(table)) for table in reversed(tables.metadata.sorted_tables)]
    store = Store(engine, vault.parse_master_keys(vault.new_master_key()))
    with store.begin() as tx:
        tx.connection.exec_driver_sql("; ".join(["SET LOCAL lock_timeout = '5s'", *deletes]))
        tx.prepare_installation(now)
    return store


def clinic(now: dt.datetime, code: str = "harbour") -> Clinic:
    """An invented clinic in Dublin."""
    card = ClinicCard(
        name="Harbour Steps Physiotherapy",
        zone="Europe/Dublin",
        phone="020 910 0101",
        out_of_hours_line="020 910 0102",
        emergency_number="112",
        hours={day: ((NINE, dt.time(12, 30)), (dt.time(13, 15), FIVE)) for day in range(5)},
        closures=frozenset({dt.date(2026, 3, 17), dt.date(2026, 4, 6)}),
    )
    return Clinic(new_id(now), code, card, "IE", 0, dt.time(7, 45), "initials")


def staff(now: dt.datetime, clinic_id: uuid.UUID, code: str = "T1", role: Role = Role.THERAPIST) -> Staff:
    """An invented therapist, or a fallback contact."""
    return Staff(new_id(now), clinic_id, code, role, "Oona Quillfeather")


def client(now: dt.datetime, therapist: Staff, code: str = "C1") -> Client:
    """An invented client."""
    return Client(
        id=new_id(now),
        clinic_id=therapist.clinic_id,
        therapist_id=therapist.id,
        code=code,
        initials="Zq.W.",
        zone="Europe/Lisbon",
        language="en",
        stage=Stage.ACTIVE,
        baby_at_home=True,
    )


def enrol(tx: Tx, now: dt.datetime, codes: tuple[str, ...] = ("C1",)) -> list[Client]:
    """A clinic with a therapist and clients of these codes, put in."""
    there = people.clinic_by_code(tx, "harbour") or clinic(now)
    people.add_clinic(tx, there, now)
    therapist = people.staff_by_code(tx, there.id, "T1") or staff(now, there.id)
    people.add_staff(tx, therapist, "REG 0001", None, now)
    made = [client(now, therapist, code) for code in codes]
    assert all(people.add_client(tx, one, now) for one in made)
    return made


def wait_until_blocked(store: Store, limit_s: float = 20) -> None:
    """Wait until a session on this PostgreSQL database waits for a lock that another one holds."""
    blocked = sa.text(
        "SELECT count(*) FROM pg_stat_activity"
        " WHERE datname = current_database() AND wait_event_type = 'Lock'"
    )
    until_s = time.monotonic() + limit_s
    while time.monotonic() < until_s:
        with store.begin() as tx:
            if tx.connection.scalar(blocked):
                return
    raise AssertionError(f"no session waited for a lock within {limit_s:.0f} s")


def claim(tx: Tx, bot: str, worker: uuid.UUID, now: dt.datetime) -> inbox.Stored | None:
    """Take the next update by itself."""
    return next(iter(inbox.claim_some(tx, bot, worker, now, 1)), None)
