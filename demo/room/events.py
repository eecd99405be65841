"""Live news for the page, as Server-Sent Events."""

import asyncio
import json
from collections.abc import AsyncIterator

from demo.room.shapes import Json

QUEUE_LIMIT = 10_000  # a page that has stopped reading is cut off rather than kept in memory
BEAT_S = 15.0  # a comment line now and then shows both ends that the other is there


class Hub:
    """Hands every piece of news to every listener."""

    def __init__(self) -> None:
        self._listeners: set[asyncio.Queue[str | None]] = set()

    def tell(self, kind: str, news: Json) -> None:
        """Tell all listeners; nobody waits for any of them."""
        line = f"event: {kind}\ndata: {json.dumps(news, ensure_ascii=False)}\n\n"
        for queue in list(self._listeners):
            if queue.qsize() >= QUEUE_LIMIT:
                self._listeners.discard(queue)
                continue
            queue.put_nowait(line)

    def close(self) -> None:
        """End all streams, so that the server can stop."""
        for queue in self._listeners:
            queue.put_nowait(None)
        self._listeners.clear()

    async def stream(self) -> AsyncIterator[str]:
        """The news from now on."""
        queue: asyncio.Queue[str | None] = asyncio.Queue()
        self._listeners.add(queue)
        try:
            yield ": here\n\n"
            while True:
                try:
                    line = await asyncio.wait_for(queue.get(), BEAT_S)
                except TimeoutError:
                    line = ": still here\n\n"
                if line is None:
                    return
                yield line
        finally:
            self._listeners.discard(queue)
