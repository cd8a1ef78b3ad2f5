"""The hidden physics of the tanks around the electrolyte: cleaning, pickling, rinsing, dips. Invented, about right.

Species names here are the truth's own (``bisulfate``, ``nitric`` ...): a book calls both acids ``free acid``.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, field
from datetime import datetime
from typing import Any

from tests.truth import constants as k
from tests.truth.vessel import Vessel

WRITTEN_AS = {"alkali": "free alkali", "soda": "sodium carbonate", "bisulfate": "free acid", "nitric": "free acid"}
ADDITIVES = ("brightener", "carrier")
TRACE_G_L = 1e-4  # below this nobody would look


@dataclass(frozen=True, kw_only=True)
class SideHidden:
    """Hidden rates. Units in the comments."""

    drag_out: dict[str, float] = field(
        default_factory=lambda: {
            "degreaser": 2.1, "rust-removal": 1.9, "rinse-1": 1.3, "pickle": 1.6, "rinse-2": 1.3, "rinse-3": 1.2,
            "acid-dip": 1.3, "passivate": 1.4, "rinse-4": 1.2,
        }
    )  # fmt: skip  # mL/dm2
    alkali_g_dm2: float = 0.03  # caustic taken up by soil
    carbonation_g_dm2_day: float = 0.15  # caustic turned into carbonate, on the surface
    pickle_iron_g_dm2_min: float = 0.075  # at full strength
    pickle_order: float = 0.6  # how iron loss falls with the part of acid left
    pickle_acid_per_iron: float = 2.4  # mol H+ per mol Fe
    coating_nickel: float = 0.13  # mass fraction, of an old coating or the new one
    dip_zinc_g_dm2_min: float = 0.06
    dip_acid_per_zinc: float = 2.5  # mol H+ per mol Zn
    passivate_zinc_g_dm2: float = 0.016
    passivate_chromium_g_dm2: float = 0.0012
    passivate_iron_g_dm2: float = 0.0009
    passivate_ph_dm2_l: float = 0.03  # pH rise per dm2/L
    passivate_fresh_ph: float = 2.5
    steel_anode_g_ah: float = 0.06
    rust_loosened_g_dm2: float = 0.15  # as iron, floating about
    rinse_flow_l: float = 4.0  # water run through a running rinse, each load
    evaporation_cold: float = 0.006  # L/(dm2.day)
    evaporation_hot: dict[str, float] = field(
        default_factory=lambda: {"degreaser": 0.020, "passivate": 0.008}  # L/(dm2.h) at 60 and 38 degC
    )


class SideTank(Vessel):
    """One tank beside the electrolyte; ``life`` counts its make-ups."""

    def __init__(self, name: str, hidden: SideHidden, surface_dm2: float) -> None:
        super().__init__()
        self.name, self.hidden, self.surface_dm2 = name, hidden, surface_dm2
        self.at: datetime | None = None
        self.life = 0
        self.worked_dm2_l = 0.0
        self.fresh_g_l: dict[str, float] = {}
        self.ph_made_good = 0.0

    def fill(self, at: datetime, volume_l: float, grams_l: dict[str, float]) -> None:
        self.at, self.life, self.worked_dm2_l, self.ph_made_good = at, self.life + 1, 0.0, 0.0
        self.fresh_g_l = dict(grams_l)
        self.pour(volume_l, {s: c * volume_l for s, c in grams_l.items()}, "make-up")

    def rest_until(self, moment: datetime) -> None:
        """Dries up a little every day; an alkaline bath takes carbon dioxide from the air."""
        if self.at is None or moment <= self.at:
            return
        days = (moment - self.at).total_seconds() / 86400
        self.at = moment
        if self.volume_l <= 0:
            return
        self.litres(-self.hidden.evaporation_cold * self.surface_dm2 * days, "evaporated")
        if self.name == "degreaser":
            caustic = -self.gain("alkali", -self.hidden.carbonation_g_dm2_day * self.surface_dm2 * days, "carbonated")
            self.gain("carbonate", caustic / k.SODIUM_HYDROXIDE / 2 * k.SODIUM_CARBONATE, "carbonated")

    def work(self, area_dm2: float, minutes: float, stripped_g: float = 0.0) -> None:
        """What a load does to the tank while it hangs there."""
        hidden = self.hidden
        self.worked_dm2_l += area_dm2 / max(self.volume_l, 1.0)
        if self.name == "degreaser":
            self.gain("alkali", -hidden.alkali_g_dm2 * area_dm2, "soil")
        elif self.name == "rust-removal":
            self.gain("iron", hidden.rust_loosened_g_dm2 * area_dm2, "parts")
        elif self.name == "pickle":
            self._pickle(area_dm2, minutes, stripped_g)
        elif self.name == "acid-dip":
            zinc = hidden.dip_zinc_g_dm2_min * area_dm2 * minutes
            self.gain("zinc", zinc, "parts")
            self.gain("nickel", zinc * hidden.coating_nickel / (1 - hidden.coating_nickel), "parts")
            self.gain("nitric", -hidden.dip_acid_per_zinc * zinc / k.ZINC * k.NITRIC_ACID, "parts")
        elif self.name == "passivate":
            self.gain("zinc", hidden.passivate_zinc_g_dm2 * area_dm2, "parts")
            self.gain("iron", hidden.passivate_iron_g_dm2 * area_dm2, "parts")
            self.gain("chromium", -hidden.passivate_chromium_g_dm2 * area_dm2, "parts")
        hot = hidden.evaporation_hot.get(self.name, 0.0)
        self.litres(-hot * self.surface_dm2 * (minutes / 60 + 2), "evaporated")

    def run_water_through(self) -> None:
        """A running rinse after a load: some of it goes down the overflow, as much water comes in."""
        gone, _ = self.take(self.hidden.rinse_flow_l, "run through")
        self.litres(gone, "water")

    def _pickle(self, area_dm2: float, minutes: float, stripped_g: float) -> None:
        left = minutes
        while left > 1e-9:
            step = min(1.0, left)
            left -= step
            strength = self.concentration_g_l("bisulfate") / self.fresh_g_l["bisulfate"]
            iron = self.hidden.pickle_iron_g_dm2_min * area_dm2 * step * max(strength, 0.0) ** self.hidden.pickle_order
            self.gain("iron", iron, "parts")
            self.gain("bisulfate", -self.hidden.pickle_acid_per_iron * iron / k.IRON * k.SODIUM_BISULFATE, "parts")
        if stripped_g > 0:
            nickel = stripped_g * self.hidden.coating_nickel
            zinc = stripped_g - nickel
            self.gain("zinc", zinc, "parts")
            self.gain("nickel", nickel, "parts")
            acid_mol = 2 * (zinc / k.ZINC + nickel / k.NICKEL)
            self.gain("bisulfate", -acid_mol * k.SODIUM_BISULFATE, "parts")

    @property
    def ph(self) -> float:
        """Of the passivate only: rises with the area worked."""
        return self.hidden.passivate_fresh_ph + self.hidden.passivate_ph_dm2_l * self.worked_dm2_l - self.ph_made_good

    @property
    def conductivity_ms_cm(self) -> float:
        """Of a rinse: tap water and what was dragged in, 1.4 mS/cm per g/L, bending over when strong."""
        salts = sum(self.grams.values()) / self.volume_l if self.volume_l > 0 else 0.0
        return 0.35 + 1.4 * salts / math.sqrt(1 + salts / 40)

    def state(self) -> dict[str, Any]:
        """Volume in L and g/L of what matters in it, under the names that the book uses."""
        own = {WRITTEN_AS.get(s, s): self.concentration_g_l(s) for s in self.grams if self._reads_as_itself(s)}
        if self.name == "degreaser":
            own["total alkali"] = self.total_alkali_g_l
        return {"volume_l": self.volume_l, "g_l": {s: c for s, c in own.items() if c > TRACE_G_L}}

    @property
    def total_alkali_g_l(self) -> float:
        """Of the degreaser, as NaOH: caustic and both equivalents of the carbonate."""
        from_carbonate = self.concentration_g_l("carbonate") * 2 * k.SODIUM_HYDROXIDE / k.SODIUM_CARBONATE
        return self.concentration_g_l("alkali") + from_carbonate

    def _reads_as_itself(self, species: str) -> bool:
        """Whether the tank's own reading of that name means this: bisulfate in the nitric dip is not its free acid.

        Additives are counted in mL and nobody looks for them here.
        """
        return species not in ADDITIVES and (species not in WRITTEN_AS or species in self.fresh_g_l)
