"""A stream as substances, percent by mass: the metals as the salts that its anions make likely, each assumption said."""

from __future__ import annotations

import math
from collections.abc import Mapping

import msgspec

from bathkeeper.chemistry.formulas import mass_fraction
from bathkeeper.findings import Estimate
from bathkeeper.refusals import shorten
from bathkeeper.units.numerals import figures
from bathkeeper.waste.content import SYMBOLS, formula_of, grams, is_metal
from bathkeeper.waste.loader import load
from bathkeeper.waste.schema import Substance
from bathkeeper.waste.stream import Stream

SALTS: Mapping[str, Mapping[str, str]] = {
    "zinc": {"chloride": "zinc chloride", "sulfate": "zinc sulfate", "nitrate": "zinc sulfate", "alkaline": "zinc oxide"},
    "nickel": {
        "chloride": "nickel dichloride", "sulfate": "nickel sulfate", "nitrate": "nickel dinitrate",
        "alkaline": "nickel dihydroxide",
    },
    "cobalt": {
        "chloride": "cobalt dichloride", "sulfate": "cobalt sulfate", "nitrate": "cobalt dinitrate",
        "alkaline": "cobalt dinitrate",
    },
    "iron": {"chloride": "iron(II) chloride", "sulfate": "iron(II) sulfate"},
    "copper": dict.fromkeys(("chloride", "sulfate", "nitrate", "alkaline"), "copper sulfate"),
    "lead": dict.fromkeys(("chloride", "sulfate", "nitrate", "alkaline"), "lead compounds"),
    "cadmium": dict.fromkeys(("chloride", "sulfate", "nitrate", "alkaline"), "cadmium"),
    "chromium": dict.fromkeys(("chloride", "sulfate", "nitrate", "alkaline"), "chromium(III) salts"),
}  # fmt: skip
"""Metal -> anion -> the harmonised entry that it is counted as; the last four have one for all."""

UNTOLD = {"zinc": "chloride", "nickel": "chloride", "cobalt": "nitrate", "iron": "sulfate"}
"""The anion to count with when none is known: the one whose entry carries more."""

WHOLE = {
    "HCl": "hydrochloric acid", "H2SO4": "sulfuric acid", "HNO3": "nitric acid", "NaHSO4": "sodium hydrogensulfate",
    "NaOH": "sodium hydroxide", "KOH": "potassium hydroxide", "Na2CO3": "sodium carbonate", "H3BO3": "boric acid",
    "NH4Cl": "ammonium chloride", "H2O2": "hydrogen peroxide", "Na2S2O5": "sodium metabisulfite", "C6H15NO3": "triethanolamine",
    "NaHSO3": "sodium hydrogensulfite", "NaClO": "sodium hypochlorite", "CrO3": "chromium trioxide",
    "NH4HF2": "ammonium bifluoride",
    "C6H8O7": "citric acid", "C2H2O4": "oxalic acid", "Na2SiO3": "disodium metasilicate", "NH3": "ammonia",
}  # fmt: skip
"""Formula of a species -> the harmonised entry that it is itself."""

GROUPS = ("Cl", "SO4", "K", "Na")
"""Ions that recipes count alone: they are in the salts, and have no entry of their own."""

SOLIDS = ("sludge", "filters", "carbon", "rags", "empty packaging", "resin")
DENSITY_PER_G_L = (0.0004, 0.0006, 0.001)
"""g/mL that each g/L dissolved adds, least, middle and most, used where no density is known: derived from the densities of the
catalogue's recipes at their targets (0.0004 for ammonium chloride baths to 0.001 for caustic ones)."""


class Part(msgspec.Struct, frozen=True, kw_only=True):
    """One substance of a stream: ``percent`` w/w, with the species that it stands for."""

    substance: Substance
    percent: Estimate
    stands_for: str


