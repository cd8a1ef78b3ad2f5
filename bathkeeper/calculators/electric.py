"""Current for a load, current along a Hull cell panel, and the hydrogen that current makes."""

from __future__ import annotations

from bathkeeper.calculators.given import Given
from bathkeeper.calculators.model import Answer, CalcError, Calculator, Input
from bathkeeper.chemistry import faraday, hull, hydrogen
from bathkeeper.units.door import figures, show

HIGHEST_A_DM2 = 20.0
HYDROGEN_LIMIT = 0.01
"""Share of hydrogen in air to stay under: a quarter of the 4 % at which it burns (memory)."""


def _current(given: Given) -> Answer:
    area_dm2 = given.value("area")
    ways = given.have("density", "recipe", "current")
    if len(ways) != 1:
        raise CalcError(
            "density is missing: give a current density, a recipe, or the current to get its density; for example 1.5A/dm2"
            if not ways
            else f"{' and '.join(ways)}: give one of them",
            ways[1] if len(ways) > 1 else "density",
        )
    sources: tuple[str, ...] = ()
    if ways == ["current"]:
        current_a = given.value("current")
        density = faraday.current_density_a_dm2(current_a, area_dm2)
    else:
        density, sources = (given.value("density"), ()) if ways == ["density"] else _of_recipe(given)
        current_a = density * area_dm2
    caution = (f"{figures(density)} A/dm² is more than is plated here; check area and current.",)
    return Answer(
        values={"current_a": current_a, "density_a_dm2": density, "area_dm2": area_dm2},
        lines=(
            f"current: {show(current_a, 'current', given.prefs)}",
            f"current density: {show(density, 'current_density', given.prefs)}",
        ),
        formula="current = current density x area",
        sources=sources,
        cautions=caution if density > HIGHEST_A_DM2 else (),
    )


def _of_recipe(given: Given) -> tuple[float, tuple[str, ...]]:
    try:
        recipe = given.catalogue.recipe(given.text("recipe"))
    except ValueError as problem:
        raise CalcError(f"recipe: {problem}", "recipe") from None
    reference = recipe.electrode.reference if recipe.electrode is not None else None
    if reference is None:
        raise CalcError(
            f"recipe: {recipe.name} states no current density; give it with density, for example 1.5A/dm2", "recipe"
        )
    given.note(f"recipe {recipe.title}: {figures(reference.density_a_dm2)} A/dm²")
    source = reference.source or "an editable default"
    return reference.density_a_dm2, (f"current density of {recipe.name}, {reference.status}: {source}",)


def _hull(given: Given) -> Answer:
    current_a = given.value("current")
    ways = given.have("at", "density")
    if len(ways) != 1:
        raise CalcError("give either at (a place on the panel) or density (to find its place); for example at 2.54cm", "at")
    if ways == ["at"]:
        at_cm = given.value("at") / 10.0
        if not hull.SHORTEST_CM <= at_cm <= hull.LONGEST_CM:
            raise CalcError(
                f"at: {figures(at_cm)} cm is off the panel; the formula holds from {hull.SHORTEST_CM} to {hull.LONGEST_CM} cm "
                "from the high-current end; write for example 2.54cm",
                "at",
            )
        density = hull.current_density_a_dm2(current_a, at_cm)
    else:
        density = given.value("density")
        at_cm = hull.distance_cm(current_a, density)
    a_ft2 = hull.current_density_a_ft2(current_a, min(max(at_cm / 2.54, hull.SHORTEST_IN), hull.LONGEST_IN))
    return Answer(
        values={"density_a_dm2": density, "density_a_ft2": a_ft2, "at_cm": at_cm},
        lines=(
            f"current density: {show(density, 'current_density', given.prefs)} {figures(at_cm)} cm from the high-current end",
            f"by the formula in inches: {figures(a_ft2)} A/ft² at {figures(at_cm / 2.54)} in",
        ),
        formula="A/dm² = current x (5.10 - 5.24 log10 cm); A/ft² = current x (27.7 - 48.7 log10 in); 267 mL cell",
        sources=(
            "formula in inches: Metal Finishing guidebook 2013, p. 482, 0.25 to 3.25 in",
            "metric form: memory; agrees with it to 0.5 %",
        ),
    )


