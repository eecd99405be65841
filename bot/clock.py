"""The one reader of real time. Everything else is handed an instant or a clock."""

import datetime as dt
from typing import Protocol


class Clock(Protocol):
    """Where business time comes from: due times, leases, retries, expiry."""

    def now(self) -> dt.datetime:
        """The instant, aware and in UTC."""


class SystemClock:
    """The machine's own time."""

    def now(self) -> dt.datetime:
        """The instant, aware and in UTC."""
        return dt.datetime.now(dt.UTC)  # noqa: TID251 - this is the one place that may ask
