"""pH by jar test: a small jar of the bath is brought to its pH with a measured drop count, and the dose is scaled up from it.

No content of the bath says how much acid its pH takes (boric acid, ammonium and metals buffer it), so there is no dose without
a jar. The dose goes in by quarters: a jar is a small sample, and what is in cannot be taken out.
"""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import dataclass

from bathkeeper.advice.feeds import acid_of
from bathkeeper.advice.steps import Advice, Advised, numbered, step
from bathkeeper.catalogue.loader import Catalogue
from bathkeeper.catalogue.schema import Reagent, Recipe
from bathkeeper.chemistry.formulas import molar_mass
from bathkeeper.estimate.state import TankState
from bathkeeper.findings import Because, Estimate
from bathkeeper.units.numerals import figures

QUARTERS = 4
WAIT_MIN = 15.0  # stirring between a quarter and its reading [practice]
STRONG = 0.10  # mass fraction from which a liquid is thinned before it goes in [practice]
THINNED = 10.0  # volumes of water to one of strong acid [practice]
SMALLEST_ML = 2.0  # a quarter below this is hard to measure: thin the reagent first [practice]
SOURCE = "practice: dose from a jar test scaled up, in quarters with a reading between"


@dataclass(frozen=True)
class Jar:
    """A jar test: so much of the bath (mL) took so much (mL) of a titrant of so many equivalents a litre to reach its pH."""

    sample_ml: float
    titrant_ml: float
    normality: float

    def __post_init__(self) -> None:
        for name, value, right in (
            ("the sample", self.sample_ml, "mL of bath, such as 100"),
            ("the titrant used", self.titrant_ml, "mL, such as 6.0"),
            ("the titrant's strength", self.normality, "equivalents a litre, such as 0.1"),
        ):
            if not value > 0:
                raise ValueError(f"{name} of a jar test lies above 0, got {value:g}; give {right}")

    def equivalents_mol(self, volume_l: float) -> float:
        """What the whole bath takes, mol: 6.0 mL of 0.1 N in 100 mL is 0.24 mol in 40 L."""
        return self.titrant_ml * self.normality / self.sample_ml * volume_l


def jar_plan(
    state: TankState,
    catalogue: Catalogue,
    test: Jar | float,
    reagent: str | None = None,
    *,
    shelf: Collection[str] = (),
    bound_mol: Estimate | None = None,
) -> Advice:
    """The dose that a jar test asks for, in quarters. ``test``: the jar, or the equivalents (mol) that the whole bath takes.

    ``reagent`` defaults to the acid at home in the bath; name a base to bring the pH up. ``bound_mol``: what the acid balance
    thinks is missing; a jar that asks for more than its upper end is told to be done again, and only a quarter is planned.

    Raises:
        ValueError: no living plating bath, an amount not above 0, or a reagent that does not belong in it; says what would do.
    """
    recipe = state.recipe
    if recipe is None or not state.alive:
        raise ValueError(f"{state.name} {state.why_empty if recipe is not None else 'has no recipe'}: there is no pH to mend")
    mol = test.equivalents_mol(state.volume_l) if isinstance(test, Jar) else test
    if not mol > 0:
        raise ValueError(f"the bath has to take more than 0 mol, got {mol:g}; a jar test that took nothing asks for no dose")
    used = _reagent(state, recipe, catalogue, reagent, shelf)
    amount, unit = dose_of(used, mol)
    too_much = bound_mol is not None and mol > max(bound_mol.high, 0.0)
    because = _because(test, mol, amount, unit, used, state.volume_l)
    steps = [step("measure", "pH of the stirred bath, with a meter calibrated today or a fresh narrow strip", of="ph")]
    doubts = []
    if too_much and bound_mol is not None:
        told = f"the jar asks for {figures(mol)} mol, the balance allows at most {figures(max(bound_mol.high, 0.0))} mol"
        doubts.append(f"{told}: more than the balance allows: measure again")
        steps.append(
            step("measure", f"{told}: do the jar again before anything goes in (sample stirred? titrant's strength right?)",
                 of="jar test")
        )  # fmt: skip
    steps += _thinning(used, amount, unit)
    for number in range(1, (1 if too_much else QUARTERS) + 1):
        caution = " ".join(dict.fromkeys([*used.cautions, *_cautions(recipe, used)])) if number == 1 else _short(used)
        steps += _quarter(used, amount, unit, number, because, caution)
    if too_much:
        steps.append(step("check", "no further quarter before a second jar agrees with the first"))
    steps.append(step("measure", "pH again next day: a buffered bath settles slowly", of="ph"))
    return Advice(state.name, "dose", numbered(steps), tuple(_lines(used, amount, unit, mol, state, bound_mol)), tuple(doubts))


def dose_of(reagent: Reagent, mol: float) -> tuple[float, str]:
    """(amount, unit) out of the bottle or bag that hold so many equivalents, whichever sign they have."""
    if not reagent.acid_equivalents:
        raise ValueError(f"{reagent.title or reagent.name} is neither acid nor base; name one, such as sulfuric acid 96%")
    grams = mol * molar_mass(reagent.formula) / abs(reagent.acid_equivalents) / reagent.purity
    if reagent.density_g_ml is not None:
        return grams / reagent.density_g_ml, "mL"
    return grams, "g"


