"""A start-up file: the service as in production with a clock that all workers share; says when it is up."""

import asyncio
import os
import sys
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parents[2]))

from bot import logs, serve, settings
from bot.jobs.running import Running
from tests.killtest.shared_clock import SharedClock


async def _say_ready(running: Running) -> None:
    print("ready", flush=True)
    await running.stopping.wait()


def main() -> int:
    """Run until told to stop, or killed."""
    known = settings.read(settings.ServeSettings)
    logs.set_up(os.environ.get("LOG_LEVEL", "info"))
    clock = SharedClock(Path(sys.argv[1]))
    asyncio.run(serve.serve(known, serve.Wiring(clock, _say_ready)))
    return 0


if __name__ == "__main__":
    sys.exit(main())
