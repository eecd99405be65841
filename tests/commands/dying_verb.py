"""A start-up file of the tests' own: one verb, killed at its Nth commit (N first, then the verb's words)."""

import os
import signal
import sys

from sqlalchemy import Connection, Engine, event

from bot import commands
from bot.store import base


def main() -> int:
    """Run the verb; the commit that is counted last does not take place."""
    left = int(sys.argv[1])
    open_engine = base.open_engine

    def open_and_count(*arguments: object, **named: object) -> Engine:
        engine = open_engine(*arguments, **named)  # type: ignore[arg-type] # handed through as they came

        def count(connection: Connection) -> None:
            nonlocal left
            del connection
            left -= 1
            if left == 0:
                os.kill(os.getpid(), signal.SIGKILL)

        event.listen(engine, "commit", count)
        return engine

    base.open_engine = open_and_count
    return commands.run(sys.argv[2:])


if __name__ == "__main__":
    sys.exit(main())
