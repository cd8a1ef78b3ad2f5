"""Cautions that the parts themselves ask for: whether the coat fits their threads, and whether hydrogen can crack them."""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import Any

from bathkeeper.catalogue.loader import Catalogue
from bathkeeper.catalogue.setting import setting_defaults
from bathkeeper.entries import Part
from bathkeeper.safety.embrittlement import bake
from bathkeeper.safety.loader import own_rule
from bathkeeper.safety.schema import BakeRule, SafetyError
from bathkeeper.safety.threads import fit

_METRIC = re.compile(
    r"(?<![A-Za-z0-9])M\s?(?P<d>[0-9]+(?:[.,][0-9]+)?)"
    r"(?:\s*[x×*]\s*(?P<one>[0-9]+(?:[.,][0-9]+)?))?(?:\s*[x×*]\s*(?P<two>[0-9]+(?:[.,][0-9]+)?))?",
    re.IGNORECASE,
)
_INCH = re.compile(
    r"(?<![0-9/])(?:#\s?[0-9]{1,2}|[0-9]{1,2}/[0-9]{1,2})\s?-\s?[0-9]{1,2}(?![0-9])|\bUN(?:C|F|EF)\b", re.IGNORECASE
)
_INNER = re.compile(r"\bnuts?\b|\bmutter|\btapped\b|\bthreaded hole", re.IGNORECASE)
_PLAIN = re.compile(r"\bwashers?\b", re.IGNORECASE)
PITCH_AT_MOST = 0.3  # of the diameter: a number below it behind the size is a pitch, else a length (coarse pitches are <= 0.25)
USUAL_DIAMETERS = 5.0
NUT = (
    "A nut's thread of the usual 6H has no room of its own for a coat: order overtapped nuts (6AZ, 6AX; from memory), "
    "or plate nuts thinner; do not tap the coat out again."
)
INCH = (
    "The table here is of metric threads: look up the allowance of this inch thread (class 2A has one); its flanks stand at "
    "60 degrees too, so a coat takes four times itself of it."
)


@dataclass(frozen=True)
class FitCaution:
    """Of one part's thread. ``fits`` is None where no table tells."""

    part: str
    thread: str
    fits: bool | None
    largest_um: float | None
    text: str
    source: str


@dataclass(frozen=True)
class MetricThread:
    """``M8``, ``M8x1``; ``diameters``: its length over its diameter where that is told."""

    name: str
    diameters: float | None


def metric_thread(description: str) -> MetricThread | None:
    """The first metric thread that a description names: ``20x M8x30 hex bolt``, ``M8x1x30``; None without one."""
    found = _METRIC.search(description)
    if found is None:
        return None
    d, one, two = (float(g.replace(",", ".")) if g else None for g in (found["d"], found["one"], found["two"]))
    if d is None or d <= 0:
        return None
    pitch, length = (one, two) if one is not None and one < PITCH_AT_MOST * d else (None, one)
    return MetricThread(f"M{d:g}" + (f"x{pitch:g}" if pitch else ""), length / d if length else None)


def fit_cautions(parts: Iterable[Part], thickness_um: float | None, position: str) -> list[FitCaution]:
    """What the threads of a load say to an average thickness; nothing without one."""
    if thickness_um is None:
        return []
    made: list[FitCaution] = []
    for part in parts:
        said = _one(part.description, thickness_um, position)
        if said is not None and all((said.thread, said.fits, said.text) != (m.thread, m.fits, m.text) for m in made):
            made.append(said)
    return made


def _one(description: str, thickness_um: float, position: str) -> FitCaution | None:
    if _PLAIN.search(description):
        return None
    thread = metric_thread(description)
    if thread is None:
        if _INCH.search(description):
            return FitCaution(description, "", None, None, INCH, "memory: ASME B1.1")
        return None
    if _INNER.search(description):
        return FitCaution(description, thread.name, None, None, NUT, "memory: ISO 965, ISO 4042")
    try:
        told = fit(thread.name, position, thickness_um, thread.diameters or USUAL_DIAMETERS)
    except SafetyError as problem:
        return FitCaution(description, thread.name, None, None, str(problem), "")
    return FitCaution(description, thread.name, told.fits, told.largest_um, told.why, told.source)


def hydrogen_cautions(parts: Iterable[Part], rule: str | None, catalogue: Catalogue, plating: bool = True) -> list[str]:
    """For steel from class 10.9 or 1000 MPa on: that the clock to the oven starts when the parts leave the electrolyte, with
    what the workshop's rule says where one is named. In rust removal (not ``plating``) that they take up hydrogen too."""
    strong = [p for p in parts if p.safety_critical or _sensitive(p)]
    said = [_clock(p, rule, catalogue) if plating else _derusted(p) for p in strong]
    return list(dict.fromkeys(said))


def _derusted(part: Part) -> str:
    return (
        f"{_named(part)}: at the minus pole it takes up hydrogen here, which can crack it; mechanical cleaning makes none. "
        "Parts that could hurt someone if they break belong to a qualified plater."
    )


def _named(part: Part) -> str:
    words = [part.description, part.property_class or "", f"{part.strength_mpa:g} MPa" if part.strength_mpa is not None else ""]
    return ", ".join(w for w in words if w)


def _sensitive(part: Part) -> bool:
    from_ = setting_defaults().sensitive
    if part.strength_mpa is not None and part.strength_mpa >= from_["strength_mpa"].value:
        return True
    text = (part.property_class or "").strip()
    if not text:
        return False
    number = re.fullmatch(r"(?:class\s*)?([0-9]{1,2})[.,]([0-9])", text, re.IGNORECASE)
    if number is None:  # a grade of another kind: better one caution too many
        return not re.search(r"\b(?:grade\s*)?[25]\b", text, re.IGNORECASE)
    return float(f"{number[1]}.{number[2]}") >= from_["property_class"].value


def _clock(part: Part, rule: str | None, catalogue: Catalogue) -> str:
    what = _named(part)
    start = f"{what}: hydrogen from plating can crack it. The clock to the oven starts when it leaves the electrolyte"
    if rule is None:
        return f"{start}; name a rule for baking in the settings, for example ASTM B850."
    try:
        told = bake(
            rule=rule,
            strength_mpa=part.strength_mpa,
            property_class=part.property_class,
            safety_critical=part.safety_critical,
            own=_own(rule, catalogue),
        )
    except SafetyError as problem:
        return f"{start}; {problem}"
    if told.needed == "no verdict":
        return f"{start}. {told.why}"
    hours = f" {told.hours:g} h" if told.hours is not None else ""
    heat = f" at {told.temperature_c[0]:g}-{told.temperature_c[1]:g} °C" if told.temperature_c else ""
    within = f", started within {told.start_within_h:g} h" if told.start_within_h is not None else ""
    if told.needed == "no":
        return f"{what}: {told.rule} asks for no bake ({told.why})"
    return f"{start}; {told.rule}: bake{hours}{heat}{within}, before the passivate ({told.status}: {told.source})."


def _own(rule: str, catalogue: Catalogue) -> dict[str, BakeRule]:
    bodies: Mapping[str, Mapping[str, Any]] = catalogue.own.get("limit", {})
    return {rule: own_rule(rule, bodies[rule])} if "bands" in bodies.get(rule, {}) else {}
