"""Treatments as plans: peroxide, carbon, zinc dust and dummy, with what each of them also does to the bath.

Least invasive first (finishingandcoating.com, Altmayer): carbon before peroxide, dummy before either where a metal is meant.
"""

from __future__ import annotations

import math
from collections.abc import Iterable
from typing import Literal

from bathkeeper.advice.steps import Advice, Advised, numbered, step
from bathkeeper.catalogue.loader import Catalogue
from bathkeeper.catalogue.schema import Reagent
from bathkeeper.chemistry.constants import MOL_PER_AH
from bathkeeper.chemistry.formulas import molar_mass
from bathkeeper.estimate.state import Z95, TankState
from bathkeeper.findings import Because

Treatment = Literal["peroxide", "carbon", "zinc dust", "dummy"]
TREATMENTS: tuple[Treatment, ...] = ("peroxide", "carbon", "zinc dust", "dummy")

PEROXIDE_ML_L, PEROXIDE_STRENGTH = 0.1, 0.35
PEROXIDE_SOURCE = "seen: Metal Finishing Guidebook 2012-13, p. 376: about 100 mL of 30-35 % in 1000 L, diluted to 10 % first"
DILUTED_TO = 0.10
IRON_PER_PEROXIDE = 2 * molar_mass("Fe") / molar_mass("H2O2")  # 2 Fe(II) + H2O2: 3.28 g iron a gram
CARBON_G_L = (1.0, 3.0)
CARBON_SOURCE = "memory: 1-3 g/L in zinc baths; on-line carbon in nickel 0.12-0.24 g/L (finishingandcoating.com, Altmayer)"
DUST_G_L = 0.3
DUST_SOURCE = "memory: a few tenths of a gram a litre, stirred half an hour, filtered before it dissolves"
DUMMY = {
    "nickel": (0.2, 0.5, "seen: copper in nickel at 2-5 A/ft2 (pfonline.com)"),
    "zinc": (0.1, 0.3, "memory: 0.1-0.3 A/dm2 in acid zinc"),
}
DUMMY_EFFICIENCY = 0.05  # part of a dummy's charge that takes the stray metal [practice]
DUMMY_AH_L = 0.5  # charge a litre after which to look again, where no content is known [memory]
DUMMY_FIRST = 2.0  # of the plan, at most this many Ah a litre before a panel is due [practice]


def treatment_plan(
    kind: Treatment, state: TankState, catalogue: Catalogue, *, peroxide: str | None = None, cathode_dm2: float | None = None
) -> Advice:
    """A treatment of a living bath. ``peroxide`` names the reagent really bought (its strength counts); ``cathode_dm2`` is the
    area of the dummy sheet.

    Raises:
        ValueError: the treatment would harm this bath, or is none for it; the message says what to do instead.
    """
    recipe = state.recipe
    if recipe is None or not state.alive:
        raise ValueError(f"{state.name} {state.why_empty if recipe is not None else 'has no recipe'}: nothing to treat")
    makers = {"peroxide": _peroxide, "carbon": _carbon, "zinc dust": _zinc_dust, "dummy": _dummy}
    if kind not in makers:
        raise ValueError(f"no treatment is called `{kind}`; there are {', '.join(TREATMENTS)}")
    if recipe.role != "plate":
        raise ValueError(f"{kind} is a treatment of plating baths; {state.name} is a {recipe.role} tank: refresh or replace it")
    if kind == "peroxide":
        steps, lines = _peroxide(state, catalogue, peroxide)
    elif kind == "dummy":
        steps, lines = _dummy(state, catalogue, cathode_dm2)
    else:
        steps, lines = makers[kind](state, catalogue)  # type: ignore[operator]
    return Advice(state.name, "treat", numbered(steps), tuple(lines))


def peroxide_ml(volume_l: float, strength: float, density_g_ml: float, ml_per_l: float = PEROXIDE_ML_L) -> float:
    """mL of a peroxide as bought that hold as much as the usual dose of 35 % (density 1.13): 40 L take 4.0 mL of 35 %."""
    if not 0 < strength <= 0.7:
        raise ValueError(f"peroxide of {strength:.0%} is not sold; write its mass fraction, such as 0.12 for 12 %")
    return volume_l * ml_per_l * PEROXIDE_STRENGTH * 1.13 / (strength * density_g_ml)


def dummy_ah(mass_g: float, molar_mass_g_mol: float, electrons: int, efficiency: float = 1.0) -> float:
    """Ah that lay down so much of a stray metal, n m F / (M x efficiency x 3600); with 1 it is the least that theory allows."""
    if not 0 < efficiency <= 1:
        raise ValueError(f"the part of the current that takes the metal lies above 0 and up to 1, got {efficiency:g}")
    return electrons * mass_g / molar_mass_g_mol / MOL_PER_AH / efficiency