def _reagent(state: TankState, recipe: Recipe, catalogue: Catalogue, name: str | None, shelf: Collection[str]) -> Reagent:
    lye = any(s.kind == "alkali" for s in recipe.species.values())
    if name is None:
        if lye:
            return catalogue.reagent("sodium hydroxide")
        own = acid_of(recipe, catalogue, shelf)
        if own is None:
            raise ValueError(f"no acid is at home in {recipe.title or recipe.name}; name the one that its maker gives")
        return own
    reagent = catalogue.reagent(name)
    if not reagent.acid_equivalents:
        raise ValueError(f"{reagent.title or name} is neither acid nor base; name one, such as hydrochloric acid 37%")
    if lye and reagent.acid_equivalents > 0:
        raise ValueError(f"{state.name} is strongly caustic: acid never goes in; heat, spitting, metal falls out")
    stranger = sorted(b for b in reagent.brings if b not in recipe.species and b in ("nitrate", "sulfate", "chloride"))
    if recipe.role == "plate" and reagent.acid_equivalents > 0 and stranger:
        own = acid_of(recipe, catalogue, shelf)
        instead = f"; take {own.title or own.name}" if own is not None else ""
        raise ValueError(f"{reagent.title or name} brings {stranger[0]} into {state.name}, which is no part of it{instead}")
    clash = next((m for m in recipe.must_not_meet if m.what in (reagent.name, _role_of(reagent))), None)
    if clash is not None:
        raise ValueError(f"{reagent.title or name} must not meet {state.name}: {clash.why}")
    return reagent


def _role_of(reagent: Reagent) -> str:
    """The tank whose contents a reagent is like: lye like a degreaser."""
    return "degrease" if reagent.formula in ("NaOH", "KOH") else ""


def _cautions(recipe: Recipe, reagent: Reagent) -> list[str]:
    first = ["Acid into water, never water into acid. Goggles, gloves, moving air."] if reagent.acid_equivalents > 0 else [
        "Lye heats as it dissolves: small portions into cold water, goggles, gloves." if not reagent.weak_base
        else "Carbonates foam: small portions, room in the vessel."
    ]  # fmt: skip
    bleach = next((m for m in recipe.must_not_meet if m.what == "sodium hypochlorite solution"), None)
    if bleach is not None and reagent.acid_equivalents > 0:
        first.append(f"Keep hypochlorite bleach away: {bleach.why[:1].lower()}{bleach.why[1:]}")
    return [*first, *(c.text for c in recipe.cautions if c.when == "addition" or "Nickel salts" in c.text)]


def _short(reagent: Reagent) -> str:
    return "Goggles, gloves; slowly, stirring." + (" Acid into water." if reagent.acid_equivalents > 0 else "")


def _thinning(reagent: Reagent, amount: float, unit: str) -> list[Advised]:
    if reagent.form == "solid":
        why = "dissolve each quarter in a litre of cold water first" if not reagent.weak_base else (
            "stir each quarter to a thin slurry with a little water"
        )  # fmt: skip
        return [step("check", why, caution="Goggles, gloves." if not reagent.weak_base else "")]
    if reagent.purity <= STRONG and amount / QUARTERS >= SMALLEST_ML:
        return []
    return [
        step("check", f"thin each quarter first: pour it slowly into {THINNED:g} times its volume of cold water "
             f"({told(THINNED * amount / QUARTERS)} {unit}, out of the top-up where there is one)",
             caution=_short(reagent))
    ]  # fmt: skip


def _quarter(reagent: Reagent, amount: float, unit: str, number: int, because: Because, caution: str) -> list[Advised]:
    word = ("first", "second", "third", "last")[number - 1]
    stop = "" if number == 1 else "only if the pH is not there yet: "
    return [
        step("add", f"{stop}{word} quarter of {told(amount)} {unit}, slowly into the stirred bath, away from anodes",
             because=because, reagent=reagent.name, amount=float(f"{amount / QUARTERS:.3g}"),
             unit=unit, caution=caution),
        step("wait", "stirring, until it is the same everywhere", amount=WAIT_MIN, unit="min"),
        step("measure", "pH; stop as soon as it is inside its window", of="ph"),
    ]  # fmt: skip


def _because(test: Jar | float, mol: float, amount: float, unit: str, reagent: Reagent, volume_l: float) -> Because:
    if isinstance(test, Jar):
        jar = f"{test.titrant_ml:g} mL x {test.normality:g} N / {test.sample_ml:g} mL x {volume_l:.1f} L = {1000 * mol:.0f} meq"
    else:
        jar = f"{1000 * mol:.0f} meq as given"
    strength = f"{reagent.purity:.1%} {reagent.formula}, {abs(reagent.acid_equivalents):g} eq/mol"
    return Because(
        text=f"{jar}; as {reagent.title or reagent.name} {told(amount)} {unit}",
        formula="eq = mL x N / sample x V; amount = eq x M / (eq per mol x strength x density)",
        sources=(SOURCE, f"{reagent.name} ({strength}): {reagent.status} {reagent.source}".strip(), "molar masses: IUPAC"),
    )


def _lines(reagent: Reagent, amount: float, unit: str, mol: float, state: TankState, bound: Estimate | None) -> list[str]:
    pure = mol * molar_mass(reagent.formula) / abs(reagent.acid_equivalents)
    lines = [
        f"{1000 * mol:.0f} meq for {state.volume_l:.1f} L: {told(pure)} g {reagent.formula} in "
        f"{told(amount)} {unit} of {reagent.title or reagent.name}, in quarters."
    ]
    if bound is not None:
        lines.append(f"By the balance {figures(bound.value)} mol ({figures(bound.low)} to {figures(bound.high)}) are missing.")
    if reagent.brings:
        own = [b for b in reagent.brings if b in state.species]
        if own:
            lines.append(f"It also brings {', '.join(own)}.")
    return lines


def told(amount: float) -> str:
    """An amount as it is weighed or drawn up: tenths up to a hundred, two figures below one."""
    return f"{amount:.0f}" if amount >= 100 else f"{amount:.1f}" if amount >= 1 else f"{amount:.2g}"
