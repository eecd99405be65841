"""What came to no good end, for whoever runs the clinic's bot: shown without a word of what it says."""

import uuid
from collections.abc import Sequence

from bot.clock import Clock
from bot.domain.delivery import Kind
from bot.errors import RefusedError
from bot.store import dead_letters
from bot.store.base import Begin
from bot.store.dead_letters import DeadLetter

__all__ = ["DeadLetter", "listed", "send_again"]

SHOWN = (Kind.ADVICE, Kind.ALERT, Kind.REPLY, Kind.NUDGE, Kind.DIGEST)
ONCE_AT_MOST = (Kind.NUDGE, Kind.TOUCH)  # one of unknown fate may have arrived, and its hour is over


def listed(begin: Begin, limit: int) -> list[DeadLetter]:
    """The newest dead letters and updates that were set aside, up to `limit` of each."""
    with begin() as tx:
        return [*dead_letters.listed(tx, SHOWN, limit), *dead_letters.set_aside(tx, limit)]


def send_again(begin: Begin, clock: Clock, ids: Sequence[uuid.UUID]) -> None:
    """Queue these once more, or none of them. Raises RefusedError with a line for each that cannot be."""
    faults = []
    with begin() as tx:
        for letter_id in ids:
            kind = dead_letters.kind_of(tx, letter_id)
            if kind in ONCE_AT_MOST:
                faults.append(f"{letter_id}: a {kind} is sent once at most; its time is over")
            elif kind is None and not dead_letters.retry_update(tx, letter_id):
                faults.append(f"{letter_id}: no dead letter has this id; see `programme-bot dead-letters`")
            elif kind is not None and not dead_letters.send_again(tx, letter_id, kind, clock.now()):
                faults.append(f"{letter_id}: it was sent, or waits to be; expected a dead letter")
        if faults:
            raise RefusedError(*faults)
