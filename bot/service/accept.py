"""The inbox's front door: stored and committed before the platform is told that we have it."""

import time
from collections.abc import Callable, Sequence

from bot.logs import get
from bot.service.office import Office
from bot.store import inbox
from bot.store.inbox import Received
from bot.store.spool import Spool

__all__ = ["Received", "Reception", "accept"]

SPOOL_AFTER_S = 60.0  # of failure; the platform lets go of a press after 150 s
log = get()


def accept(office: Office, batch: Sequence[Received]) -> None:
    """Store a batch of updates; returning means that they are on disk."""
    with office.begin() as tx:
        inbox.accept(tx, office.bot, batch, office.clock.now())


class Reception:
    """Accepts updates, also while the database is gone for longer: then into a spool, replayed later.

    seconds: a clock that only goes on, by which the outage is measured.
    """

    def __init__(self, spool: Spool | None = None, seconds: Callable[[], float] = time.monotonic) -> None:
        self._spool = spool
        self._seconds = seconds
        self._failing_since_s: float | None = None

    def accept(self, office: Office, batch: Sequence[Received]) -> None:
        """Store a batch; returning means that it is on disk. Raises whatever kept it from that."""
        try:
            accept(office, batch)
        except Exception:
            if self._failing_since_s is None:
                self._failing_since_s = self._seconds()
            if self._spool is None or self._seconds() - self._failing_since_s < SPOOL_AFTER_S:
                raise
            self._spool.append(batch, office.clock.now())
            log.warning("updates_spooled", count=len(batch))
        else:
            self._failing_since_s = None

    def replay(self, office: Office) -> int:
        """Store what waits in the spool, dated as it came; tells how many. Done twice it changes nothing."""
        count = 0
        if self._spool is None:
            return count
        for path, entries in self._spool.waiting():
            with office.begin() as tx:
                for received, at in entries:
                    inbox.accept(tx, office.bot, (received,), at)
            self._spool.done(path)
            count += len(entries)
        if count:
            log.info("spool_replayed", count=count)
        return count
