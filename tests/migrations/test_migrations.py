"""The migrations make the tables of the models, keep what is in them, and refuse what they do not know."""

import argparse
import threading
from collections.abc import Iterator
from typing import Any

import pytest
import sqlalchemy as sa
from alembic import autogenerate
from alembic.config import Config
from alembic.migration import MigrationContext
from alembic.operations import Operations
from alembic.script import Script

from bot.commands import migrate as verb
from bot.errors import RefusedError
from bot.store import migrate, tables, vault
from bot.store.base import open_engine, read_url
from tests.fixtures.databases import Fresh
from tests.migrations import rows

VERSION = sa.table("alembic_version", sa.column("version_num"))
# Tables in which a step down gives up rows that the older program would misread; each has a test of its own.
GIVEN_UP = {"0002": {"set_report"}}
REVISIONS = list(reversed(list(migrate.scripts().walk_revisions())))


@pytest.fixture
def engine(database_url: str) -> Iterator[sa.Engine]:
    """An empty database, once on each engine."""
    engine = open_engine(read_url(database_url))
    yield engine
    engine.dispose()


@pytest.fixture
def sqlite_engine(sqlite_url: str) -> Iterator[sa.Engine]:
    engine = open_engine(read_url(sqlite_url))
    yield engine
    engine.dispose()


def below(script: Script) -> str:
    assert script.down_revision is None or isinstance(script.down_revision, str)
    return script.down_revision or "base"


def test_there_is_one_head() -> None:
    assert migrate.scripts().get_heads() == [migrate.head()]


def test_from_nothing_to_the_head(engine: sa.Engine) -> None:
    assert migrate.current(engine) is None
    migrate.upgrade(engine)
    assert migrate.current(engine) == migrate.head()
    migrate.demand_head(engine)


def test_the_last_step_down_leaves_nothing(engine: sa.Engine) -> None:
    migrate.upgrade(engine)
    migrate.downgrade(engine, "base")
    assert sa.inspect(engine).get_table_names() == ["alembic_version"]


@pytest.mark.parametrize("script", REVISIONS, ids=lambda script: script.revision)
def test_up_down_up_with_rows_in_every_table(engine: sa.Engine, script: Script) -> None:
    """Rows stay wherever the step keeps their table, and the tables can be filled again after coming back."""
    if script.down_revision is not None:
        migrate.upgrade(engine, below(script))
    with engine.begin() as connection:
        before_it = rows.fill(connection, rows.tables(connection))
    migrate.upgrade(engine, script.revision)
    with engine.begin() as connection:
        there = rows.tables(connection)
        assert rows.lost(before_it, rows.read(connection, there)) == []
        rows.empty(connection, there)
        full = rows.fill(connection, there)
        assert rows.lost(full, rows.read(connection, there)) == []
    migrate.downgrade(engine, below(script))
    with engine.begin() as connection:
        kept = rows.read(connection, rows.tables(connection))
        given_up = GIVEN_UP.get(script.revision, set())
        assert rows.lost({name: put for name, put in full.items() if name not in given_up}, kept) == []
    migrate.upgrade(engine, script.revision)
    with engine.begin() as connection:
        assert rows.lost(kept, rows.read(connection, there)) == []
        rows.empty(connection, there)
        rows.fill(connection, there)


def test_without_undoing_a_report_and_what_took_it_back_go_together(engine: sa.Engine) -> None:
    """0002 down: the older program would count both. Another client's report of the same key stays."""
    migrate.upgrade(engine, "0002")
    with engine.begin() as connection:
        there = rows.tables(connection)
        put = rows.fill(connection, there)["set_report"]
        (report,) = (table for table in there if table.name == "set_report")
        connection.execute(report.delete())
        hers, another = put[0], put[1]
        made = [
            {**hers, "key": "kept", "undoes": None},
            {**hers, "key": "regretted", "undoes": None},
            {**hers, "key": "undoing", "undoes": "regretted"},
            {**another, "key": "regretted", "undoes": None},
        ]
        for number, row in enumerate(made, start=900):
            row["id"] = rows.value(report.c.id, number)
        connection.execute(report.insert(), made)
    migrate.downgrade(engine, "0001")
    with engine.begin() as connection:
        left = connection.execute(sa.select(report.c.client_id, report.c.key).order_by(report.c.id)).all()
    assert list(map(tuple, left)) == [
        (hers["client_id"], "kept"),
        (another["client_id"], "regretted"),
    ]


