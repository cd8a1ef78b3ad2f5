"""Numbers and people's words of waste as they may stand in a line of text."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from datetime import datetime

from bathkeeper.findings import Estimate
from bathkeeper.showing import in_preferred, shown
from bathkeeper.units.numerals import Preferences, figures
from bathkeeper.waste.stream import Origin

FIXED = Preferences()


def plain(text: str, most: int = 400) -> str:
    """A person's text on one line: no control or direction signs, not endless."""
    line = " ".join("".join(c if c.isprintable() else " " for c in text).split())
    return line if len(line) <= most else line[: most - 1] + "…"


def sentences(*parts: str, most: int = 2000) -> str:
    """Parts as sentences on one line: each begins with a capital (``pH`` keeps its own) and ends with a full stop; empty ones
    are left out."""
    told = []
    for part in parts:
        text = plain(part, most)
        if text:
            begun = text if text.startswith("pH") else text[:1].upper() + text[1:]
            told.append(begun if begun.endswith((".", "!", "?", ":")) else f"{begun}.")
    return " ".join(told)


def ranged(amount: Estimate, unit: str = "") -> str:
    """``9.5 g/L (9.2 to 9.8)``; the range is left out where there is none."""
    unit = unit or amount.unit
    spread = max(amount.high - amount.value, amount.value - amount.low)
    said = f"{figures(amount.value, spread)}{' ' + unit if unit else ''}"
    if spread <= 1e-9 * max(abs(amount.value), 1e-9):
        return said
    return f"{said} ({figures(amount.low, spread)} to {figures(amount.high, spread)})"


def ph_said(ph: Estimate) -> str:
    """``pH 1 (0.5 to 1.5)``."""
    return f"pH {ranged(Estimate(ph.value, ph.low, ph.high))}"


def origins_said(origins: Iterable[Origin], prefs: Preferences = FIXED, most: int = 12) -> str:
    """Where it came from in one line: what, how much in the keeper's units, tank and what it is for, by way of which
    containers, when, and what was noted of it; what came of one tank the same way stands together."""
    grouped: dict[tuple[str, str, str, str], list[Origin]] = {}
    for origin in origins:
        what = f"{plain(origin.name, 60)} ({origin.what})" if origin.name else origin.what
        grouped.setdefault((what, origin.tank, origin.role, way_said(origin)), []).append(origin)
    told = [_from_one(*key, group, prefs) for key, group in grouped.items()]
    more = len(told) - most
    return "; ".join([*([f"{more} more before"] if more > 0 else []), *told[-most:]])


def way_said(origin: Origin) -> str:
    """``by way of can-2``; nothing for what came straight."""
    return f"by way of {', '.join(plain(n, 60) for n in origin.by)}" if origin.by else ""


def notes_said(origins: Iterable[Origin]) -> str:
    """What was noted of what went in, each once."""
    return "; ".join(dict.fromkeys(plain(o.note) for o in origins if o.note.strip()))


def _from_one(what: str, tank: str, role: str, way: str, group: Sequence[Origin], prefs: Preferences) -> str:
    litres, kilograms = sum(o.litres for o in group), sum(o.mass_kg for o in group)
    much = shown(litres, "L", prefs) if litres > 0 else shown(kilograms, "kg", prefs) if kilograms > 0 else ""
    amount = f" {much}" if much else ""
    source = plain(tank or role, 60)
    if tank and role and not _alike(tank).startswith(_alike(role)):
        source += f" ({role})"  # a tank that is called by what it is for needs no more
    days = sorted(o.at for o in group)
    noted = notes_said(group)
    told = f"{what}{amount}{f' from {source}' if source else ''}{f' {way}' if way else ''}, {_days(days)}"
    return f"{told} (noted: {noted})" if noted else told


def _days(days: Sequence[datetime]) -> str:
    first, last = (f"{d:%Y-%m-%d}" for d in (days[0], days[-1]))
    if len(days) == 1:
        return first
    return f"{len(days)} times, {first}{f' to {last}' if last != first else ''}"


def _alike(name: str) -> str:
    return " ".join(name.casefold().replace("-", " ").replace("_", " ").split())


def held_said(amount: Estimate, prefs: Preferences = FIXED) -> str:
    """An amount of an entry's units as :func:`ranged` says it, in the units that the keeper prefers."""
    told = [in_preferred(v, amount.unit, prefs) or (v, amount.unit) for v in (amount.value, amount.low, amount.high)]
    return ranged(Estimate(told[0][0], told[1][0], told[2][0], told[0][1]))


def quantity_said(volume_l: Estimate | None, mass_kg: Estimate | None, prefs: Preferences = FIXED) -> str:
    """``20 L (19.6 to 20.4), 21 kg``; nothing where neither is known."""
    return ", ".join(held_said(a, prefs) for a in (volume_l, mass_kg) if a is not None)