def _hydrogen(given: Given) -> Answer:
    charge_ah = given.value("charge")
    efficiency = given.value("efficiency")
    litres = hydrogen.hydrogen_l(charge_ah, efficiency)
    air_m3 = litres / HYDROGEN_LIMIT / 1000.0
    return Answer(
        values={"litres_25c": litres, "air_m3_for_1_percent": air_m3},
        lines=(
            f"hydrogen: {figures(litres)} L at 25 °C and 1 atm",
            f"air that keeps it at 1 %: {figures(air_m3)} m³, all the while that it forms",
        ),
        formula="hydrogen = (1 - efficiency) x charge x 3600/(2F); ideal gas at 25 °C, 1 atm; air = 100 x hydrogen",
        sources=("hydrogen burns in air from about 4 % by volume: memory",),
        cautions=(
            "Hydrogen gathers under lids and ceilings: air the room, no flame, no spark; lift hooks only with the current off.",
        )
        if litres > 0
        else (),
    )


CURRENT = Calculator(
    name="current",
    title="Current for a load",
    help="The current to set for an area, or the density that a current makes on it.",
    inputs=(
        Input("area", "area", "area", "Wetted area of the load, both faces.", "3.2dm2", required=True),
        Input("density", "current_density", "current density", "Current density wanted.", "100mA/in2"),
        Input(
            "recipe", "text", "recipe", "A recipe of the catalogue, for its current density.", "zinc-nickel-chloride-potassium"
        ),
        Input("current", "current", "current", "Current that is set, to see its density.", "6.5A"),
    ),
    answer=_current,
    keys={"current_a": "current in A", "density_a_dm2": "current density in A/dm²", "area_dm2": "area in dm²"},
    examples=({"area": "3.2dm2", "density": "100mA/in2"}, {"area": "3.2dm2", "current": "6.5A"}),
    sources=("definition",),
)

HULL = Calculator(
    name="hull",
    title="Hull cell",
    help="Current density at a place on the panel of a 267 mL Hull cell, or where a density is found.",
    inputs=(
        Input("current", "current", "cell current", "Current of the cell.", "2A", required=True),
        Input("at", "length", "distance", "Distance from the high-current end.", "2.54cm"),
        Input("density", "current_density", "current density", "Current density to find on the panel.", "2A/dm2"),
    ),
    answer=_hull,
    keys={
        "density_a_dm2": "current density in A/dm²",
        "density_a_ft2": "by the formula in inches, A/ft²",
        "at_cm": "distance from the high-current end in cm",
    },
    examples=({"current": "2A", "at": "2.54cm"}, {"current": "2A", "density": "2A/dm2"}),
)

HYDROGEN = Calculator(
    name="hydrogen",
    title="Hydrogen",
    help="Hydrogen that current makes beside the metal, and the air that thins it below 1 %.",
    inputs=(
        Input("charge", "charge", "charge", "Amp-hours that pass.", "1Ah", required=True),
        Input(
            "efficiency",
            "fraction",
            "efficiency",
            "Share of the current that lays down metal; 0 % in rust removal and cleaning.",
            "0%",
            required=True,
            zero=True,
        ),
    ),
    answer=_hydrogen,
    keys={"litres_25c": "hydrogen in L at 25 °C and 1 atm", "air_m3_for_1_percent": "air in m³ that makes it 1 %"},
    examples=({"charge": "1Ah", "efficiency": "0%"}, {"charge": "6.5Ah", "efficiency": "93%"}),
    sources=("ideal gas; F = 96485.33212 C/mol, R = 8.314462618 J/(mol K) (CODATA 2018)",),
)
