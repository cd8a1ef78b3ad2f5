"""Whether the contents of two waste vessels may meet: their hazard groups, what pairs of them give, what to keep apart."""

from __future__ import annotations

from typing import Literal

import msgspec

from bathkeeper.catalogue.loader import Catalogue, CatalogueError
from bathkeeper.catalogue.schema import Status
from bathkeeper.entries import WasteKind
from bathkeeper.refusals import shorten
from bathkeeper.safety.groups import Groups, Vessel, reagent_groups, recipe_groups, role_groups, species_groups
from bathkeeper.safety.loader import load
from bathkeeper.safety.meeting import meetings
from bathkeeper.units.numerals import figures
from bathkeeper.waste.by_test import SETS_FREE_BELOW, Side, no_longer
from bathkeeper.waste.holding import content_of, kilograms_of
from bathkeeper.waste.spreads import sound
from bathkeeper.waste.stream import Stream

TRACE = 1e-6
"""Mass fraction from which a content counts (practice): 1 mg in a kilogram."""

LITTLE = 0.001
"""Mass fraction of acid or alkali below which a pH beyond these is told better by the pH (practice)."""

ACID_BELOW_PH, ALKALI_ABOVE_PH = 4.0, 10.0
"""Measured pH beyond which a liquid counts as acid or alkali whatever its list of contents says (practice)."""

SOAKED: dict[WasteKind, tuple[str, ...]] = dict.fromkeys(("filters", "rags", "carbon", "oil", "resin"), ("organics",))
"""Kinds of waste that are fuel to an oxidiser by themselves."""

POWDERS = ("base metal powder", "aluminium powder")
"""What a metal of a recipe is not: there it is dissolved."""

SPENT = ("acid", "alkali", "carbonate", *POWDERS)
"""What a treatment uses up, as far as the contents and the pH do not tell otherwise."""

LIQUID = ("bath", "rinse water", "eluate", "sludge")

TAKEN_BACK: dict[Side, tuple[str, ...]] = {"acid": ("acid", "hydrochloric acid", "sulfuric acid"), "alkali": ("alkali",)}
"""Groups that a test takes back. Nitric acid stays: its nitrate is an oxidiser at any pH, and goes brown with another acid."""

Keep = Literal["never", "with care", "keep apart"]
_ORDER: dict[Keep, int] = {"never": 0, "with care": 1, "keep apart": 2}


class KeepApart(msgspec.Struct, frozen=True, kw_only=True):
    """Why two vessels are not to be put together. ``never`` and ``with care``: what the two would give (``gives``); ``keep
    apart``: nothing happens at once, but it may be forbidden or takes options away."""

    a: str
    b: str
    verdict: Keep
    gives: str
    text: str
    status: Status
    source: str = ""


def stream_groups(stream: Stream, catalogue: Catalogue) -> Groups:
    """The hazard groups of a waste vessel, with mass fractions where its kilograms or litres are known.

    By what it holds, traces aside (contaminants count here); by the recipes and roles of what went in, so that a mixed vessel
    has all groups of its parts; by a measured pH, which takes back acid and alkali that are used up; and filters, carbon and
    rags as organic matter. A fraction is by the high end of the range, and None where something unknown went in or a pH tells
    of more: what is weak is weak for sure. What a treatment put in stays in it, but for what it uses up.
    """
    groups: Groups = {}
    kilograms = kilograms_of(stream)
    grams = kilograms * 1000 if kilograms is not None else None
    held: set[str] = set()
    for name, amount in stream.amounts.items():
        known = sound(amount)
        if known is None or known.high <= 0 or (grams is not None and known.high < TRACE * grams and known.unit != "mL"):
            continue
        sure = grams is not None and known.unit != "mL" and stream.complete
        fraction = min(known.high / grams, 1.0) if grams is not None and sure else None
        species = stream.species.get(name)
        found = [g for g in species_groups(name, species) if species is None or g not in POWDERS]
        if species is None:  # named as nobody's recipe names it: by its words, as a reagent is
            found += reagent_groups(name, catalogue)
        content = content_of(name, amount, species).is_
        held.add(content)
        if content == "chromium(VI)":
            found = [g for g in found if g != "chromium(III)"] + ["chromium(VI)"]
        if known.unit == "mL":
            found.append("organics")
        for group in found:
            _take(groups, group, fraction)
    for origin in stream.origins:
        for group in reagent_groups(origin.name, catalogue) if origin.name else ():
            _take(groups, group, None)
        for group in SOAKED.get(origin.what, ()):
            _take(groups, group, None)
        if origin.what in LIQUID:
            for group in _of_tank(origin.recipe, origin.role, catalogue):
                _take(groups, group, None)
    for name in stream.treated_with:
        for group in reagent_groups(name, catalogue):
            if group not in SPENT:
                _take(groups, group, None)
    for side in no_longer(stream):
        hardly = side == "acid" and stream.ph is not None and stream.ph.value < SETS_FREE_BELOW
        for group in () if hardly or side in held else TAKEN_BACK[side]:
            groups.pop(group, None)
    if stream.base_mol is not None and stream.base_mol.value > 0:
        for name in stream.treated_with:
            if "carbonate" in reagent_groups(name, catalogue):
                _take(groups, "carbonate", None)
    ph = sound(stream.ph) if stream.ph is not None else None
    if ph is not None and ph.value < ACID_BELOW_PH:
        _by_ph(groups, "acid")
    if ph is not None and ph.value > ALKALI_ABOVE_PH:
        _by_ph(groups, "alkali")
    return groups


