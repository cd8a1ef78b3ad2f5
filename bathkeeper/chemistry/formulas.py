"""Chemical formulas as typed on a label: molar mass, and the mass fraction of an element or group in a compound.

Atomic masses come from ``periodictable`` (IUPAC values), imported when first needed. The formula is read here, because labels
write hydrates with a dot (``NiCl2.6H2O``, with a middle dot or an asterisk too), and other readers take it for a decimal point.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from functools import lru_cache

LARGEST_COUNT = 1000
WHOLE = "whole"

_LOWERED = str.maketrans("₀₁₂₃₄₅₆₇₈₉", "0123456789")
_DOTS = str.maketrans("·•∙⋅*×", "......")
# a hydrate dot is followed by a count (which may itself be a decimal, as in CaSO4.0.5H2O) and then an element or bracket
_PART = re.compile(r"\.\s*(\d+\.\d+|\d+)?\s*(?=[A-Z(\[])")
_TOKEN = re.compile(r"([A-Z][a-z]?)(\d*)|([(\[])|([)\]])(\d*)")
_CLOSES = {"(": ")", "[": "]"}

_Run = list["tuple[str, int] | tuple[_Run, int]"]  # a bracket holds a run of its own


def atoms(formula: str) -> dict[str, float]:
    """Count of each element in one formula unit: ``atoms("NiCl2.6H2O") == {"Ni": 1, "Cl": 2, "H": 12, "O": 6}``.

    Raises ValueError when the text is not a formula, names no known element or leaves a bracket open.
    """
    return dict(_atoms(formula))


@lru_cache(maxsize=1024)
def molar_mass(formula: str) -> float:
    """Molar mass in g/mol; hydrate dots, brackets and lowered digits are understood.

    Raises ValueError as ``atoms`` does.
    Source: standard atomic weights of IUPAC, as in ``periodictable``.
    """
    return sum(count * _atomic_mass(symbol) for symbol, count in _atoms(formula))


@lru_cache(maxsize=1024)
def mass_fraction(formula: str, element_or_group: str) -> float:
    """Mass of an element (``Ni``), a group (``SO4``, ``NH4``) or ``whole`` (1) in one gram of the compound.

    A group is found as it is written: ``SO4`` in ``NiSO4.6H2O`` and in ``(NH4)2SO4``; ``whole`` means the compound itself.
    Raises ValueError when the compound holds none of it.
    """
    total = molar_mass(formula)
    wanted = element_or_group.strip() if isinstance(element_or_group, str) else element_or_group
    if wanted == WHOLE:
        return 1.0
    group = _parse(wanted)
    if len(group) == 1 and len(group[0][1]) == 1 and isinstance(group[0][1][0][0], str):
        symbol, per_group = group[0][1][0]
        if per_group == 1:
            count = dict(_atoms(formula)).get(str(symbol), 0.0)
            if count == 0:
                raise ValueError(f"{formula} holds no {wanted}; its elements are {', '.join(s for s, _ in _atoms(formula))}")
            return count * _atomic_mass(str(symbol)) / total
    count = sum(factor * _occurrences(run, group[0][1]) for factor, run in _parse(formula)) if len(group) == 1 else 0.0
    if count == 0:
        raise ValueError(
            f"the group {wanted} is not written in {formula}; name an element or a group as it stands there, or 'whole'"
        )
    return count * molar_mass(wanted) / total


@lru_cache(maxsize=1024)
def _atoms(formula: str) -> tuple[tuple[str, float], ...]:
    counts: dict[str, float] = {}
    for factor, run in _parse(formula):
        _count(run, factor, counts)
    return tuple(counts.items())


def _count(run: _Run, factor: float, counts: dict[str, float]) -> None:
    for what, n in run:
        if isinstance(what, str):
            _atomic_mass(what)
            counts[what] = counts.get(what, 0.0) + factor * n
        else:
            _count(what, factor * n, counts)


def _parse(formula: str) -> list[tuple[float, _Run]]:
    """The formula as (count, run) for the compound and each part joined to it by a dot."""
    if not isinstance(formula, str) or not formula.strip():
        raise ValueError(f"a chemical formula such as NiCl2.6H2O is wanted, got {formula!r}")
    text = formula.strip().translate(_LOWERED).translate(_DOTS)
    if len(text) > 200:
        raise ValueError(f"a chemical formula of at most 200 characters is wanted, got {len(text)}")
    parts: list[tuple[float, _Run]] = []
    factor, start = 1.0, 0
    for dot in [*_PART.finditer(text), None]:
        end = dot.start() if dot else len(text)
        parts.append((factor, _parse_run(text[start:end], formula)))
        if dot:
            factor = float(dot.group(1) or 1)
            if not 0 < factor <= LARGEST_COUNT:
                raise ValueError(f"{formula!r}: the count after the dot must be above 0 and up to {LARGEST_COUNT}")
            start = dot.end()
    return parts


def _parse_run(text: str, formula: str) -> _Run:
    stack: list[tuple[_Run, str]] = [([], "")]
    at = 0
    while at < len(text):
        token = _TOKEN.match(text, at)
        if token is None:
            raise ValueError(
                f"{formula!r} is no chemical formula: {text[at:at + 8]!r} is not understood; "
                "write it like NiCl2.6H2O or Ni(NH2SO3)2, capitals as in the periodic table, without charges"
            )
        symbol, n, opening, closing, bracket_n = token.groups()
        if symbol:
            stack[-1][0].append((symbol, _repeat(n, formula)))
        elif opening:
            stack.append(([], _CLOSES[opening]))
        else:
            inner, expected = stack.pop() if len(stack) > 1 else ([], "")
            if closing != expected or not inner:
                raise ValueError(f"{formula!r} is no chemical formula: the brackets do not match or are empty")
            stack[-1][0].append((inner, _repeat(bracket_n, formula)))
        at = token.end()
    if len(stack) > 1:
        raise ValueError(f"{formula!r} is no chemical formula: a bracket is left open")
    if not stack[0][0]:
        raise ValueError(f"{formula!r} is no chemical formula: nothing is written before or after a dot")
    return stack[0][0]


def _repeat(digits: str, formula: str) -> int:
    n = int(digits) if digits else 1
    if not 1 <= n <= LARGEST_COUNT:
        raise ValueError(f"{formula!r}: a count must be between 1 and {LARGEST_COUNT}, got {digits}")
    return n


def _occurrences(run: _Run, group: Sequence[object]) -> float:
    """How often the group stands in the run as a stretch of neighbours, brackets counted with their multiplier."""
    found, at = 0.0, 0
    while at < len(run):
        if run[at:at + len(group)] == group:
            found += 1
            at += len(group)
            continue
        what, n = run[at]
        if not isinstance(what, str):
            found += n * _occurrences(what, group)
        at += 1
    return found


@lru_cache(maxsize=128)
def _atomic_mass(symbol: str) -> float:
    from periodictable import elements

    for element in elements:
        if element.symbol == symbol and element.number > 0:
            return float(element.mass)
    raise ValueError(f"there is no element {symbol}; symbols are written as in the periodic table (Ni, Zn, Cl)")
