"""One message on its way: handed to the platform, and what became of it written down whatever happens."""

import asyncio
import contextlib
import uuid
from collections.abc import Awaitable, Callable

from bot.domain.delivery import NotSent, Result, Unknown
from bot.errors import DeadTokenError
from bot.logs import get, place
from bot.service.deliver import Ended, Outgoing
from bot.service.pauses import pause_after

MOST_TRIES = 200  # to write down what became of a message, some ten minutes
FIRST_PAUSE_S = 0.1
LONGEST_PAUSE_S = 3.0
log = get()

Send = Callable[[Outgoing], Awaitable[Result]]
WriteDown = Callable[[Ended], Awaitable[None]]


class Sending:
    """Sends messages. in_hand: those whose fate is not written down yet, so that their leases are kept."""

    def __init__(self, send: Send, write_down: WriteDown, stopping: asyncio.Event) -> None:
        self.in_hand: set[uuid.UUID] = set()
        self.dead_token: DeadTokenError | None = None
        self._send = send
        self._write_down = write_down
        self._stopping = stopping

    async def result(self, out: Outgoing) -> Ended:
        """Send one message; never raises. A token that the platform refuses stops the service."""
        self.in_hand.add(out.id)
        result: Result
        try:
            result = await self._send(out)
        except DeadTokenError as error:
            self.dead_token = error
            self._stopping.set()
            result = NotSent("dead token")
        except Exception as error:  # noqa: BLE001 - a fault of ours; it may have left before that
            log.error("send_failed", message=str(out.id), error=type(error).__name__, where=place(error))  # noqa: TRY400 - no texts in logs
            result = Unknown(type(error).__name__)
        except BaseException:
            self.in_hand.discard(out.id)
            raise
        return Ended(out, result)

    async def settle(self, ended: Ended) -> None:
        """Write down what became of a message, again and again while the database is gone; never raises.

        Given up when the service stops: its lease ends, then the sweep decides.
        """
        for failures in range(1, MOST_TRIES + 1):
            try:
                await self._write_down(ended)
            except Exception as error:  # noqa: BLE001 - whatever it is, it may pass
                log.error(  # noqa: TRY400 - no texts in logs
                    "not_settled",
                    message=str(ended.sent.id),
                    error=type(error).__name__,
                    where=place(error),
                    tries=failures,
                )
                if await self._stops_within(pause_after(failures, FIRST_PAUSE_S, LONGEST_PAUSE_S)):
                    break
            else:
                break
        self.in_hand.discard(ended.sent.id)

    async def _stops_within(self, seconds: float) -> bool:
        with contextlib.suppress(TimeoutError):
            await asyncio.wait_for(self._stopping.wait(), seconds)
        return self._stopping.is_set()
