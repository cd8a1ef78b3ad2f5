"""Density, degrees Baumé and strength of a solution; and a jar test scaled up to its tank."""

from __future__ import annotations

import re

from bathkeeper.calculators.given import Given, show_volume
from bathkeeper.calculators.model import Answer, CalcError, Calculator, Input, Measured
from bathkeeper.calculators.substances import (
    Strong,
    Substance,
    density_at,
    density_of,
    need,
    split,
    strong,
    substance,
)
from bathkeeper.chemistry import additions, balance, baume
from bathkeeper.units.door import figures, show

EXAMPLE_ACID = '"hydrochloric acid 20%"'


def _density(given: Given) -> Answer:
    modulus = given.value("modulus")
    if not 140 <= modulus <= 150:
        raise CalcError(
            f"modulus: {figures(modulus)} is no modulus of the Baumé scale; those in use are 144 to 147, for example 145",
            "modulus",
        )
    temperature_c = given.value("temperature")
    one, told = _named(given, temperature_c)
    ways = given.have("baume", "sg")
    if len(ways) + (told is not None) != 1:
        if one is not None and told is None and not ways:
            raise CalcError(
                f"acid: how strong the {one.name} is, is missing; write for example {EXAMPLE_ACID}, or give its "
                "density with sg or baume",
                "acid",
            )
        raise CalcError("give one of baume, sg, and an acid with its strength; for example baume 22", (ways or ["baume"])[-1])
    percent = grams = None
    if told is not None:
        density = told.density_g_ml or density_at(told.substance, told.concentration_g_l, temperature_c)
        if density is None:
            raise CalcError(f"acid: the density of {told.substance.name} at this strength is not known here", "acid")
        sg, grams = density, told.concentration_g_l
        percent = told.percent_w_w or additions.percent_w_w_from_g_l(grams, sg)
    else:
        sg = _of_baume(given, modulus) if ways == ["baume"] else given.value("sg")
        if one is not None:
            percent = _percent_at(one, sg, temperature_c)
            grams = additions.g_l_from_percent_w_w(percent, sg)
    degrees = baume.baume_from_sg(sg, modulus) if sg >= 1 else None
    lines = [f"density: {sg:.4f} g/cm³ (specific gravity)"]
    if degrees is not None:
        lines.append(f"degrees Baumé: {degrees:.2f} °Bé (modulus {figures(modulus)})")
    if percent is not None and grams is not None:
        lines.append(f"strength: {figures(percent)} % by weight, {show(grams, 'concentration', given.prefs)}")
    return Answer(
        values={"sg": sg, "baume": degrees, "concentration_g_l": grams, "percent_w_w": percent},
        lines=tuple(lines),
        formula="SG = modulus / (modulus - °Bé), heavier than water; g/L = 10 x % by weight x SG",
        sources=(
            "modulus 145: US hydrometers (memory; published hydrochloric acid tables agree); others in use 144, 144.38, 146.78",
            *(("density: Laliberté, J. Chem. Eng. Data 54 (2009) 1725",) if one is not None else ()),
        ),
        cautions=("Read the modulus off the hydrometer: at 20 °Bé the scales in use are 0.004 apart.",)
        if degrees is not None and ways == ["baume"]
        else (),
        measured=(Measured("density", sg, "g/cm3", method="hydrometer"),) if ways else (),
    )


def _named(given: Given, temperature_c: float) -> tuple[Substance | None, Strong | None]:
    if not given.has("acid"):
        return None, None
    text = given.text("acid")
    if not split(text)[1]:
        return need(text, "acid", "acid", "base", "titrant"), None
    told = strong(text, "acid", EXAMPLE_ACID, given.prefs, "acid", "base", "titrant", temperature_c=temperature_c)
    given.note(told.echo)
    return told.substance, told


