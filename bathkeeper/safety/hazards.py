"""What in this workshop needs saying: cautions that have their cause in its own tanks, anodes, reagents and parts."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence

import msgspec

from bathkeeper.chemistry.hydrogen import chlorine_l, gas_volume_l, hydrogen_l
from bathkeeper.entries import Part
from bathkeeper.findings import Because, Finding
from bathkeeper.safety.embrittlement import fastener_class
from bathkeeper.safety.groups import Place, Shop, Vessel
from bathkeeper.safety.loader import load
from bathkeeper.safety.meeting import SHELF, is_concentrate
from bathkeeper.safety.schema import SafetyError
from bathkeeper.units.numerals import figures

INERT = ("graphite", "carbon", "coated titanium", "platinised titanium", "mixed metal oxide", "platinum")
"""Anodes that do not dissolve but pass current. Bare titanium is not among them: it is the basket, and blocks by itself."""
STAINLESS = ("stainless steel", "stainless")
OXIDISERS = ("peroxide", "hypochlorite", "permanganate")
BOUND = 0.01  # hydrogen in the room's air, volume fraction [cisco-inc.com on hydrogen: battery rooms are held at 1 %]
IRON_G_MOL = 55.845  # IUPAC


class Ventilation(msgspec.Struct, frozen=True, kw_only=True):
    """Hydrogen of a charge in litres at 25 degC and 1 atm, and the air in m3 in which it is 1 % by volume."""

    litres_25c: float
    air_m3_for_1_percent: float


def ventilation(charge_ah: float, cathode_efficiency: float = 0.0) -> Ventilation:
    """Hydrogen and fresh air for a charge; for a current in A read both as per hour.

    Faraday: 0.456 L/Ah at 25 degC and 1 atm when all the current makes hydrogen; the air is counted with the hydrogen in it.

    Args:
        charge_ah: charge, Ah. cathode_efficiency: fraction of it that deposits metal.
    """
    litres = hydrogen_l(charge_ah, cathode_efficiency)
    return Ventilation(litres_25c=litres, air_m3_for_1_percent=litres / BOUND / 1000)


def hazards(shop: Shop, efficiencies: Mapping[str, float] | None = None) -> list[Finding]:
    """Every caution that has its cause in the workshop, ids ``tank.caution.subject``, tanks in line order.

    Args:
        efficiencies: cathode efficiencies by tank where they were learned; else the recipe's prior counts.
    """
    found: list[Finding] = []
    for place in shop.places:
        for rule in (_chlorine, _chromium_anode, _chromium_film, _stripped):
            found += rule(shop, place)
        found += _hydrogen(place, (efficiencies or {}).get(place.name))
        for rule in (_hydrogen_acid, _nickel, _nitric, _nitrate, _acid_into_water, _high_strength):
            found += rule(shop, place)
    found += _shelf(shop)
    return found


def _chlorine(shop: Shop, place: Place) -> Iterator[Finding]:
    if "chloride" not in place.groups or place.role not in ("plate", "rust removal"):
        return
    inert = [a for a in place.anodes if a.metal.casefold() in INERT]
    most = f"up to {figures(chlorine_l(1.0), 0.01)} L chlorine per Ah at 25 degC"
    if place.role == "rust removal":
        added = [e for e, tank, _ in shop.added if tank == place.name]
        yield _caution(
            "chlorine",
            place,
            present=True,
            what="there is chloride in the rust removal: make it up fresh, with carbonate alone",
            more=most,
            entries=added,
            formula="one molecule for two electrons",
        )
    elif inert:
        names = ", ".join(a.anode for a in inert)
        yield _caution(
            "chlorine",
            place,
            present=True,
            more=f"anodes that do not dissolve: {names}; {most}",
            entries=[a.entry for a in inert],
            formula="one molecule for two electrons",
        )
    else:
        yield _caution("chlorine", place, more=most, formula="one molecule for two electrons")


def _chromium_anode(shop: Shop, place: Place) -> Iterator[Finding]:
    stainless = [a for a in place.anodes if a.metal.casefold() in STAINLESS]
    if stainless:
        names = ", ".join(a.anode for a in stainless)
        yield _caution(
            "chromium-vi-anode", place, present=True, more=f"stainless: {names}", entries=[a.entry for a in stainless]
        )
    elif place.role == "rust removal":
        yield _caution("chromium-vi-anode", place)


def _chromium_film(shop: Shop, place: Place) -> Iterator[Finding]:
    if place.role != "passivate" and "chromium(III)" not in place.groups:
        return
    oxidisers = [v for v in shop.reagents if any(g in v.groups for g in OXIDISERS)]
    if oxidisers:
        names = ", ".join(v.name for v in oxidisers)
        yield _caution(
            "chromium-vi-film",
            place,
            present=True,
            more=f"on record: {names}; {load().hazards['chromium-vi-film'].what}",
            entries=[e for v in oxidisers for e in v.entries],
        )
    else:
        yield _caution("chromium-vi-film", place)


def _stripped(shop: Shop, place: Place) -> Iterator[Finding]:
    if not _strips(place):
        return
    loads = [x for x in shop.loads if place.name in x.tanks and any((p.coating_stripped_g or 0.0) > 0 for p in x.parts)]
    first = next((p.name for p in shop.places if _strips(p)), None)
    if loads:
        grams = sum(p.coating_stripped_g or 0.0 for x in loads for p in x.parts)
        yield _caution(
            "stripped-coating",
            place,
            present=True,
            more=f"{figures(grams)} g of coating came off in loads that went through it; "
            "where such a liquid may go is for the local authority or a licensed contractor to say",
            entries=[x.entry for x in loads],
        )
    elif place.name == first:
        yield _caution("stripped-coating", place)


def _strips(place: Place) -> bool:
    """Whether coatings come off in it: by its recipe's wear, else by its role."""
    if place.recipe is not None:
        return any(w.exposure == "g_stripped" for w in place.recipe.wear)
    return place.role == "pickle"


