"""Bringing the database to the schema this program knows. Alembic is configured here, in code."""

from collections.abc import Callable
from pathlib import Path
from typing import Any

from alembic import command
from alembic.config import Config
from alembic.migration import MigrationContext
from alembic.script import ScriptDirectory
from sqlalchemy import Connection, Engine

import bot
from bot.errors import RefusedError

ONE_RUNNER = 7046029254386353131  # the advisory lock of whoever migrates; any fixed number
Step = Callable[[Config], None]
_PACKAGE = Path(bot.__file__).parent


def folder() -> Path:
    """Where the migrations are: inside the installed package, or beside it in a checkout."""
    inside = _PACKAGE / "migrations"
    return inside if inside.is_dir() else _PACKAGE.parent / "migrations"


def _config(connection: Connection) -> Config:
    config = Config()
    config.set_main_option("script_location", str(folder()).replace("%", "%%"))
    config.set_main_option("path_separator", "os")
    config.attributes["connection"] = connection
    return config


def scripts() -> ScriptDirectory:
    """The revisions this program brings."""
    return ScriptDirectory(str(folder()))


def head() -> str:
    """The newest revision this program brings."""
    newest = scripts().get_current_head()
    if newest is None:
        raise RefusedError(f"{folder()}: no migrations found; the installation is incomplete")
    return newest


def current(engine: Engine) -> str | None:
    """The revision the database is at, None for an empty one."""
    with engine.connect() as connection:
        return MigrationContext.configure(connection).get_current_revision()


def upgrade(engine: Engine, revision: str = "head") -> None:
    """Run the migrations up to a revision; raises RefusedError for a database of a newer program.

    On SQLite foreign keys are off meanwhile (a table that is rebuilt would take its children's rows with it)
    and checked afterwards; the pragma has no effect inside a transaction, so it is set before.
    """
    at = current(engine)
    if at is not None and at not in _known():
        raise RefusedError(_newer(at))
    _run(engine, lambda config: command.upgrade(config, revision))


def downgrade(engine: Engine, revision: str) -> None:
    """Run the migrations down to a revision (`base` for an empty database)."""
    _run(engine, lambda config: command.downgrade(config, revision))


def _run(engine: Engine, step: Step) -> None:
    with engine.connect() as connection:
        on_sqlite = connection.dialect.name == "sqlite"
        if on_sqlite:
            _foreign_keys(connection, "OFF")
        try:
            with connection.begin():
                if not on_sqlite:
                    connection.exec_driver_sql(f"SELECT pg_advisory_xact_lock({ONE_RUNNER})")
                    connection.exec_driver_sql("SET LOCAL lock_timeout = '10s'")
                step(_config(connection))
                if on_sqlite and connection.exec_driver_sql("PRAGMA foreign_key_check").first() is not None:
                    raise RefusedError(
                        "the migration would leave rows without their parents; nothing was changed"
                    )
        finally:
            if on_sqlite:
                _foreign_keys(connection, "ON")


def _foreign_keys(connection: Connection, setting: str) -> None:
    driver: Any = connection.connection.driver_connection
    driver.execute(f"PRAGMA foreign_keys={setting}")


def _known() -> set[str]:
    return {script.revision for script in scripts().walk_revisions()}


def _newer(at: str) -> str:
    return (
        f"DATABASE_URL: the database is at revision {at}, newer than this program knows; "
        "install the newer program"
    )


def fault(at: str | None, newest: str, known: set[str]) -> str | None:
    """What is wrong with a database at a revision, in a line that names what mends it; None for nothing."""
    if at == newest:
        return None
    if at is not None and at not in known:
        return _newer(at)
    return (
        f"DATABASE_URL: the database is at revision {at or 'none'}, expected {newest}; "
        "run `programme-bot migrate`"
    )


def demand_head(engine: Engine) -> None:
    """Raise RefusedError unless the database is at the newest revision; names the command that mends it."""
    wrong = fault(current(engine), head(), _known())
    if wrong is not None:
        raise RefusedError(wrong)
