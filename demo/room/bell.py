"""Waking those who wait, without losing a ring between two waits of a loop."""

import asyncio


class Bell:
    """Many may wait, one ring wakes them all; each looks again at what it was waiting for."""

    def __init__(self) -> None:
        self._event = asyncio.Event()

    def ring(self) -> None:
        """Wake everybody who waits now."""
        rung, self._event = self._event, asyncio.Event()
        rung.set()

    async def wait(self, timeout_s: float | None) -> bool:
        """True if the bell rang, False if `timeout_s` real seconds went by first (None waits for ever)."""
        if timeout_s is not None and timeout_s <= 0:
            return False
        try:
            await asyncio.wait_for(self._event.wait(), timeout_s)
        except TimeoutError:
            return False
        return True