def _hydrogen(place: Place, learned: float | None) -> Iterator[Finding]:
    recipe = place.recipe
    electric = place.role in ("plate", "rust removal") or place.peak_a is not None or (recipe is not None and recipe.electrode)
    if not electric:
        return
    prior = recipe.parameters.get("cathode_efficiency") if recipe is not None else None
    efficiency = learned if learned is not None else prior.value if prior is not None else 0.0
    each = ventilation(1.0, efficiency)
    litres, air = figures(each.litres_25c, 0.01), f"{each.air_m3_for_1_percent:.2g}"
    said = f"{litres} L for every Ah at 25 degC, which wants {air} m3 of air"
    if place.peak_a:
        hourly = ventilation(place.peak_a, efficiency)
        said += (
            f"; at {place.peak_a:.3g} A, the most on record, {hourly.litres_25c:.2g} L and "
            f"{hourly.air_m3_for_1_percent:.2g} m3 of air an hour"
        )
    if learned is not None:
        basis = f"cathode efficiency {efficiency:.2g}, learned here"
    elif prior is not None:
        basis = f"cathode efficiency {efficiency:g} ({prior.status})"
    else:
        basis = "all the current taken to make hydrogen"
    yield _caution(
        "hydrogen", place, more=f"{said}; {basis}", formula="(1 - efficiency) x Ah x 3600 / (2 F) x R T / p, over 1 %"
    )


def _hydrogen_acid(shop: Shop, place: Place) -> Iterator[Finding]:
    if "acid" in place.groups and "nitric acid" not in place.groups and place.role in ("pickle", "acid dip"):
        litres = gas_volume_l(1.0 / IRON_G_MOL)
        yield _caution(
            "hydrogen-acid",
            place,
            more=f"{figures(litres, 0.01)} L for every gram of steel dissolved, at 25 degC",
            formula="one molecule for each atom of iron",
        )


def _nickel(shop: Shop, place: Place) -> Iterator[Finding]:
    if "nickel" in place.groups:
        yield _caution("nickel", place)


def _nitric(shop: Shop, place: Place) -> Iterator[Finding]:
    if "nitric acid" in place.groups:
        yield _caution("nitric", place)


def _nitrate(shop: Shop, place: Place) -> Iterator[Finding]:
    """Nitrate on its way into a chloride plating bath: as acid, or by a rinse that serves both steps."""
    if place.role != "plate" or "chloride" not in place.groups:
        return
    poured = [(e, r) for e, tank, r in shop.added if tank == place.name and _is_nitric(shop, r)]
    if poured:
        yield _caution(
            "nitrate",
            place,
            present=True,
            level_now=True,
            what="nitric acid went into the chloride bath",
            entries=[e for e, _ in poured],
        )
        return
    nitric = {p.name for p in shop.places if "nitric acid" in p.groups}
    if not nitric:
        return
    shared, loads = _shared_rinses(shop, place.name, nitric)
    rinses = [p.name for p in shop.places if p.role == "rinse"]
    if shared:
        yield _caution(
            "nitrate",
            place,
            present=True,
            what=f"{', '.join(shared)} serves before the chloride bath and after the nitric dip",
            more="give each its own rinse",
            entries=loads,
        )
    elif len(rinses) == 1:
        yield _caution(
            "nitrate",
            place,
            present=True,
            what=f"{rinses[0]} is the only rinse beside a chloride bath and a nitric dip",
            more="give each its own rinse",
        )
    else:
        yield _caution("nitrate", place)


