"""The database: one engine, transactions, and the keys that open what is sealed."""

import datetime as dt
import functools
import json
import sqlite3
import uuid
from collections.abc import Iterable, Iterator, Sequence
from contextlib import AbstractContextManager, contextmanager, suppress
from pathlib import Path
from threading import Lock
from typing import Any, Protocol

from sqlalchemy import (
    Connection,
    Engine,
    Insert,
    ScalarSelect,
    bindparam,
    create_engine,
    delete,
    event,
    func,
    insert,
    select,
    update,
)
from sqlalchemy import Table as SqlTable
from sqlalchemy.dialects import postgresql, sqlite
from sqlalchemy.engine import URL, make_url
from sqlalchemy.exc import ArgumentError, DatabaseError, OperationalError
from sqlalchemy.pool import ConnectionPoolEntry, PoolProxiedConnection

from bot.errors import RefusedError, SettingsError
from bot.store import tables, vault
from bot.store.ids import new_id
from bot.store.types import SealedBytes
from bot.store.vault import Place

INSTALLATION = uuid.UUID(int=0)  # the owner of what belongs to no person: strangers, the look-up key
KEYS_HELD = 20_000
BUSY_TIMEOUT_S = 30
_wrapper_id = func.substr(tables.data_key.c.wrapped, 1, vault.MASTER_ID_CHARACTERS)
_WAKE = select(func.pg_notify(bindparam("channel"), ""))
_WRAPPED = select(tables.data_key.c.owner_id, tables.data_key.c.wrapped).where(
    tables.data_key.c.owner_id.in_(bindparam("owners", expanding=True))
)
TURNS = 50  # how often opening a new SQLite file gives way to others who open it too


class Begin(Protocol):
    """Opens a transaction: returning commits it, raising rolls it back."""

    def __call__(self, *, flushed: bool = True) -> AbstractContextManager["Tx"]:
        """A transaction as a context manager; `flushed` as `Store.begin` tells."""


def read_url(text: str) -> URL:
    """The database's address; raises SettingsError for one that is no address or no supported engine."""
    try:
        url = make_url(text)
    except ArgumentError:
        raise SettingsError(
            "DATABASE_URL: not a database address; expected sqlite:///FILE or postgresql://...",
        ) from None
    if url.drivername in {"postgres", "postgresql", "postgresql+psycopg"}:
        return url.set(drivername="postgresql+psycopg")
    if url.drivername == "sqlite" and url.database and url.database != ":memory:":
        return url.set(database=str(Path(url.database).expanduser()))
    raise SettingsError(
        f"DATABASE_URL: {url.drivername} is not supported; expected sqlite:///FILE or postgresql://...",
    )


def open_engine(url: URL, *, checkpoints: bool = True) -> Engine:
    """An engine with our habits.

    SQLite: one connection that writes, WAL, every commit on disk before it counts as done (synchronous FULL),
    BEGIN IMMEDIATE so that a reading transaction can always go on to write. PostgreSQL: sessions in UTC.
    Errors never show the values that were bound. Raises RefusedError where the file's folder cannot be made.

    checkpoints: whether this process may move SQLite's log into the file while others are at work; `serve`
    alone does, a short verb beside it does not.
    """
    if url.drivername == "sqlite":
        folder = Path(str(url.database)).parent
        try:
            folder.mkdir(parents=True, exist_ok=True)
        except OSError as error:
            raise RefusedError(f"DATABASE_URL: {folder} cannot be made ({error.strerror})") from None
        engine = create_engine(
            url,
            pool_size=1,
            max_overflow=0,
            pool_timeout=BUSY_TIMEOUT_S,
            hide_parameters=True,
            connect_args={"timeout": BUSY_TIMEOUT_S, "check_same_thread": False},
        )
        event.listen(engine, "connect", _prepare_sqlite)
        if not checkpoints:
            event.listen(engine, "connect", _leave_the_log)
        # A listener for the beginning would have every statement ask for listeners, at some cost.
        engine.dialect.do_begin = _begin_immediate  # type: ignore[method-assign]
        return engine
    return create_engine(
        url,
        pool_pre_ping=True,
        hide_parameters=True,
        connect_args={"options": "-c timezone=UTC", "connect_timeout": 10},
    )