def test_a_lost_row_is_noticed() -> None:
    """The check above can fail; a column or a table that is gone or new does not count."""
    before: rows.Rows = {"clinic": [{"id": 1, "code": "a"}, {"id": 2, "code": "b"}], "gone": [{"id": 1}]}
    assert rows.lost(before, before) == []
    assert rows.lost(before, {"clinic": [{"id": 1, "new": 0}, {"id": 2, "new": 0}], "added": []}) == []
    assert len(rows.lost(before, {"clinic": [{"id": 2, "code": "b"}]})) == 1
    assert len(rows.lost(before, {"clinic": [{"id": 1, "code": "b"}, {"id": 2, "code": "a"}]})) == 2
    assert len(rows.lost(before, {"clinic": []})) == 2


def differences(engine: sa.Engine, models: sa.MetaData) -> list[Any]:
    """What alembic would write into a new revision: nothing, when models and database agree."""
    with engine.connect() as connection:
        context = MigrationContext.configure(
            connection, opts={"compare_type": True, "compare_server_default": True}
        )
        return list(autogenerate.compare_metadata(context, models))


def test_models_and_migrations_agree(engine: sa.Engine) -> None:
    migrate.upgrade(engine)
    assert differences(engine, tables.metadata) == []


def test_a_model_without_its_migration_is_noticed(engine: sa.Engine) -> None:
    """The check above can fail: for a column, a length, a nullable, an index."""
    migrate.upgrade(engine)
    changed = sa.MetaData(naming_convention=tables.metadata.naming_convention)
    for table in tables.metadata.sorted_tables:
        table.to_metadata(changed)
    changed.tables["clinic"].append_column(sa.Column("planted", sa.Integer))
    changed.tables["staff"].c.code.type = sa.String(33)
    changed.tables["track"].c.cap.nullable = True
    sa.Index(None, changed.tables["client"].c.stage)
    found = str(differences(engine, changed))
    for planted in ("add_column", "modify_type", "modify_nullable", "add_index"):
        assert planted in found, planted


def shape(engine: sa.Engine) -> dict[str, Any]:
    """All that the database knows of its tables."""
    with engine.connect() as connection:
        return _shape(sa.inspect(connection))


def _shape(inspector: sa.Inspector) -> dict[str, Any]:
    found = {}
    for name in sorted(set(inspector.get_table_names()) - {"alembic_version"}):
        found[name] = {
            "columns": sorted(
                (c["name"], c["type"].compile(inspector.dialect), c["nullable"], c["default"])
                for c in inspector.get_columns(name)
            ),
            "primary key": inspector.get_pk_constraint(name),
            "foreign keys": sorted(map(str, inspector.get_foreign_keys(name))),
            "unique": sorted(map(str, inspector.get_unique_constraints(name))),
            "indexes": sorted(map(str, inspector.get_indexes(name))),
            "checks": sorted(map(str, inspector.get_check_constraints(name))),
        }
    return found


def test_migrations_make_exactly_what_the_models_would(engine: sa.Engine, fresh_database: Fresh) -> None:
    """The names of constraints too, which alembic's own comparison leaves out."""
    made = open_engine(read_url(fresh_database()))
    tables.metadata.create_all(made)
    by_models = shape(made)
    made.dispose()
    migrate.upgrade(engine)
    assert shape(engine) == by_models


def names(inspector: sa.Inspector, table: str) -> Iterator[tuple[str | None, str]]:
    """The name of each constraint and index of a table, beside what the convention makes of it."""
    yield inspector.get_pk_constraint(table)["name"], f"pk_{table}"
    for unique in inspector.get_unique_constraints(table):
        yield unique["name"], f"uq_{table}_{'_'.join(unique['column_names'])}"
    for key in inspector.get_foreign_keys(table):
        yield key["name"], f"fk_{table}_{key['constrained_columns'][0]}_{key['referred_table']}"
    for index in inspector.get_indexes(table):
        if not index["unique"]:  # PostgreSQL lists what carries a unique constraint here too
            yield index["name"], f"ix_{table}_{'_'.join(map(str, index['column_names']))}"


def test_constraints_are_named_by_the_convention(engine: sa.Engine) -> None:
    migrate.upgrade(engine)
    with engine.connect() as connection:
        inspector = sa.inspect(connection)
        tables_there = set(inspector.get_table_names()) - {"alembic_version"}
        named = [pair for table in sorted(tables_there) for pair in names(inspector, table)]
    assert [name for name, _ in named] == [expected for _, expected in named]
    # PostgreSQL cuts names after 63 bytes (its manual, "Identifiers and Key Words"; from memory).
    assert max(len(str(name)) for name, _ in named) <= 63


def on_connection(config: Config) -> Operations:
    return Operations(MigrationContext.configure(config.attributes["connection"]))


