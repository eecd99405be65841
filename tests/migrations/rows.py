"""Rows for any table, made from its columns: what a migration meets in a database that is in use."""

import datetime as dt
import itertools
import uuid
from collections.abc import Sequence
from typing import Any

from sqlalchemy import Column, Connection, ForeignKeyConstraint, MetaData, Table, insert, select

AT = dt.datetime(2026, 3, 2, 8, 15, 30, 250_000, tzinfo=dt.UTC)
EACH = 2

Rows = dict[str, list[dict[str, Any]]]


def tables(connection: Connection) -> list[Table]:
    """The tables as the database has them, parents first, without alembic's own."""
    found = MetaData()
    found.reflect(connection)
    return [table for table in found.sorted_tables if table.name != "alembic_version"]


def fill(connection: Connection, there: Sequence[Table]) -> Rows:
    """Put two rows into each of these tables, with a value in every column; answers what was put."""
    numbers = itertools.count(1)
    put: Rows = {}
    for table in there:
        parents = {
            constraint.column_keys[0]: constraint.elements[0].column
            for constraint in table.constraints
            if isinstance(constraint, ForeignKeyConstraint)
        }
        put[table.name] = [
            {
                column.name: put[parents[column.name].table.name][row][parents[column.name].name]
                if column.name in parents
                else value(column, next(numbers))
                for column in table.columns
            }
            for row in range(EACH)
        ]
        connection.execute(insert(table), put[table.name])
    return put


def value(column: Column[Any], number: int) -> Any:
    """Something a column takes that no other number gives."""
    kind = column.type.python_type
    if kind is str:
        length = getattr(column.type, "length", None)
        return uuid.UUID(int=number).hex[-(length or 32) :]
    made: dict[type, Any] = {
        uuid.UUID: uuid.UUID(int=number),
        bytes: number.to_bytes(16),
        int: number,
        bool: bool(number % 2),
        dt.date: AT.date() + dt.timedelta(days=number),
        dt.time: dt.time(9, number % 60),
        object: {"number": number},  # JSON
    }
    if kind is dt.datetime:
        aware = AT + dt.timedelta(minutes=number)
        return aware if getattr(column.type, "timezone", False) else aware.replace(tzinfo=None)
    return made[kind]


def empty(connection: Connection, there: Sequence[Table]) -> None:
    """Take every row out, children first."""
    for table in reversed(there):
        connection.execute(table.delete())


def read(connection: Connection, there: Sequence[Table]) -> Rows:
    """Every row of these tables, in the order of the first column."""
    return {
        table.name: [
            dict(row._mapping)
            for row in connection.execute(select(table).order_by(next(iter(table.columns))))
        ]
        for table in there
    }


def lost(before: Rows, after: Rows) -> list[str]:
    """The rows that a step did not keep, in tables and columns that are on both sides of it."""
    missing = []
    for name in before.keys() & after.keys():
        if not before[name]:
            continue
        shared = set.intersection(*(set(row) for row in before[name] + after[name]))
        there = [{key: row[key] for key in shared} for row in after[name]]
        wanted = [{key: row[key] for key in shared} for row in before[name]]
        missing += [f"{name}: {row}" for row in wanted if row not in there]
    return missing