class Composition(msgspec.Struct, frozen=True, kw_only=True):
    """A stream as substances. ``mass_kg`` None where neither a mass nor a volume is known; then ``parts`` is empty.
    ``assumed``: what was taken to be so; ``uncounted``: what has no harmonised entry or is not known by formula."""

    mass_kg: Estimate | None
    parts: tuple[Part, ...]
    assumed: tuple[str, ...]
    uncounted: tuple[str, ...]


def composition(stream: Stream) -> Composition:
    """The substances of a stream, percent by mass of the whole. Middle over the middle mass, the ends over the ends of the
    mass that make the range wider. No substance is more than all of it."""
    assumed: list[str] = []
    mass = _mass(stream, assumed)
    held, uncounted = _substances(stream, assumed)
    if mass is None:
        return Composition(mass_kg=None, parts=(), assumed=tuple(assumed), uncounted=tuple(uncounted))
    parts = [
        Part(substance=load().substances[name], percent=_percent(g, mass), stands_for=", ".join(dict.fromkeys(of)))
        for name, (g, of) in held.items()
        if g.high > 0
    ]
    parts.sort(key=lambda p: -p.percent.value)
    return Composition(mass_kg=mass, parts=tuple(parts), assumed=tuple(assumed), uncounted=tuple(uncounted))


def anions(stream: Stream) -> tuple[str, ...]:
    """``chloride``, ``sulfate``, ``nitrate``, ``alkaline``, as far as its species show them, the most of it (in mol) first."""
    found: dict[str, float] = {}
    for key, e in stream.amounts.items():
        formula = formula_of(stream, key)
        plain = key.casefold()
        kind = (
            "chloride" if formula in ("Cl", "HCl", "NH4Cl") or plain == "chloride"
            else "sulfate" if formula in ("SO4", "H2SO4", "NaHSO4") or plain == "sulfate"
            else "nitrate" if formula in ("NO3", "HNO3") or plain == "nitrate"
            else "alkaline" if formula in ("NaOH", "KOH")
            else ""
        )  # fmt: skip
        if kind and e.value > 0 and e.unit == "g":
            found[kind] = found.get(kind, 0.0) + e.value / _EQUIVALENT[kind]
    return tuple(sorted(found, key=lambda k: -found[k]))


_EQUIVALENT = {"chloride": 35.5, "sulfate": 48.0, "nitrate": 62.0, "alkaline": 40.0}  # g/eq, only to rank by


def _mass(stream: Stream, assumed: list[str]) -> Estimate | None:
    if stream.mass_kg is not None and stream.mass_kg.value > 1e-9:
        return stream.mass_kg
    v = stream.volume_l
    if v is None or v.value <= 1e-9:
        return None
    if stream.density_g_ml is not None and stream.density_g_ml > 0:
        d = stream.density_g_ml
        assumed.append(f"density {figures(round(d, 3))} g/mL, so that it weighs {figures(v.value * d)} kg")
        return Estimate(v.value * d, v.value * d, v.value * d, "kg")
    dissolved = sum(max(e.value, 0.0) for e in stream.amounts.values() if e.unit == "g") / v.value
    least, middle, most = (1 + share * min(dissolved, 1000.0) for share in DENSITY_PER_G_L)
    assumed.append(
        f"density not known, taken as {middle:.2f} g/mL ({least:.2f}-{most:.2f}) for about {dissolved:.0f} g/L dissolved:"
        " measure it"
    )
    return Estimate(v.value * middle, v.value * least, v.value * most, "kg")


def _percent(g: Estimate, mass: Estimate) -> Estimate:
    """Percent by mass. The ends of the amount go with the ends of the mass that make the range wider, since the mass's range
    here is that of the density, or of a scale."""
    low_mass = mass.low if mass.low > 0 else mass.value
    low, middle, high = (
        0.1 * max(amount, 0.0) / kg for amount, kg in ((g.low, mass.high), (g.value, mass.value), (g.high, low_mass))
    )
    return Estimate(min(middle, 100.0), min(low, 100.0), min(high, 100.0), "%")


_Held = dict[str, tuple[Estimate, list[str]]]


