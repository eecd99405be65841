"""The column types: aware instants whatever the database does, and sealed bytes only."""

import datetime as dt
from collections.abc import Iterator
from urllib.parse import quote
from zoneinfo import ZoneInfo

import pytest
import sqlalchemy as sa
from sqlalchemy.exc import StatementError

from bot.store.base import open_engine, read_url
from bot.store.types import Instant, Sealed, SealedBytes

metadata = sa.MetaData()
noted = sa.Table(
    "noted",
    metadata,
    sa.Column("id", sa.Integer, primary_key=True),
    sa.Column("at", Instant),
    sa.Column("sealed", Sealed),
)
AT = dt.datetime(2026, 3, 29, 1, 30, 0, 123_456, tzinfo=dt.UTC)


@pytest.fixture
def engine(database_url: str) -> Iterator[sa.Engine]:
    engine = open_engine(read_url(database_url))
    metadata.create_all(engine)
    yield engine
    engine.dispose()


def write(engine: sa.Engine, number: int, at: dt.datetime | None, sealed: bytes | None = None) -> None:
    with engine.begin() as connection:
        connection.execute(sa.insert(noted).values(id=number, at=at, sealed=sealed))


def read(engine: sa.Engine) -> list[dt.datetime | None]:
    with engine.begin() as connection:
        return list(connection.scalars(sa.select(noted.c.at).order_by(noted.c.id)))


class NoOffset(dt.tzinfo):
    """A zone that cannot say what it means, which makes an instant naive all the same."""

    def utcoffset(self, when: dt.datetime | None) -> None:
        del when

    dst = utcoffset

    def tzname(self, when: dt.datetime | None) -> str:
        del when
        return "nowhere"


@pytest.mark.parametrize("naive", [AT.replace(tzinfo=None), AT.replace(tzinfo=NoOffset())])
def test_a_naive_instant_is_refused(engine: sa.Engine, naive: dt.datetime) -> None:
    with pytest.raises(StatementError, match="an instant without a zone was about to be stored") as refused:
        write(engine, 1, naive)
    assert isinstance(refused.value.orig, ValueError)
    assert read(engine) == []


def test_an_instant_comes_back_aware_in_utc_and_whole(engine: sa.Engine) -> None:
    write(engine, 1, AT)
    write(engine, 2, None)
    first, none = read(engine)
    assert first is not None
    assert (first, first.tzinfo, none) == (AT, dt.UTC, None)


@pytest.mark.parametrize(
    "zone", ["America/St_Johns", "Asia/Kathmandu", "Europe/Dublin", "Pacific/Kiritimati"]
)
def test_another_zone_is_converted_not_dropped(engine: sa.Engine, zone: str) -> None:
    """SQLite's driver would store the wall time and forget the zone."""
    write(engine, 1, AT.astimezone(ZoneInfo(zone)))
    (back,) = read(engine)
    assert back is not None
    assert (back, back.utcoffset()) == (AT, dt.timedelta(0))


def test_both_readings_of_an_hour_that_comes_twice_stay_apart(engine: sa.Engine) -> None:
    twice = dt.datetime(2026, 10, 25, 1, 30, tzinfo=ZoneInfo("Europe/Dublin"))
    write(engine, 1, twice)
    write(engine, 2, twice.replace(fold=1))
    first, second = read(engine)
    assert first is not None
    assert second is not None
    assert second - first == dt.timedelta(hours=1)


def test_the_database_compares_instants_as_instants(engine: sa.Engine) -> None:
    """Before, at and after, to the microsecond, whatever zone the question is written in."""
    step = dt.timedelta(microseconds=1)
    for number, at in enumerate((AT - step, AT, AT + step, AT + dt.timedelta(hours=10))):
        write(engine, number, at)
    asked = AT.astimezone(ZoneInfo("Pacific/Kiritimati"))
    with engine.begin() as connection:
        query = sa.select(noted.c.id).where(noted.c.at <= asked).order_by(noted.c.id)
        assert list(connection.scalars(query)) == [0, 1]
        assert connection.scalar(sa.select(sa.func.max(noted.c.at))) == AT + dt.timedelta(hours=10)


def test_a_postgresql_session_in_another_zone_changes_nothing(postgresql_url: str) -> None:
    """Neither a zone in the address nor one set by the session."""
    asked = quote("-c timezone=Asia/Tokyo")
    engine = open_engine(read_url(f"{postgresql_url}&options={asked}"))
    metadata.create_all(engine)
    with engine.begin() as connection:
        assert connection.exec_driver_sql("SHOW timezone").scalar() == "UTC"
        connection.exec_driver_sql("SET timezone = 'America/St_Johns'")
        connection.execute(sa.insert(noted).values(id=1, at=AT))
        back = connection.scalar(sa.select(noted.c.at))
        assert back is not None
        assert (back, back.tzinfo) == (AT, dt.UTC)
    engine.dispose()


def test_plain_bytes_are_refused_by_a_sealed_column(engine: sa.Engine) -> None:
    with pytest.raises(StatementError, match="plain bytes were about to be stored in a sealed column"):
        write(engine, 1, AT, b"a name")
    assert read(engine) == []


def test_sealed_bytes_come_back_as_such(engine: sa.Engine) -> None:
    write(engine, 1, AT, SealedBytes(b"\x01sealed"))
    with engine.begin() as connection:
        back = connection.scalar(sa.select(noted.c.sealed))
    assert back == b"\x01sealed"
    assert isinstance(back, SealedBytes)


def test_an_error_never_shows_what_was_to_be_stored(engine: sa.Engine) -> None:
    write(engine, 1, AT, SealedBytes(b"harmless"))
    with pytest.raises(sa.exc.IntegrityError) as failed:
        write(engine, 1, AT, SealedBytes(b"planted words"))
    assert "planted" not in str(failed.value)
