"""The room's clock: it stands still, or runs at real speed, and can be moved either way."""

import datetime as dt
import time
from collections.abc import Callable

from demo.room.bell import Bell


def real_now() -> dt.datetime:
    """The machine's time, asked once to start a running clock."""
    return dt.datetime.now(dt.UTC)  # noqa: TID251 - the one place in the room that may ask


class RoomClock:
    """Message dates, expiry and limits are read from here, never from the machine.

    start_at: the first instant, aware. frozen: stands still until moved. bell: rung at each move.
    monotonic: seconds of real time, handed in so that a test can turn them itself.
    """

    def __init__(
        self,
        start_at: dt.datetime,
        bell: Bell,
        *,
        frozen: bool,
        monotonic: Callable[[], float] = time.monotonic,
    ) -> None:
        self.frozen = frozen
        self._bell = bell
        self._monotonic = monotonic
        self._base_at = start_at.astimezone(dt.UTC)
        self._anchor_s = monotonic()

    def now(self) -> dt.datetime:
        """The room's instant, aware and in UTC."""
        if self.frozen:
            return self._base_at
        return self._base_at + dt.timedelta(seconds=self._monotonic() - self._anchor_s)

    def move_to(self, at: dt.datetime) -> None:
        """Set the clock, forward or back, and wake whoever sleeps by it."""
        self._base_at = at.astimezone(dt.UTC)
        self._anchor_s = self._monotonic()
        self._bell.ring()

    def real_wait_s(self, at: dt.datetime) -> float | None:
        """Real seconds until `at`, at least 0; None if a frozen clock has to be moved to get there."""
        left_s = (at - self.now()).total_seconds()
        if left_s <= 0:
            return 0.0
        return None if self.frozen else left_s
