"""Ids made by the program before a row is put in: UUID version 7 (RFC 9562), in order of time."""

import datetime as dt
import os
import threading
import uuid

_lock = threading.Lock()
_last = (0, 0)
SEQUENCE_BITS = 12
RANDOM_BITS = 62


def new_id(now: dt.datetime) -> uuid.UUID:
    """A new id for an instant; ids made in one process in the same millisecond keep their order.

    The 12 bits after the version hold a counter within the millisecond (RFC 9562, 6.2, method 1, read); when
    it runs over, the id borrows the next millisecond.
    """
    global _last  # noqa: PLW0603 - the counter belongs to the process, as the method wants
    millisecond = int(now.timestamp() * 1000)
    with _lock:
        last_ms, count = _last
        if millisecond == last_ms:
            count += 1
            if count >> SEQUENCE_BITS:
                millisecond, count = millisecond + 1, 0
        else:
            count = 0
        _last = (millisecond, count)
    tail = int.from_bytes(os.urandom(8)) >> (64 - RANDOM_BITS)
    value = (millisecond & (1 << 48) - 1) << 80 | 0x7 << 76 | count << 64 | 0b10 << RANDOM_BITS | tail
    return uuid.UUID(int=value)
