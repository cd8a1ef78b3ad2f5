"""The base that a spent acid solution takes on paper, for its acid, metals and weak acids; gas, heat and sludge of it."""

from __future__ import annotations

from bathkeeper.calculators.given import Given
from bathkeeper.calculators.model import Answer, CalcError, Calculator, Input
from bathkeeper.calculators.substances import Strong, Substance, need, strong
from bathkeeper.chemistry import neutralising
from bathkeeper.chemistry.formulas import molar_mass
from bathkeeper.units.door import figures, show

WET_SLUDGE = (0.03, 0.25)
"""Dry share of settled and of pressed hydroxide sludge (practice)."""


def _neutralise(given: Given) -> Answer:
    volume_l = given.value("volume")
    acids = _each(given, "acid", '"hydrochloric acid 80g/L"')
    metals = _each(given, "metal", '"iron(II) 60g/L"')
    weak = {n: given.value(n) for n in ("boric", "ammonium") if given.has(n)}
    if not acids and not metals and not weak:
        raise CalcError(
            'acid is missing: say what is in the solution, acids and metals; for example "hydrochloric acid 80g/L"', "acid"
        )
    base = need(given.text("base"), "base", "base")
    purity = given.value("purity")
    given.note(f"base {base.name}")
    acid_eq = sum(volume_l * a.equivalents_l for a in acids)
    metal_g = {m.substance.name: volume_l * m.concentration_g_l for m in metals}
    masses = {m.substance.name: m.substance.molar_mass_g_mol for m in metals}
    charges = {m.substance.name: float(m.substance.charge) for m in metals}
    weak_eq = _weak_equivalents(given, weak, volume_l)
    equivalents = neutralising.base_equivalents(acid_eq, metal_g, masses, charges, weak_eq)
    base_g = neutralising.base_g(equivalents, base.molar_mass_g_mol, base.equivalents, purity)
    co2_l = neutralising.carbon_dioxide_l(equivalents, base.equivalents / base.carbonates) if base.carbonates else 0.0
    heat = _heat_kj(base, acid_eq, metals, volume_l)
    solid = equivalents * base.solid_kj_per_eq
    sludge_g = sum(neutralising.hydroxide_g(metal_g[m], masses[m], charges[m]) for m in metal_g)
    return Answer(
        values={
            "equivalents": equivalents,
            "base_g": base_g,
            "co2_l": co2_l,
            "heat_kj": heat,
            "heat_if_base_is_dry_kj": heat + solid,
            "acid_equivalents": acid_eq,
            "metal_equivalents": equivalents - acid_eq - weak_eq,
            "weak_equivalents": weak_eq,
            "sludge_dry_g": sludge_g,
            "sludge_wet_kg": [sludge_g / 1000 / s for s in reversed(WET_SLUDGE)],
        },
        lines=(
            f"base in all: {figures(equivalents)} equivalents (acid {figures(acid_eq)}, metals "
            f"{figures(equivalents - acid_eq - weak_eq)}" + (f", weak acids {figures(weak_eq)})" if weak_eq else ")"),
            f"{base.name}: {show(base_g, 'mass', given.prefs)}",
            *((f"carbon dioxide: up to {figures(co2_l)} L at 25 °C",) if co2_l else ()),
            f"heat: about {figures(heat)} kJ" + (f", {figures(heat + solid)} kJ if the base goes in dry" if solid else ""),
            *(
                (
                    f"sludge: {figures(sludge_g / 1000)} kg dry, {figures(sludge_g / 1000 / WET_SLUDGE[1])} to "
                    f"{figures(sludge_g / 1000 / WET_SLUDGE[0])} kg wet",
                )
                if sludge_g
                else ()
            ),
        ),
        formula="equivalents = acid/molar mass x protons + metal/molar mass x charge + weak acid / (1 + 10^(pKa - pH)); base = "
        "equivalents x molar mass / equivalents per mol",
        sources=(
            "heat of neutralising 55.8 kJ a mole of water: standard enthalpies (memory); of metals falling out: memory",
            "pKa boric acid 9.24, ammonium 9.25: memory",
            "wet sludge 3 to 25 % dry: practice",
        ),
        cautions=_cautions(base, metals, weak, acids),
    )


def _each(given: Given, name: str, example: str) -> list[Strong]:
    if not given.has(name):
        return []
    found = []
    for text in given.texts(name):
        if name == "metal" and "(vi)" in text.casefold().replace(" ", ""):
            raise CalcError("metal: chromium(VI) does not fall out with base; hand such waste over whole", name)
        one = strong(text, name, example, given.prefs, "acid" if name == "acid" else "ion")
        given.note(f"{name} {one.echo}")
        found.append(one)
    names = [f.substance.name for f in found]
    twice = next((n for n in names if names.count(n) > 1), None)
    if twice:
        raise CalcError(f"{name}: {twice} is there twice; add the two up", name)
    return found


