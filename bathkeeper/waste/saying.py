"""Numbers and people's words of waste as they may stand in a line of text."""

from __future__ import annotations

from collections.abc import Iterable

from bathkeeper.findings import Estimate
from bathkeeper.units.numerals import figures
from bathkeeper.waste.stream import Origin


def plain(text: str, most: int = 400) -> str:
    """A person's text on one line: no control or direction signs, not endless."""
    line = " ".join("".join(c if c.isprintable() else " " for c in text).split())
    return line if len(line) <= most else line[: most - 1] + "…"


def ranged(amount: Estimate, unit: str = "") -> str:
    """``9.5 g/L (9.2-9.8)``; the range is left out where there is none."""
    unit = unit or amount.unit
    spread = max(amount.high - amount.value, amount.value - amount.low)
    said = f"{figures(amount.value, spread)}{' ' + unit if unit else ''}"
    if spread <= 1e-9 * max(abs(amount.value), 1e-9):
        return said
    return f"{said} ({figures(amount.low, spread)} to {figures(amount.high, spread)})"


def origins_said(origins: Iterable[Origin], most: int = 12) -> str:
    """Where it came from in one line: kind, tank or process, how much, when."""
    listed = list(origins)
    told = []
    for origin in listed[-most:]:
        amount = ""
        if origin.litres > 0:
            amount = f" {figures(origin.litres)} L"
        elif origin.mass_kg > 0:
            amount = f" {figures(origin.mass_kg)} kg"
        source = " of ".join(plain(w, 60) for w in (origin.role, origin.tank) if w)
        told.append(f"{origin.what}{amount}{', ' + source if source else ''}, {origin.at:%Y-%m-%d}")
    more = len(listed) - len(told)
    return "; ".join([*([f"{more} earlier"] if more > 0 else []), *told])


def quantity_said(volume_l: Estimate | None, mass_kg: Estimate | None) -> str:
    """``20 L (19.6 to 20.4), 21 kg``; nothing where neither is known."""
    return ", ".join(ranged(a, u) for a, u in ((volume_l, "L"), (mass_kg, "kg")) if a is not None)
