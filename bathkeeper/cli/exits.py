"""How the program ends, in one place, so that scripts can rely on it."""

from __future__ import annotations

from enum import IntEnum


class Exit(IntEnum):
    """Exit codes."""

    DONE = 0
    REFUSED = 1
    """Refused or failed; ``check`` found problems."""
    UNCLEAR = 2
    """Wrong usage or unclear input: no such tank, ambiguous unit, unlikely value without ``--yes``."""
    OVERDUE = 3
    """``due --check`` only: something is due now."""
    DAMAGED = 4
    """The book is damaged; what verifies was still printed."""
