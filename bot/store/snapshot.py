"""One state of the database to read from, while others go on writing."""

import sqlite3
import tempfile
from collections.abc import Iterator
from contextlib import closing, contextmanager
from pathlib import Path

from bot.store.base import Store, Tx, open_engine, read_url


@contextmanager
def taken(store: Store, folder: Path) -> Iterator[Tx]:
    """A transaction that sees the database as it was when this was called; it holds up no writer.

    folder: where SQLite's file is copied to for as long as this lasts, beside the backup that is made of it,
    so that nothing private is left lying elsewhere. PostgreSQL keeps the state itself.
    """
    if store.engine.dialect.name != "sqlite":
        engine = store.engine.execution_options(isolation_level="REPEATABLE READ")
        with engine.begin() as connection:
            connection.exec_driver_sql("SET TRANSACTION READ ONLY")
            yield Tx(connection, (), {})
        return
    with tempfile.TemporaryDirectory(dir=folder, prefix=".snapshot-") as place:
        copy = Path(place) / "copy.sqlite3"
        # SQLite's own online copy, in one step: in the write-ahead log a reader holds up nobody.
        with (
            closing(sqlite3.connect(str(store.engine.url.database))) as source,
            closing(sqlite3.connect(copy)) as target,
        ):
            source.execute("PRAGMA wal_autocheckpoint=0")
            source.backup(target)
        copied = open_engine(read_url(f"sqlite:///{copy}"))
        try:
            with copied.begin() as connection:
                yield Tx(connection, (), {})
        finally:
            copied.dispose()
