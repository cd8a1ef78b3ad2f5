"""Half a year of any plating bath of the catalogue with an ordinary keeper: titrates, weighs, tops up, doses by reading."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import UTC, datetime, timedelta
from typing import Any

import numpy as np

from bathkeeper.catalogue.schema import Recipe
from tests.truth import constants as k
from tests.truth.diary import Diary, Plain
from tests.truth.instruments import Instruments, draw_biases
from tests.truth.plating import ATOM_G_MOL, ELECTRONS, PlatingBath, Structure, draw, structure
from tests.truth.zinc_nickel import TrueAnode

START = datetime(2026, 1, 5, 8, 0, tzinfo=UTC)
MINUTE = timedelta(minutes=1)
TANK, SUPPLY = "electrolyte", "supply-1"
WORKING_L, SURFACE_DM2, SAMPLE_L = 40.0, 12.0, 0.010
RUN_CHANCE, AREA_DM2, HOURS = 0.45, 4.3, 0.75
GENERATOR_RUN_CHANCE = 0.7  # a generator is worth its trouble only where there is something to plate most days
BAR_G, BAR_DM2, SPENT_BAR_G = 2000.0, 2.5, 600.0
LOW, LIFT_ABOVE, BAIL_ABOVE = 0.95, 1.15, 1.3  # of target, as read: dosed up, idle metal lifted, bath taken out
BAIL_L = 5.0


@dataclass(frozen=True)
class Label:
    """What a g or mL of a reagent brings by its label: g of species, mol of acid; and its litres."""

    unit: str
    grams: Mapping[str, float]
    acid_mol: float = 0.0
    litres: float = k.SALT_VOLUME_L_G


LABELS: dict[str, Label] = {
    "zinc chloride": Label("g", k.BRINGS_G_G["zinc chloride"]),
    "nickel chloride hexahydrate": Label("g", k.BRINGS_G_G["nickel chloride hexahydrate"]),
    "nickel sulfate hexahydrate": Label("g", {"nickel": k.NICKEL / k.NICKEL_SULFATE_6H2O}),
    "nickel sulfamate solution": Label("mL", {"nickel": 0.180}, litres=0.001),
    "nickel amine complex concentrate": Label("mL", {"nickel": 0.060}, litres=0.001),
    # 100 g zinc in 380 g of lye a litre, of which ZnO + 2 NaOH + H2O -> Na2Zn(OH)4 takes two mol to a mol of zinc
    "zincate concentrate": Label(
        "mL", {"zinc": 0.100, "free alkali": 0.380 - 0.100 / k.ZINC * 2 * k.SODIUM_HYDROXIDE}, litres=0.001
    ),
    "copper sulfate pentahydrate": Label("g", {"copper": k.COPPER / k.COPPER_SULFATE_5H2O}),
    "sodium hydroxide": Label("g", {"free alkali": 1.0}),
    "sulfuric acid 96%": Label("mL", {"free acid": 1.84 * 0.96}, litres=0.001),
    "hydrochloric acid 37%": Label("mL", {}, acid_mol=k.HYDROCHLORIC_MOL_ML, litres=0.001),
    "sulfuric acid 37%": Label("mL", {}, acid_mol=1.28 * 0.37 * 2 / k.SULFURIC_ACID, litres=0.001),
}


@dataclass
class HalfYear:
    """A book, the truth just before each analysis and what was read, and what went in and out by the keeper's own account.

    ``true`` and ``read``: {reading's id: {species: g/L}}; ``dosed``: {addition's id: {species: g}} by the labels; ``bailed``:
    {removal's id: litres}; ``charge_ah``: {run's id: Ah as read}.
    """

    built: Structure
    bath: PlatingBath
    entries: list[Plain] = field(default_factory=list)
    true: dict[str, dict[str, float]] = field(default_factory=dict)
    read: dict[str, dict[str, float]] = field(default_factory=dict)
    at: dict[str, datetime] = field(default_factory=dict)
    dosed: dict[str, dict[str, float]] = field(default_factory=dict)
    bailed: dict[str, float] = field(default_factory=dict)
    charge_ah: dict[str, float] = field(default_factory=dict)
    range_of: dict[str, tuple[float, float]] = field(default_factory=dict)


def simulate(recipe: Recipe, seed: int, *, days: int = 182, **fixed: float) -> HalfYear:
    """One workshop; the same recipe and seed give the same book. ``fixed``: hidden numbers not to be drawn, by parameter."""
    rng = np.random.default_rng([20260106, seed])
    built = structure(recipe)
    hidden = draw(recipe, rng, **fixed)
    load = float(np.exp(rng.normal(0.0, 0.2)))
    chance = GENERATOR_RUN_CHANCE if "generator" in hidden else RUN_CHANCE
    if "generator" in hidden and "generator" not in fixed:
        hidden["generator"] = _generator_g_day(built, hidden, chance * load) * float(np.exp(rng.normal(0.0, 0.3)))
    bath = PlatingBath(built, hidden, START, SURFACE_DM2, np.random.default_rng([seed, 1]))
    keeper = _Keeper(bath, Instruments(draw_biases(rng), np.random.default_rng([seed, 2])), rng, seed)
    keeper.open()
    for day in range(1, days + 1):
        keeper.live_a_day(START + timedelta(days=day), day, days, chance, load)
    return keeper.book


def _generator_g_day(built: Structure, hidden: Mapping[str, float], hours_a_day_part: float) -> float:
    """As much zinc a day as plating takes: how a keeper sizes the baskets."""
    ah_a_day = hours_a_day_part * AREA_DM2 * built.density_a_dm2 * HOURS
    nickel = hidden.get("deposit_nickel", 0.0)
    mol = hidden["cathode_efficiency"] * ah_a_day * k.SECONDS_AN_HOUR / k.FARADAY_C_MOL / ELECTRONS
    zinc_part = (1 - nickel) / k.ZINC / ((1 - nickel) / k.ZINC + nickel / k.NICKEL)
    return mol * zinc_part * k.ZINC


class _Keeper:
    """Works on one true bath with biased instruments and keeps the diary."""

    def __init__(self, bath: PlatingBath, tools: Instruments, rng: np.random.Generator, seed: int) -> None:
        self.bath, self.tools, self._rng = bath, tools, rng
        self.built = bath.built
        self.lifts = bool(rng.random() < 0.5) and self.built.idle_metal is not None
        self.diary = Diary(seed, dict)
        self.book = HalfYear(self.built, bath, self.diary.entries)
        self._account_lots = [float(v) for v in rng.normal(1.0, 0.01, len(tools.biases.lots))]
        self._bars = 0

    # -- starting -----------------------------------------------------------------------------------------------------

    def open(self) -> None:
        recipe = self.built.recipe
        write = self.diary.write
        write(START, "workshop", name="Simulated workshop", scale_resolution_g=1.0)
        write(
            START + MINUTE, "tank", tank=TANK, role="plate", order=1, recipe=recipe.name, working_volume_l=WORKING_L,
            full_volume_l=48.0, surface_dm2=SURFACE_DM2,
        )  # fmt: skip
        at = START + 2 * MINUTE
        litres = WORKING_L + float(self._rng.normal(0.0, self.tools.biases.level_sd_l / 2))
        self.bath.pour(litres, {s: self.tools.made_up(c) * litres for s, c in self.built.targets.items()}, "make-up")
        self.bath.at = at
        write(
            at, "make_up", tank=TANK, volume_l=WORKING_L, contents=dict(self.built.targets),
            temperature_c=self.built.temperature_c,
        )  # fmt: skip
        for metal in self.built.dissolving:
            for _ in range(2):
                at = self.hang(at + MINUTE, metal)
        if self.built.inert is not None:
            at += MINUTE
            write(at, "anode", tank=TANK, anode="inert-1", action="hung", metal=self.built.inert, mass_g=900.0, area_dm2=3.0)
        if self.lifts:
            self.lift(at + MINUTE, "lifted after every run")

    def hang(self, at: datetime, metal: str) -> datetime:
        self._bars += 1
        name = f"{metal}-{self._bars}"
        self.bath.rest_until(at)
        self.bath.anodes[name] = TrueAnode(metal, BAR_G + float(self._rng.normal(0.0, self.tools.biases.scale_sd_g)), BAR_DM2)
        self.diary.write(
            at, "anode", tank=TANK, anode=name, action="hung", metal=metal, mass_g=BAR_G, area_dm2=BAR_DM2,
        )  # fmt: skip
        return at

    def lift(self, at: datetime, note: str) -> datetime:
        """Takes the idle metal out between runs, from now on."""
        self.lifts = True
        for name, bar in self.bath.anodes.items():
            if bar.metal == self.built.idle_metal and bar.hung and not bar.retired:
                self.bath.rest_until(at)
                bar.hung = False
                self.diary.write(at, "anode", tank=TANK, anode=name, action="lifted", note=note)
                at += MINUTE
        return at

    # -- a day --------------------------------------------------------------------------------------------------------

    def live_a_day(self, morning: datetime, day: int, days: int, chance: float, load: float) -> None:
        if day % 7 == 0:
            self.level_and_water(morning)
        if day % 21 == 0:
            lots = len(self.tools.biases.lots)
            read = self.titrate(morning + 20 * MINUTE, min(lots - 1, (day - 1) * lots // days))
            self.correct(morning + 40 * MINUTE, read)
        if day % 10 == 0 and "ph" in self.built.recipe.indicators:
            self.strip_and_acid(morning + 80 * MINUTE)
        if day % 60 == 0:
            self.weigh(morning + 110 * MINUTE)
        if self._rng.random() < chance:
            self.run(morning + timedelta(hours=4, minutes=int(self._rng.integers(0, 240))), load)

    def level_and_water(self, at: datetime) -> None:
        """Reads the mark and fills up to the working level with water."""
        self.bath.rest_until(at)
        read = self.tools.level(self.bath.volume_l)
        self.diary.write(at, "reading", tank=TANK, values=[{"of": "volume", "value": read, "unit": "L"}])
        missing = round(WORKING_L - read, 1)
        if missing >= 0.1:
            self.water(at + 5 * MINUTE, missing)

    def water(self, at: datetime, litres: float) -> None:
        self.bath.rest_until(at)
        self.bath.litres(self.tools.water_put_in(litres), "water")
        self.diary.write(at, "addition", tank=TANK, items=[{"reagent": "water", "amount": litres, "unit": "L"}])

    def titrate(self, at: datetime, lot: int) -> dict[str, float]:
        """Every metal, and the free acid or alkali where the bath counts one; returns what was read."""
        self.bath.rest_until(at)
        true = {s: self.bath.concentration_g_l(s) for s in self.built.followed}
        read: dict[str, float] = {}
        values = []
        for species, c in true.items():
            if species == self.built.account:
                read[species] = round(c * self._account_lots[lot] * (1 + float(self._rng.normal(0.0, 0.01))), 1)
                method = "alkali titration" if self.built.alkaline else "acid titration"
                values.append(_value(species, read[species], method, f"burette-{lot + 1}"))
            else:
                read[species] = self.tools.titrated(c, lot)
                values.append(_value(species, read[species], "EDTA titration", f"lot-{lot + 1}"))
        reading = self.diary.write(at, "reading", tank=TANK, values=values)
        self.book.true[reading], self.book.read[reading], self.book.at[reading] = true, read, at
        self.bath.take(SAMPLE_L, "samples")
        return read

    def correct(self, at: datetime, read: Mapping[str, float]) -> None:
        """Takes out, lifts and doses as the reading asks."""
        targets, read = self.built.targets, dict(read)
        if any(read[m] > BAIL_ABOVE * targets[m] for m in self.built.metals):
            at = self.bail(at)
            read = {s: c * (1 - BAIL_L / WORKING_L) for s, c in read.items()}
        idle = self.built.idle_metal
        if idle is not None and not self.lifts and read[idle] > LIFT_ABOVE * targets[idle]:
            at = self.lift(at, "too high: lifted after every run from now on")
        wanted = {s: (targets[s] - c) * WORKING_L for s, c in read.items() if c < LOW * targets[s]}
        doses: dict[str, float] = {}
        for species in sorted(wanted, key=lambda s: s == self.built.account):  # concentrates bring lye: they go first
            reagent = self._source_of(species)
            brought = sum(LABELS[r].grams.get(species, 0.0) * a for r, a in doses.items())
            amount = float(round((wanted[species] - brought) / LABELS[reagent].grams[species]))
            if amount >= 1:
                doses[reagent] = amount
        if doses:
            self.dose(at, doses)

    def _source_of(self, species: str) -> str:
        if species == self.built.account:
            return "sodium hydroxide" if self.built.alkaline else "sulfuric acid 96%"
        if self.built.alkaline:
            return {"zinc": "zincate concentrate", "nickel": "nickel amine complex concentrate"}[species]
        if species == "nickel" and "zinc" not in self.built.metals:
            return "nickel sulfate hexahydrate" if "sulfate" in self.built.targets else "nickel sulfamate solution"
        salts = {"zinc": "zinc chloride", "nickel": "nickel chloride hexahydrate", "copper": "copper sulfate pentahydrate"}
        return salts[species]

    def dose(self, at: datetime, doses: Mapping[str, float]) -> str:
        self.bath.rest_until(at)
        told: dict[str, float] = {}
        items = []
        for reagent, amount in doses.items():
            label, true = LABELS[reagent], self.tools.put_in(amount)
            for species, share in label.grams.items():
                self.bath.gain(species, share * true, "salts")
                told[species] = told.get(species, 0.0) + share * amount
            self.bath.acid_used_mol -= label.acid_mol * true
            self.bath.litres(label.litres * true, "salts")
            items.append({"reagent": reagent, "amount": amount, "unit": label.unit})
        written = self.diary.write(at, "addition", tank=TANK, items=items)
        self.book.dosed[written] = told
        return written

    def bail(self, at: datetime) -> datetime:
        """Takes solution out and fills up with water."""
        self.bath.rest_until(at)
        self.bath.take(self.tools.water_put_in(BAIL_L), "bailed out")
        self.book.bailed[self.diary.write(at, "removal", tank=TANK, volume_l=BAIL_L, to="drum-1")] = BAIL_L
        self.water(at + 5 * MINUTE, BAIL_L)
        return at + 10 * MINUTE

    def strip_and_acid(self, at: datetime) -> None:
        """A pH strip; when high, acid by a jar test, a little short of what the bath really wants."""
        self.bath.rest_until(at)
        read = self.tools.strip(self.bath.ph)
        self.diary.write(at, "reading", tank=TANK, values=[{"of": "ph", "value": read, "unit": "pH", "method": "pH strip"}])
        reagent = "hydrochloric acid 37%" if "zinc" in self.built.metals else "sulfuric acid 37%"
        demand_ml = self.bath.acid_used_mol / LABELS[reagent].acid_mol
        target = self.built.recipe.indicators["ph"].target or 7.0
        if read > target + 0.3 and demand_ml > 2:
            self.dose(at + 15 * MINUTE, {reagent: float(max(1, round(demand_ml * float(self._rng.uniform(0.7, 1.0)))))})

    def weigh(self, at: datetime) -> None:
        """Weighs every bar that dissolves, brushed; hangs a new one for one that is nearly spent."""
        for name, bar in list(self.bath.anodes.items()):
            if bar.retired:
                continue
            self.bath.rest_until(at)
            mass = self.tools.weighed(bar.mass_g)
            spent = mass < SPENT_BAR_G
            self.diary.write(
                at, "anode", tank=TANK, anode=name, action="retired" if spent else "weighed", mass_g=mass, brushed=True
            )
            at += 5 * MINUTE
            if spent:
                bar.retired = True
                at = self.hang(at, bar.metal) + MINUTE
                if self.lifts:
                    at = self.lift(at, "lifted after every run")

    def run(self, at: datetime, load: float) -> None:
        """A load at a current set by its area as guessed."""
        true_dm2 = AREA_DM2 * float(np.exp(self._rng.normal(0.0, 0.25)))
        written_dm2 = self.tools.guessed_area(true_dm2)
        current_a = round(written_dm2 * self.built.density_a_dm2, 1)
        minutes = float(max(15, round(60 * HOURS * load * float(np.exp(self._rng.normal(0.0, 0.1))))))
        self.bath.rest_until(at)
        self.bath.plate(
            current_a=self.tools.true_current(current_a),
            minutes=minutes,
            area_dm2=true_dm2,
            temperature_c=self.built.temperature_c + float(self._rng.normal(0.0, 0.7)),
            hot_h=minutes / 60 + 2,
        )
        self.bath.drag(true_dm2)
        step = {
            "tank": TANK, "minutes": minutes, "charge": {"current_a": current_a}, "supply": SUPPLY,
            "temperature_c": self.built.temperature_c,
        }  # fmt: skip
        parts = [{"description": "mixed fittings", "area_dm2": written_dm2}]
        self.book.charge_ah[self.diary.write(at, "run", parts=parts, steps=[step])] = current_a * minutes / 60
        for species in self.built.followed:
            c = self.bath.concentration_g_l(species)
            low, high = self.book.range_of.get(species, (c, c))
            self.book.range_of[species] = (min(low, c), max(high, c))


def _value(of: str, value: float, method: str, lot: str) -> dict[str, Any]:
    return {"of": of, "value": value, "unit": "g/L", "method": method, "lot": lot}


def textbook_g_per_ah(built: Structure) -> dict[str, float]:
    """Grams that an ampere-hour adds to the bath by the textbook, with the middle of the catalogue's priors: the metals that
    anodes give less what is plated, and what the half-reactions leave of acid or caustic."""
    middle = {n: p.value for n, p in built.recipe.parameters.items()}
    mol_e = k.SECONDS_AN_HOUR / k.FARADAY_C_MOL
    parts = {m: middle.get(f"deposit_{m}", 0.0) for m in built.metals}
    parts[built.metals[0]] = 1.0 - sum(parts.values())
    moles = {m: w / ATOM_G_MOL[m] for m, w in parts.items()}
    plated = {m: middle["cathode_efficiency"] * mol_e / ELECTRONS * n / sum(moles.values()) for m, n in moles.items()}
    shares = {m: middle.get(f"anode_share_{m}") for m in built.dissolving}
    left = 1.0 - sum(s for s in shares.values() if s is not None)
    given = {m: mol_e / ELECTRONS * (left if s is None else s) * middle[f"anode_efficiency_{m}"] for m, s in shares.items()}
    drift = {m: (given.get(m, 0.0) - plated[m]) * ATOM_G_MOL[m] for m in built.metals}
    if built.account is not None:
        base = ELECTRONS * (sum(given.values()) - sum(plated.values()))
        if built.alkaline:
            base += 4 * (plated.get("zinc", 0.0) - given.get("zinc", 0.0))
        drift[built.account] = base * k.SODIUM_HYDROXIDE if built.alkaline else -base * k.SULFURIC_ACID / 2
    return drift