def _of_baume(given: Given, modulus: float) -> float:
    text = given.text("baume")
    digits = re.fullmatch(r"\s*([-+0-9.,]+)\s*(?:°?\s*|deg\s*)(?:B[ée]?|Baum[ée])?\s*", text, re.IGNORECASE)
    if not digits:
        raise CalcError(f"baume: `{text.strip()}` is no degree Baumé; write for example 22", "baume")
    from bathkeeper.units.door import UnitError, number

    try:
        degrees = number(digits[1], given.prefs)
    except UnitError as problem:
        raise CalcError(f"baume: {problem}", "baume") from None
    if not 0 < degrees < modulus * (1 - 1 / baume.HIGHEST_SG):
        raise CalcError(
            f"baume: {figures(degrees)} °Bé is off the scale for liquids heavier than water; write for example 22", "baume"
        )
    given.note(f"{figures(degrees)} °Bé, modulus {figures(modulus)}")
    return baume.sg_from_baume(degrees, modulus)


def _percent_at(one: Substance, sg: float, temperature_c: float) -> float:
    """% by weight at which a solution has a density. Raises CalcError where it has it nowhere in the model."""
    low, high = 0.0, 100.0
    while density_of(one, high, temperature_c) is None:
        high -= 0.1
        if high <= 0:
            raise CalcError(f"acid: the density of {one.name} is not known here", "acid")
    ends = [density_of(one, p, temperature_c) or 0.0 for p in (low, high)]
    if not ends[0] <= sg <= ends[1]:
        raise CalcError(f"{one.name} up to {high:.0f} % has {ends[0]:.3f} to {ends[1]:.3f} g/cm³, never {sg:.3f}", "sg")
    for _ in range(60):
        middle = (low + high) / 2
        low, high = (middle, high) if (density_of(one, middle, temperature_c) or 0.0) < sg else (low, middle)
    return (low + high) / 2


def _jar(given: Given) -> Answer:
    sample_l, used_l = given.value("sample"), given.value("used")
    titrant = strong(given.text("titrant"), "titrant", '"sulfuric acid 0.1N"', given.prefs, "acid", "base")
    given.note(f"titrant {titrant.echo}")
    tank_l = given.value("volume")
    if sample_l >= tank_l:
        raise CalcError("sample: the jar is not smaller than the tank; were the two exchanged?", "sample")
    equivalents = additions.jar_test_equivalents(1000 * used_l, titrant.equivalents_l, 1000 * sample_l, tank_l)
    one, fraction, density, source = _stock(given)
    if _is_acid(one) != _is_acid(titrant.substance):
        raise CalcError(
            f"stock: the jar took {titrant.substance.name}, and {one.name} does the opposite; give a stock of the same kind",
            "stock",
        )
    pure_g = balance.reagent_for_equivalents_g(equivalents, one.molar_mass_g_mol, one.equivalents)
    weigh_g = pure_g / fraction
    amount_ml = weigh_g / density if density else None
    measure = f" = {show_volume(amount_ml / 1000, given.prefs)} of the stock" if amount_ml is not None else ""
    return Answer(
        values={
            "equivalents": equivalents,
            "amount_ml": amount_ml,
            "amount_g": pure_g,
            "weigh_g": weigh_g,
            "first_quarter_ml": amount_ml / 4 if amount_ml is not None else None,
        },
        lines=(
            f"the tank takes {figures(1000 * equivalents)} meq",
            f"{one.name}: {figures(pure_g)} g pure, {figures(weigh_g)} g as bottled{measure}",
        ),
        formula="equivalents = used x N x tank / sample; grams = equivalents x molar mass / equivalents per mol",
        sources=(source,),
        cautions=(
            "In quarters: add one, stir, wait, read the pH, then the next. Without a jar test no dose.",
            *(
                ("Acid into water, slowly, never water into acid; gloves and goggles.",)
                if _is_acid(one)
                else ("Into cold water, small portions; gloves and goggles.",)
            ),
        ),
    )


def _is_acid(one: Substance) -> bool:
    return substance(one.name, "acid") is not None