def _shared_rinses(shop: Shop, plate: str, nitric: set[str]) -> tuple[list[str], list[str]]:
    """Rinses that loads met right before the plating bath and right after a nitric dip, with the runs that show it."""
    before: dict[str, list[str]] = {}
    after: dict[str, list[str]] = {}
    for load_ in shop.loads:
        for number, tank in enumerate(load_.tanks):
            if tank == plate:
                for rinse in _rinses(shop, reversed(load_.tanks[:number])):
                    before.setdefault(rinse, []).append(load_.entry)
            if tank in nitric:
                for rinse in _rinses(shop, load_.tanks[number + 1 :]):
                    after.setdefault(rinse, []).append(load_.entry)
    shared = [r for r in before if r in after]
    return shared, list(dict.fromkeys(e for r in shared for e in (*before[r][-1:], *after[r][-1:])))


def _rinses(shop: Shop, tanks: Iterator[str] | Sequence[str]) -> Iterator[str]:
    """The unbroken row of rinses at the beginning of some tanks."""
    for name in tanks:
        place = shop.place(name)
        if place is None or place.role != "rinse":
            return
        yield name


def _is_nitric(shop: Shop, reagent: str) -> bool:
    return any("nitric acid" in v.groups for v in shop.reagents if v.name == reagent)


def _acid_into_water(shop: Shop, place: Place) -> Iterator[Finding]:
    if "acid" in place.groups:
        yield _caution("acid-into-water", place)


def _high_strength(shop: Shop, place: Place) -> Iterator[Finding]:
    """Said once for the line, at its plating tank, or at the first acid where nothing is plated."""
    spots = [p.name for p in shop.places if p.role == "plate"] or [p.name for p in shop.places if "acid" in p.groups]
    if place.name != (spots[0] if spots else None):
        return
    loads = [(x, [p for p in x.parts if _is_strong(p)]) for x in shop.loads]
    strong = [(x, parts) for x, parts in loads if parts]
    if strong:
        names = ", ".join(dict.fromkeys(p.description for _, parts in strong for p in parts))
        yield _caution("high-strength", place, present=True, more=f"on record: {names}", entries=[x.entry for x, _ in strong])
    else:
        yield _caution("high-strength", place, level_later=True)


def _is_strong(part: Part) -> bool:
    """Marked as critical, or as strong as the threshold by its strength or its class; an unreadable class counts as strong."""
    threshold = load().limits["qualified_plater"].value
    if part.safety_critical or (part.strength_mpa is not None and part.strength_mpa >= threshold):
        return True
    if part.property_class is None:
        return False
    try:
        return fastener_class(part.property_class).strength_mpa >= threshold
    except SafetyError:
        return True


def _shelf(shop: Shop) -> Iterator[Finding]:
    """Cautions of the shelf: acids bought strong, cyanide anywhere."""
    strong = [v for v in shop.reagents if "acid" in v.groups and any(is_concentrate(v, g) for g in v.groups)]
    if strong:
        names = ", ".join(v.name for v in strong)
        yield _made("acid-into-water", SHELF, f"on record: {names}", [e for v in strong for e in v.entries])
    cyanide: list[Vessel] = [v for v in shop.vessels if "cyanide" in v.groups]
    if cyanide:
        yield _made("cyanide", SHELF, ", ".join(v.name for v in cyanide), [e for v in cyanide for e in v.entries])


def _caution(
    name: str,
    place: Place,
    *,
    present: bool = False,
    what: str = "",
    more: str = "",
    entries: Sequence[str] = (),
    formula: str = "",
    level_now: bool = False,
    level_later: bool = False,
) -> Finding:
    return _made(
        name,
        place.name,
        more,
        entries,
        present=present,
        what=what,
        formula=formula,
        level_now=level_now,
        level_later=level_later,
    )


def _made(
    name: str,
    tank: str,
    more: str,
    entries: Sequence[str],
    *,
    present: bool = False,
    what: str = "",
    formula: str = "",
    level_now: bool = False,
    level_later: bool = False,
) -> Finding:
    hazard = load().hazards[name]
    level = hazard.present_level if present else hazard.level
    return Finding(
        id=f"{tank}.caution.{name}",
        tank=tank,
        what=what or (hazard.present if present else "") or hazard.what,
        why=hazard.why + (f"; {more}" if more else ""),
        level="now" if level_now else "later" if level_later else level,
        because=Because(
            text=hazard.why,
            entries=tuple(dict.fromkeys(entries)),
            formula=formula,
            sources=("common practice" if hazard.status == "practice" else f"{hazard.status}: {hazard.source}",),
        ),
    )
