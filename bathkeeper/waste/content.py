"""What a stream holds, in the words and units that candidates and limits are said in: mg/L, elements, acids and alkalis."""

from __future__ import annotations

from bathkeeper.chemistry.formulas import atoms, molar_mass
from bathkeeper.findings import Estimate
from bathkeeper.refusals import shorten
from bathkeeper.units.numerals import figures
from bathkeeper.waste.stream import Stream

SYMBOLS = {
    "zinc": "Zn", "nickel": "Ni", "chromium": "Cr", "cadmium": "Cd", "cobalt": "Co", "copper": "Cu", "iron": "Fe", "lead": "Pb",
    "silver": "Ag", "tin": "Sn",
}  # fmt: skip
"""Metals as recipes name them; a species that says so by its symbol is found too."""

LIQUID = ("bath", "rinse water", "chemicals", "oil", "eluate", "other")
TRACE_MG_L = 0.001
"""Below a microgram a litre the arithmetic of an estimate has nothing to say."""


def metal(stream: Stream, name: str) -> Estimate | None:
    """Concentration of a metal, mg/L, all species of it together; None where it is not in the contents or no volume is known.
    The range is the amount's over the middle volume, as of :meth:`Stream.concentration`."""
    amount = grams(stream, name)
    if amount is None or stream.volume_l is None or stream.volume_l.value <= 1e-9:
        return None
    per_l = 1e3 / stream.volume_l.value
    return Estimate(amount.value * per_l, amount.low * per_l, amount.high * per_l, "mg/L")


def grams(stream: Stream, name: str) -> Estimate | None:
    """Grams of a metal in the whole stream; None where it is not among the contents."""
    found = [e for key, e in stream.amounts.items() if is_metal(key, name) and e.unit == "g"]
    if not found:
        return None
    return Estimate(sum(e.value for e in found), sum(e.low for e in found), sum(e.high for e in found), "g")


def may_hold(stream: Stream, name: str) -> bool:
    """Whether some of a metal may be in it: estimated above nothing at the high end of the range."""
    amount = grams(stream, name)
    if amount is None or amount.high <= 0:
        return False
    litres = stream.volume_l.value if stream.volume_l is not None else 0.0
    return litres <= 1e-9 or amount.high * 1e3 / litres > TRACE_MG_L


def is_metal(key: str, name: str) -> bool:
    """Whether a species is that metal, by its name or symbol (``chromium(VI)`` is chromium)."""
    plain = key.casefold().strip()
    return plain == name or plain == SYMBOLS.get(name, name).casefold() or plain.startswith(f"{name}(")


def formula_of(stream: Stream, key: str) -> str:
    """Formula of a species where the catalogue knows it, else empty."""
    known = stream.species.get(key)
    return known.formula if known is not None else ""


def holds(stream: Stream, what: str) -> bool:
    """Whether it may hold a species of that name, metal or formula."""
    if may_hold(stream, what):
        return True
    there = [key for key, e in stream.amounts.items() if e.high > 0]
    return any(key.casefold() == what.casefold() or formula_of(stream, key) == what for key in there)


def oxidiser(stream: Stream) -> tuple[str, ...]:
    """Species that hold nitrate or peroxide, as they are named."""
    words = ("nitrate", "nitric", "peroxide", "chlorate", "permanganate")
    found = []
    for key, e in stream.amounts.items():
        formula = formula_of(stream, key)
        if e.high > 0 and (_has_nitrate(formula) or formula == "H2O2" or any(w in key.casefold() for w in words)):
            found.append(f"{shorten(key)} ({shorten(formula)})" if formula else shorten(key))
    return tuple(found)


def equivalents(stream: Stream, kind: str) -> Estimate | None:
    """Free acid or alkali by the estimate, eq/L, of the strong kinds together; None where none is known."""
    middle = low = high = 0.0
    for key, species in stream.species.items():
        c = stream.concentration(key)
        if species.kind != kind or c is None or c.unit != "g/L" or not species.formula or key == "total alkali":
            continue
        try:
            per_g = (species.equivalents or 1.0) / molar_mass(species.formula)
        except ValueError:  # a keeper's own species may bear anything
            continue
        middle, low, high = middle + c.value * per_g, low + c.low * per_g, high + c.high * per_g
    return Estimate(middle, low, high, "eq/L") if high > 0 else None


def said(e: Estimate) -> str:
    """``3.1 g/L (2.8-3.4)``; mg/L are said in g/L from 1,000 up, g/L in mg/L below 0.1."""
    value, low, high, unit = e.value, e.low, e.high, e.unit
    if unit == "mg/L" and abs(value) >= 1000:
        value, low, high, unit = value / 1e3, low / 1e3, high / 1e3, "g/L"
    elif unit == "g/L" and 0 < abs(value) < 0.1:
        value, low, high, unit = value * 1e3, low * 1e3, high * 1e3, "mg/L"
    if unit != "pH" and value >= 0:
        low = max(low, 0.0)  # an interval may reach below nothing, an amount does not
    half = (high - low) / 2
    text = f"{_figures(value, half)} {unit}".rstrip()
    return f"{text} ({_figures(low, half)}-{_figures(high, half)})" if half > 0 else text


def times(value: float) -> str:
    """How many times, to two figures or whole: ``1.2``, ``620``."""
    return figures(float(f"{value:.2g}"))


def _figures(value: float, half: float) -> str:
    return figures(value, half) if half > 0 else figures(float(f"{value:.3g}"))


def _has_nitrate(formula: str) -> bool:
    if "NO3" not in formula:
        return False
    try:
        return "C" not in atoms(formula)  # triethanolamine is written C6H15NO3
    except ValueError:
        return False
