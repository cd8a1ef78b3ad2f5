"""The hidden physics of one acid chloride zinc-nickel bath, in small explicit steps of time."""

from __future__ import annotations

import math
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Any

import numpy as np

from tests.truth import constants as k
from tests.truth.vessel import Film, Vessel

REFERENCE_RATIO, REFERENCE_C, REFERENCE_A_DM2 = 0.42, 35.0, 1.55
IDLE_STEP_H, PLATING_STEP_MIN = 6.0, 3.0
RESTING_PH = 5.4
SPECIES = ("zinc", "nickel", "chloride", "potassium", "boric acid")


@dataclass(frozen=True, kw_only=True)
class Hidden:
    """What the keeper cannot see. Fractions unless the comment says otherwise; names as in a recipe's parameters."""

    cathode_efficiency: float
    deposit_nickel: float  # at the reference ratio, temperature and density
    ratio_exponent: float
    per_degree: float  # 1/degC
    density_exponent: float
    anode_share_nickel: float  # at the start
    share_walk: float  # relative standard deviation after half a year
    anode_efficiency_zinc: float
    anode_efficiency_nickel: float
    idle_zinc: float  # g/(dm2.day)
    idle_cemented: float
    drag_out: float  # mL/dm2
    drag_out_scatter: float  # standard deviation of the logarithm, load by load
    evaporation_cold: float  # L/(dm2.day)
    evaporation_hot: float  # L/(dm2.h)
    ph_slope: float  # pH per mmol/L of acid used


def draw_hidden(rng: np.random.Generator) -> Hidden:
    """A workshop's parameters, about as wide as a keeper would believe them to be beforehand."""

    def log_normal(median: float, factor: float) -> float:
        return float(median * math.exp(rng.normal(0.0, math.log(factor))))

    return Hidden(
        cathode_efficiency=float(rng.normal(0.93, 0.02)),
        deposit_nickel=float(rng.normal(0.13, 0.01)),
        ratio_exponent=float(rng.normal(0.7, 0.15)),
        per_degree=float(rng.normal(0.015, 0.005)),
        density_exponent=float(rng.normal(0.0, 0.07)),
        anode_share_nickel=float(np.clip(rng.normal(0.05, 0.06), -0.02, 0.2)),
        share_walk=0.1,
        anode_efficiency_zinc=float(rng.normal(1.0, 0.01)),
        anode_efficiency_nickel=float(rng.normal(1.0, 0.01)),
        idle_zinc=log_normal(0.4, 2.0),
        idle_cemented=float(np.clip(rng.normal(0.1, 0.03), 0.02, 0.3)),
        drag_out=log_normal(1.5, 1.7),
        drag_out_scatter=0.15,
        evaporation_cold=log_normal(0.007, 1.3),
        evaporation_hot=log_normal(0.006, 1.25),
        ph_slope=log_normal(0.05, 1.4),
    )


@dataclass
class TrueAnode:
    """A bar of metal over the edge of the tank."""

    metal: str
    mass_g: float
    area_dm2: float
    hung: bool = True
    retired: bool = False