def _weak_equivalents(given: Given, weak: dict[str, float], volume_l: float) -> float:
    if not weak:
        return 0.0
    ph = given.value("ph")
    kinds = {
        "boric": ("H3BO3", neutralising.PKA_BORIC_ACID),
        "ammonium": ("NH4Cl", neutralising.PKA_AMMONIUM),
    }
    return sum(
        neutralising.weak_acid_equivalents(volume_l * g_l / molar_mass(kinds[n][0]), ph, kinds[n][1]) for n, g_l in weak.items()
    )


def _heat_kj(base: Substance, acid_eq: float, metals: list[Strong], volume_l: float) -> float:
    """Acid by water forming, metals by falling out; a carbonate spends nearly all of it on setting its gas free."""
    heat = acid_eq * base.heat_kj_per_eq
    if not base.carbonates:
        heat += sum(volume_l * m.equivalents_l * m.substance.heat_kj_per_eq for m in metals)
    return heat


def _cautions(base: Substance, metals: list[Strong], weak: dict[str, float], acids: list[Strong]) -> tuple[str, ...]:
    found = [
        "Arithmetic for understanding and for the contractor. It never means that something may be poured away: the local "
        "authority or a licensed contractor decides, by the rules in force where you are."
    ]
    if base.carbonates:
        found.append("Foams: a large open vessel, small portions, air the room; the gas gathers low.")
    if base.solid_kj_per_eq > 10:
        found.append(
            "Boils and spits where dry base meets water or acid: dissolve it in much cold water first, small portions, "
            "goggles, gloves, apron."
        )
    if "ammonium" in weak:
        found.append(
            "With alkali ammonium gives off ammonia and holds zinc and nickel in solution: hand such a bath over whole."
        )
    if len(metals) and any(m.substance.name in ("nickel", "cobalt") for m in metals):
        found.append("Nickel sludge is poisonous and must not dry to dust.")
    if any(a.substance.formula == "HNO3" for a in acids):
        found.append("Nitric acid: never near organic matter or hydrochloric acid.")
    found += [m.substance.caution for m in metals if m.substance.caution]
    found += [f"{base.name}: {base.about}." for _ in (1,) if base.about]
    return tuple(found)


NEUTRALISE = Calculator(
    name="neutralise",
    title="Neutralising",
    help="Base that a spent acid solution takes on paper, counting its metals too; carbon dioxide, heat and sludge.",
    inputs=(
        Input("volume", "volume", "volume", "Spent solution.", "25L", required=True),
        Input(
            "acid",
            "text",
            "acid",
            "A free acid with its strength; may be given several times.",
            "hydrochloric acid 80g/L",
            repeated=True,
        ),
        Input(
            "metal",
            "text",
            "metal",
            "A dissolved metal with how much; may be given several times.",
            "iron(II) 60g/L",
            repeated=True,
        ),
        Input("base", "text", "base", "The base that is on the shelf.", "calcium hydroxide", required=True),
        Input("purity", "fraction", "purity of the base", "Share of it in the bag.", "95%", default="100%"),
        Input("boric", "concentration", "boric acid", "A weak acid that takes base at a high pH.", "25g/L"),
        Input("ammonium", "concentration", "ammonium chloride", "Ammonium, counted as ammonium chloride.", "200g/L"),
        Input("ph", "ph", "end pH", "Where the weak acids are counted.", "9.5", default="9.5"),
    ),
    answer=_neutralise,
    keys={
        "equivalents": "mol of OH- in all",
        "base_g": "g of the base as bought",
        "co2_l": "L of carbon dioxide at 25 °C, at most",
        "heat_kj": "heat in kJ, the base dissolved before",
        "heat_if_base_is_dry_kj": "heat in kJ, the base put in dry",
        "acid_equivalents": "of which free acid",
        "metal_equivalents": "of which metals",
        "weak_equivalents": "of which weak acids",
        "sludge_dry_g": "g of dry hydroxides",
        "sludge_wet_kg": "kg of wet sludge, low and high",
    },
    examples=(
        {"volume": "25L", "acid": "hydrochloric acid 80g/L", "metal": "iron(II) 60g/L", "base": "calcium hydroxide"},
        {"volume": "20L", "metal": ("zinc 35g/L", "nickel 25g/L"), "base": "sodium hydroxide"},
    ),
)
