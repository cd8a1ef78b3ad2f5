"""Names for new entries: UUIDs that rise with the time of logging."""

from __future__ import annotations

import os
import threading
import time
import uuid

_last_id = 0
_id_lock = threading.Lock()


def new_id() -> str:
    """A UUID version 7 (RFC 9562): 48 bits of milliseconds, then random bits, so that ids sort by the time of logging.

    Ids of one process always rise, also within a millisecond and when the clock is set back (RFC 9562, 6.2, method 2).
    """
    global _last_id
    with _id_lock:
        stamp = time.time_ns() // 1_000_000 & 0xFFFF_FFFF_FFFF
        fresh = stamp << 74 | int.from_bytes(os.urandom(10), "big") >> 6
        _last_id = fresh if fresh > _last_id else _last_id + 1
        value = (_last_id >> 74) << 80 | 0x7 << 76 | (_last_id >> 62 & 0xFFF) << 64 | 0b10 << 62 | _last_id & (2**62 - 1)
    return str(uuid.UUID(int=value))