def _peroxide(state: TankState, catalogue: Catalogue, bought: str | None) -> tuple[list[Advised], list[str]]:
    assert state.recipe is not None
    if any(s.kind == "alkali" for s in state.recipe.species.values()):
        raise ValueError(f"peroxide is for acid baths; in {state.name} try zinc dust, or carbon for organics")
    reagent = catalogue.reagent(bought) if bought is not None else catalogue.reagent("hydrogen peroxide 3%")
    if reagent.formula != "H2O2":
        raise ValueError(f"{reagent.title or reagent.name} is no hydrogen peroxide; name one, such as hydrogen peroxide 12%")
    assert reagent.density_g_ml is not None
    dose = peroxide_ml(state.volume_l, reagent.purity, reagent.density_g_ml)
    why = "oxidises iron(II), which then falls out and is filtered"
    told = f"{PEROXIDE_ML_L:g} mL/L of {PEROXIDE_STRENGTH:.0%} is {dose:.3g} mL of {reagent.title or reagent.name}"
    because = Because(
        text=why,
        formula=f"V x {PEROXIDE_ML_L:g} mL/L x 0.35 x 1.13 / (strength x density)",
        sources=(PEROXIDE_SOURCE, f"{reagent.name}: {reagent.status} {reagent.source}".strip()),
    )
    steps = [step("check", "brightener out of the way: peroxide destroys it, so treat before it is dosed, not after")]
    if reagent.purity > DILUTED_TO:
        water = dose * reagent.density_g_ml * (reagent.purity / DILUTED_TO - 1)
        steps.append(
            step("check", f"put the dose into {water:.0f} mL of water first: about 10 %, then slowly into the stirred bath",
                 caution="Peroxide into water. Goggles and gloves; no rags, no organic concentrate near it.")
        )  # fmt: skip
    half = dose / 2
    for part in ("first half, stirring", "second half, if the iron is not down"):
        steps.append(
            step("add", f"{part}: {why}", because=because, reagent=reagent.name, amount=_round(half), unit="mL",
                 caution=" ".join(reagent.cautions))
        )  # fmt: skip
        steps.append(step("wait", "an hour with gentle stirring, vessel open", amount=60.0, unit="min"))
        steps.append(step("measure", "iron by strip or kit before more goes in", of="iron"))
    steps += [
        step("check", "filter; the sludge goes into a labelled container, not into the drain"),
        step("measure", "pH: the oxidised iron makes acid", of="ph"),
        step("measure", "a panel before parts: brightener and wetter will want topping up", of="panel"),
    ]
    lines = [told, "It also destroys brightener, carrier and wetter: dose them anew by panel.", *_iron(state, dose, reagent)]
    lines.append("Never in a chromium passivate, and never a parts rinse with peroxide behind one: chromium(VI).")
    return steps, lines


def _iron(state: TankState, dose_ml: float, reagent: Reagent) -> list[str]:
    """What the dose can do, against the iron that is there by the estimate."""
    if "iron" not in state.species:
        return []
    grams = state.gauss.value("mass:iron")
    can = dose_ml * (reagent.density_g_ml or 1.0) * reagent.purity * IRON_PER_PEROXIDE
    return [f"By 2 Fe + H2O2 it can oxidise {can:.2g} g of iron; by the estimate {max(grams, 0.0):.2g} g are in the bath."]


def _carbon(state: TankState, catalogue: Catalogue) -> tuple[list[Advised], list[str]]:
    low, high = (CARBON_G_L[0] * state.volume_l, CARBON_G_L[1] * state.volume_l)
    reagent = catalogue.reagent("activated carbon")
    because = Because(text="takes up organics", formula="V x 1 to 3 g/L", sources=(CARBON_SOURCE,))
    steps = [
        step(
            "check", "anodes and heater out, pump ready; carbon is fine dust: wet it first", caution=" ".join(reagent.cautions)
        ),
        step("add", "the smaller dose first, as a slurry", because=because, reagent=reagent.name, amount=_round(low), unit="g"),
        step("wait", "an hour stirring, some hours settling", amount=60.0, unit="min"),
        step("check", "filter until a white paper stays clean; carbon left behind makes rough deposits"),
        step("measure", "a panel; if it is still dull or brittle repeat up to the larger dose", of="panel"),
        step("check", "weigh the filter cake wet and label it: it is waste with metal in it"),
    ]
    return steps, [
        f"{low:.0f} to {high:.0f} g for {state.volume_l:.1f} L.",
        "It takes brightener and carrier along: dose by panel.",
    ]