def _stock(given: Given) -> tuple[Substance, float, float | None, str]:
    """(substance, mass fraction, g/mL of a liquid, source) of what stands on the shelf."""
    text = given.text("stock")
    try:
        reagent = given.catalogue.reagent(text)
        known = substance(reagent.formula, "acid", "base") if reagent.formula else None
    except ValueError:
        reagent, known = None, None
    if reagent is not None and known is not None:
        given.note(f"stock {reagent.title}, {figures(reagent.purity * 100)} % {reagent.formula}")
        density = reagent.density_g_ml if reagent.form == "liquid" else None
        return known, reagent.purity, density, f"{reagent.name}, {reagent.status}: {reagent.source or 'an editable default'}"
    if not split(text)[1]:
        dry = need(text, "stock", "acid", "base")
        if dry.formula in ("NaHSO4", "H3NSO3", "C6H8O7") or not _is_acid(dry):
            given.note(f"stock {dry.name}, dry and pure")
            return dry, 1.0, None, "taken as dry and pure"
    told = strong(text, "stock", '"sulfuric acid 96%"', given.prefs, "acid", "base")
    density = told.density_g_ml or density_at(told.substance, told.concentration_g_l)
    if density is None:
        raise CalcError(f"stock: the density of {told.substance.name} of this strength is not known; give it in %", "stock")
    given.note(f"stock {told.echo}")
    return told.substance, told.concentration_g_l / (1000 * density), density, "density: Laliberté 2009, or the bottle's table"


DENSITY = Calculator(
    name="density",
    title="Density and strength",
    help="Degrees Baumé to density and back; density of an acid of a strength, or strength from a density.",
    inputs=(
        Input("baume", "text", "degrees Baumé", "Degrees Baumé, heavier than water.", "22"),
        Input("sg", "gravity", "density", "Specific gravity or g/cm³.", "1.18"),
        Input(
            "acid",
            "text",
            "acid or base",
            "A solution with its strength; without it, with a density, its strength is found.",
            "hydrochloric acid 20%",
        ),
        Input("modulus", "number", "modulus", "Modulus of the hydrometer.", "145", default="145"),
        Input(
            "temperature",
            "temperature",
            "temperature",
            "Of the solution, for the density of an acid.",
            "20degC",
            default="20degC",
        ),
    ),
    answer=_density,
    keys={
        "sg": "specific gravity, g/cm³",
        "baume": "degrees Baumé (None of what is lighter than water)",
        "concentration_g_l": "g/L of the acid or base",
        "percent_w_w": "the same in % by weight",
    },
    examples=(
        {"baume": "22", "modulus": "145"},
        {"sg": "1.18"},
        {"acid": "hydrochloric acid 20%"},
        {"acid": "sulfuric acid", "sg": "1.28"},
    ),
    logs=True,
)

JAR = Calculator(
    name="jar",
    title="Jar test",
    help="The acid or base for a whole tank from what a jar of its solution took: the only honest dose for a buffered bath.",
    inputs=(
        Input("sample", "volume", "sample", "Solution in the jar.", "100mL", required=True),
        Input("used", "volume", "used", "Titrant that brought the jar to the pH wanted.", "6mL", required=True),
        Input("titrant", "text", "titrant", "What was in the burette, with its strength.", "sulfuric acid 0.1N", required=True),
        Input("volume", "volume", "tank", "Solution in the tank.", "40L", required=True),
        Input("stock", "text", "stock", "What will go into the tank, with its strength.", "sulfuric acid 96%", required=True),
    ),
    answer=_jar,
    keys={
        "equivalents": "mol of H+ or OH- for the whole tank",
        "amount_ml": "mL of the stock, of liquids",
        "amount_g": "g of the pure acid or base",
        "weigh_g": "g of the stock as it is bottled",
        "first_quarter_ml": "mL of the stock to start with",
    },
    examples=(
        {"sample": "100mL", "used": "6mL", "titrant": "sulfuric acid 0.1N", "volume": "40L", "stock": "sulfuric acid 96%"},
    ),
)
