"""What the keeper put off, and until when."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import datetime

from bathkeeper.entries import AnyEntry, Snooze, Unknown


def put_off(entries: Iterable[AnyEntry | Unknown], now: datetime) -> dict[str, Snooze]:
    """Finding id -> the snooze in force at a moment: the latest word on each finding counts, while its time is not over."""
    latest: dict[str, Snooze] = {}
    for entry in entries:
        if isinstance(entry, Snooze) and entry.at <= now:
            before = latest.get(entry.finding)
            if before is None or before.order < entry.order:
                latest[entry.finding] = entry
    return {name: entry for name, entry in latest.items() if entry.until > now}
