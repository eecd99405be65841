"""The inbox's front door: stored and committed before the platform is told that we have it."""

from collections.abc import Sequence

from bot.service.office import Office
from bot.store import inbox
from bot.store.inbox import Received

__all__ = ["Received", "accept"]


def accept(office: Office, batch: Sequence[Received]) -> None:
    """Store a batch of updates; returning means that they are on disk."""
    with office.begin() as tx:
        inbox.accept(tx, office.bot, batch, office.clock.now())
