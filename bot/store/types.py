"""Column types of our own: aware instants and sealed values."""

import datetime as dt

from sqlalchemy import DateTime, Dialect, LargeBinary
from sqlalchemy.types import TypeDecorator


class Instant(TypeDecorator[dt.datetime]):
    """An aware instant, always UTC; refuses a naive one.

    SQLite drops the zone without converting, so the value is turned into UTC before it goes in and marked as
    UTC when it comes out, whatever zone the database session uses.
    """

    impl = DateTime(timezone=True)
    cache_ok = True

    def process_bind_param(self, value: dt.datetime | None, dialect: Dialect) -> dt.datetime | None:
        """The value as the database takes it; raises ValueError for a naive instant."""
        if value is None:
            return None
        if value.utcoffset() is None:
            raise ValueError("an instant without a zone was about to be stored; expected aware UTC")
        in_utc = value.astimezone(dt.UTC)
        return in_utc.replace(tzinfo=None) if dialect.name == "sqlite" else in_utc

    def process_result_value(self, value: dt.datetime | None, dialect: Dialect) -> dt.datetime | None:
        """The value as the program sees it."""
        del dialect
        if value is None:
            return None
        return value.replace(tzinfo=dt.UTC) if value.tzinfo is None else value.astimezone(dt.UTC)


class SealedBytes(bytes):
    """Bytes that have been through the vault; the only thing a sealed column takes."""

    __slots__ = ()


class Sealed(TypeDecorator[SealedBytes]):
    """A column of encrypted bytes that refuses anything the vault has not sealed."""

    impl = LargeBinary
    cache_ok = True

    def process_bind_param(self, value: SealedBytes | None, dialect: Dialect) -> bytes | None:
        """The bytes; raises TypeError for plain ones, so that nothing readable slips in."""
        del dialect
        if value is None:
            return None
        if not isinstance(value, SealedBytes):
            raise TypeError("plain bytes were about to be stored in a sealed column")
        return bytes(value)

    def process_result_value(self, value: bytes | None, dialect: Dialect) -> SealedBytes | None:
        """The sealed bytes, to be opened by the vault."""
        del dialect
        return None if value is None else SealedBytes(value)
