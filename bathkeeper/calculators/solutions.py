"""Adding to a bath and thinning it: what to weigh in, what else comes along, what to swap for water."""

from __future__ import annotations

from bathkeeper.calculators.given import Given, show_volume
from bathkeeper.calculators.model import Answer, CalcError, Calculator, Input, Value
from bathkeeper.catalogue.schema import Reagent
from bathkeeper.chemistry import additions
from bathkeeper.chemistry.formulas import mass_fraction
from bathkeeper.units.door import figures, show

LEAST_LEFT = 0.05
"""Below this share of the solution left nobody thins a bath: it is made up anew (practice)."""


def reagent_of(given: Given, name: str) -> Reagent:
    """The reagent that an input names, from the catalogue. Raises CalcError with the near misses."""
    try:
        return given.catalogue.reagent(given.text(name))
    except ValueError as problem:
        raise CalcError(f"{name}: {problem}", name) from None


def _add(given: Given) -> Answer:
    reagent = reagent_of(given, "reagent")
    if not reagent.brings or not reagent.formula:
        raise CalcError(f"reagent: {reagent.title} brings nothing that is counted in g/L", "reagent")
    purity = given.value("purity") if given.has("purity") else reagent.purity
    given.note(f"{reagent.title}, {reagent.formula}, {figures(purity * 100)} % of it")
    volume_l = given.value("volume")
    if given.has("amount"):
        wrong = given.have("from", "to")
        if wrong:
            raise CalcError(f"{wrong[0]}: give either an amount, or from and to", wrong[0])
        amount_g = _amount_g(given, reagent)
    else:
        amount_g = _to_weigh_g(given, reagent, purity, volume_l)
    brings: dict[str, Value] = {}
    grams: dict[str, float] = {}
    for species, part in reagent.brings.items():
        grams[species] = additions.brought_g(amount_g, mass_fraction(reagent.formula, part), purity)
        brings[species] = additions.concentration_change_g_l(grams[species], volume_l)
    amount_ml = amount_g / reagent.density_g_ml if reagent.density_g_ml and reagent.form == "liquid" else None
    measure = f" or {show_volume(amount_ml / 1000, given.prefs)}" if amount_ml is not None else ""
    return Answer(
        values={
            "amount_g": amount_g,
            "amount_ml": amount_ml,
            "brings": brings,
            "compound_g_l": amount_g * purity / volume_l,
        },
        lines=(
            f"{reagent.title}: {show(amount_g, 'mass', given.prefs)}{measure}",
            *(f"brings {species}: {figures(g)} g, +{figures(g / volume_l)} g/L" for species, g in grams.items()),
        ),
        formula="amount = volume x (to - from) / (content of the species in the compound x purity); its own "
        "volume is neglected",
        sources=(
            f"{reagent.name}, {reagent.status}: {reagent.source or 'an editable default'}",
            "contents: IUPAC atomic masses",
        ),
        cautions=(*reagent.cautions, "Add in halves and read again where the amount is large or the reading old."),
    )


def _amount_g(given: Given, reagent: Reagent) -> float:
    amount, kind = given.value_and_kind("amount")
    if kind == "mass":
        return amount
    if reagent.form != "liquid" or not reagent.density_g_ml:
        raise CalcError(f"amount: {reagent.title} is weighed; write for example 500g", "amount")
    return amount * 1000.0 * reagent.density_g_ml


def _to_weigh_g(given: Given, reagent: Reagent, purity: float, volume_l: float) -> float:
    for name in ("from", "to"):
        if not given.has(name):
            example = "28g/L" if name == "from" else "35g/L"
            raise CalcError(
                f"{name} is missing: say what it is now and what it should be, or give an amount; for example {example}", name
            )
    if given.has("of"):
        of = next((s for s in reagent.brings if s.casefold() == given.text("of").strip().casefold()), None)
        if of is None:
            raise CalcError(
                f"of: {reagent.title} brings no {given.text('of').strip()}; it brings {', '.join(reagent.brings)}", "of"
            )
    elif len(reagent.brings) == 1:
        of = next(iter(reagent.brings))
    else:
        raise CalcError(f"of is missing: {reagent.title} brings {' and '.join(reagent.brings)}; say which is meant", "of")
    now_g_l, wanted_g_l = given.value("from"), given.value("to")
    if wanted_g_l <= now_g_l:
        raise CalcError(
            f"to: {figures(wanted_g_l)} g/L is not above the {figures(now_g_l)} g/L that there are; to lower it, see dilute",
            "to",
        )
    given.note(f"of {of}")
    content = mass_fraction(reagent.formula, reagent.brings[of])
    return additions.reagent_g(additions.missing_g(volume_l, now_g_l, wanted_g_l), content, purity)


