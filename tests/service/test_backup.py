"""The restore drill: a backup while clients are active, an erasure after it, and a restore elsewhere."""

import datetime as dt
import json
import sqlite3
import threading
import uuid
import zipfile
from collections.abc import Iterator
from contextlib import closing
from pathlib import Path
from typing import Self

import pytest
import sqlalchemy as sa

from bot.domain.alerts import Alert
from bot.domain.day_book import Meaning, SetReport
from bot.domain.levels import Level
from bot.domain.people import Client, Role
from bot.errors import RefusedError
from bot.service import backup, erasing, erasures
from bot.store import alerts, chats, copying, diary, erase, people, tables, vault
from bot.store.base import Store, open_engine, read_url
from bot.store.ids import new_id
from bot.store.snapshot import taken
from tests.fixtures.clock import MovableClock
from tests.fixtures.databases import Fresh
from tests.store import prepared
from tests.store.prepared import BOT
from tests.store.test_people import version

CLIENTS = tuple(f"C{number}" for number in range(1, 51))
Lines = dict[str, set[str]]


def silent(name: str, rows: int) -> None:
    """Progress that nobody watches."""


def fill(store: Store, now: dt.datetime) -> list[Client]:
    """Fifty clients with a chat, a prescription, reports and an alert each."""
    with store.begin() as tx:
        made = prepared.enrol(tx, now, CLIENTS)
        for number, client in enumerate(made):
            chats.link(tx, chats.chat_of(tx, BOT, 7_000 + number, now), Role.CLIENT, client.id, now)
            document = {"goal": f"goal of {client.code}", "hold_s": 8}
            people.add_prescription(tx, client.id, version(1, now.date()), document, client.therapist_id, now)
            people.add_consent(tx, client.id, "1", True, now)
            alert = Alert(
                new_id(now), client.id, Level.SAME_DAY, "ordinary", ("wound-opens",), "her words", now, 0
            )
            alerts.add(tx, alert)
            alerts.add_event(tx, alert, "said_again", now, note="her words again")
            alerts.add_event(tx, alert, "closed", now, client.therapist_id, "spoke to her (T1)")
            alerts.change(tx, alert.id, closed_at=now, outcome="spoke")
    return made


class Active:
    """Clients who go on reporting, from threads of their own, as long as this lasts."""

    def __init__(self, store: Store, clients: list[Client], now: dt.datetime) -> None:
        self._store, self._clients, self._now = store, clients, now
        self._stop, self._enough = threading.Event(), threading.Event()
        self._thread = threading.Thread(target=self._work)
        self.reports = 0

    def _work(self) -> None:
        while not self._stop.is_set():
            client = self._clients[self.reports % len(self._clients)]
            report = SetReport(self._now.date(), Meaning.ADDED, 1, self._now, f"k{self.reports}")
            with self._store.begin() as tx:
                diary.report_sets(tx, client.id, report, self._now)
            self.reports += 1
            if self.reports > 2 * len(self._clients):
                self._enough.set()

    def __enter__(self) -> Self:
        self._thread.start()
        assert self._enough.wait(30)
        return self

    def __exit__(self, *_: object) -> None:
        self._stop.set()
        self._thread.join()


def lines_of(store: Store) -> Lines:
    with store.begin() as tx:
        return {name: set(copying.lines(tx, name)) for name in copying.names()}


@pytest.fixture
def there(fresh_database: Fresh) -> str:
    """An empty database to restore into, with its tables."""
    return fresh_database(prepared.at_head)


@pytest.fixture
def keys() -> str:
    return vault.new_master_key()


@pytest.fixture
def here(fresh_sqlite: Fresh, clock: MovableClock, keys: str) -> Iterator[Store]:
    """The clinic's database, on SQLite; where it is restored is once SQLite and once PostgreSQL."""
    with closing(prepared.open_store(fresh_sqlite(prepared.at_head), clock.now(), keys)) as store:
        yield store


def opened(url: str, keys: str) -> Store:
    return Store(open_engine(read_url(url)), vault.parse_master_keys(keys))


def back_up(store: Store, path: Path, now: dt.datetime) -> backup.Manifest:
    with taken(store, path.parent) as tx:
        return backup.write(tx, path, "head", now, silent)


