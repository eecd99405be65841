"""How the database goes about a query: whether it looks rows up or reads the whole table."""

import json
from collections.abc import Iterator
from contextlib import contextmanager
from typing import Any

from sqlalchemy import event

from bot.store.base import Store, Tx

Statement = tuple[str, Any]


@contextmanager
def watched(store: Store) -> Iterator[list[Statement]]:
    """The statements that are run meanwhile, with what was bound to them."""
    seen: list[Statement] = []

    def see(connection: object, cursor: object, statement: str, parameters: Any, *rest: object) -> None:
        del connection, cursor, rest
        seen.append((statement, parameters))

    event.listen(store.engine, "before_cursor_execute", see)
    yield seen
    event.remove(store.engine, "before_cursor_execute", see)


def read_whole(store: Store, statements: list[Statement], *tables: str) -> list[str]:
    """Those statements that read one of these tables from end to end, each with the table in front.

    PostgreSQL rightly reads a small table whole, so it is asked how it would do without.
    """
    with store.begin() as tx:
        if not tx.on_sqlite:
            tx.connection.exec_driver_sql("ANALYZE")
            tx.connection.exec_driver_sql("SET LOCAL enable_seqscan = off")
        return [
            f"{name}: {statement[0]}"
            for statement in statements
            if statement[0].startswith(("SELECT", "WITH", "UPDATE", "DELETE"))
            for name in _whole_reads(tx, statement)
            if name in tables
        ]


def _whole_reads(tx: Tx, statement: Statement) -> list[str]:
    """Tables (or their names within the query) that a statement would read from end to end."""
    text, bound = statement
    if tx.on_sqlite:
        steps = tx.connection.exec_driver_sql(f"EXPLAIN QUERY PLAN {text}", bound).all()
        return [row[3].split()[1] for row in steps if row[3].startswith("SCAN ")]
    (plan,) = tx.connection.exec_driver_sql(f"EXPLAIN (FORMAT JSON) {text}", bound).scalars()
    return list(_without_condition((json.loads(plan) if isinstance(plan, str) else plan)[0]["Plan"]))


def _without_condition(node: dict[str, Any]) -> Iterator[str]:
    kind = node["Node Type"]
    if kind == "Seq Scan" or (kind in {"Index Scan", "Index Only Scan"} and "Index Cond" not in node):
        yield node["Alias"]
    for below in node.get("Plans", ()):
        yield from _without_condition(below)


def rows_visited(tx: Tx, statement: Statement, *tables: str) -> int:
    """How many rows of these tables PostgreSQL looks at to run a statement, which it does."""
    text, bound = statement
    (plan,) = tx.connection.exec_driver_sql(f"EXPLAIN (ANALYZE, FORMAT JSON) {text}", bound).scalars()
    return _visited((json.loads(plan) if isinstance(plan, str) else plan)[0]["Plan"], tables)


def _visited(node: dict[str, Any], tables: tuple[str, ...]) -> int:
    here = 0
    if node["Node Type"].endswith("Scan") and node.get("Relation Name") in tables:
        seen = node["Actual Rows"] + node.get("Rows Removed by Filter", 0)
        here = round(seen * node["Actual Loops"])
    return here + sum(_visited(below, tables) for below in node.get("Plans", ()))
