"""What the keeper does at the tanks around the electrolyte: fills, measures, tops up, doses, changes, and writes it down."""

from __future__ import annotations

from datetime import datetime, timedelta
from typing import Any

import numpy as np

from tests.truth.diary import Diary
from tests.truth.instruments import Instruments
from tests.truth.side_tanks import WRITTEN_AS, SideTank

MINUTE = timedelta(minutes=1)
FULL_L = 20.0
FRESH_G_L: dict[str, dict[str, float]] = {
    "degreaser": {"alkali": 20.0, "carbonate": 2.65},
    "rust-removal": {"soda": 50.0},
    "rinse-1": {},
    "pickle": {"bisulfate": 100.0},
    "rinse-2": {},
    "rinse-3": {},
    "acid-dip": {"nitric": 4.8},
    "passivate": {"chromium": 3.0},
    "rinse-4": {},
}


class Chores:
    """Works on the side tanks; ``analyses`` keeps the true state at each reading."""

    def __init__(self, tanks: dict[str, SideTank], tools: Instruments, diary: Diary, rng: np.random.Generator) -> None:
        self.tanks, self.tools, self.diary = tanks, tools, diary
        self.analyses: list[dict[str, Any]] = []
        self._rng = rng

    def make_up(self, at: datetime, name: str, note: str | None = None) -> datetime:
        """Fills a tank fresh; returns the next free moment."""
        fresh = FRESH_G_L[name]
        litres = FULL_L + float(self._rng.normal(0.0, 0.1))
        self.tanks[name].fill(at, litres, {s: self.tools.made_up(c) for s, c in fresh.items()})
        contents = {WRITTEN_AS.get(s, s): c for s, c in fresh.items()}
        if name == "degreaser":
            contents["total alkali"] = 22.0
        self.diary.write(at, "make_up", tank=name, volume_l=FULL_L, contents=contents, note=note)
        return at + 4 * MINUTE

    def change(self, at: datetime, name: str, to: str, note: str | None = None) -> datetime:
        """Empties a tank into a container and fills it fresh; returns the next free moment."""
        tank = self.tanks[name]
        tank.rest_until(at)
        tank.take(tank.volume_l, "dumped")
        tank.grams.clear()
        self.diary.write(at, "removal", tank=name, all=True, to=to, note=note)
        return self.make_up(at + 6 * MINUTE, name)

    def read(self, at: datetime, name: str, values: list[dict[str, Any]], typed: dict[str, str] | None = None) -> datetime:
        reading = self.diary.write(at, "reading", tank=name, values=values, typed=typed)
        self.analyses.append({"id": reading, "at": at.isoformat(), "tank": name, **self.tanks[name].state()})
        return at + 4 * MINUTE

    def top_up(self, at: datetime, name: str) -> datetime:
        """Reads the mark and fills up with water; returns the next free moment."""
        tank = self.tanks[name]
        tank.rest_until(at)
        read = self.tools.level(tank.volume_l)
        at = self.read(at, name, [{"of": "volume", "value": read, "unit": "L"}], {"volume": f"{read:g} L"})
        missing = round(FULL_L - read, 1)
        if missing < 0.2:
            return at
        tank.litres(self.tools.water_put_in(missing), "water")
        return self._add(at, name, "water", missing, "L")

    def alkali(self, at: datetime) -> datetime:
        """Free and total alkali of the degreaser; caustic when it has got weak."""
        tank = self.tanks["degreaser"]
        tank.rest_until(at)
        free = tank.concentration_g_l("alkali")
        free_read, total_read = (
            round(v * (1 + float(self._rng.normal(0.0, 0.015))), 1) for v in (free, tank.total_alkali_g_l)
        )
        method = "alkali titration"
        at = self.read(
            at,
            "degreaser",
            [
                {"of": "free alkali", "value": free_read, "unit": "g/L", "method": method},
                {"of": "total alkali", "value": total_read, "unit": "g/L", "method": method},
            ],
        )
        if free_read >= 14.0:
            return at
        grams = float(round((20.0 - free_read) * FULL_L, -1))
        tank.gain("alkali", self.tools.put_in(grams), "salts")
        return self._add(at, "degreaser", "sodium hydroxide", grams, "g")

    def pickle(self, at: datetime) -> tuple[datetime, float]:
        """Free acid by titration, iron by test strip; returns the next free moment and the acid as read, g/L."""
        tank = self.tanks["pickle"]
        tank.rest_until(at)
        acid = round(tank.concentration_g_l("bisulfate") * (1 + float(self._rng.normal(0.0, 0.02))), 1)
        iron = round(tank.concentration_g_l("iron") * (1 + float(self._rng.normal(0.0, 0.10))), 1)
        values: list[dict[str, Any]] = [{"of": "free acid", "value": acid, "unit": "g/L", "method": "acid titration"}]
        values.append({"of": "iron", "value": iron, "unit": "g/L", "method": "iron strip"})
        return self.read(at, "pickle", values, {"free acid": f"{acid:g} g/L", "iron": f"{iron:g} g/L"}), acid

    def passivate(self, at: datetime) -> datetime:
        """pH and iron by strip, zinc by titration; a little nitric acid when the pH has crept up."""
        tank = self.tanks["passivate"]
        tank.rest_until(at)
        ph = round(tank.ph + float(self._rng.normal(0.0, 0.15)), 1)
        zinc = round(tank.concentration_g_l("zinc") * (1 + float(self._rng.normal(0.0, 0.03))), 2)
        iron_mg = float(round(tank.concentration_g_l("iron") * 1000 * (1 + float(self._rng.normal(0.0, 0.12)))))
        at = self.read(
            at,
            "passivate",
            [
                {"of": "ph", "value": ph, "unit": "pH", "method": "pH strip"},
                {"of": "iron", "value": iron_mg, "unit": "mg/L", "method": "iron strip"},
                {"of": "zinc", "value": zinc, "unit": "g/L", "method": "EDTA titration", "lot": "lot-2"},
            ],
        )
        if ph <= 2.8:
            return at
        tank.ph_made_good += tank.ph - 2.5
        return self._add(at, "passivate", "nitric acid 68%", 12.0, "mL", "in two halves, pH again after each")

    def conductivity(self, at: datetime, name: str) -> datetime:
        tank = self.tanks[name]
        tank.rest_until(at)
        value = round(tank.conductivity_ms_cm * (1 + float(self._rng.normal(0.0, 0.03))), 2)
        return self.read(at, name, [{"of": "conductivity", "value": value, "unit": "mS/cm"}])

    def _add(self, at: datetime, name: str, reagent: str, amount: float, unit: str, note: str | None = None) -> datetime:
        items = [{"reagent": reagent, "amount": amount, "unit": unit}]
        self.diary.write(at, "addition", tank=name, items=items, note=note, typed={reagent: f"{amount:g} {unit}"})
        return at + 4 * MINUTE