def restore(store: Store, file: Path, listed: Path, now: dt.datetime) -> int:
    """What the verb does: all of it in one transaction."""
    with store.begin() as tx:
        backup.load(tx, file, backup.read(file), silent)
        tx.check_keys()
        return erasing.replay(tx, listed, now)


def test_restored_elsewhere_all_is_equal_and_the_erased_client_stays_erased(
    here: Store, there: str, keys: str, clock: MovableClock, tmp_path: Path
) -> None:
    clients = fill(here, clock.now())
    file, listed = tmp_path / "backup.zip", tmp_path / "erasures.txt"
    with Active(here, clients, clock.now()) as active:
        manifest = back_up(here, file, clock.now())
        seen_then = active.reports
    assert 100 < manifest.tables["set_report"][0] <= seen_then + 1
    assert active.reports >= seen_then

    gone = clients[17]
    erasures.append(listed, gone.id, clock.now())
    with closing(opened(there, keys)) as restored, restored.begin() as tx:
        backup.load(tx, file, backup.read(file), silent)
        tx.check_keys()
        assert erasing.replay(tx, listed, clock.now()) == 1

        assert [people.client_by_id(tx, c.id).initials for c in clients].count("Zq.W.") == 49
        assert chats.chat_of_owner(tx, gone.id) is None
        with pytest.raises(vault.SealError):
            tx.key_of(gone.id)
        kept = erase.record_of(tx, gone.id)
        left = {name: list(copying.lines(tx, name)) for name in copying.names()}

    # Equal for the others: no row is new or changed, and every missing one was hers.
    with zipfile.ZipFile(file) as archive:
        for name in copying.names():
            before = archive.read(f"{name}.jsonl").decode().splitlines()
            missing, new = set(before) - set(left[name]), set(left[name]) - set(before)
            mine = {"client": 1, "erasure": 1}.get(name, 0)
            assert len(new) == mine, name
            assert all(gone.id.hex in line or hers(line, archive, gone.id) for line in missing), name
            assert manifest.tables[name][0] == len(before)
    assert gone.id.hex not in json.dumps(left["set_report"] + left["alert"] + left["prescription"])
    # What the clinic must keep is there, without a word of hers.
    assert kept["code"] == gone.code
    assert kept["prescriptions"][0]["document"] == {"hold_s": 8}
    assert [step["note"] for step in kept["alerts"][0]["history"]] == [None, "spoke to her (T1)"]
    assert "her words" not in json.dumps(kept)
    assert kept["consents"] == [{"text": "1", "given": True, "at": clock.now().isoformat()}]


def hers(line: str, archive: zipfile.ZipFile, client_id: uuid.UUID) -> bool:
    """Whether a row refers to one that refers to the client, as the steps of her alerts do."""
    parents = {
        json.loads(row)[0]
        for name in ("alert", "chat")
        for row in archive.read(f"{name}.jsonl").decode().splitlines()
        if client_id.hex in row
    }
    return any(parent in line for parent in parents)


def test_a_backup_of_postgresql_goes_into_sqlite(
    postgresql_url: str, fresh_sqlite: Fresh, keys: str, clock: MovableClock, tmp_path: Path
) -> None:
    """And what was read there is what is written here, so one file also moves a clinic."""
    prepared.at_head(postgresql_url)
    file = tmp_path / "backup.zip"
    with closing(prepared.open_store(postgresql_url, clock.now(), keys)) as store:
        clients = fill(store, clock.now())
        with Active(store, clients, clock.now()):
            back_up(store, file, clock.now())
    with closing(opened(fresh_sqlite(prepared.at_head), keys)) as restored:
        with restored.begin() as tx:
            backup.load(tx, file, backup.read(file), silent)
        with restored.begin() as tx:
            assert [people.client_by_id(tx, client.id) for client in clients] == clients


def test_a_restore_without_the_list_of_erasures_keeps_nothing(
    here: Store, fresh_sqlite: Fresh, keys: str, clock: MovableClock, tmp_path: Path
) -> None:
    fill(here, clock.now())
    file = tmp_path / "backup.zip"
    back_up(here, file, clock.now())
    with closing(opened(fresh_sqlite(prepared.at_head), keys)) as restored:
        missing = tmp_path / "none.txt"
        with pytest.raises(RefusedError, match=r"^ERASURES_FILE: .*none\.txt cannot be read"):
            restore(restored, file, missing, clock.now())
        assert not any(lines_of(restored).values())