def test_a_table_that_is_rebuilt_keeps_its_children(sqlite_engine: sa.Engine) -> None:
    """SQLite rebuilds a table to change it; with foreign keys on, dropping the old one would hurt others."""
    migrate.upgrade(sqlite_engine)
    with sqlite_engine.begin() as connection:
        there = rows.tables(connection)
        before = rows.fill(connection, there)

    def step(config: Config) -> None:
        with on_connection(config).batch_alter_table("clinic", recreate="always") as batch:
            batch.alter_column("country", type_=sa.String(3))

    migrate._run(sqlite_engine, step)
    with sqlite_engine.begin() as connection:
        assert rows.lost(before, rows.read(connection, there)) == []
        assert connection.exec_driver_sql("PRAGMA foreign_keys").scalar() == 1
    assert ("country", "VARCHAR(3)", False, None) in shape(sqlite_engine)["clinic"]["columns"]


def test_a_step_that_orphans_rows_is_undone(sqlite_engine: sa.Engine) -> None:
    """Foreign keys are off during a step, checked after it, and on again whatever came of it."""
    migrate.upgrade(sqlite_engine)
    with sqlite_engine.begin() as connection:
        there = rows.tables(connection)
        before = rows.fill(connection, there)

    def step(config: Config) -> None:
        on_connection(config).execute(sa.delete(tables.clinic))

    with pytest.raises(RefusedError) as refused:
        migrate._run(sqlite_engine, step)
    assert str(refused.value) == "the migration would leave rows without their parents; nothing was changed"
    with sqlite_engine.begin() as connection:
        assert rows.read(connection, there) == before
        assert connection.exec_driver_sql("PRAGMA foreign_keys").scalar() == 1


def test_a_step_that_fails_half_way_leaves_nothing(engine: sa.Engine) -> None:
    def step(config: Config) -> None:
        on_connection(config).create_table("half", sa.Column("id", sa.Integer, primary_key=True))
        raise RuntimeError("half way")

    with pytest.raises(RuntimeError):
        migrate._run(engine, step)
    assert sa.inspect(engine).get_table_names() == []


def test_two_that_migrate_at_once_do_not_collide(database_url: str) -> None:
    """One of them makes the tables, the other finds them made."""
    engines = [open_engine(read_url(database_url)) for _ in range(2)]
    start = threading.Barrier(len(engines), timeout=20)
    failed: list[BaseException] = []

    def run(engine: sa.Engine) -> None:
        try:
            start.wait()
            migrate.upgrade(engine)
        except BaseException as error:  # noqa: BLE001 - whatever it is, the test shows it
            failed.append(error)

    threads = [threading.Thread(target=run, args=(engine,)) for engine in engines]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join(30)
    assert failed == []
    assert [migrate.current(engine) for engine in engines] == [migrate.head()] * 2
    for engine in engines:
        engine.dispose()


def stamp(engine: sa.Engine, revision: str) -> None:
    with engine.begin() as connection:
        connection.execute(sa.update(VERSION).values(version_num=revision))


def refusal(engine: sa.Engine) -> str:
    with pytest.raises(RefusedError) as refused:
        migrate.demand_head(engine)
    return str(refused.value)


NEWER = (
    "DATABASE_URL: the database is at revision 9999, newer than this program knows; install the newer program"
)


def test_an_empty_database_is_refused_with_the_command_that_mends_it(engine: sa.Engine) -> None:
    assert refusal(engine) == (
        f"DATABASE_URL: the database is at revision none, expected {migrate.head()}; "
        "run `programme-bot migrate`"
    )


def test_a_database_of_a_newer_program_is_refused(engine: sa.Engine) -> None:
    migrate.upgrade(engine)
    stamp(engine, "9999")
    assert refusal(engine) == NEWER
    with pytest.raises(RefusedError) as refused:
        migrate.upgrade(engine)
    assert str(refused.value) == NEWER


def test_an_older_revision_names_the_command_that_mends_it() -> None:
    """Told apart from a newer one by being known."""
    known = {"0001", "0002", "0003"}
    assert migrate.fault("0003", "0003", known) is None
    assert migrate.fault("0001", "0003", known) == (
        "DATABASE_URL: the database is at revision 0001, expected 0003; run `programme-bot migrate`"
    )
    assert "newer than this program knows" in str(migrate.fault("0004", "0003", known))


def test_the_verb_says_where_the_database_was_and_is(
    database_url: str, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.setenv("DATABASE_URL", database_url)
    monkeypatch.setenv("DATA_KEYS", vault.new_master_key())
    monkeypatch.delenv("DATA_KEYS_FILE", raising=False)
    for was in ("empty", migrate.head()):
        assert verb.run(argparse.Namespace()) == 0
        assert capsys.readouterr() == (f"database at revision {migrate.head()} (was {was})\n", "")