class ZincNickelBath(Vessel):
    """The true bath. ``acid_used_mol`` is the acid that the bath is short of against its resting pH."""

    def __init__(self, hidden: Hidden, at: datetime, surface_dm2: float, rng: np.random.Generator) -> None:
        super().__init__()
        self.hidden = hidden
        self.at = at
        self.surface_dm2 = surface_dm2
        self.anodes: dict[str, TrueAnode] = {}
        self.acid_used_mol = 0.0
        self.charge_ah = 0.0
        self.deposit_equivalents_mol = 0.0
        self.nickel_share = hidden.anode_share_nickel
        self._rng = rng

    @property
    def ph(self) -> float:
        """Bends over where boric acid and the metals' own hydrolysis hold it."""
        rise = self.hidden.ph_slope * 1000 * self.acid_used_mol / self.volume_l
        return RESTING_PH + 0.9 * math.tanh(rise / 0.9)

    def snapshot(self) -> dict[str, Any]:
        return {
            "volume_l": self.volume_l,
            **{f"{name.split()[0]}_g": self.grams.get(name, 0.0) for name in SPECIES},
            "anodes": {name: a.mass_g for name, a in self.anodes.items() if not a.retired},
            "nickel_share": self.nickel_share,
            "ph": self.ph if self.volume_l > 0 else None,
        }

    def rest_until(self, moment: datetime) -> None:
        """Nothing happens but idle loss, evaporation of the cold tank, and the slow walk of the anode share."""
        while self.at < moment:
            hours = min(IDLE_STEP_H, (moment - self.at).total_seconds() / 3600)
            self._idle(hours)
            self.litres(-self.hidden.evaporation_cold * self.surface_dm2 * hours / 24, "evaporated")
            self.at += timedelta(hours=hours)

    def _idle(self, hours: float) -> None:
        days = hours / 24
        step = self.hidden.share_walk * abs(self.hidden.anode_share_nickel) * math.sqrt(days / 182)
        self.nickel_share += float(self._rng.normal(0.0, 1.0)) * step
        for anode in self.anodes.values():
            if anode.metal != "zinc" or not anode.hung or anode.retired or anode.mass_g <= 0:
                continue
            lost = min(self.hidden.idle_zinc * anode.area_dm2 * days, anode.mass_g)
            anode.mass_g -= lost
            self.gain("zinc", lost, "anodes")
            wanted = lost * self.hidden.idle_cemented / k.ZINC * k.NICKEL
            cemented = -self.gain("nickel", -wanted, "cemented")
            self.acid_used_mol += 2 * (lost / k.ZINC - cemented / k.NICKEL)

    def plate(self, *, current_a: float, minutes: float, area_dm2: float, temperature_c: float, heated_h: float) -> None:
        """Passes a constant current; ``heated_h`` is how long the tank was hot for this run, all told."""
        left = minutes
        while left > 1e-9:
            step_min = min(PLATING_STEP_MIN, left)
            self._plate_step(current_a, step_min / 60, area_dm2, temperature_c)
            left -= step_min
        self.litres(-self.hidden.evaporation_hot * self.surface_dm2 * heated_h, "evaporated")
        self.at += timedelta(minutes=minutes)

    def _plate_step(self, current_a: float, hours: float, area_dm2: float, temperature_c: float) -> None:
        hidden = self.hidden
        zinc, nickel = self.grams["zinc"], self.grams["nickel"]
        w = hidden.deposit_nickel * (nickel / (nickel + zinc) / REFERENCE_RATIO) ** hidden.ratio_exponent
        w *= math.exp(hidden.per_degree * (temperature_c - REFERENCE_C))
        w *= (current_a / area_dm2 / REFERENCE_A_DM2) ** hidden.density_exponent
        electrons_mol = current_a * hours * k.SECONDS_AN_HOUR / k.FARADAY_C_MOL
        deposited_mol = hidden.cathode_efficiency * electrons_mol / 2  # both metals take two electrons
        # nickel's mole fraction from its mass fraction, so that the charge closes exactly
        x = (w / k.NICKEL) / (w / k.NICKEL + (1 - w) / k.ZINC)
        self.gain("nickel", -x * deposited_mol * k.NICKEL, "deposit")
        self.gain("zinc", -(1 - x) * deposited_mol * k.ZINC, "deposit")
        dissolved_mol = self._dissolve("nickel", self.nickel_share * hidden.anode_efficiency_nickel * electrons_mol / 2)
        dissolved_mol += self._dissolve("zinc", (1 - self.nickel_share) * hidden.anode_efficiency_zinc * electrons_mol / 2)
        self.acid_used_mol += 2 * (dissolved_mol - deposited_mol)
        self.charge_ah += current_a * hours
        self.deposit_equivalents_mol += 2 * deposited_mol

    def _dissolve(self, metal: str, mol: float) -> float:
        """Shares the metal's loss among its bars by area; a negative amount plates the metal on to them."""
        mass = {"zinc": k.ZINC, "nickel": k.NICKEL}[metal]
        bars = [a for a in self.anodes.values() if a.metal == metal and not a.retired and a.mass_g > 0]
        area = sum(a.area_dm2 for a in bars)
        moved = 0.0
        for bar in bars:
            grams = min(mol * mass * bar.area_dm2 / area, bar.mass_g)
            bar.mass_g -= grams
            moved += self.gain(metal, grams, "anodes")
        return moved / mass

    def drag(self, area_dm2: float, came: Film | None = None) -> Film:
        """A load came in wet (clean water of the same volume unless told) and goes out wet; returns what it carries off."""
        scatter = math.exp(float(self._rng.normal(0.0, self.hidden.drag_out_scatter)))
        film_l = self.hidden.drag_out * area_dm2 / 1000 * scatter
        self.pour(*(came or (film_l, {})), "drag-in")
        return self.take(film_l, "drag-out")

    def dissolve_salt(self, reagent: str, grams: float) -> None:
        for species, share in k.BRINGS_G_G[reagent].items():
            self.gain(species, grams * share, "salts")
        self.litres(grams * k.SALT_VOLUME_L_G, "salts")

    def acidify(self, hydrochloric_ml: float) -> None:
        mol = hydrochloric_ml * k.HYDROCHLORIC_MOL_ML
        self.acid_used_mol -= mol
        self.gain("chloride", mol * k.CHLORINE, "acid")
        self.litres(hydrochloric_ml / 1000, "acid")
