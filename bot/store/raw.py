"""Columns as the driver gives them, and what is made of them.

For queries over many thousand rows, where making ids, days and instants of every row takes longer than
reading it. PostgreSQL's driver makes them itself; SQLite's gives text.
"""

import datetime as dt
import uuid
from functools import lru_cache
from string import digits
from typing import Any

from sqlalchemy import ColumnElement, type_coerce
from sqlalchemy.types import NullType

from bot.domain.symptoms import Answer

ISO_DAY = len("2026-03-09")


def column(of: ColumnElement[Any]) -> ColumnElement[Any]:
    """A column as the driver gives it."""
    return type_coerce(of, NullType())


def id_of(raw: Any) -> uuid.UUID:  # noqa: ANN401 - text or an id, by driver
    """The id."""
    return raw if isinstance(raw, uuid.UUID) else uuid.UUID(raw)


staff_id_of = lru_cache(maxsize=4096)(id_of)
"""The same, for the few who have many clients."""

_iso_day = lru_cache(maxsize=4096)(dt.date.fromisoformat)


def day_of(raw: Any) -> dt.date:  # noqa: ANN401 - text or a day, by driver
    """The day."""
    return _iso_day(raw) if isinstance(raw, str) else raw


def instant_of(raw: Any) -> dt.datetime:  # noqa: ANN401 - text or an instant, by driver
    """The instant, aware; sessions of PostgreSQL are in UTC, and SQLite holds nothing else."""
    return dt.datetime.fromisoformat(f"{raw}Z") if isinstance(raw, str) else raw


@lru_cache(maxsize=16384)
def answer_of(told: str) -> Answer:
    """An answer from its day, question and value in one word; the same few come over and over."""
    question = told[ISO_DAY:].rstrip(digits)
    return Answer(question, _iso_day(told[:ISO_DAY]), int(told[ISO_DAY + len(question) :]))
