"""Every row of the database as lines of text, and back; the same on both engines, and sealed as it is."""

import base64
import datetime as dt
import hashlib
import json
import uuid
from collections.abc import Iterable, Iterator
from typing import Any

from sqlalchemy import Column, Table, func, insert, select
from sqlalchemy.types import JSON, Date, LargeBinary, Time, Uuid

from bot.store import tables
from bot.store.base import Tx
from bot.store.types import Instant, Sealed, SealedBytes

ROWS_AT_ONCE = 500
HASH_BYTES = 32


def names() -> list[str]:
    """The tables, parents before those that refer to them."""
    return [table.name for table in tables.metadata.sorted_tables]


def lines(tx: Tx, name: str) -> Iterator[str]:
    """A table's rows in the order of their keys, a JSON list each, in the order of the table's columns."""
    table = tables.metadata.tables[name]
    query = select(table).order_by(*table.primary_key.columns).execution_options(yield_per=ROWS_AT_ONCE)
    for row in tx.connection.execute(query):
        yield json.dumps([_plain(value) for value in row], ensure_ascii=False, separators=(",", ":"))


def load(tx: Tx, name: str, given: Iterable[str]) -> int:
    """Put such lines into an empty table; tells how many. Raises ValueError for a line that does not fit."""
    table = tables.metadata.tables[name]
    columns = list(table.columns)
    rows: list[dict[str, Any]] = []
    count = 0
    for line in given:
        values = json.loads(line)
        if not isinstance(values, list) or len(values) != len(columns):
            raise ValueError(f"row {count + 1}: expected a list of {len(columns)} values")
        rows.append(
            {column.name: _stored(column, value) for column, value in zip(columns, values, strict=True)}
        )
        count += 1
        if len(rows) == ROWS_AT_ONCE:
            tx.connection.execute(insert(table), rows)
            rows = []
    if rows:
        tx.connection.execute(insert(table), rows)
    return count


def count(tx: Tx, name: str) -> int:
    """How many rows a table has."""
    table: Table = tables.metadata.tables[name]
    return tx.connection.scalars(select(func.count()).select_from(table)).one()


class Sum:
    """A checksum of rows that does not depend on their order, since engines sort texts each in their way.

    The SHA-256 of every line, added up as numbers of 256 bits.
    """

    def __init__(self) -> None:
        self.rows = 0
        self._sum = 0

    def add(self, line: str) -> None:
        """Count a line in."""
        self.rows += 1
        digest = hashlib.sha256(line.encode()).digest()
        self._sum = (self._sum + int.from_bytes(digest)) % (1 << 8 * HASH_BYTES)

    @property
    def hex(self) -> str:
        """The checksum so far."""
        return self._sum.to_bytes(HASH_BYTES).hex()


def _plain(value: object) -> object:
    match value:
        case uuid.UUID():
            return value.hex
        case dt.datetime():
            return value.astimezone(dt.UTC).isoformat()
        case dt.date() | dt.time():
            return value.isoformat()
        case bytes():
            return base64.b64encode(value).decode()
        case _:
            return value


def _stored(column: Column[Any], value: Any) -> Any:  # noqa: ANN401 - whatever the column takes
    if value is None or isinstance(column.type, JSON):
        return value
    match column.type:
        case Uuid():
            return uuid.UUID(value)
        case Instant():
            return dt.datetime.fromisoformat(value)
        case Date():
            return dt.date.fromisoformat(value)
        case Time():
            return dt.time.fromisoformat(value)
        case Sealed():
            return SealedBytes(base64.b64decode(value, validate=True))
        case LargeBinary():
            return base64.b64decode(value, validate=True)
        case _:
            return value