def _substances(stream: Stream, assumed: list[str]) -> tuple[_Held, list[str]]:
    held: _Held = {}
    uncounted: list[str] = []
    found = anions(stream)
    solid = bool(stream.kinds) and all(k in SOLIDS for k in stream.kinds)
    metals: set[str] = set()
    has_free = any(k == "free alkali" for k in stream.amounts)
    for key, e in stream.amounts.items():
        name = next((m for m in SYMBOLS if is_metal(key, m)), None)
        formula = formula_of(stream, key)
        if e.high <= 0:
            continue
        if "(vi)" in key.casefold() and name == "chromium":
            _add(held, "chromium trioxide", e, mass_fraction("CrO3", "Cr"), key)
            assumed.append("chromium(VI) counted as chromium trioxide")
        elif name is not None:
            metals.add(name)
        elif e.unit != "g":
            uncounted.append(f"{shorten(key)}: known by volume only; the supplier's safety data sheet decides")
        elif key == "total alkali" and has_free:
            continue  # the free part of it is counted already, the rest is its carbonate and builders
        elif formula in WHOLE:
            _add(held, WHOLE[formula], e, 1.0, key)
        elif formula == "NH4" or key.casefold() == "ammonium":
            _add(held, "ammonium chloride", e, mass_fraction("NH4Cl", "NH4"), key)
            assumed.append("ammonium counted as ammonium chloride")
        elif formula not in GROUPS:
            uncounted.append(f"{shorten(key)}: no entry for it here; the supplier's safety data sheet decides")
    if held.keys() & {"sodium hydroxide"} and "total alkali" in stream.amounts:
        uncounted.append("builders of the cleaner (silicate, phosphate): the supplier's safety data sheet decides")
    for name in (m for m in SYMBOLS if m in metals):
        _metal(stream, name, found, solid, held, assumed, uncounted)
    for name in held:
        s = load().substances[name]
        if not s.hazards:
            uncounted.append(f"{s.name}: {s.about.split(': ')[-1] or 'no harmonised entry'}")
        elif s.status == "memory" or "from memory" in s.about:
            assumed.append(f"the entry of {s.name} is from memory: check")
    return held, list(dict.fromkeys(uncounted))


def _metal(
    stream: Stream, name: str, found: tuple[str, ...], solid: bool, held: _Held, assumed: list[str], uncounted: list[str]
) -> None:
    e = grams(stream, name)
    salts = SALTS.get(name)
    if e is None or e.high <= 0:
        return
    if salts is None:
        uncounted.append(f"{name}: no entry for it here; the supplier's safety data sheet decides")
        return
    if solid and "alkaline" in salts and name in ("zinc", "nickel"):
        pick, why = "alkaline", "as in a sludge of hydroxides"
    else:
        usable = [a for a in found if a in salts]
        pick = usable[0] if usable else UNTOLD.get(name, "sulfate")
        why = f"because it holds {pick}" if usable else "no anion with an entry is known, so the salt whose entry carries more"
        if usable and pick == "alkaline":
            why = "because it is an alkaline bath; what it truly is there has no entry"
        elif usable and pick == "nitrate" and name in ("zinc", "copper", "lead"):
            why = "because it holds nitrate, whose salt has no entry here"
    salt = salts[pick]
    formula = load().substances[salt].formula
    _add(held, salt, e, mass_fraction(formula, SYMBOLS[name]), name)
    if len(set(salts.values())) > 1:
        assumed.append(f"{name} counted as {salt} ({why})")


def _add(held: _Held, name: str, e: Estimate, share: float, of: str) -> None:
    """Adds so many grams of a species that makes up ``share`` of the substance."""
    old, words = held.get(name, (Estimate(0.0, 0.0, 0.0, "g"), []))
    finite = [v if math.isfinite(v) else 0.0 for v in (e.value, e.low, e.high)]
    value, low, high = (max(v, 0.0) / share for v in finite)
    held[name] = (Estimate(old.value + value, old.low + low, old.high + high, "g"), [*words, shorten(of)])
