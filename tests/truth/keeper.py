"""A keeper's doings at a zinc-nickel tank: measures, tops up, doses, plates, and writes it all down."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Any

import numpy as np

from tests.truth import constants as k
from tests.truth.diary import Analysis, Diary
from tests.truth.instruments import Instruments
from tests.truth.vessel import Film
from tests.truth.zinc_nickel import TrueAnode, ZincNickelBath

TANK, SUPPLY = "electrolyte", "supply-1"
STATED_G_L = {"zinc": 32.0, "nickel": 24.0, "chloride": 159.0, "potassium": 105.0, "boric acid": 25.0}
SAMPLE_L = 0.010
WORKING_L = 40.0
MINUTE = timedelta(minutes=1)


@dataclass(frozen=True)
class Comfort:
    """Where the keeper starts to act on a reading, g/L (or pH), and where to."""

    zinc_low: float = 30.5
    zinc_target: float = 32.0
    zinc_lift_above: float = 39.0
    zinc_bail_above: float = 42.0
    nickel_low: float = 22.8
    nickel_target: float = 24.0
    ph_high: float = 5.7
    ph_target: float = 5.4


class Keeper:
    """Works on one true bath with biased instruments and keeps the diary."""

    def __init__(
        self, bath: ZincNickelBath, tools: Instruments, diary: Diary, rng: np.random.Generator, *, lifts: bool
    ) -> None:
        self.bath, self.tools, self.diary = bath, tools, diary
        self.comfort = Comfort()
        self.lifts = lifts
        self.analyses: list[Analysis] = []
        self._rng = rng

    # -- starting -----------------------------------------------------------------------------------------------------

    def make_up(self, at: datetime, stated: Mapping[str, float] = STATED_G_L) -> None:
        litres = WORKING_L + float(self._rng.normal(0.0, self.tools.biases.level_sd_l / 2))
        self.bath.pour(litres, {s: self.tools.made_up(c) * litres for s, c in stated.items()}, "make-up")
        self.bath.at = at
        self.diary.mark(at)
        self.diary.write(at, "make_up", tank=TANK, volume_l=WORKING_L, contents=dict(stated), temperature_c=35.0)

    def hang(self, at: datetime, name: str, metal: str, mass_g: float, area_dm2: float, note: str | None = None) -> None:
        self._before(at)
        true_g = mass_g + float(self._rng.normal(0.0, self.tools.biases.scale_sd_g))
        self.bath.anodes[name] = TrueAnode(metal, true_g, area_dm2)
        self.diary.write(
            at, "anode", tank=TANK, anode=name, action="hung", metal=metal, mass_g=mass_g, area_dm2=area_dm2, note=note
        )
        self.diary.mark(at)

    def zinc_anodes(self) -> list[str]:
        return [name for name, a in self.bath.anodes.items() if a.metal == "zinc" and not a.retired]

    def set_zinc(self, at: datetime, *, hung: bool, note: str | None = None) -> datetime:
        """Lifts or hangs all zinc bars, one entry each, a minute apart; returns the minute after."""
        for name in self.zinc_anodes():
            self._before(at)
            self.bath.anodes[name].hung = hung
            self.diary.write(at, "anode", tank=TANK, anode=name, action="hung" if hung else "lifted", note=note)
            self.diary.mark(at)
            at += MINUTE
        return at

    def retire(self, at: datetime, name: str) -> None:
        self._before(at)
        mass = self.tools.weighed(self.bath.anodes[name].mass_g)
        self.bath.anodes[name].retired = True
        self.diary.write(at, "anode", tank=TANK, anode=name, action="retired", mass_g=mass, brushed=True)
        self.diary.mark(at)

    # -- measuring and dosing -----------------------------------------------------------------------------------------

    def level_and_water(self, at: datetime) -> None:
        """Reads the mark and fills up to the working level with water."""
        self._before(at)
        read = self.tools.level(self.bath.volume_l)
        self.diary.write(at, "reading", tank=TANK, values=[{"of": "volume", "value": read, "unit": "L"}])
        self.diary.mark(at)
        missing = round(WORKING_L - read, 1)
        if missing >= 0.1:
            later = at + 5 * MINUTE
            self._before(later)
            self.bath.litres(self.tools.water_put_in(missing), "water")
            self.add(later, [{"reagent": "water", "amount": missing, "unit": "L"}])

    def titrate(self, at: datetime, lot: int) -> dict[str, float]:
        """Zinc and nickel by titration with the given lot (from 0); returns what was read."""
        self._before(at)
        true = {metal: self.bath.concentration_g_l(metal) for metal in ("zinc", "nickel")}
        read = {metal: self.tools.titrated(c, lot) for metal, c in true.items()}
        reading = self.diary.write(
            at,
            "reading",
            tank=TANK,
            values=[
                {"of": metal, "value": value, "unit": "g/L", "method": "EDTA titration", "lot": f"lot-{lot + 1}"}
                for metal, value in read.items()
            ],
        )
        self.analyses.append((reading, at, true["zinc"], true["nickel"], read["zinc"], read["nickel"]))
        self.bath.take(SAMPLE_L, "samples")
        self.diary.mark(at)
        return read

    def correct_metals(self, at: datetime, read: Mapping[str, float]) -> datetime:
        """Doses, lifts zinc or bails out when a reading is out of the comfortable zone; returns the minute after."""
        comfort = self.comfort
        if read["zinc"] > comfort.zinc_bail_above:
            at = self.bail(at, 5.0, "drum-1")
        if read["zinc"] > comfort.zinc_lift_above and not self.lifts:
            self.lifts = True
            at = self.set_zinc(at, hung=False, note="zinc too high: lifted after every run from now on")
        salts: list[tuple[str, float]] = []
        if read["zinc"] < comfort.zinc_low:
            wanted = (comfort.zinc_target - read["zinc"]) * WORKING_L
            salts.append(("zinc chloride", wanted / k.BRINGS_G_G["zinc chloride"]["zinc"]))
        if read["nickel"] < comfort.nickel_low:
            wanted = (comfort.nickel_target - read["nickel"]) * WORKING_L
            salts.append(("nickel chloride hexahydrate", wanted / k.BRINGS_G_G["nickel chloride hexahydrate"]["nickel"]))
        if salts:
            self.salts(at, salts)
            at += MINUTE
        return at

    def salts(self, at: datetime, wanted: list[tuple[str, float]]) -> None:
        self._before(at)
        items = []
        for reagent, grams in wanted:
            written = float(round(grams))
            self.bath.dissolve_salt(reagent, self.tools.put_in(written))
            items.append({"reagent": reagent, "amount": written, "unit": "g"})
        self.add(at, items)

    def bail(self, at: datetime, litres: float, to: str) -> datetime:
        """Takes solution out, then fills up with water and the salts that went with it; returns the minute after."""
        self._before(at)
        lost_l, lost_g = self.bath.take(self.tools.water_put_in(litres), "bailed out")
        self.diary.write(at, "removal", tank=TANK, volume_l=litres, to=to)
        self.diary.mark(at)
        at += 5 * MINUTE
        self._before(at)
        self.bath.litres(self.tools.water_put_in(litres), "water")
        self.add(at, [{"reagent": "water", "amount": litres, "unit": "L"}])
        at += 5 * MINUTE
        share = litres / lost_l
        kcl = lost_g["potassium"] * share / k.BRINGS_G_G["potassium chloride"]["potassium"]
        nickel = lost_g["nickel"] * share / k.BRINGS_G_G["nickel chloride hexahydrate"]["nickel"]
        boric = lost_g["boric acid"] * share
        self.salts(at, [("potassium chloride", kcl), ("boric acid", boric), ("nickel chloride hexahydrate", nickel)])
        return at + MINUTE

    def strip_and_acid(self, at: datetime) -> None:
        """A pH strip; when high, acid by a jar test, a little short of what the bath really wants."""
        self._before(at)
        read = self.tools.strip(self.bath.ph)
        self.diary.write(at, "reading", tank=TANK, values=[{"of": "ph", "value": read, "unit": "pH", "method": "pH strip"}])
        self.diary.mark(at)
        demand_ml = self.bath.acid_used_mol / k.HYDROCHLORIC_MOL_ML
        if read > self.comfort.ph_high and demand_ml > 2:
            later = at + 15 * MINUTE
            self._before(later)
            written = float(max(1, round(demand_ml * float(self._rng.uniform(0.7, 1.0)))))
            self.bath.acidify(self.tools.water_put_in(written))
            self.add(later, [{"reagent": "hydrochloric acid 37%", "amount": written, "unit": "mL"}])

    def add(self, at: datetime, items: list[dict[str, Any]]) -> None:
        """Writes an addition that the bath has already had."""
        self.diary.write(at, "addition", tank=TANK, items=items)
        self.diary.mark(at)

    def weigh_anodes(self, at: datetime) -> datetime:
        """Weighs every bar, brushed; returns the minute after the last."""
        for name, anode in self.bath.anodes.items():
            if anode.retired:
                continue
            self._before(at)
            mass = self.tools.weighed(anode.mass_g)
            self.diary.write(at, "anode", tank=TANK, anode=name, action="weighed", mass_g=mass, brushed=True)
            self.diary.mark(at)
            at += 5 * MINUTE
        return at

    # -- plating ------------------------------------------------------------------------------------------------------

    def plate(
        self, at: datetime, true_dm2: float, current_a: float, minutes: float, came: Film | None = None
    ) -> tuple[dict[str, Any], Film]:
        """Plates a load at a current as read off the supply; returns the step as written and what the load carries off."""
        self._before(at)
        temperature_c = 35.0 + float(self._rng.normal(0.0, 0.7))
        self.bath.plate(
            current_a=self.tools.true_current(current_a),
            minutes=minutes,
            area_dm2=true_dm2,
            temperature_c=temperature_c,
            heated_h=minutes / 60 + 2,
        )
        film = self.bath.drag(true_dm2, came)
        step = {
            "tank": TANK,
            "minutes": minutes,
            "charge": {"current_a": current_a},
            "supply": SUPPLY,
            "temperature_c": 35.0,
        }
        return step, film

    def _before(self, at: datetime) -> None:
        self.bath.rest_until(at)
        self.diary.mark(at)
