"""What neutralising a vessel of waste would come to on paper: grams of each base, gas, heat, sludge, pH ranges; never a recipe.

The sums are for understanding and for the contractor. What makes them unreliable, and what must be tested first, stands beside.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence

import msgspec

from bathkeeper.accounts.shelf import Shelf
from bathkeeper.calculators.neutralise import WET_SLUDGE
from bathkeeper.calculators.substances import Substance, substance, substances
from bathkeeper.catalogue.loader import Catalogue, CatalogueError
from bathkeeper.chemistry import neutralising
from bathkeeper.chemistry.formulas import molar_mass
from bathkeeper.chemistry.hydrogen import gas_volume_l
from bathkeeper.findings import Estimate
from bathkeeper.refusals import shorten
from bathkeeper.waste.base_need import BaseNeed
from bathkeeper.waste.holding import is_solid, kilograms_of
from bathkeeper.waste.spreads import added, times, volume_share
from bathkeeper.waste.stream import Stream
from bathkeeper.waste.treatment_data import PhRange, load

USUAL = ("sodium hydroxide", "calcium hydroxide", "sodium carbonate", "sodium bicarbonate")
"""Bases that are counted whether or not they stand on the shelf."""

TRACE_MOL = 1e-6
"""Metal below which there is nothing to fall out, mol."""

ROOM_C, BOILING_C = 25.0, 100.0
COMPLEXED_ROLES = ("passivate",)


class ShelfBase(msgspec.Struct, frozen=True, kw_only=True):
    """A base that stands on the shelf: ``base`` as the table of substances names it, ``formula`` with its hydrate, ``purity``
    as mass fraction, ``left`` in g or mL."""

    reagent: str
    base: str
    formula: str
    purity: float = 1.0
    left: Estimate | None = None


class BaseSum(msgspec.Struct, frozen=True, kw_only=True):
    """One base: g of it as bought, L of carbon dioxide at 25 degC (at most), heat in kJ with the base dissolved before and put
    in dry, and by how many degrees that warms all of it at once: dissolved in a solution as heavy as the waste, and dry (None
    where litres and mass are unknown). ``boils``: whether it would boil, poured in dry at 25 degC. ``falls_short``: why this
    base cannot do it. ``reagent``: empty if not on the shelf."""

    base: str
    formula: str
    reagent: str
    purity: float
    left: Estimate | None
    grams: Estimate
    carbon_dioxide_l: Estimate
    heat_kj: Estimate
    heat_dry_kj: Estimate
    rise_c: float | None
    rise_dry_c: float | None
    boils: bool
    falls_short: str = ""
    about: str = ""


class TreatmentSums(msgspec.Struct, frozen=True, kw_only=True):
    """``bases`` is empty where the content is alkaline: that would take acid, and no mixing is worked out here. ``ranges``: the
    pH range of each metal with its source; ``stages``: whether one pH suits all; ``unreliable``: why precipitation may fail;
    ``tests``: what has to be known first. Ammonia is what goes free at the pH of the sum, at most."""

    bases: tuple[BaseSum, ...]
    ammonia_g: Estimate
    ammonia_l: Estimate
    sludge_dry_g: Estimate
    sludge_wet_kg: tuple[float, float]
    ranges: tuple[PhRange, ...]
    stages: tuple[str, ...] = ()
    unreliable: tuple[str, ...] = ()
    tests: tuple[str, ...] = ()
    cautions: tuple[str, ...] = ()
    sources: tuple[str, ...] = ()


def bases_on_shelf(shelf: Mapping[str, Shelf], catalogue: Catalogue) -> tuple[ShelfBase, ...]:
    """What of the shelf is a base for these sums: by formula, so that its hydrate and purity count; what is used up is not."""
    found = []
    for name, account in shelf.items():
        try:
            reagent = catalogue.reagent(name)
        except CatalogueError:
            continue
        base = substance(reagent.formula.split(".")[0].split("·")[0], "base") if reagent.formula else None
        if base is None or (account.amount is not None and account.amount.high <= 0):
            continue
        bought = next((lot.purity for lot in account.lots if lot.left > 0 and lot.purity), None)
        found.append(
            ShelfBase(
                reagent=reagent.name,
                base=base.name,
                formula=reagent.formula,
                purity=bought or reagent.purity,
                left=account.amount,
            )
        )
    return tuple(found)


def treatment_sums(stream: Stream, need: BaseNeed, shelf: Sequence[ShelfBase] = ()) -> TreatmentSums:
    """The sums for every base on the shelf and the usual ones.

    Args:
        need: of ``base_need`` for the same stream.
        shelf: of ``bases_on_shelf``.
    """
    rows = list(shelf)
    missing = [substances("base")[n] for n in USUAL if n not in {r.base for r in rows}]
    rows += [ShelfBase(reagent="", base=b.name, formula=b.formula) for b in missing]
    takes = need.equivalents.value > 0
    bases = tuple(_base(stream, need, r) for r in rows if r.base in substances("base")) if takes else ()
    sludge = _sludge_g(stream, need)
    settled, pressed = WET_SLUDGE
    ammonia = need.ammonium
    ranges = _ranges(need)
    return TreatmentSums(
        bases=bases,
        ammonia_g=times(ammonia, molar_mass("NH3"), "g"),
        ammonia_l=times(ammonia, gas_volume_l(1.0), "L"),
        sludge_dry_g=sludge,
        sludge_wet_kg=(sludge.low / 1000 / pressed, sludge.high / 1000 / settled),
        ranges=ranges,
        stages=_stages(ranges, need),
        unreliable=_unreliable(stream, need),
        tests=_tests(stream, need),
        cautions=_cautions(need, bases),
        sources=(
            "heats of neutralising, of dissolving a dry base and of metals falling out: standard enthalpies, from memory",
            f"heat capacity {load().water.kj_per_kg_k:g} kJ/kg K: {load().water.status}, {load().water.source}",
            f"wet sludge {settled:.0%} to {pressed:.0%} dry: practice",
            "pKa of boric acid 9.24, of ammonium 9.25: from memory",
        ),
    )


def _base(stream: Stream, need: BaseNeed, row: ShelfBase) -> BaseSum:
    base = substances("base")[row.base]
    purity = row.purity if 0 < row.purity <= 1 else 1.0
    try:
        mass = molar_mass(row.formula)
    except ValueError:
        mass = base.molar_mass_g_mol
    wanted = _at_least_nothing(need.equivalents)
    grams = times(wanted, neutralising.base_g(1.0, mass, base.equivalents, purity), "g")
    gas = neutralising.carbon_dioxide_l(1.0, base.equivalents / base.carbonates, ROOM_C) if base.carbonates else 0.0
    heat = _heat(stream, need, base)
    dry = added([heat, times(wanted, base.solid_kj_per_eq, "kJ")], 1.0, "kJ")
    kilograms = kilograms_of(stream)
    rise = rise_dry = None
    if kilograms is not None:
        capacity = load().water.kj_per_kg_k
        rise = heat.value / (capacity * 2 * kilograms)
        rise_dry = dry.value / (capacity * (kilograms + grams.value / 1000))
    highest = base.highest_ph if base.highest_ph is not None else math.inf
    return BaseSum(
        base=base.name,
        formula=row.formula,
        reagent=row.reagent,
        purity=purity,
        left=row.left,
        grams=grams,
        carbon_dioxide_l=times(wanted, gas, "L"),
        heat_kj=heat,
        heat_dry_kj=dry,
        rise_c=rise,
        rise_dry_c=rise_dry,
        boils=rise_dry is not None and ROOM_C + rise_dry >= BOILING_C,
        falls_short=f"it stops by itself near pH {highest:g}, short of pH {need.ph:g}" if highest < need.ph else "",
        about=base.about,
    )


def _at_least_nothing(amount: Estimate) -> Estimate:
    return Estimate(max(amount.value, 0.0), max(amount.low, 0.0), max(amount.high, 0.0), amount.unit)


def _heat(stream: Stream, need: BaseNeed, base: Substance) -> Estimate:
    """kJ with the base dissolved before: water forming, weak acids by less, metals falling out; a carbonate spends nearly all
    of it on setting its gas free."""
    parts = []
    for one in need.needs:
        heat = base.heat_kj_per_eq
        if one.kind in load().weak_heats and not base.carbonates:
            heat = load().weak_heats[one.kind].heat_kj_per_eq
        elif one.kind == "metal":
            metal = substances("ion").get(one.substance)
            heat = metal.heat_kj_per_eq if metal is not None and not base.carbonates else 0.0
        parts.append(times(one.equivalents, heat, "kJ"))
    return _at_least_nothing(added(parts, volume_share(stream.volume_l), "kJ"))


def _sludge_g(stream: Stream, need: BaseNeed) -> Estimate:
    """Dry hydroxides, g; iron at the charge that the sum counts."""
    parts = []
    for one in need.needs:
        metal = substances("ion").get(one.substance)
        if one.kind == "metal" and metal is not None and one.charge:
            charge = one.charge if one.charge > 0 else float(metal.charge)
            each = neutralising.hydroxide_g(metal.molar_mass_g_mol, metal.molar_mass_g_mol, charge)
            parts.append(times(one.mol, each, "g"))
    return added(parts, volume_share(stream.volume_l), "g")


def _there(need: BaseNeed) -> list[str]:
    """Metals that may be more than a trace."""
    return list(dict.fromkeys(n.substance for n in need.needs if n.kind == "metal" and n.mol.high > TRACE_MOL))


def _to_fall_out(need: BaseNeed) -> list[str]:
    """Those in solution that are believed to be more than a trace."""
    return list(dict.fromkeys(n.substance for n in need.needs if n.kind == "metal" and n.charge and n.mol.value > TRACE_MOL))


def _ranges(need: BaseNeed) -> tuple[PhRange, ...]:
    known = load().ranges
    return tuple(known[m] for m in _to_fall_out(need) if m in known)


def _stages(ranges: tuple[PhRange, ...], need: BaseNeed) -> tuple[str, ...]:
    told = []
    without = [m for m in _to_fall_out(need) if m not in load().ranges]
    if without:
        told.append(f"No sourced pH range is known here for {', '.join(without)}.")
    if not ranges:
        return tuple(told)
    low, high = max(r.low for r in ranges), min(r.high for r in ranges)
    if low <= high:
        told.append(f"Where these ranges overlap (sources disagree): pH {low:g} to {high:g}.")
        return tuple(told)
    first = ", ".join(f"{r.name} {r.low:g}-{r.high:g}" for r in sorted(ranges, key=lambda r: (r.high, r.low)))
    told.append(
        f"No single pH suits all of it ({first}): plants that treat such waste go in stages, low first. "
        "Best handed over untreated."
    )
    return tuple(told)


def _unreliable(stream: Stream, need: BaseNeed) -> tuple[str, ...]:
    told = []
    holders = [c for c in need.complexants if c != "ammonium"]
    if need.ammonium_mol.high > 0:
        told.append(
            "It holds ammonium, which keeps zinc, nickel and copper in solution and leaves as ammonia gas: precipitation is "
            "unreliable; hand it over whole."
        )
    if holders:
        names = ", ".join(shorten(h) for h in holders)
        told.append(f"It holds what keeps metals in solution ({names}): precipitation is unreliable; hand it over whole.")
    if any(r in COMPLEXED_ROLES for r in stream.roles):
        told.append(
            "Passivates often hold fluoride or organic acids that keep chromium and zinc in solution (practice): precipitation "
            "is unreliable; hand it over whole."
        )
    if "degrease" in stream.roles:
        told.append("Cleaners often hold complexants and oil (practice): what they meet no longer falls out. Keep them apart.")
    return tuple(told)


def _tests(stream: Stream, need: BaseNeed) -> tuple[str, ...]:
    told = []
    may_be = "chromium(III)" in _there(need) or "passivate" in stream.roles
    if need.chromium_vi:
        told.append("Chromium(VI) is on record: poisonous, causes cancer, does not fall out with base. Hand it over whole.")
    elif may_be or "rust removal" in stream.roles:
        told.append(
            "Chromium(VI) must be absent before any of this holds: have it tested (diphenylcarbazide colour test). Stainless "
            "anodes, old yellow films, bleach and peroxide make or bring it."
        )
    if stream.ph is None and not is_solid(stream):
        told.append("Its pH is not measured: measure it, with goggles and gloves on.")
    if "cadmium" in _there(need):
        told.append("Cadmium may be in it: have it tested, tell whoever takes it, and leave it closed.")
    return tuple(told)


def _cautions(need: BaseNeed, bases: tuple[BaseSum, ...]) -> tuple[str, ...]:
    """Hazards of the reaction, for whoever reads the sums."""
    told = []
    if need.ammonium_mol.high > 0:
        told.append("Alkali drives ammonia gas out of it: poisonous to breathe.")
    if any(b.carbon_dioxide_l.value > 0 for b in bases):
        told.append("Carbonates foam; carbon dioxide gathers low in a room and bursts a closed vessel.")
    if any(b.boils for b in bases):
        told.append("A strong base put in dry would boil and spit: it burns eyes and skin.")
    elif any((b.rise_dry_c or 0.0) > 10 for b in bases):
        told.append("Dry base boils and spits where it meets the liquid, whatever the mean temperature says.")
    if {"nickel", "cobalt", "cadmium", "lead"} & set(_there(need)):
        told.append("Its sludge is poisonous and must not dry to dust.")
    told += [m.caution for n in _there(need) if (m := substances("ion").get(n)) is not None and m.caution]
    return tuple(dict.fromkeys(told))