def test_a_damaged_backup_is_refused(
    here: Store, fresh_sqlite: Fresh, keys: str, clock: MovableClock, tmp_path: Path
) -> None:
    fill(here, clock.now())
    file = tmp_path / "backup.zip"
    back_up(here, file, clock.now())
    manifest = backup.read(file)
    changed = tmp_path / "changed.zip"
    with zipfile.ZipFile(file) as archive, zipfile.ZipFile(changed, "w") as other:
        for name in archive.namelist():
            data = archive.read(name)
            other.writestr(name, data.replace(b'"C7"', b'"C8"') if name == "client.jsonl" else data)
    cut = tmp_path / "cut.zip"
    cut.write_bytes(file.read_bytes()[:-400])
    with closing(opened(fresh_sqlite(prepared.at_head), keys)) as restored:
        with pytest.raises((RefusedError, sa.exc.IntegrityError)), restored.begin() as tx:
            backup.load(tx, changed, manifest, silent)
        with pytest.raises(RefusedError, match="not a backup"):
            backup.read(cut)
        assert not any(lines_of(restored).values())
        with restored.begin() as tx:
            backup.load(tx, file, manifest, silent)
        with pytest.raises(RefusedError, match="the database is not empty"), restored.begin() as tx:
            backup.load(tx, file, manifest, silent)


def test_a_backup_holds_nothing_readable_and_is_its_owners(
    here: Store, clock: MovableClock, tmp_path: Path
) -> None:
    fill(here, clock.now())
    file = tmp_path / "backup.zip"
    back_up(here, file, clock.now())
    assert file.stat().st_mode & 0o077 == 0
    assert [path.name for path in tmp_path.iterdir() if path.suffix == ".part"] == []
    with zipfile.ZipFile(file) as archive:
        everything = b"".join(archive.read(name) for name in archive.namelist())
    for word in (b"her words", b"goal of", b"Zq.W.", b"Quillfeather", b"020 910"):
        assert word not in everything
    assert tables.client.name.encode() in b" ".join(name.encode() for name in archive.namelist())


@pytest.mark.parametrize(
    ("text", "fault"),
    [
        ("", "line 1: no salt"),
        ("salt 12\n", "line 1: no salt"),
        ("salt " + "a" * 32 + "\nnonsense\n", "line 2: not an erasure"),
        ("salt " + "a" * 32 + "\n" + "b" * 64 + " yesterday\n", "line 2: not an erasure"),
    ],
)
def test_a_damaged_list_of_erasures_is_named(tmp_path: Path, text: str, fault: str) -> None:
    path = tmp_path / "erasures.txt"
    path.write_text(text, encoding="ascii")
    with pytest.raises(RefusedError, match=fault):
        erasures.read(path)


def test_an_erasure_is_listed_once_and_shows_no_id(tmp_path: Path, clock: MovableClock) -> None:
    path, client_id = tmp_path / "deep" / "erasures.txt", uuid.uuid4()
    for _ in range(2):
        erasures.append(path, client_id, clock.now())
    salt, known = erasures.read(path)
    assert list(known) == [erasures.salted(salt, client_id)]
    assert client_id.hex not in path.read_text(encoding="ascii").replace("-", "")
    assert path.stat().st_mode & 0o077 == 0


def test_what_is_erased_is_overwritten_in_the_file(here: Store, clock: MovableClock) -> None:
    """Her wrapped key least of all may be left on a page that the file no longer uses."""
    (gone, *_) = fill(here, clock.now())
    with here.begin() as tx:
        wrapped = tx.connection.scalars(
            sa.select(tables.data_key.c.wrapped).where(tables.data_key.c.owner_id == gone.id)
        ).one()
    with here.begin() as tx:
        erase.erase(tx, gone.id, gone.clinic_id, {}, clock.now())
    database = Path(str(here.engine.url.database))
    here.close()
    with closing(sqlite3.connect(database)) as connection:
        connection.execute("PRAGMA wal_checkpoint(TRUNCATE)")
    assert wrapped not in b"".join(path.read_bytes() for path in database.parent.glob(f"{database.name}*"))
