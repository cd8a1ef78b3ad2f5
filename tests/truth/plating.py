"""The hidden physics of any plating bath of the catalogue: half-reactions counted in mol, in small explicit steps of time.

Of a recipe only its structure is read (metals, anodes, what acid or base is counted on, which slow processes it has) and the
middle and width of its priors, from which a workshop's hidden numbers are drawn. How the bath works is written here a second
time: every electron at the cathode lays down metal or makes hydrogen, every electron at the anode dissolves metal or makes
oxygen, and acid or caustic is what these half-reactions leave.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime, timedelta

import numpy as np

from bathkeeper.catalogue.schema import Prior, Recipe
from tests.truth import constants as k
from tests.truth.vessel import Vessel
from tests.truth.zinc_nickel import TrueAnode

IDLE_STEP_H, PLATING_STEP_MIN = 6.0, 3.0
USUAL_A_DM2 = 2.0  # where the recipe does not say
ATOM_G_MOL = {"zinc": k.ZINC, "nickel": k.NICKEL, "copper": k.COPPER}
ELECTRONS = 2  # an atom, of all three metals in these baths
ZINCATE_OH = 4  # Zn(OH)4: what an atom of zinc binds in lye; nickel is held by amines and binds none
OH_PER_ZINC_WITHOUT_CURRENT = 2  # Zn + 2 OH- + 2 H2O -> Zn(OH)4(2-) + H2
H_PER_METAL_WITHOUT_CURRENT = 2  # Zn + 2 H+ -> Zn2+ + H2, and 2 Cu + O2 + 4 H+ -> 2 Cu2+ + 2 H2O
ALKALI_PER_CARBONATE = 2 * k.SODIUM_HYDROXIDE / k.SODIUM_CARBONATE  # CO2 + 2 NaOH -> Na2CO3 + H2O, g/g
OWN_WIDTH = 0.5  # standard deviation of a hidden number over the half-width that its recipe believes


@dataclass(frozen=True)
class Structure:
    """What the simulation takes from a recipe. ``account``: the species that acid or base is counted on, if there is one."""

    recipe: Recipe
    metals: tuple[str, ...]
    dissolving: tuple[str, ...]
    inert: str | None
    account: str | None
    alkaline: bool
    targets: Mapping[str, float]
    density_a_dm2: float
    temperature_c: float

    @property
    def idle_metal(self) -> str | None:
        """The metal that goes on dissolving when it hangs without current."""
        return next((m for m in self.dissolving if f"idle_{m}" in self.recipe.parameters), None)

    @property
    def followed(self) -> tuple[str, ...]:
        """What the keeper titrates."""
        return self.metals + ((self.account,) if self.account else ())


def structure(recipe: Recipe) -> Structure:
    """Reads a recipe's structure.

    Raises:
        ValueError: the recipe plates nothing, or a metal that this simulation does not know.
    """
    electrode = recipe.electrode
    if electrode is None or not electrode.deposit:
        raise ValueError(f"{recipe.name} plates no metal: name a recipe of role plate")
    strange = {*electrode.deposit, *electrode.anodes} - set(ATOM_G_MOL)
    if strange:
        raise ValueError(f"{recipe.name}: the simulation does not know {', '.join(sorted(strange))}")
    account = next((n for n, s in recipe.species.items() if s.kind in ("acid", "alkali")), None)
    alkaline = account is not None and recipe.species[account].kind == "alkali"
    window = recipe.indicators.get("temperature")
    dissolves = tuple(m for m in electrode.anodes if f"anode_efficiency_{m}" in recipe.parameters)
    beside_inert = len(dissolves) == 0 or (len(dissolves) == 1 and f"anode_share_{dissolves[0]}" in recipe.parameters)
    return Structure(
        recipe=recipe,
        metals=electrode.deposit,
        dissolving=dissolves,
        inert=electrode.inert[0] if beside_inert and electrode.inert else None,
        account=account,
        alkaline=alkaline,
        targets={n: s.target for n, s in recipe.species.items() if s.target},
        density_a_dm2=electrode.reference.density_a_dm2 if electrode.reference else USUAL_A_DM2,
        temperature_c=window.target if window is not None and window.target is not None else 25.0,
    )


def draw(recipe: Recipe, rng: np.random.Generator, **fixed: float) -> dict[str, float]:
    """A workshop's hidden numbers by parameter, about as wide as its recipe believes; ``fixed`` ones are taken as given.

    Raises:
        TypeError: a fixed number that the recipe does not have.
    """
    unknown = set(fixed) - set(recipe.parameters)
    if unknown:
        raise TypeError(f"{recipe.name} has no {', '.join(sorted(unknown))}; it has {', '.join(recipe.parameters)}")
    hidden = {name: _drawn(name, prior, rng) for name, prior in recipe.parameters.items()}
    return {**hidden, **fixed}


def _drawn(name: str, prior: Prior, rng: np.random.Generator) -> float:
    chance = float(rng.normal(0.0, OWN_WIDTH))
    if prior.scale == "log":
        return float(prior.value * math.exp(chance * math.log(prior.factor or 1.0)))
    value = prior.value + chance * (prior.spread or 0.0)
    if name.startswith("anode_share_"):  # on a common bus nickel may even be plated on; beside inert anodes zinc always gives
        return float(np.clip(value, -0.02 if prior.value < 0.2 else 0.1, 0.95))
    return float(np.clip(value, 0.01, 0.998)) if prior.scale == "logit" else value


class PlatingBath(Vessel):
    """The true bath. ``acid_used_mol`` is what a bath that counts no acid or base as a species is short of."""

    def __init__(
        self, built: Structure, hidden: Mapping[str, float], at: datetime, surface_dm2: float, rng: np.random.Generator
    ) -> None:
        super().__init__()
        self.built, self.hidden = built, dict(hidden)
        self.at, self.surface_dm2 = at, surface_dm2
        self.anodes: dict[str, TrueAnode] = {}
        self.acid_used_mol = 0.0
        self.charge_ah = 0.0
        self._rng = rng
        self._resting_ph = 0.0
        if "ph" in built.recipe.indicators:
            self._resting_ph = (built.recipe.indicators["ph"].target or 7.0) + float(rng.normal(0.0, 0.15))

    @property
    def ph(self) -> float:
        """Bends over where boric acid and the metals' own hydrolysis hold it."""
        rise = self.hidden["ph_slope"] * 1000 * self.acid_used_mol / self.volume_l
        return self._resting_ph + 0.9 * math.tanh(rise / 0.9)

    def rest_until(self, moment: datetime) -> None:
        """What time alone does: hung metal dissolves, the generator gives, air brings carbonate, water evaporates."""
        while self.at < moment:
            hours = min(IDLE_STEP_H, (moment - self.at).total_seconds() / 3600)
            self._idle(hours / 24)
            self.at += timedelta(hours=hours)

    def _idle(self, days: float) -> None:
        hidden = self.hidden
        metal = self.built.idle_metal
        for bar in self.anodes.values():
            if metal is None or bar.metal != metal or not bar.hung or bar.retired:
                continue
            lost_g = min(hidden[f"idle_{metal}"] * bar.area_dm2 * days, bar.mass_g)
            bar.mass_g -= lost_g
            self._without_current(metal, lost_g, "anodes", hidden.get("idle_cemented", 0.0))
        if "generator" in hidden:
            self._without_current("zinc", hidden["generator"] * days, "generator")
        if "carbonate_uptake" in hidden:
            grams = hidden["carbonate_uptake"] * self.surface_dm2 * days
            self.gain("carbonate", grams, "air")
            self.gain("free alkali", -grams * ALKALI_PER_CARBONATE, "air")
        self.litres(-hidden["evaporation_cold"] * self.surface_dm2 * days, "evaporated")
        for name in hidden:
            if name == "generator" or name.startswith("anode_share_"):
                hidden[name] += abs(hidden[name]) * 0.1 * math.sqrt(days / 182) * float(self._rng.normal())

    def _without_current(self, metal: str, grams: float, account: str, cemented_part: float = 0.0) -> None:
        self.gain(metal, grams, account)
        mol = grams / ATOM_G_MOL[metal]
        nickel_mol = 0.0
        if cemented_part:
            nickel_mol = -self.gain("nickel", -mol * cemented_part * k.NICKEL, "cemented") / k.NICKEL
        if self.built.alkaline:
            self._base(-OH_PER_ZINC_WITHOUT_CURRENT * mol)
        else:
            self._base(H_PER_METAL_WITHOUT_CURRENT * (mol - nickel_mol))

    def plate(self, *, current_a: float, minutes: float, area_dm2: float, temperature_c: float, hot_h: float) -> None:
        """Passes a constant current; ``hot_h`` is how long a heated tank was hot for this run, all told."""
        left = minutes
        while left > 1e-9:
            step_min = min(PLATING_STEP_MIN, left)
            self._plate_step(current_a, step_min / 60, area_dm2, temperature_c)
            left -= step_min
        if "evaporation_hot" in self.hidden:
            self.litres(-self.hidden["evaporation_hot"] * self.surface_dm2 * hot_h, "evaporated")
        self.at += timedelta(minutes=minutes)

    def _plate_step(self, current_a: float, hours: float, area_dm2: float, temperature_c: float) -> None:
        electrons = current_a * hours * k.SECONDS_AN_HOUR / k.FARADAY_C_MOL
        laid_down = self._deposit_mol(self.hidden["cathode_efficiency"] * electrons, current_a / area_dm2, temperature_c)
        for metal, mol in laid_down.items():
            self.gain(metal, -mol * ATOM_G_MOL[metal], "deposit")
        dissolved = dict.fromkeys(self.built.dissolving, 0.0)
        for metal in dissolved:
            wanted = self._share(metal) * self.hidden[f"anode_efficiency_{metal}"] * electrons / ELECTRONS
            dissolved[metal] = self._dissolve(metal, wanted)
        hydrogen_electrons = electrons - ELECTRONS * sum(laid_down.values())  # H2O + e -> OH- + H2/2, or H+ + e -> H2/2
        oxygen_electrons = electrons - ELECTRONS * sum(dissolved.values())  # 2 OH- -> H2O + O2/2 + 2 e, or H2O -> 2 H+ ...
        base = hydrogen_electrons - oxygen_electrons
        if self.built.alkaline:
            base += ZINCATE_OH * (laid_down.get("zinc", 0.0) - dissolved.get("zinc", 0.0))
        self._base(base)
        self.charge_ah += current_a * hours

    def _deposit_mol(self, electrons: float, density_a_dm2: float, temperature_c: float) -> dict[str, float]:
        """mol of each metal that these electrons lay down."""
        if len(self.built.metals) == 1:
            return {self.built.metals[0]: electrons / ELECTRONS}
        base, second = self.built.metals
        reference = self.built.recipe.electrode.reference  # type: ignore[union-attr]
        assert reference is not None
        mass = {m: self.grams[m] for m in self.built.metals}
        w = self.hidden[f"deposit_{second}"]
        w *= (mass[second] / (mass[base] + mass[second]) / reference.ratio) ** self.hidden["ratio_exponent"]
        w *= math.exp(self.hidden["per_degree"] * (temperature_c - reference.temperature_c))
        w *= (density_a_dm2 / reference.density_a_dm2) ** self.hidden["density_exponent"]
        moles = {base: (1 - w) / ATOM_G_MOL[base], second: w / ATOM_G_MOL[second]}
        return {m: electrons / ELECTRONS * part / sum(moles.values()) for m, part in moles.items()}

    def _share(self, metal: str) -> float:
        """Part of the anode current that the metal carries; what nobody else carries falls to the one without a number."""
        own = f"anode_share_{metal}"
        if own in self.hidden:
            return self.hidden[own]
        return 1.0 - sum(self.hidden.get(f"anode_share_{m}", 0.0) for m in self.built.dissolving)

    def _dissolve(self, metal: str, mol: float) -> float:
        """Shares the metal's loss among its bars by area; a negative amount plates the metal on to them."""
        bars = [a for a in self.anodes.values() if a.metal == metal and not a.retired and a.mass_g > 0]
        area = sum(a.area_dm2 for a in bars)
        moved = 0.0
        for bar in bars:
            grams = min(mol * ATOM_G_MOL[metal] * bar.area_dm2 / area, bar.mass_g)
            bar.mass_g -= grams
            moved += self.gain(metal, grams, "anodes")
        return moved / ATOM_G_MOL[metal]

    def _base(self, hydroxide_mol: float) -> None:
        """Base made (below zero: used): on the species that counts it, else on the acid that the bath is short of."""
        if self.built.account is None:
            self.acid_used_mol += hydroxide_mol
        elif self.built.alkaline:
            self.gain(self.built.account, hydroxide_mol * k.SODIUM_HYDROXIDE, "reactions")
        else:
            self.gain(self.built.account, -hydroxide_mol * k.SULFURIC_ACID / 2, "reactions")

    def drag(self, area_dm2: float) -> None:
        """A load came in wet with clean water and goes out wet with bath."""
        film_l = self.hidden["drag_out"] * area_dm2 / 1000 * math.exp(float(self._rng.normal(0.0, 0.15)))
        self.litres(film_l, "drag-in")
        self.take(film_l, "drag-out")
