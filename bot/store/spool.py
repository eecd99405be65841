"""Where updates wait while the database is gone: a sealed file, on disk before anything is acknowledged."""

import base64
import binascii
import datetime as dt
import fcntl
import json
import os
import uuid
from collections.abc import Iterator, Sequence
from pathlib import Path
from threading import Lock
from typing import IO

from bot.logs import get
from bot.store import vault
from bot.store.inbox import Received
from bot.store.types import SealedBytes
from bot.store.vault import MasterKey, Place, SealError

PLACE = "spool"
log = get()


class Spool:
    """One file for each worker, held by a lock of the system as long as it lives.

    Every line holds one update, sealed with a key of its own that the master key wraps. What a dead worker
    left is taken over by whoever starts next in the same folder.
    """

    def __init__(self, folder: Path, bot: str, worker: uuid.UUID, masters: Sequence[MasterKey]) -> None:
        self._folder = folder
        self._bot = bot
        self._path = folder / f"{PLACE}-{bot}-{worker.hex}"
        self._masters = tuple(masters)
        self._lock = Lock()
        self._file: IO[bytes] | None = None

    def append(self, batch: Sequence[Received], at: dt.datetime) -> None:
        """Keep updates that came at an instant; returning means that they are on disk. Raises OSError."""
        lines = b"".join(self._line(received, at) for received in batch)
        with self._lock:
            if self._file is None:
                self._file = self._open()
            self._file.seek(0, os.SEEK_END)
            whole = self._file.tell()
            try:
                self._file.write(lines)
                self._file.flush()
                os.fsync(self._file.fileno())
            except OSError:
                self._file.truncate(whole)  # half a line would spoil the next one
                raise

    def waiting(self) -> Iterator[tuple[Path, list[tuple[Received, dt.datetime]]]]:
        """What is kept, file by file: our own, and those of workers that are dead. `done` lets go of one."""
        with self._lock:
            for path in sorted(self._folder.glob(f"{PLACE}-{self._bot}-*")):
                if path != self._path and _is_held(path):
                    continue
                try:
                    entries = [self._read(line) for line in path.read_bytes().splitlines()]
                except vault.WrongKeysError:
                    log.error("spool_stays_sealed")  # noqa: TRY400 - no traceback needed
                    continue
                yield path, [entry for entry in entries if entry is not None]

    def done(self, path: Path) -> None:
        """What a file held is stored now."""
        if path == self._path and self._file is not None:
            self._file.close()
            self._file = None
        path.unlink(missing_ok=True)

    def _open(self) -> IO[bytes]:
        self._folder.mkdir(parents=True, exist_ok=True)
        file = os.fdopen(os.open(self._path, os.O_RDWR | os.O_CREAT, 0o600), "r+b")
        fcntl.flock(file, fcntl.LOCK_EX | fcntl.LOCK_NB)
        above = os.open(self._folder, os.O_RDONLY)
        try:
            os.fsync(above)  # the file's name, too, has to outlive a power cut
        finally:
            os.close(above)
        return file

    def _line(self, received: Received, at: dt.datetime) -> bytes:
        entry_id, key = uuid.uuid4(), vault.new_data_key()
        told = {
            "update_id": received.update_id,
            "sender": received.sender,
            "raw": received.raw.decode("utf-8", "surrogateescape"),
            "at": at.isoformat(),
        }
        sealed = vault.seal(key, entry_id, Place(PLACE, entry_id, "raw"), json.dumps(told).encode())
        parts = (vault.wrap(self._masters, entry_id, key), sealed)
        return b".".join(base64.b64encode(part) for part in parts) + b"\n"

    def _read(self, line: bytes) -> tuple[Received, dt.datetime] | None:
        """One update; None for a line that was cut off while it was written, so never acknowledged."""
        try:
            wrapped, sealed = (base64.b64decode(part, validate=True) for part in line.split(b"."))
            entry_id = vault.owner_of(SealedBytes(sealed))
            key = vault.unwrap(self._masters, entry_id, wrapped)
            told = json.loads(vault.unseal(key, Place(PLACE, entry_id, "raw"), SealedBytes(sealed)))
        except vault.WrongKeysError:
            raise  # it is whole, and the right DATA_KEYS open it: nothing may be let go
        except (ValueError, binascii.Error, SealError):
            log.warning("spool_line_unreadable")
            return None
        raw = str(told["raw"]).encode("utf-8", "surrogateescape")
        return Received(told["update_id"], told["sender"], raw), dt.datetime.fromisoformat(told["at"])


def _is_held(path: Path) -> bool:
    try:
        with path.open("rb") as file:
            fcntl.flock(file, fcntl.LOCK_EX | fcntl.LOCK_NB)
    except OSError:  # held, or let go of by another worker just now
        return True
    return False