def _dilute(given: Given) -> Answer:
    volume_l = given.value("volume") if given.has("volume") else None
    now_g_l = given.value("from")
    water_l: float | None = None
    at_level = now_g_l
    if given.has("full"):
        if volume_l is None:
            raise CalcError("volume is missing: say how much is in the tank now; for example 36L", "volume")
        full_l = given.value("full")
        if full_l < volume_l:
            raise CalcError(f"full: {figures(full_l)} L is less than the {figures(volume_l)} L that are in the tank", "full")
        water_l = additions.water_to_level_l(volume_l, full_l)
        at_level = additions.at_level_g_l(now_g_l, volume_l, full_l)
        volume_l = full_l
    elif not given.has("to"):
        raise CalcError(
            "to is missing: say what it should be, or up to which volume water is filled (full); for example 3.5g/L", "to"
        )
    fraction, after = 0.0, at_level
    if given.has("to"):
        after = given.value("to")
        if after >= at_level:
            raise CalcError(f"to: {figures(after)} g/L is not below {figures(at_level)} g/L; to raise it, see add", "to")
        fraction = additions.swap_fraction(at_level, after)
        if 1.0 - fraction < LEAST_LEFT:
            raise CalcError(f"to: {fraction:.0%} of the solution would have to go; make it up anew instead", "to")
    swap_l = volume_l * fraction if volume_l is not None else None
    return Answer(
        values={"swap_l": swap_l, "fraction": fraction, "water_l": water_l, "after_g_l": after},
        lines=(
            *(
                ()
                if water_l is None
                else (
                    f"water first: {show(water_l, 'volume', given.prefs)}, which makes it "
                    f"{show(at_level, 'concentration', given.prefs)}",
                )
            ),
            *(() if not given.has("to") else (f"swap for water: {figures(fraction * 100)} % of the solution",)),
            *(
                ()
                if swap_l is None or not given.has("to")
                else (f"that is {show(swap_l, 'volume', given.prefs)}, taken out first",)
            ),
        ),
        formula="share to swap = 1 - to/from; filled up with water: reading x volume now / full volume",
        cautions=(
            "Everything else in the bath falls by the same share.",
            "What is taken out is waste: into a container, not away.",
        )
        if fraction > 0
        else (),
    )


ADD = Calculator(
    name="add",
    title="Addition",
    help="How much of a reagent brings a bath from one concentration to another, and what else comes along.",
    inputs=(
        Input("reagent", "text", "reagent", "A reagent by name or formula.", "zinc chloride", required=True),
        Input("volume", "volume", "volume", "Solution in the tank.", "60L", required=True),
        Input("from", "concentration", "now", "Concentration now.", "28g/L", zero=True),
        Input("to", "concentration", "wanted", "Concentration wanted.", "35g/L"),
        Input("of", "text", "of", "Which of the things that the reagent brings.", "zinc"),
        Input("purity", "fraction", "purity", "Share of the compound in the bag; else the catalogue's.", "97%"),
        Input("amount", ("mass", "volume"), "amount", "Instead of from and to: what so much of it brings.", "500g"),
    ),
    answer=_add,
    keys={
        "amount_g": "g of the reagent as bought",
        "amount_ml": "the same in mL, of liquids",
        "brings": "g/L of each species that it brings",
        "compound_g_l": "g/L of the pure compound",
    },
    examples=(
        {"reagent": "zinc chloride", "purity": "97%", "volume": "60L", "from": "28g/L", "to": "35g/L", "of": "zinc"},
        {"reagent": "nickel sulfate hexahydrate", "amount": "300g", "volume": "1L"},
    ),
    sources=("mass balance",),
)

DILUTE = Calculator(
    name="dilute",
    title="Dilution",
    help="How much of a solution to swap for water to lower a concentration, or what filling up with water makes of it.",
    inputs=(
        Input("volume", "volume", "volume", "Solution in the tank.", "400usgal"),
        Input("from", "concentration", "now", "Concentration now.", "4.5oz/usgal", required=True),
        Input("to", "concentration", "wanted", "Concentration wanted.", "3.5oz/usgal"),
        Input("full", "volume", "full volume", "Volume up to which water is filled first.", "40L"),
    ),
    answer=_dilute,
    keys={
        "swap_l": "L of solution to take out and replace by water",
        "fraction": "the same as a share of the solution",
        "water_l": "L of water that fill the tank to its full volume",
        "after_g_l": "g/L afterwards",
    },
    examples=(
        {"volume": "400usgal", "from": "4.5oz/usgal", "to": "3.5oz/usgal"},
        {"volume": "36L", "full": "40L", "from": "88g/L"},
    ),
    sources=("mass balance",),
    without_measures=("fraction",),
)
