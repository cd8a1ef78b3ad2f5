"""A value in another unit of its kind."""

from __future__ import annotations

import contextlib

from bathkeeper.calculators.given import Given, OpenMeasure
from bathkeeper.calculators.model import Answer, CalcError, Calculator, Input
from bathkeeper.calculators.substances import substance
from bathkeeper.chemistry.formulas import molar_mass
from bathkeeper.units.door import KINDS, Understood, UnitError, figures, in_unit, understand
from bathkeeper.units.meanings import meanings_of

KIND_ORDER = sorted(KINDS, key=lambda k: k in ("thickness", "areal_mass"))  # mm is a length before it is a thickness


def _convert(given: Given) -> Answer:
    text, unit = given.text("value").strip(), given.text("unit").strip()
    context = _context(given)
    said = _understood(given, text, unit, context)
    try:
        value, label = in_unit(said.value, said.kind, unit, given.prefs, **context)
    except UnitError as problem:
        raise OpenMeasure(f"unit: {problem}", "unit", problem.readings) from None
    given.note(f"{said.kind.replace('_', ' ')} {said.echo}")
    return Answer(
        values={"value": value, "unit": label or unit, "kind": said.kind},
        lines=(f"{figures_of(value)} {label or unit}",),
        formula="through the fixed unit of the kind; see the inputs for what was taken",
        sources=("inch, pound, US and imperial gallon: exact by definition",),
    )


def figures_of(value: float) -> str:
    """Six figures: a conversion is asked for its digits."""
    return f"{value:.6g}" if 1e-4 <= abs(value) < 1e6 or value == 0 else figures(value)


def _context(given: Given) -> dict[str, float | None]:
    context: dict[str, float | None] = {}
    if given.has("of"):
        text = given.text("of")
        formula, per_mol, density = _substance(given, text)
        context = {"molar_mass_g_mol": molar_mass(formula), "equivalents_per_mol": per_mol, "thickness_density_g_cm3": density}
    if given.has("sg"):
        context["density_g_ml"] = given.value("sg")
    return context


def _substance(given: Given, text: str) -> tuple[str, float | None, float | None]:
    """(formula, equivalents per mol, density of a metal) of a metal, acid, base, reagent, or anything written as a formula."""
    with contextlib.suppress(ValueError):
        metal = given.catalogue.metal(text)
        return metal.symbol, float(metal.electrons) or None, metal.density_g_cm3
    one = substance(text, "acid", "base", "ion")
    if one is not None:
        return one.formula or one.symbol, float(one.equivalents or one.charge), None
    with contextlib.suppress(ValueError):
        reagent = given.catalogue.reagent(text)
        if reagent.formula:
            return reagent.formula, abs(reagent.acid_equivalents) or None, None
    try:
        molar_mass(text.strip())
    except ValueError:
        raise CalcError(
            f"of: `{text.strip()}` is no substance known here; write a name or a formula such as ZnCl2", "of"
        ) from None
    return text.strip(), None, None


def _understood(given: Given, text: str, unit: str, context: dict[str, float | None]) -> Understood:
    kinds = [k for k in KIND_ORDER if _reads(unit, k, given)]
    if not kinds:
        try:
            kind = understand(text, tuple(KINDS), given.prefs, **context).kind
            in_unit(1.0, kind, unit, given.prefs)  # refuses, and says which units there are
        except UnitError as problem:
            raise OpenMeasure(f"unit: {problem}", "unit", problem.readings) from None
        raise CalcError(f"unit: `{unit}` is not understood; write for example g/L", "unit")
    problems: list[UnitError] = []
    for kind in kinds:
        try:
            return understand(text, kind, given.prefs, **context)
        except UnitError as problem:
            problems.append(problem)
    best = next((p for p in problems if p.readings), problems[0])
    raise OpenMeasure(f"value: {best}", "value", best.readings)


def _reads(unit: str, kind: str, given: Given) -> bool:
    try:
        return bool(meanings_of(unit, (kind,), given.prefs))
    except UnitError:
        return False


CONVERT = Calculator(
    name="convert",
    title="Units",
    help="A value in another unit: shop units, US and imperial, moles and normality, degrees Baumé.",
    inputs=(
        Input("value", "text", "value", "A number with its unit.", "4 oz/usgal", required=True, positional=True),
        Input("unit", "text", "unit", "The unit wanted.", "g/L", required=True, positional=True),
        Input("of", "text", "of", "The substance, for mol/L, N, and coatings by weight.", "zinc"),
        Input("sg", "gravity", "density", "Density of the solution, for % w/w.", "1.3"),
    ),
    answer=_convert,
    keys={"value": "the number in the unit wanted", "unit": "that unit", "kind": "the kind of value it was taken for"},
    examples=(
        {"value": "4 oz/usgal", "unit": "g/L"},
        {"value": "100 mA/in2", "unit": "A/dm2"},
        {"value": "0.5 mol/L", "unit": "g/L", "of": "zinc chloride"},
    ),
)
