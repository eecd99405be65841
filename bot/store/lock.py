"""One `serve` on one SQLite file: a lock of the system, which ends with the process however it ends."""

import fcntl
from pathlib import Path
from typing import IO

from sqlalchemy.engine import URL

from bot.errors import RefusedError


def hold(url: URL) -> IO[bytes] | None:
    """Hold the file's lock until the returned handle is closed; None where the database needs no lock.

    Raises RefusedError when another process holds it.
    """
    if url.drivername != "sqlite":
        return None
    path = Path(f"{url.database}.lock")
    path.parent.mkdir(parents=True, exist_ok=True)
    handle = path.open("ab")
    try:
        fcntl.flock(handle, fcntl.LOCK_EX | fcntl.LOCK_NB)
    except OSError:
        handle.close()
        raise RefusedError(
            f"DATABASE_URL: another `programme-bot serve` runs on {url.database}; one at a time on SQLite",
        ) from None
    return handle