def _by_ph(groups: Groups, group: str) -> None:
    """What a measured pH tells; where the contents tell of next to nothing, the pH is believed and how much is not known."""
    fraction = groups.get(group)
    groups[group] = None if fraction is None or fraction < LITTLE else fraction


def meeting_of(stream_a: Stream, stream_b: Stream, groups_a: Groups, groups_b: Groups) -> list[KeepApart]:
    """Why these two are not to be put together, the worst first. Never empty: mixing counts whatever the two hold."""
    a, b = (Vessel(name=s.name, kind="container", groups=g) for s, g in ((stream_a, groups_a), (stream_b, groups_b)))
    hardly = [
        f"By its last test (pH {figures(s.ph.value, s.ph.spread)}) {shorten(s.name)} is hardly acid any more; how little is "
        "enough to drive a gas out, no list says."
        for s, groups in ((stream_a, groups_a), (stream_b, groups_b))
        if s.ph is not None and "acid" in groups and "acid" in no_longer(s)
    ]
    told = [
        KeepApart(
            a=m.a,
            b=m.b,
            verdict="never" if m.verdict == "never" else "with care",
            gives=m.gives,
            text=" ".join([m.text, *hardly]),
            status=m.status,
            source=m.source,
        )
        for m in meetings([a, b])
    ]
    told += _options(stream_a, stream_b, groups_a, groups_b)
    told.append(
        KeepApart(
            a=stream_a.name,
            b=stream_b.name,
            verdict="keep apart",
            gives="mixed hazardous waste",
            text="Mixing hazardous waste with other waste or with anything else, water included, needs a permit in many "
            "places: dilution counts as mixing. Ask the local authority or a licensed contractor before putting them together.",
            status="seen",
            source="Directive 2008/98/EC article 18, text to 31 Dec 2020",
        )
    )
    return sorted(told, key=lambda t: _ORDER[t.verdict])


def _options(a: Stream, b: Stream, groups_a: Groups, groups_b: Groups) -> list[KeepApart]:
    """What only one of the two holds and the other is better off without."""
    reasons = (
        ("ammonium", "Ammonium keeps metals in solution: what it meets can no longer be treated by falling out."),
        ("chromium(III)", "Chromium has limits and tests of its own: what it meets shares them."),
        ("chromium(VI)", "Chromium(VI) is to be treated or handed over by itself: what it meets becomes as dangerous."),
        (
            "nickel",
            "Nickel has limits of its own and may be worth recovering: what it meets shares the limits.",
        ),
    )
    told = []
    for group, text in reasons:
        if (group in groups_a) != (group in groups_b):
            told.append(_apart(a, b, f"{group} where there was none", text, "practice"))
    if _complexed(a) != _complexed(b):
        told.append(
            _apart(
                a,
                b,
                "complexants where there were none",
                "Cleaners and complexants keep metals in solution: what they meet can no longer be treated by falling out.",
                "practice",
            )
        )
    return told


def _apart(a: Stream, b: Stream, gives: str, text: str, status: Status) -> KeepApart:
    return KeepApart(a=a.name, b=b.name, verdict="keep apart", gives=gives, text=text, status=status)


def _complexed(stream: Stream) -> bool:
    held = (content_of(n, e, stream.species.get(n)) for n, e in stream.amounts.items())
    return "degrease" in stream.roles or any(c.complexing and c.is_ != "ammonium" for c in held)


def _take(groups: Groups, group: str, fraction: float | None) -> None:
    if group in load().groups:
        known = groups.get(group)
        groups[group] = max((f for f in (known, fraction) if f is not None), default=None)


def _of_tank(recipe: str | None, role: str, catalogue: Catalogue) -> tuple[str, ...]:
    if recipe is not None:
        try:
            return tuple(recipe_groups(catalogue.recipe(recipe)))
        except CatalogueError:
            pass
    return role_groups(role)
