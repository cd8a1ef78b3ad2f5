"""What would explain an acid balance that does not close: each candidate with how far it would have to go, nearest first.

``strain`` is that way against what is usual for it: below 1 it would surprise nobody, at 10 it would be a wonder.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from bathkeeper.advice.acid_paths import Counted, Dissolved, equivalents_per_g, gains
from bathkeeper.advice.feeds import salts_of, species_g_per_g
from bathkeeper.advice.jar import dose_of, told
from bathkeeper.catalogue.loader import Catalogue
from bathkeeper.catalogue.schema import Reagent
from bathkeeper.chemistry.constants import MOL_PER_AH
from bathkeeper.estimate.learned import learned
from bathkeeper.estimate.state import TankState
from bathkeeper.findings import Estimate

FORGOTTEN_MOL = 0.3  # acid or caustic that a keeper might forget to log: some 25 mL of strong acid [practice]
FORGOTTEN_G = 100.0  # of a salt [practice]
FORGOTTEN_SHARE = 0.02  # of the bath lost without an entry [practice]
PH_UNSEEN = 0.5  # by which a pH may move before parts show it [practice]
TITRANT_FARTHEST = 0.5  # farther off no titrant is without anybody noticing [practice]
AMMETER, TITRANT = 0.04, 0.02  # 95 % half-widths of instruments that nobody calibrated [practice]


@dataclass(frozen=True)
class Explanation:
    """One thing that alone would close the gap: ``need`` is how far it would have to go, in ``unit``."""

    name: str
    need: float
    unit: str
    strain: float
    text: str
    how_to_tell: str


def charge_gap(
    state: TankState,
    catalogue: Catalogue,
    by: Counted,
    gap: Estimate,
    by_charge: Estimate,
    charge_ah: float,
    gone: Iterable[Dissolved],
    reagent: Reagent | None,
) -> list[Explanation]:
    """Of a gap between what was put in and what charge should have used (below zero: less was put in)."""
    found: list[Explanation] = []
    if reagent is not None and gap.value < 0:
        found.append(_forgotten(reagent, -gap.value, by.kind))
    if gap.value > 0 and reagent is not None:
        found.append(_forgotten(_opposite(catalogue, by, reagent), gap.value, "base" if by.kind == "acid" else "acid"))
    efficiency = learned(state).get("cathode_efficiency")
    if efficiency is not None and charge_ah > 0:
        gain, _ = gains(state)
        would = efficiency.value - gap.value / (charge_ah * gain * MOL_PER_AH)
        if 0 < would < 1.02:
            spread = (efficiency.high - efficiency.low) / 2
            found.append(
                Explanation(
                    "cathode efficiency",
                    would,
                    "fraction",
                    abs(would - efficiency.value) / spread if spread > 0 else float("inf"),
                    f"a cathode efficiency of {min(would, 1.0):.1%} instead of {efficiency.value:.1%}",
                    "weigh ten loads together before and after plating",
                )
            )
    if abs(by_charge.value) > 1e-9:
        factor = 1 + gap.value / by_charge.value
        if factor > 0:
            found.append(
                Explanation(
                    "ammeter",
                    factor - 1,
                    "fraction",
                    abs(factor - 1) / AMMETER,
                    f"a true charge {abs(factor - 1):.0%} {'above' if factor > 1 else 'below'} what the ammeters read",
                    "compare the supply with a clamp meter",
                )
            )
    for path in gone:
        if path.used_mol.value > 0 and path.used_mol.value + gap.value >= 0:
            factor = 1 + gap.value / path.used_mol.value
            plausible = max(path.used_mol.spread / path.used_mol.value, 0.05)
            found.append(
                Explanation(
                    path.term,
                    factor,
                    "times",
                    abs(factor - 1) / plausible,
                    f"{path.term}: {factor:.2g} times what is believed" if factor >= 0.05 else f"no {path.term} at all",
                    "weigh the brushed anodes before and after an idle fortnight",
                )
            )
    return found


def unread_ph(state: TankState, gap: Estimate) -> list[Explanation]:
    """That the pH simply moved, where nobody read it: what is missing (below zero) has raised it."""
    slope = learned(state).get("ph_slope")
    if slope is None or state.volume_l <= 0:
        return []
    rise = -gap.value * 1000.0 / state.volume_l * slope.value
    word = "risen" if rise > 0 else "fallen"
    text = f"the pH has {word} by about {abs(rise):.1f} since the make-up, unread"
    return [Explanation("pH", rise, "pH", abs(rise) / PH_UNSEEN, text, "read the pH")]


def metal_gap(
    state: TankState,
    catalogue: Catalogue,
    by: Counted,
    gap: Estimate,
    reagent: Reagent | None,
    dissolved_g: Iterable[Mapping[str, float]],
) -> list[Explanation]:
    """Of a gap between the metal that the bath gained from its anodes and the acid (above zero: more metal than acid)."""
    recipe = state.recipe
    assert recipe is not None and recipe.electrode is not None
    found: list[Explanation] = []
    metals = [m for m in dict.fromkeys((*recipe.electrode.deposit, *recipe.electrode.anodes)) if m in state.species]
    held = 0.0
    for name in metals:
        per_g = equivalents_per_g(state.species[name], catalogue.metals[name])
        grams = state.gauss.value(f"mass:{name}")
        held += per_g * grams
        if per_g <= 0:
            continue
        off = gap.value / (per_g * grams) if grams > 0 else 0.0
        if 0 < abs(off) < TITRANT_FARTHEST:
            found.append(
                Explanation(
                    f"titrant of {name}",
                    off,
                    "fraction",
                    abs(off) / TITRANT,
                    f"a titrant lot that reads {name} {abs(off):.1%} too {'high' if off > 0 else 'low'}",
                    f"titrate {name} in a solution of known strength",
                )
            )
        salts = salts_of(name, recipe, catalogue)
        if salts and gap.value > 0:
            need = gap.value / per_g / species_g_per_g(salts[0], name)
            found.append(
                Explanation(
                    f"unlogged {salts[0].name}",
                    need,
                    "g",
                    need / FORGOTTEN_G,
                    f"{told(need)} g of {salts[0].title or salts[0].name} put in without an entry",
                    "count what is left on the shelf",
                )
            )
    if gap.value > 0 and reagent is not None:
        found.append(_forgotten(reagent, gap.value, by.kind))
    if gap.value < 0 and held > 0:
        share = min(-gap.value / held, 1.0)
        found.append(
            Explanation(
                "unlogged loss",
                share * state.volume_l,
                "L",
                share / FORGOTTEN_SHARE,
                f"{share * state.volume_l:.1f} L of bath lost without an entry (leak, spill, bail-out)",
                "look under the tank and at the level marks",
            )
        )
    if gap.value < 0:
        base = _opposite(catalogue, by, reagent)
        found.append(_forgotten(base, -gap.value, "base" if by.kind == "acid" else "acid"))
    return found


def _opposite(catalogue: Catalogue, by: Counted, reagent: Reagent | None) -> Reagent:
    """What undoes the bath's own acid or caustic: a carbonate, an acid."""
    return catalogue.reagent("sodium bicarbonate" if by.kind == "acid" else "sulfuric acid 96%")


def _forgotten(reagent: Reagent, mol: float, kind: str) -> Explanation:
    amount, unit = dose_of(reagent, mol)
    return Explanation(
        f"unlogged {kind}",
        amount,
        unit,
        mol / FORGOTTEN_MOL,
        f"{told(amount)} {unit} of {reagent.title or reagent.name} put in without an entry",
        "count what is left on the shelf",
    )
