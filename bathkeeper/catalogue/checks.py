"""Cross checks of the catalogue: whether what one table names exists in the others, in words that name place and field."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Iterator, Mapping

from bathkeeper.catalogue.schema import STRANGERS, Metal, Method, Piece, Reagent, Recipe, Template, Wear
from bathkeeper.catalogue.typed import near
from bathkeeper.entries import ROLES

FIXED_PARAMETERS = ("cathode_efficiency", "ratio_exponent", "per_degree", "density_exponent", "ph_slope", "conductivity_water")
"""Parameters that the arithmetic knows by name; with deposit_METAL, anode_efficiency_METAL and anode_share_METAL."""

ELSEWHERE = ("water", "acid", "solution")
"""Where an effect may go other than to a species or to ``anode:METAL``."""


def recipe_faults(
    recipe: Recipe,
    metals: Mapping[str, Metal],
    reagents: Collection[Reagent],
    recipes: Collection[str],
    water: Collection[str],
) -> Iterator[str]:
    """What does not hang together in a recipe, one sentence each, beginning with the field. ``recipes`` and ``water``: the
    names that there are."""
    for name, ratio in recipe.ratios.items():
        for side in ("parts", "whole"):
            for species in getattr(ratio, side):
                if species not in recipe.species:
                    yield _no_species(f"ratios.{name}.{side}", species, recipe)
    for table in ("density", "conductivity"):
        for species in getattr(recipe, table):
            if species not in recipe.species:
                yield _no_species(f"{table}.{species}", species, recipe)
    for name, species_ in recipe.species.items():
        if species_.kind in ("acid", "alkali") and (not species_.formula or not species_.equivalents):
            yield f"species.{name}: an {species_.kind} is counted as a compound: give its `formula` and `equivalents` per mol"
        if species_.hydroxide_held and (
            species_.kind != "metal" or not any(s.kind == "alkali" for s in recipe.species.values())
        ):
            yield f"species.{name}.hydroxide_held: only a metal in a bath with a species of kind alkali holds hydroxide"
    for field, due in [*((f"readings.{n}", d) for n, d in recipe.readings.items()), ("life", recipe.life)]:
        if due is not None and not any(v is not None and v > 0 for v in (due.days, due.charge_ah, due.area_dm2)):
            yield f"{field}: give at least one of days, charge_ah, area_dm2, above 0"
    for wear in recipe.wear:
        yield from _wear_faults(wear, recipe, metals)
    yield from _electrode_faults(recipe, metals)
    yield from piece_faults(recipe, metals, reagents, recipes, water)
    yield from _unused(recipe)
    yield from _untouched(recipe, reagents)


def piece_faults(
    piece: Piece,
    metals: Mapping[str, Metal],
    reagents: Collection[Reagent],
    recipes: Collection[str],
    water: Collection[str],
) -> Iterator[str]:
    """Names in a piece of a recipe that are nowhere, and a make-up that cannot be: what shows without the rest of the
    recipe."""
    for metal in piece.electrode.inert if piece.electrode is not None else ():
        if metal not in metals:
            yield f"electrode.inert: there is no metal `{metal}`{near(metal, metals)}"
    for metal in piece.electrode.anode_density if piece.electrode is not None else ():
        if metal not in metals:
            yield f"electrode.anode_density: there is no metal `{metal}`{near(metal, metals)}"
    yield from _make_up_faults(piece, reagents)
    known = [*ROLES, *STRANGERS, *recipes, *(r.name for r in reagents)]
    for meeting in piece.must_not_meet:
        if meeting.what not in known:
            yield (
                f"must_not_meet.`{meeting.what}`: is no role, recipe or reagent, and none of {', '.join(STRANGERS)}"
                f"{near(meeting.what, known)}"
            )
    if piece.water and piece.water not in water:
        yield f"water: there is no water quality `{piece.water}`{near(piece.water, list(water))} There are {_list(water)}"


def reagent_faults(reagent: Reagent) -> Iterator[str]:
    """What cannot be in a reagent, one sentence each, beginning with the field."""
    if not 0 < reagent.purity <= 1:
        yield f"purity: {reagent.purity:g} is not a mass fraction; it lies above 0 and at most at 1 (97 % is 0.97)"
    if reagent.density_g_ml is not None and not 0.5 < reagent.density_g_ml < 4:
        yield f"density_g_ml: {reagent.density_g_ml:g} is not a liquid's density in g/mL (water 1, strong acids up to 1.84)"
    if reagent.form == "additive":
        if not reagent.additive:
            yield "additive: is missing; name the species (in mL) that this additive is counted as"
    elif not reagent.formula:
        yield "formula: is missing; only an additive can do without, for example NiCl2.6H2O"
    if reagent.form == "liquid" and reagent.density_g_ml is None:
        yield "density_g_ml: is missing; a liquid is dosed in mL and counted in g"


def method_faults(method: Method) -> Iterator[str]:
    """What cannot be in a method, one sentence each, beginning with the field."""
    for field in ("relative", "absolute", "bias_relative", "bias_absolute"):
        if getattr(method, field) < 0:
            yield f"{field}: a half-width cannot be below 0"
    if method.unit != "verdict" and not method.relative and not method.absolute:
        yield "relative: give `relative` or `absolute` above 0; no measurement is without scatter"
    if method.bias_relative and method.bias_absolute:
        yield "bias_absolute: a method is wrong either by a fraction or by an amount; give one of bias_relative, bias_absolute"


def template_faults(template: Template, recipes: Mapping[str, Recipe]) -> Iterator[str]:
    """What does not hang together in a template, one sentence each, beginning with the field."""
    seen: set[str] = set()
    for place in template.places:
        if place.tank in seen:
            yield f"places.`{place.tank}`: this tank stands twice in the line; names must differ"
        seen.add(place.tank)
        if place.recipe is None:
            continue
        recipe = recipes.get(place.recipe)
        if recipe is None:
            yield f"places.`{place.tank}`.recipe: there is no recipe `{place.recipe}`{near(place.recipe, recipes)}"
        elif recipe.role != place.role:
            yield f"places.`{place.tank}`.role: is {place.role}, but its recipe {recipe.name} is for {recipe.role}"


def formula_faults(recipes: Mapping[str, Recipe], reagents: Mapping[str, Reagent]) -> Iterator[str]:
    """Formulas that cannot be read, and groups that a formula does not hold. Needs the chemistry, so loading leaves it out."""
    from bathkeeper.chemistry.formulas import mass_fraction, molar_mass

    for reagent in reagents.values():
        for field, group in [("formula", "whole"), *((f"brings.{s}", g) for s, g in reagent.brings.items())]:
            try:
                if reagent.formula or field != "formula":
                    mass_fraction(reagent.formula, group)
            except ValueError as problem:
                yield f"reagent `{reagent.name}`, {field}: {problem}"
    for recipe in recipes.values():
        for name, species in recipe.species.items():
            try:
                if species.formula:
                    molar_mass(species.formula)
            except ValueError as problem:
                yield f"recipe `{recipe.name}`, species.{name}.formula: {problem}"


def _no_species(field: str, species: str, recipe: Recipe) -> str:
    return f"{field}: this recipe has no species `{species}`{near(species, recipe.species)} It has {_list(recipe.species)}"


def _no_parameter(field: str, parameter: str, recipe: Recipe) -> str:
    known = recipe.parameters
    return f"{field}: this recipe has no parameter `{parameter}`{near(parameter, known)} It has {_list(known)}"


def _list(names: Iterable[str]) -> str:
    return ", ".join(names) or "none"


def _wear_faults(wear: Wear, recipe: Recipe, metals: Mapping[str, Metal]) -> Iterator[str]:
    field = f"wear.`{wear.name}`"
    for what in ("rate", "power", "per_degree"):
        parameter = getattr(wear, what)
        if parameter is not None and parameter not in recipe.parameters:
            yield _no_parameter(f"{field}.{what}", parameter, recipe)
    if wear.slowed_by is not None and wear.slowed_by not in recipe.species:
        yield _no_species(f"{field}.slowed_by", wear.slowed_by, recipe)
    elif wear.slowed_by is not None and not recipe.species[wear.slowed_by].target:
        yield f"{field}.slowed_by: species.{wear.slowed_by} needs a `target` above 0; the rate holds at that content"
    if wear.power is not None and wear.slowed_by is None:
        yield f"{field}.power: a power without `slowed_by` has nothing to work on"
    if wear.exposure == "anode_dm2_day" and wear.anode_metal is None:
        yield f"{field}.anode_metal: is missing; exposure anode_dm2_day counts the hung anodes of one metal"
    if wear.anode_metal is not None and wear.anode_metal not in metals:
        yield f"{field}.anode_metal: there is no metal `{wear.anode_metal}`{near(wear.anode_metal, metals)}"
    for number, effect in enumerate(wear.effects, 1):
        where = f"{field}.effects.number {number}"
        if effect.parameter is not None and effect.parameter not in recipe.parameters:
            yield _no_parameter(f"{where}.parameter", effect.parameter, recipe)
        kind, _, metal = effect.to.partition(":")
        if kind == "anode" and metal not in metals:
            yield f"{where}.to: there is no metal `{metal}`{near(metal, metals)}"
        elif kind != "anode" and effect.to not in ELSEWHERE and effect.to not in recipe.species:
            yield _no_species(f"{where}.to", effect.to, recipe)


def _electrode_faults(recipe: Recipe, metals: Mapping[str, Metal]) -> Iterator[str]:
    electrode = recipe.electrode
    if electrode is None:
        return
    needed: list[str] = []
    for metal in electrode.inert:
        if metal in electrode.anodes:
            yield f"electrode.inert: {metal} also stands in electrode.anodes; it either dissolves or it does not"
    for side in ("deposit", "anodes"):
        for metal in getattr(electrode, side):
            if metal not in metals:
                yield f"electrode.{side}: there is no metal `{metal}`{near(metal, metals)}"
            elif metals[metal].electrons < 1:
                yield f"electrode.{side}: {metal} does not dissolve or deposit by charge (electrons = 0)"
            if metal not in recipe.species:
                yield _no_species(f"electrode.{side}", metal, recipe)
    if electrode.deposit:
        needed.append("cathode_efficiency")
    needed += [f"deposit_{m}" for m in electrode.deposit[1:]]
    if len(electrode.deposit) > 1 and electrode.reference is not None:
        needed += ["ratio_exponent", "per_degree", "density_exponent"]
    needed += [f"anode_efficiency_{m}" for m in electrode.anodes] + [f"anode_share_{m}" for m in electrode.anodes[1:]]
    for name in needed:
        if name not in recipe.parameters:
            yield f"parameters.{name}: is missing; the electrode needs it"


def _make_up_faults(recipe: Piece, reagents: Iterable[Reagent]) -> Iterator[str]:
    """Steps with unknown reagents or the wrong kind of amount, and an order that can hurt: acid or lye before the water."""
    known = {r.name: r for r in reagents}
    for number, step in enumerate(recipe.make_up, 1):
        field = f"make_up.number {number}"
        reagent = known.get(step.reagent)
        if reagent is None:
            yield f"{field}.reagent: there is no reagent `{step.reagent}`{near(step.reagent, list(known))}"
            continue
        if reagent.form == "solid" and step.amount_ml_l is not None:
            yield f"{field}.amount_ml_l: {reagent.name} is a solid; give its amount_g_l"
        if reagent.form != "solid" and step.amount_g_l is not None:
            yield f"{field}.amount_g_l: {reagent.name} is measured by volume; give its amount_ml_l"
        if step.to_the_mark and reagent.form != "water":
            yield f"{field}.to_the_mark: only water fills up to the mark, not {reagent.name}"
        if number == 1 and (reagent.form != "water" or step.to_the_mark):
            yield f"{field}.reagent: water comes first, some of it before anything else, not {reagent.name}"
        if number == len(recipe.make_up) and not step.to_the_mark:
            yield f"{field}: the last step is water with to_the_mark = true"
        if step.to_the_mark and number < len(recipe.make_up):
            yield f"{field}.to_the_mark: stands before the last step; nothing is added to a full tank"


def _unused(recipe: Recipe) -> Iterator[str]:
    used = {*FIXED_PARAMETERS, *(e.parameter for w in recipe.wear for e in w.effects)}
    used |= {p for w in recipe.wear for p in (w.rate, w.power, w.per_degree)}
    if recipe.electrode is not None:
        used |= {f"deposit_{m}" for m in recipe.electrode.deposit}
        used |= {f"{kind}_{m}" for m in recipe.electrode.anodes for kind in ("anode_efficiency", "anode_share")}
    for name in recipe.parameters:
        if name not in used:
            yield f"parameters.{name}: nothing uses it: no wear term names it, and it is not one the arithmetic knows"


def _untouched(recipe: Recipe, reagents: Iterable[Reagent]) -> Iterator[str]:
    touched = {e.to for w in recipe.wear for e in w.effects}
    if "solution" in touched:
        return
    if recipe.electrode is not None:
        touched |= set(recipe.electrode.deposit) | set(recipe.electrode.anodes)
    balanced = set()
    for reagent in reagents:
        touched |= set(reagent.brings) | {reagent.additive or ""}
        balanced |= {"acid"} if reagent.acid_equivalents > 0 else {"alkali"} if reagent.acid_equivalents < 0 else set()
    for name, species in recipe.species.items():
        if name not in touched and species.kind not in balanced:
            yield (
                f"species.{name}: nothing changes it: no wear term, electrode, drag-out (an effect to `solution`) or reagent; "
                "then it cannot be followed"
            )