def _prepare_sqlite(connection: sqlite3.Connection, record: ConnectionPoolEntry) -> None:
    del record
    connection.isolation_level = None  # the driver's own BEGIN would come too late
    _keep_a_log(connection)
    for pragma in ("synchronous=FULL", "foreign_keys=ON"):
        connection.execute(f"PRAGMA {pragma}")


def _keep_a_log(connection: sqlite3.Connection) -> None:
    """Switch to a write-ahead log. A new file has to be had alone for it, without waiting."""
    for _ in range(TURNS):
        try:
            connection.execute("PRAGMA journal_mode=WAL")
        except sqlite3.OperationalError:
            connection.execute("BEGIN IMMEDIATE")  # waits for whoever else is opening the file
            connection.execute("ROLLBACK")
        else:
            return
    connection.execute("PRAGMA journal_mode=WAL")


def _leave_the_log(connection: sqlite3.Connection, record: ConnectionPoolEntry) -> None:
    del record
    connection.execute("PRAGMA wal_autocheckpoint=0")


def _begin_immediate(dbapi_connection: PoolProxiedConnection) -> None:
    dbapi_connection.cursor().execute("BEGIN IMMEDIATE")


def _wait_for_disk(connection: Connection, flushed: bool) -> None:
    """How SQLite's next commit on this connection is to be: the setting stays with the connection."""
    if connection.info.setdefault("flushed", True) is not flushed:
        driver: Any = connection.connection.driver_connection
        driver.execute(f"PRAGMA synchronous={'FULL' if flushed else 'NORMAL'}")
        connection.info["flushed"] = flushed


@contextmanager
def failures_named(engine: Engine) -> Iterator[None]:
    """Turn a database that cannot be reached or opened into one line that names the setting."""
    try:
        yield
    except DatabaseError as error:
        if type(error) not in {OperationalError, DatabaseError}:
            raise  # a fault of ours, not of the address
        where = engine.url.render_as_string(hide_password=True)
        reason = str(error.orig).strip().splitlines()[0] if error.orig else "no answer"
        raise RefusedError(f"DATABASE_URL: {where} cannot be used ({reason})") from None


class Store:
    """The database and its keys, shared by all threads of one process."""

    def __init__(self, engine: Engine, masters: Sequence[vault.MasterKey]) -> None:
        self.engine = engine
        self._masters = tuple(masters)
        self._keys: dict[uuid.UUID, bytes] = {}
        self._lock = Lock()

    @contextmanager
    def begin(self, *, flushed: bool = True) -> Iterator["Tx"]:
        """A transaction; data keys made in it are kept only once it is committed.

        flushed: whether it is on disk when this returns. One that is not survives a killed process; after a
        power cut it may be gone, together with whatever came later and never without it: the next flushed
        one, of any worker, puts it on disk before itself. So it is for what can be done again from what is on
        disk, and whose effects leave the house only by a flushed one: the handling of an update, whose
        messages are marked before they are sent.
        """
        with self.engine.connect() as connection:
            on_sqlite = connection.dialect.name == "sqlite"
            if on_sqlite:
                _wait_for_disk(connection, flushed)
            with connection.begin():
                if not (flushed or on_sqlite):
                    connection.exec_driver_sql("SET LOCAL synchronous_commit TO OFF")
                tx = Tx(connection, self._masters, self._keys)
                yield tx
                for channel in sorted(tx.wakes):
                    connection.execute(_WAKE, {"channel": channel})
        with self._lock:
            if len(self._keys) > KEYS_HELD:
                self._keys.clear()
            self._keys.update(tx.fresh_keys)

    def forget_keys(self) -> None:
        """Drop the data keys held in memory, so that a destroyed one is no longer used here."""
        with self._lock:
            self._keys.clear()

    def close(self) -> None:
        """Let go of every connection."""
        self.engine.dispose()


