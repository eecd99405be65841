"""A prepared database with so many clients, made once for each number and copied."""

import atexit
import datetime as dt
import shutil
import tempfile
import uuid
from dataclasses import dataclass
from pathlib import Path

from bot.service.office import Office
from bot.store import migrate, vault
from bot.store.base import Store, open_engine, read_url
from tests.benchmarks import progress
from tests.fixtures import crowd, offices
from tests.fixtures.clock import MovableClock

NOW = dt.datetime(2026, 3, 3, 8, 30, tzinfo=dt.UTC)  # the first nudge of a Tuesday morning
BOT = "4200001"
TOKEN = f"{BOT}:local-room-only"
KEYS = vault.new_master_key()
FIRST_PERSON = 1_000
_folder = Path(tempfile.mkdtemp(prefix="benchmarks-"))
atexit.register(shutil.rmtree, _folder, ignore_errors=True)


@dataclass(frozen=True)
class Clinic:
    """A database and who works on it."""

    url: str
    store: Store
    office: Office
    clock: MovableClock


def put_crowd(url: str, clients: int, due: int) -> None:
    """Clients in an empty database, `due` of them with a nudge due now, spread among the others."""
    engine = open_engine(read_url(url))
    migrate.upgrade(engine)
    store = Store(engine, vault.parse_master_keys(KEYS))
    document = crowd.document(dt.date(2026, 3, 2), dt.date(2026, 12, 1))
    every = clients // max(due, 1)

    def next_at(place: int) -> dt.datetime:
        later = NOW + dt.timedelta(minutes=1, seconds=place % 36_000)
        return NOW if place % every == 0 and place // every < due else later

    people = range(FIRST_PERSON, FIRST_PERSON + clients)
    crowd.put(store, BOT, NOW - dt.timedelta(hours=20), (1, 2), people, document, next_at)
    store.close()


def template(clients: int, due: int) -> Path:
    """The SQLite file of so many clients."""
    path = _folder / f"{clients}-{due}.sqlite"
    if not path.exists():
        progress(f"preparing {clients} clients")
        put_crowd(f"sqlite:///{path}", clients, due)
    return path


def fresh(clients: int, due: int) -> str:
    """The URL of a copy."""
    copy = _folder / f"{uuid.uuid4().hex}.sqlite"
    shutil.copyfile(template(clients, due), copy)
    return f"sqlite:///{copy}"


def open_clinic(url: str, keys: str = KEYS) -> Clinic:
    """The database and an office on it, its clock standing at the morning's nudge."""
    engine = open_engine(read_url(url))
    store = Store(engine, vault.parse_master_keys(keys))
    clock = MovableClock(NOW)
    office = offices.make(store, clock, bot=BOT)
    office.guidance()  # read once at a start, and no part of what is measured after that
    return Clinic(url, store, office, clock)
