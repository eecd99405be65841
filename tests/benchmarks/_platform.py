"""A stand-in for the platform that costs next to nothing: it takes messages and hands out updates.

Run as a process of its own, so that both sides of a comparison talk to the same server. `POST /arm` with a
list of updates makes them what `getUpdates` hands out next; `GET /log` tells when each message came in.
"""

import asyncio
import contextlib
import json
import re
import subprocess
import sys
import time
from collections.abc import Iterator
from pathlib import Path

CHECKOUT = Path(__file__).resolve().parents[2]
_LENGTH = re.compile(rb"content-length: *(\d+)", re.IGNORECASE)
_OFFSET = re.compile(rb"offset=(\d+)")


class Platform:
    """What it holds: updates not confirmed yet, and the messages that came in."""

    def __init__(self) -> None:
        self.updates: dict[int, object] = {}
        self.messages: list[tuple[float, str]] = []
        self.stir = asyncio.Event()

    async def serve(self, reader: asyncio.StreamReader, writer: asyncio.StreamWriter) -> None:
        """One kept-alive connection."""
        with contextlib.suppress(asyncio.IncompleteReadError, ConnectionError):
            while True:
                head = await reader.readuntil(b"\r\n\r\n")
                told = _LENGTH.search(head)
                body = await reader.readexactly(int(told.group(1))) if told else b""
                answer = await self.answer(head.split(b" ", 2)[1], body)
                writer.write(
                    b"HTTP/1.1 200 OK\r\ncontent-type: application/json\r\ncontent-length: %d\r\n\r\n%b"
                    % (len(answer), answer)
                )
        writer.close()

    async def answer(self, path: bytes, body: bytes) -> bytes:
        """The answer to one call."""
        match path.rpartition(b"/")[2].partition(b"?")[0]:
            case b"getUpdates":
                return await self._hand_out(path + body)
            case b"arm":
                self.updates |= {update["update_id"]: update for update in json.loads(body)}
                self.stir.set()
                return b"{}"
            case b"log":
                return json.dumps(self.messages).encode()
            case b"clock":
                return json.dumps(time.monotonic()).encode()
            case b"sendMessage":
                self.messages.append((time.monotonic(), body.decode()))
                return _SENT
            case b"getMe":
                return (
                    b'{"ok":true,"result":{"id":4200001,"is_bot":true,"first_name":"b","username":"b_bot"}}'
                )
            case _:
                return b'{"ok":true,"result":true}'

    async def _hand_out(self, asked: bytes) -> bytes:
        offset = _OFFSET.search(asked)
        below = int(offset.group(1)) if offset else 0
        self.updates = {number: update for number, update in self.updates.items() if number >= below}
        if not self.updates:
            self.stir.clear()
            with contextlib.suppress(TimeoutError):
                await asyncio.wait_for(self.stir.wait(), 20)
        batch = list(self.updates.values())[:100]
        return json.dumps({"ok": True, "result": batch}).encode()


_SENT = (
    b'{"ok":true,"result":{"message_id":1,"date":1772438400,"chat":{"id":7,"type":"private","first_name":"A"},'
    b'"from":{"id":4200001,"is_bot":true,"first_name":"b"},"text":"sent"}}'
)


@contextlib.contextmanager
def running() -> Iterator[str]:
    """The stand-in in its own process; its address."""
    process = subprocess.Popen(
        [sys.executable, "-m", "tests.benchmarks._platform"], cwd=CHECKOUT, stdout=subprocess.PIPE, text=True
    )
    assert process.stdout is not None
    try:
        yield f"http://127.0.0.1:{int(process.stdout.readline())}"
    finally:
        process.kill()
        process.wait()
        process.stdout.close()


async def _main() -> None:
    server = await asyncio.start_server(Platform().serve, "127.0.0.1", 0, limit=2**24)
    print(server.sockets[0].getsockname()[1], flush=True)
    await server.serve_forever()


if __name__ == "__main__":
    asyncio.run(_main())
