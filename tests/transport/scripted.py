"""A server that answers each request by the script of a test, byte for byte."""

import asyncio
import contextlib
import json
from collections.abc import AsyncIterator, Sequence
from contextlib import asynccontextmanager
from dataclasses import dataclass, field

HOLD = None  # keeps the connection open and never answers


@dataclass
class Scripted:
    """`asked` holds the first line of each request; `answers` are used up in order, the last one for good."""

    url: str
    answers: list[bytes | None]
    asked: list[str] = field(default_factory=list)

    def next_answer(self) -> bytes | None:
        """The answer to the present request."""
        return self.answers.pop(0) if len(self.answers) > 1 else self.answers[0]


def page(status: int, body: str, kind: str = "text/html") -> bytes:
    """A whole answer."""
    data = body.encode()
    head = f"HTTP/1.1 {status} Scripted\r\nContent-Type: {kind}\r\nContent-Length: {len(data)}\r\n\r\n"
    return head.encode() + data


def ok(result: object) -> bytes:
    """What a method answers when all is well; half characters stay escaped."""
    return page(200, json.dumps({"ok": True, "result": result}), "application/json")


def refusal(status: int, description: str) -> bytes:
    """A refusal in the platform's own shape."""
    told = {"ok": False, "error_code": status, "description": description}
    return page(status, json.dumps(told), "application/json")


@asynccontextmanager
async def answering(answers: Sequence[bytes | None]) -> AsyncIterator[Scripted]:
    """The server, on this machine, until the block ends."""
    open_now: dict[asyncio.StreamWriter, asyncio.Task[None] | None] = {}

    async def serve(reader: asyncio.StreamReader, writer: asyncio.StreamWriter) -> None:
        open_now[writer] = asyncio.current_task()
        with contextlib.suppress(ConnectionError, asyncio.IncompleteReadError):
            while True:
                head = (await reader.readuntil(b"\r\n\r\n")).decode()
                length = next(
                    (
                        int(line[15:])
                        for line in head.lower().split("\r\n")
                        if line.startswith("content-length:")
                    ),
                    0,
                )
                await reader.readexactly(length)
                script.asked.append(head.split("\r\n")[0])
                answer = script.next_answer()
                if answer is HOLD:
                    await reader.read()
                    break
                writer.write(answer)
                await writer.drain()
        writer.close()

    server = await asyncio.start_server(serve, "127.0.0.1", 0)
    script = Scripted(f"http://127.0.0.1:{server.sockets[0].getsockname()[1]}", list(answers))
    try:
        yield script
    finally:
        server.close()
        for writer in open_now:
            writer.close()
        await asyncio.gather(*(task for task in open_now.values() if task is not None))
