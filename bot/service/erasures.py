"""The list of erasures, kept outside the database and its backups, so that a restore can erase again.

A text file: the first line holds a random salt, every other one an erased client's salted id and the instant.
Nobody can be found from it without the database, where she is gone.
"""

import datetime as dt
import fcntl
import hashlib
import os
import re
import uuid
from pathlib import Path

from bot.errors import RefusedError

SALT_BYTES = 16
_HEAD = re.compile(r"salt ([0-9a-f]{32})")
_LINE = re.compile(r"([0-9a-f]{64}) (\S+)")
_EXPECTED = "expected the list that `serve` keeps; a restore must not bring erased clients back"


def prepare(path: Path) -> tuple[bytes, dict[str, dt.datetime]]:
    """What is listed; the list is made, with its salt, where there is none.

    Raises RefusedError when it cannot be written, or is there and is no such list.
    """
    try:
        path.parent.mkdir(parents=True, exist_ok=True, mode=0o700)
        with open(path, "a+", encoding="ascii", opener=_private) as file:
            fcntl.flock(file, fcntl.LOCK_EX)
            if file.tell() == 0:
                _write(file.fileno(), f"salt {os.urandom(SALT_BYTES).hex()}\n")
    except OSError as error:
        raise RefusedError(f"ERASURES_FILE: {path} cannot be written ({error.strerror})") from None
    return read(path)


def append(path: Path, client_id: uuid.UUID, now: dt.datetime) -> None:
    """Add an erasure; it is on the disk when this returns. Raises RefusedError when that cannot be had."""
    salt, known = prepare(path)
    if salted(salt, client_id) in known:
        return
    try:
        with path.open("a", encoding="ascii") as file:
            fcntl.flock(file, fcntl.LOCK_EX)
            _write(file.fileno(), f"{salted(salt, client_id)} {now.astimezone(dt.UTC).isoformat()}\n")
    except OSError as error:
        raise RefusedError(f"ERASURES_FILE: {path} cannot be written ({error.strerror})") from None


def read(path: Path) -> tuple[bytes, dict[str, dt.datetime]]:
    """The salt, and when each salted id was erased.

    Raises RefusedError for a file that is missing or is no such list, naming the line.
    """
    try:
        head, *rest = path.read_text(encoding="ascii").splitlines() or [""]
    except OSError as error:
        raise RefusedError(f"ERASURES_FILE: {path} cannot be read ({error.strerror}); {_EXPECTED}") from None
    except ValueError:
        raise RefusedError(f"ERASURES_FILE: {path} is not a text file; {_EXPECTED}") from None
    salt = _HEAD.fullmatch(head)
    if salt is None:
        raise RefusedError(f"ERASURES_FILE: {path}: line 1: no salt; {_EXPECTED}")
    known: dict[str, dt.datetime] = {}
    for number, line in enumerate(rest, start=2):
        found = _LINE.fullmatch(line)
        try:
            if found is None:
                raise ValueError(line)  # noqa: TRY301 - the two ways to be no such line end alike
            known[found[1]] = dt.datetime.fromisoformat(found[2])
        except ValueError:
            raise RefusedError(f"ERASURES_FILE: {path}: line {number}: not an erasure; {_EXPECTED}") from None
    return bytes.fromhex(salt[1]), known


def salted(salt: bytes, client_id: uuid.UUID) -> str:
    """What stands for a client in the list. Her id has 74 random bits, so a plain hash cannot be guessed."""
    return hashlib.sha256(salt + client_id.bytes).hexdigest()


def _write(handle: int, line: str) -> None:
    os.write(handle, line.encode("ascii"))
    os.fsync(handle)


def _private(path: str, flags: int) -> int:
    return os.open(path, flags, 0o600)
