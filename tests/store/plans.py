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


def whole_reads(tx: Tx, statement: Statement) -> list[str]:
    """Tables (or their names within the query) that a statement would read from end to end."""
    text, bound = statement
    if tx.on_sqlite:
        steps = tx.connection.exec_driver_sql(f"EXPLAIN QUERY PLAN {text}", bound).all()
        return [row[3].split()[1] for row in steps if row[3].startswith("SCAN ")]
    (plan,) = tx.connection.exec_driver_sql(f"EXPLAIN (FORMAT JSON) {text}", bound).scalars()
    return list(_sequential((json.loads(plan) if isinstance(plan, str) else plan)[0]["Plan"]))


def _sequential(node: dict[str, Any]) -> Iterator[str]:
    if node["Node Type"] == "Seq Scan":
        yield node["Alias"]
    for below in node.get("Plans", ()):
        yield from _sequential(below)


def is_looked_up(store: Store, statements: list[Statement], *tables: str) -> bool:
    """Whether none of these tables is read from end to end by any of the statements."""
    with store.begin() as tx:
        tx.connection.exec_driver_sql("ANALYZE")
    with store.begin() as tx:
        read = [name for statement in statements for name in whole_reads(tx, statement)]
    return not set(read) & set(tables)
