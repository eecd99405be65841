"""Ids made by the program before a row is put in: UUID version 7 (RFC 9562), in order of time."""

import datetime as dt
import os
import threading
import uuid

COUNTER_BITS = 12
RANDOM_BITS = 62
MILLISECONDS_KEPT = 4096
_EPOCH = dt.datetime(1970, 1, 1, tzinfo=dt.UTC)
_MILLISECOND = dt.timedelta(milliseconds=1)
_lock = threading.Lock()
_given: dict[int, int] = {}  # how many ids each of the latest milliseconds has given


def new_id(now: dt.datetime) -> uuid.UUID:
    """A new id for an aware instant; ids made in one process for the same millisecond keep their order.

    The 12 bits after the version hold a counter within the millisecond (RFC 9562, 6.2, method 1); where more
    than 4,096 are made for one, as under a clock that stands, the further ones borrow from the next. Threads
    work at instants of their own, so each of the latest milliseconds has its own counter.
    """
    millisecond = (now - _EPOCH) // _MILLISECOND  # in whole numbers: a float would now and then be one short
    with _lock:
        count = _given.pop(millisecond, 0)
        _given[millisecond] = count + 1
        if len(_given) > MILLISECONDS_KEPT:
            del _given[next(iter(_given))]
    millisecond += count >> COUNTER_BITS
    count &= (1 << COUNTER_BITS) - 1
    tail = int.from_bytes(os.urandom(8)) >> (64 - RANDOM_BITS)
    value = (millisecond & (1 << 48) - 1) << 80 | 0x7 << 76 | count << 64 | 0b10 << RANDOM_BITS | tail
    return uuid.UUID(int=value)