class Tx:
    """One transaction, and sealing within it."""

    def __init__(
        self,
        connection: Connection,
        masters: tuple[vault.MasterKey, ...],
        held_keys: dict[uuid.UUID, bytes],
    ) -> None:
        self.connection = connection
        self.fresh_keys: dict[uuid.UUID, bytes] = {}
        self.wakes: set[str] = set()
        self._masters = masters
        self._held = held_keys

    @property
    def on_sqlite(self) -> bool:
        """Whether this is SQLite, where a transaction that writes is alone."""
        return self.connection.dialect.name == "sqlite"

    def wake(self, channel: str) -> None:
        """Wake the other workers once this is committed; on SQLite there are none."""
        if not self.on_sqlite:
            self.wakes.add(channel)

    @contextmanager
    def attempt(self) -> Iterator[None]:
        """A part of the transaction that can fail alone: raising undoes the part and nothing else."""
        keys = dict(self.fresh_keys)
        try:
            with self.connection.begin_nested():
                yield
        except BaseException:
            self.fresh_keys = keys  # those made in the part are gone with it
            raise

    def make_key(self, owner: uuid.UUID, now: dt.datetime) -> None:
        """Give a person, clinic or the installation a data key of its own."""
        data_key = vault.new_data_key()
        self.connection.execute(insert(tables.data_key).values(self._wrapped(owner, data_key, now)))
        self.fresh_keys[owner] = data_key

    def destroy_key(self, owner: uuid.UUID) -> None:
        """Destroy an owner's data key: what it sealed cannot be read any more, here or in a later backup."""
        self.connection.execute(delete(tables.data_key).where(tables.data_key.c.owner_id == owner))
        self.fresh_keys.pop(owner, None)
        self._held.pop(owner, None)  # rolled back, it is read again from its row

    def _wrapped(self, owner: uuid.UUID, data_key: bytes, now: dt.datetime) -> dict[str, Any]:
        wrapped = vault.wrap(self._masters, owner, data_key)
        return {"owner_id": owner, "wrapped": wrapped, "made_at": now}

    def prepare_installation(self, now: dt.datetime) -> None:
        """Make the installation's own key on first use; harmless when it is there, or made elsewhere now."""
        row = tables.data_key
        if self.connection.scalar(select(row.c.owner_id).where(row.c.owner_id == INSTALLATION)) is None:
            values = self._wrapped(INSTALLATION, vault.new_data_key(), now)
            self.put_once(row, values, "owner_id")

    def check_keys(self) -> None:
        """Raise RefusedError when DATA_KEYS do not open what is stored, with a line for each key at fault.

        One data key is tried for each master key that wrapped any.
        """
        row = tables.data_key.c
        faults = []
        for wrapped_by in self.connection.scalars(select(_wrapper_id).distinct()).all():
            query = select(row.owner_id).where(_wrapper_id == wrapped_by).limit(1)
            try:
                self.key_of(self.connection.scalars(query).one())
            except vault.WrongKeysError as error:
                faults.append(str(error))
        if faults:
            raise RefusedError(*sorted(faults))

    def rewrap(self, limit: int) -> int:
        """Wrap some data keys with the first master key that another one wraps; tells how many.

        A key that is destroyed or wrapped anew meanwhile is left to whoever does it.
        """
        row = tables.data_key.c
        others = select(row.owner_id, row.wrapped).where(_wrapper_id != self._masters[0].key_id.encode())
        done = 0
        for owner, wrapped in self.connection.execute(others.order_by(row.owner_id).limit(limit)).all():
            fresh = vault.wrap(self._masters, owner, vault.unwrap(self._masters, owner, wrapped))
            here = (row.owner_id == owner) & (row.wrapped == wrapped)
            done += self.connection.execute(
                update(tables.data_key).where(here).values(wrapped=fresh)
            ).rowcount
        return done

    def left_to_rewrap(self) -> int:
        """How many data keys another master key than the first wraps."""
        others = select(func.count()).select_from(tables.data_key)
        return self.connection.scalars(others.where(_wrapper_id != self._masters[0].key_id.encode())).one()

    @property
    def wraps_with(self) -> str:
        """The id of the master key that wraps."""
        return self._masters[0].key_id

    def key_of(self, owner: uuid.UUID) -> bytes:
        """The data key of an owner; raises SealError when it is gone, WrongKeysError if it stays wrapped."""
        held = self.fresh_keys.get(owner) or self._held.get(owner)
        if held is not None:
            return held
        wrapped = self.connection.scalar(
            select(tables.data_key.c.wrapped).where(tables.data_key.c.owner_id == owner),
        )
        if wrapped is None:
            raise vault.SealError(f"the data key of {owner} is gone")
        key = vault.unwrap(self._masters, owner, wrapped)
        self.fresh_keys[owner] = key
        return key

    def hold_keys(self, owners: ScalarSelect[uuid.UUID]) -> None:
        """Have the data keys of many owners at hand, read at once; those that are gone stay missing."""
        row = tables.data_key.c
        query = select(row.owner_id, row.wrapped).where(row.owner_id.in_(owners))
        for owner, wrapped in self.connection.execute(query).all():
            if owner not in self._held:
                self.fresh_keys[owner] = vault.unwrap(self._masters, owner, wrapped)

    def fetch_keys(self, owners: Iterable[uuid.UUID]) -> None:
        """Fetch the data keys of several owners in one go; those that cannot be had are missing later."""
        wanted = {owner for owner in owners if owner not in self.fresh_keys and owner not in self._held}
        if not wanted:
            return
        for owner, wrapped in self.connection.execute(_WRAPPED, {"owners": list(wanted)}):
            with suppress(vault.WrongKeysError):
                self.fresh_keys[owner] = vault.unwrap(self._masters, owner, wrapped)

    def seal(self, owner: uuid.UUID, place: Place, value: str | bytes) -> SealedBytes:
        """A text or bytes, sealed for a place with its owner's key."""
        plain = value.encode() if isinstance(value, str) else value
        return vault.seal(self.key_of(owner), owner, place, plain)

    def open(self, place: Place, sealed: SealedBytes) -> bytes:
        """The bytes of a sealed value."""
        return vault.unseal(self.key_of(vault.owner_of(sealed)), place, sealed)

    def open_text(self, place: Place, sealed: SealedBytes) -> str:
        """The text of a sealed value."""
        return self.open(place, sealed).decode()

    def seal_json(self, owner: uuid.UUID, place: Place, value: object) -> SealedBytes:
        """A JSON value, sealed."""
        return self.seal(owner, place, json.dumps(value, ensure_ascii=False))

    def open_json(self, place: Place, sealed: SealedBytes) -> Any:  # noqa: ANN401 - JSON is what it is
        """A sealed JSON value."""
        return json.loads(self.open(place, sealed))

    def hash(self, purpose: str, value: str) -> bytes:
        """The keyed hash by which a private value is looked up."""
        return vault.keyed_hash(self.key_of(INSTALLATION), purpose, value)

    def put_once(self, table: SqlTable, values: dict[str, Any], *unique: str) -> bool:
        """Insert a row unless one with the same unique columns is there; tells whether it was new."""
        statement = _inserting_one(table, unique, self.on_sqlite)
        return self.connection.execute(statement, values).rowcount == 1

    def put_many_once(self, table: SqlTable, rows: list[dict[str, Any]], *unique: str) -> None:
        """Insert rows, leaving out those whose unique columns are there."""
        if rows:
            self.connection.execute(_inserting(table, unique, self.on_sqlite), rows)


# Built once for each table: building an insert costs more than running it.
@functools.cache
def _inserting(table: SqlTable, unique: tuple[str, ...], on_sqlite: bool) -> Insert:
    insert_here = sqlite.insert if on_sqlite else postgresql.insert
    return insert_here(table).on_conflict_do_nothing(index_elements=unique)


@functools.cache
def _inserting_one(table: SqlTable, unique: tuple[str, ...], on_sqlite: bool) -> Insert:
    """Asks the driver to count what it inserted, which the library lets go otherwise."""
    return _inserting(table, unique, on_sqlite).execution_options(preserve_rowcount=True)


__all__ = ["INSTALLATION", "Begin", "Place", "Store", "Tx", "new_id", "open_engine", "read_url"]
