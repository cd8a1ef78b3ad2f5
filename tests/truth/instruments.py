"""Instruments and habits that are wrong the same way every time, with noise on top."""

from __future__ import annotations

from dataclasses import asdict, dataclass
from typing import Any

import numpy as np


@dataclass(frozen=True, kw_only=True)
class Biases:
    """Constant errors. ``supply_gain``: true / read. ``area_habit``, ``lots``: read / true. The rest: standard deviations."""

    supply_gain: float
    area_habit: float
    lots: tuple[float, ...]
    titration_sd: float = 0.007
    area_scatter: float = 0.05
    current_scatter: float = 0.005
    level_sd_l: float = 0.15
    scale_sd_g: float = 0.5
    weighing_sd: float = 0.01
    water_sd: float = 0.03
    make_up_sd: float = 0.015
    ph_sd: float = 0.15
    ph_offset: float = 0.0  # read - true, of this keeper's strips in strong salt


def draw_biases(rng: np.random.Generator, lots: int = 3) -> Biases:
    return Biases(
        supply_gain=float(rng.normal(1.0, 0.02)),
        area_habit=float(rng.normal(1.0, 0.08)),
        lots=tuple(float(v) for v in rng.normal(1.0, 0.01, lots)),
        ph_offset=float(rng.normal(0.0, 0.1)),
    )


class Instruments:
    """Turns what is true into what is read, and what is written into what was really done."""

    def __init__(self, biases: Biases, rng: np.random.Generator) -> None:
        self.biases = biases
        self._rng = rng

    def describe(self) -> dict[str, Any]:
        return asdict(self.biases)

    def _noisy(self, value: float, sd: float) -> float:
        return float(value * (1.0 + self._rng.normal(0.0, sd)))

    def titrated(self, true_g_l: float, lot: int, decimals: int = 2) -> float:
        """A concentration as read, g/L; ``lot`` counts from 0."""
        return round(self._noisy(true_g_l * self.biases.lots[lot], self.biases.titration_sd), decimals)

    def guessed_area(self, true_dm2: float) -> float:
        return round(max(0.1, self._noisy(true_dm2 * self.biases.area_habit, self.biases.area_scatter)), 2)

    def true_current(self, read_a: float) -> float:
        return self._noisy(read_a * self.biases.supply_gain, self.biases.current_scatter)

    def level(self, true_l: float, decimals: int = 1) -> float:
        """Litres of bath by the mark; anodes out or allowed for."""
        return round(float(true_l + self._rng.normal(0.0, self.biases.level_sd_l)), decimals)

    def weighed(self, true_g: float) -> float:
        return max(0.0, float(round(true_g + self._rng.normal(0.0, self.biases.scale_sd_g))))

    def put_in(self, written: float) -> float:
        """What really went in when ``written`` was weighed or measured out."""
        return self._noisy(written, self.biases.weighing_sd)

    def water_put_in(self, written_l: float) -> float:
        return self._noisy(written_l, self.biases.water_sd)

    def made_up(self, stated: float) -> float:
        return self._noisy(stated, self.biases.make_up_sd)

    def strip(self, true_ph: float) -> float:
        """A pH strip: matched to the nearest 0.1."""
        return round(float(true_ph + self.biases.ph_offset + self._rng.normal(0.0, self.biases.ph_sd)), 1)
