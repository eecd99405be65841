"""The engine and its habits, transactions, and rows that are put once."""

import sqlite3
import uuid
from pathlib import Path

import pytest
import sqlalchemy as sa

from bot.errors import RefusedError, SettingsError
from bot.store import lock, tables
from bot.store.base import Place, Store, Tx, failures_named, open_engine, read_url
from bot.store.vault import SealError
from tests.fixtures.clock import MovableClock
from tests.fixtures.databases import Fresh
from tests.store import prepared
from tests.store.workers import Crew

OWNER = uuid.UUID(int=21)


@pytest.mark.parametrize(
    ("text", "driver"),
    [
        ("postgres://u:p@db.example/bot", "postgresql+psycopg"),
        ("postgresql://u:p@db.example:5433/bot?sslmode=require", "postgresql+psycopg"),
        ("postgresql+psycopg://db.example/bot", "postgresql+psycopg"),
        ("sqlite:///bot.sqlite3", "sqlite"),
        ("sqlite:////var/lib/bot.sqlite3", "sqlite"),
    ],
)
def test_the_addresses_that_work(text: str, driver: str) -> None:
    assert read_url(text).drivername == driver


@pytest.mark.parametrize(
    "text",
    ["", "bot.sqlite3", "sqlite://", "sqlite:///:memory:", "mysql://u:secret@db/bot", "http://u:secret@h"],
)
def test_another_address_is_refused_without_being_shown(text: str) -> None:
    with pytest.raises(SettingsError) as refused:
        read_url(text)
    assert str(refused.value).startswith("DATABASE_URL: ")
    assert "expected sqlite:///FILE or postgresql://..." in str(refused.value)
    assert "secret" not in str(refused.value)


