"""A printed number as a test value: right to its last digit, so that one wrong digit fails."""

from __future__ import annotations

from decimal import Decimal
from typing import Any

import pytest


def printed(digits: str, slack: float = 0.5) -> Any:
    """The number as printed, allowed to be off by ``slack`` units of its last digit (half a unit is honest rounding).

    More slack is given only where a table cut digits off, rounded from rounded values or used older atomic masses.
    """
    last = 10.0 ** int(Decimal(digits).as_tuple().exponent)
    return pytest.approx(float(digits), rel=0, abs=slack * last * (1 + 1e-6))