def _zinc_dust(state: TankState, catalogue: Catalogue) -> tuple[list[Advised], list[str]]:
    assert state.recipe is not None and state.recipe.electrode is not None
    metals = state.recipe.electrode.deposit
    if metals[:1] != ("zinc",):
        raise ValueError(f"zinc dust is for zinc baths; in {state.name} it would be the stray metal itself: dummy instead")
    reagent = catalogue.reagent("zinc dust")
    grams = DUST_G_L * state.volume_l
    because = Because(text="nobler metals plate out on it", formula="V x 0.3 g/L", sources=(DUST_SOURCE,))
    steps = [
        step(
            "check",
            "anodes out, stirring on, no flame near: damp dust and acid make hydrogen",
            caution=" ".join(reagent.cautions),
        ),
        step("add", "strewn over the stirred bath", because=because, reagent=reagent.name, amount=_round(grams), unit="g"),
        step("wait", "half an hour stirring", amount=30.0, unit="min"),
        step("check", "filter before it dissolves and gives back what it took"),
        step("measure", "a panel at low current density", of="panel"),
    ]
    lines = [f"{grams:.0f} g for {state.volume_l:.1f} L; it also raises zinc by up to {grams / state.volume_l:.2g} g/L."]
    if "nickel" in metals:
        lines.append(f"Nickel plates out on it too: up to {grams * molar_mass('Ni') / molar_mass('Zn'):.0f} g would be lost.")
    return steps, lines


def _dummy(state: TankState, catalogue: Catalogue, cathode_dm2: float | None) -> tuple[list[Advised], list[str]]:
    assert state.recipe is not None and state.recipe.electrode is not None
    metals = state.recipe.electrode.deposit
    base = "nickel" if metals[:1] == ("nickel",) else "zinc" if metals[:1] == ("zinc",) else None
    if base is None:
        raise ValueError(f"no dummying is on record for a bath of {', '.join(metals) or 'no metal'}; carbon takes organics")
    low, high, source = DUMMY[base]
    area = cathode_dm2 if cathode_dm2 is not None else 4.0
    if area <= 0:
        raise ValueError(f"a dummy sheet has an area above 0, got {area:g} dm2")
    charge, told = _dummy_charge(state, catalogue)
    pulses = max(1, math.ceil(charge / (DUMMY_AH_L * state.volume_l)))
    amps = math.sqrt(low * high) * area
    because = Because(
        text="at low current density the nobler metal goes down first",
        formula="n m F / (M x 3600) is the least; about 5 % of a dummy's current takes the stray metal (practice)",
        sources=(source, "Faraday constant: CODATA"),
    )
    steps = [step("check", f"hang a corrugated sheet of {area:.3g} dm2, no parts; stir")]
    for _ in range(pulses):
        steps.append(
            step("plate", f"{amps:.2g} A ({low:g} to {high:g} A/dm2) on the sheet; log it as dummy", because=because,
                 amount=_round(charge / pulses), unit="Ah")
        )  # fmt: skip
        steps.append(step("measure", "a panel at low current density: stop as soon as the dark end is clear", of="panel"))
    steps.append(step("check", "the sheet out before the current goes off, or it dissolves again"))
    lines = [*told, f"At {amps:.2g} A that is {charge / amps:.1f} h in {pulses} part{'s' if pulses > 1 else ''}."]
    if "nickel" in metals[1:]:
        lines.append("At low current density nickel goes down by preference: analyse nickel afterwards.")
    lines.append("Dummy amp-hours are kept apart from those of parts.")
    return steps, lines


def _dummy_charge(state: TankState, catalogue: Catalogue) -> tuple[float, list[str]]:
    """Ah of a dummy and what it rests on: the stray metals that are above their window by the estimate, else a first look."""
    assert state.recipe is not None
    least, lines = 0.0, []
    for name in _stray(state):
        metal, window = catalogue.metals.get(name), state.recipe.species[name]
        if metal is None or window.high is None:
            continue
        value, sd = state.concentration(name)
        goal = (window.target or 0.0) if window.target else window.high / 2
        above = value - goal
        if value + Z95 * sd <= window.high or above <= 0:
            continue
        ah = dummy_ah(above * state.volume_l, molar_mass(metal.symbol), metal.electrons)
        least += ah
        lines.append(f"{name} {1000 * value:.0f} mg/L down to {1000 * goal:.0f}: {ah:.2g} Ah by Faraday at the very least.")
    if least <= 0:
        return DUMMY_AH_L * state.volume_l, [
            f"No stray metal is out of its window by the estimate: {DUMMY_AH_L:g} Ah/L, then look."
        ]
    charge = min(least / DUMMY_EFFICIENCY, DUMMY_FIRST * state.volume_l)
    return max(charge, 0.1 * state.volume_l), lines


def _stray(state: TankState) -> Iterable[str]:
    assert state.recipe is not None and state.recipe.electrode is not None
    deposit = state.recipe.electrode.deposit
    return [n for n, s in state.recipe.species.items() if s.kind == "contaminant" and n not in deposit and n != "iron"]


def _round(amount: float) -> float:
    """Two figures: nobody weighs a treatment finer."""
    return float(f"{amount:.2g}") if amount > 0 else amount