def test_the_home_folder_may_be_written_short(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    monkeypatch.setenv("HOME", str(tmp_path))
    engine = open_engine(read_url("sqlite:///~/kept/bot.sqlite3"))
    with engine.begin():
        assert (tmp_path / "kept" / "bot.sqlite3").exists()
    engine.dispose()


def test_a_database_that_cannot_be_used_is_named_without_its_password(tmp_path: Path) -> None:
    engine = open_engine(read_url(f"postgresql://u:secret@/none?host={tmp_path}"))
    with pytest.raises(RefusedError) as refused, failures_named(engine):
        engine.connect()
    assert str(refused.value).startswith("DATABASE_URL: postgresql+psycopg://u:***@/none?host=")
    assert "secret" not in str(refused.value)
    engine.dispose()


def refusal(engine: sa.Engine) -> str:
    with pytest.raises(RefusedError) as refused, failures_named(engine), engine.begin():
        pass
    engine.dispose()
    return str(refused.value)


def test_a_file_that_is_no_database_is_named(tmp_path: Path) -> None:
    path = tmp_path / "notes.txt"
    path.write_text("not a database, and longer than the head of one: " + "words " * 40)
    expected = f"DATABASE_URL: sqlite:///{path} cannot be used (file is not a database)"
    assert refusal(open_engine(read_url(f"sqlite:///{path}"))) == expected
    path.unlink()
    path.mkdir()
    expected = f"DATABASE_URL: sqlite:///{path} cannot be used (unable to open database file)"
    assert refusal(open_engine(read_url(f"sqlite:///{path}"))) == expected


def test_a_folder_that_cannot_be_made_is_named(tmp_path: Path) -> None:
    (tmp_path / "taken").write_text("a file")
    with pytest.raises(RefusedError) as refused:
        open_engine(read_url(f"sqlite:///{tmp_path}/taken/deeper/bot.sqlite3"))
    assert str(refused.value) == f"DATABASE_URL: {tmp_path}/taken/deeper cannot be made (Not a directory)"


def test_a_fault_of_ours_is_not_put_down_to_the_address(store: Store) -> None:
    row = sa.insert(tables.send_budget).values(bot="1")
    with store.begin() as tx:
        tx.connection.execute(row)
    with pytest.raises(sa.exc.IntegrityError), failures_named(store.engine), store.begin() as tx:
        tx.connection.execute(row)


def test_an_sqlite_file_is_opened_with_our_habits(sqlite_store: Store) -> None:
    with sqlite_store.begin() as tx:
        found = {
            name: tx.connection.exec_driver_sql(f"PRAGMA {name}").scalar()
            for name in ("journal_mode", "synchronous", "foreign_keys", "wal_autocheckpoint")
        }
    # synchronous 2 is FULL (SQLite's manual, from memory).
    assert found == {"journal_mode": "wal", "synchronous": 2, "foreign_keys": 1, "wal_autocheckpoint": 1000}


def test_a_verb_beside_serve_leaves_the_log_to_it(fresh_sqlite: Fresh, clock: MovableClock) -> None:
    """Many writes grow SQLite's log, and the file stays as it is until `serve` sees to it."""
    url = fresh_sqlite(prepared.at_head)
    path = Path(str(read_url(url).database))
    serving = sqlite3.connect(path)  # keeps the log from being put away when the verb ends
    serving.execute("SELECT * FROM clinic").fetchall()
    before = path.read_bytes()
    verb = open_engine(read_url(url), checkpoints=False)
    for _ in range(3):
        with verb.begin() as connection:
            wrapped = [
                {"owner_id": uuid.uuid4(), "wrapped": bytes(4_000), "made_at": clock.now()}
                for _ in range(500)
            ]
            connection.execute(sa.insert(tables.data_key), wrapped)
    verb.dispose()
    assert path.read_bytes() == before
    assert serving.execute("SELECT count(*) FROM data_key").fetchone() == (1_500,)
    serving.close()


def test_a_new_file_may_be_opened_by_several_at_once(fresh_sqlite: Fresh) -> None:
    """Making the log needs the file alone; the others wait instead of being told that it is locked."""
    for _ in range(15):
        url = read_url(fresh_sqlite())
        engines = [open_engine(url) for _ in range(4)]

        def use(place: int, engines: list[sa.Engine] = engines) -> None:
            with engines[place].begin() as connection:
                connection.exec_driver_sql("CREATE TABLE IF NOT EXISTS noted (at TEXT)")

        Crew(4).run(use)
        for engine in engines:
            engine.dispose()


def test_a_transaction_that_reads_first_can_always_write(sqlite_store: Store, clock: MovableClock) -> None:
    """With a plain BEGIN one of two that read and then write would be told that the file is locked."""
    other = Store(open_engine(sqlite_store.engine.url), sqlite_store._masters)
    stores = (sqlite_store, other)
    count = sa.select(sa.func.count()).select_from(tables.data_key)

    def read_and_write(place: int) -> None:
        for number in range(40):
            with stores[place].begin() as tx:
                tx.connection.scalar(count)
                tx.make_key(uuid.UUID(int=1_000 * place + number + 1), clock.now())

    Crew(2).run(read_and_write)
    with sqlite_store.begin() as tx:
        assert tx.connection.scalar(count) == 81  # with the installation's own
    other.close()


def test_a_row_is_put_once_and_tells_whether_it_was_new(store: Store, clock: MovableClock) -> None:
    """On both engines: an insert's row count is not the same thing everywhere."""
    first = {"bot": "1", "hold_until": clock.now()}
    with store.begin() as tx:
        assert tx.put_once(tables.send_budget, first, "bot")
        assert not tx.put_once(tables.send_budget, {"bot": "1", "hold_until": None}, "bot")
        assert tx.put_once(tables.send_budget, {"bot": "2"}, "bot")
    with store.begin() as tx:
        assert not tx.put_once(tables.send_budget, {"bot": "1"}, "bot")
        held = sa.select(tables.send_budget.c.hold_until).where(tables.send_budget.c.bot == "1")
        assert tx.connection.scalar(held) == clock.now()


def test_many_rows_are_put_once(store: Store) -> None:
    count = sa.select(sa.func.count()).select_from(tables.send_budget)
    with store.begin() as tx:
        tx.put_many_once(tables.send_budget, [], "bot")
        tx.put_many_once(tables.send_budget, [{"bot": "1"}, {"bot": "2"}, {"bot": "1"}], "bot")
        tx.put_many_once(tables.send_budget, [{"bot": "2"}, {"bot": "3"}], "bot")
        assert tx.connection.scalar(count) == 3


def test_another_fault_than_a_repeat_is_not_swallowed(store: Store, clock: MovableClock) -> None:
    values = {"id": OWNER, "client_id": OWNER, "text_version": "1", "given": True, "at": clock.now()}
    with store.begin() as tx, pytest.raises(sa.exc.IntegrityError):
        tx.put_once(tables.consent, values, "id")  # there is no such client


def test_a_transaction_that_fails_leaves_nothing(store: Store, clock: MovableClock) -> None:
    def fail() -> None:
        with store.begin() as tx:
            tx.make_key(OWNER, clock.now())
            raise RuntimeError("nothing of this is kept")

    with pytest.raises(RuntimeError):
        fail()
    with store.begin() as tx:
        assert tx.put_once(tables.data_key, tx._wrapped(OWNER, bytes(32), clock.now()), "owner_id")


def test_a_part_that_fails_undoes_itself_and_nothing_else(store: Store, clock: MovableClock) -> None:
    """Its data keys too: what they sealed could never be opened again."""
    other = uuid.UUID(int=22)

    def fail(tx: Tx) -> None:
        with tx.attempt():
            tx.make_key(other, clock.now())
            tx.put_once(tables.send_budget, {"bot": "undone"}, "bot")
            raise RuntimeError("one client's fault")

    with store.begin() as tx:
        tx.make_key(OWNER, clock.now())
        with pytest.raises(RuntimeError):
            fail(tx)
        with tx.attempt():
            tx.put_once(tables.send_budget, {"bot": "kept"}, "bot")
    with store.begin() as tx:
        assert list(tx.connection.scalars(sa.select(tables.send_budget.c.bot))) == ["kept"]
        assert tx.seal(OWNER, Place("client", OWNER, "initials"), "Zq.")
        with pytest.raises(SealError, match="is gone"):
            tx.seal(other, Place("client", other, "initials"), "Zq.")


def test_keys_in_memory_are_bounded(store: Store, clock: MovableClock) -> None:
    """They are looked up again when there were too many."""
    place = Place("client", OWNER, "initials")
    with store.begin() as tx:
        tx.make_key(OWNER, clock.now())
        sealed = tx.seal(OWNER, place, "Zq.")
    store._keys.update({uuid.UUID(int=number + 100): bytes(32) for number in range(20_001)})
    with store.begin() as tx:
        tx.hash("user", "1")
    assert len(store._keys) < 10
    with store.begin() as tx:
        assert tx.open_text(place, sealed) == "Zq."


def test_one_serve_on_one_file(fresh_sqlite: Fresh) -> None:
    url = read_url(fresh_sqlite())
    held = lock.hold(url)
    assert held is not None
    with pytest.raises(
        RefusedError, match=r"another `programme-bot serve` runs on .*; one at a time on SQLite"
    ):
        lock.hold(url)
    held.close()  # as the system does for a process that ends, however it ends
    again = lock.hold(url)
    assert again is not None
    again.close()


def test_postgresql_needs_no_lock() -> None:
    assert lock.hold(read_url("postgresql://db.example/bot")) is None


@pytest.mark.parametrize("flushed", [True, False])
def test_only_what_can_be_done_again_does_not_wait_for_the_disk(store: Store, flushed: bool) -> None:
    """SQLite names its levels 2 (FULL) and 1 (NORMAL); https://sqlite.org/pragma.html, from memory."""
    with store.begin(flushed=not flushed):
        pass
    with store.begin(flushed=flushed) as tx:
        if tx.on_sqlite:
            assert tx.connection.exec_driver_sql("PRAGMA synchronous").scalar() == (2 if flushed else 1)
        else:
            asked = "SELECT setting, source FROM pg_settings WHERE name = 'synchronous_commit'"
            found = tx.connection.exec_driver_sql(asked).one()
            # Left as the server has it (a server for tests may do without), or switched off here and now.
            assert (found.source != "session") if flushed else (found == ("off", "session"))
