"""Bring the database to the newest schema, making it where there is none."""

import argparse


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """No arguments."""
    del parser


def run(args: argparse.Namespace) -> int:
    """Run the migrations; harmless when there are none to run."""
    del args
    from bot import settings  # noqa: PLC0415 - see the package
    from bot.store import base, migrate  # noqa: PLC0415 - the same

    known = settings.read(settings.DatabaseSettings)
    engine = base.open_engine(base.read_url(known.database_url.get_secret_value()), checkpoints=False)
    with base.failures_named(engine):
        before = migrate.current(engine)
        migrate.upgrade(engine)
        print(f"database at revision {migrate.head()} (was {before or 'empty'})")
    engine.dispose()
    return 0
