"""A clock that several processes share: the machine's time and an offset, which stands in a small file."""

import datetime as dt
import mmap
import struct
from pathlib import Path

_OFFSET = struct.Struct("d")


class SharedClock:
    """Shows the machine's time moved by the offset in a file; whoever moves it moves it for all."""

    def __init__(self, path: Path) -> None:
        if not path.exists():
            path.write_bytes(_OFFSET.pack(0.0))
        with path.open("r+b") as file:
            self._shared = mmap.mmap(file.fileno(), _OFFSET.size)

    def now(self) -> dt.datetime:
        """The instant, aware and in UTC."""
        (offset_s,) = _OFFSET.unpack_from(self._shared)
        return _real_now() + dt.timedelta(seconds=offset_s)

    def set(self, at: dt.datetime) -> None:
        """Show this instant now, and go on from there."""
        _OFFSET.pack_into(self._shared, 0, (at - _real_now()).total_seconds())


def _real_now() -> dt.datetime:
    return dt.datetime.now(dt.UTC)  # noqa: TID251 - the one place of this suite that may ask
