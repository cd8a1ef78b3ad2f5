"""What weighing plated loads teaches of the cathode efficiency: ``python -m tests.truth.weighings [SEEDS]`` prints the table.

Hidden: a bath's efficiency, a supply whose ammeter is wrong the same way every time, a scatter of each run's charge, a scale in
1 g steps. The keeper knows none of them; the program starts from its prior. Its error is set against what theory allows for

    gain = eta * a * sum_i q_i exp(g + c_i) + scale error,     g ~ N(0, s_g), c_i ~ N(0, s_c), logit eta ~ prior

by two roads that use nothing of the program's estimate: the Bayesian information bound (van Trees 1968: the Cramer-Rao bound
with the prior's own information), and the best that anyone could make of the very same weighing, which is the mean of the exact
posterior, by quadrature.
"""

from __future__ import annotations

import math
import sys
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from typing import Any

import numpy as np

from bathkeeper.answers.weighing import weighing_words
from bathkeeper.catalogue.loader import load
from bathkeeper.entries import parse
from bathkeeper.estimate.fold import Fold
from bathkeeper.estimate.learned import learned

Z95 = 1.959964
START = datetime(2026, 3, 2, 8, 0, tzinfo=UTC)
RECIPE = "zinc-nickel-chloride-potassium"
G_PER_AH = 1 / (0.13 / 1.0950 + 0.87 / 1.2197)  # 13 % nickel; printed tables of electrochemical equivalents
GAIN_SD = 0.04 / Z95  # a supply's ammeter [practice]: what the catalogue says is believed of one
CHARGE_SD = 0.05 / Z95  # a current read once, times the minutes [practice]
SCALE_SD = 1.0 / Z95  # 95 % of what the scale shows is within its step of 1 g
STEP_G = 1.0


@dataclass(frozen=True)
class Weighing:
    """One simulated workshop after one weighing: its efficiency, what the program believes of it, and the best belief."""

    truth: float
    value: float
    deviation: float
    best: float
    told: float
    inside: bool
    said: tuple[str, ...]


@dataclass(frozen=True)
class Row:
    """Many workshops: root mean square error of the efficiency, mean stated deviation, error of the exact posterior's mean and
    the bound, all as fractions of the prior's; how often the 95 % interval holds; median of posterior / prior spread; how often
    the program said that the weighing proves little."""

    loads: int
    error: float
    stated: float
    best: float
    bound: float
    inside: float
    told: float
    said: float


def simulate(seed: int, loads: int, charge_ah: float = 5.0) -> Weighing:
    """Plates ``loads`` loads of ``charge_ah`` and weighs them together, before and after, on a 1 g scale."""
    rng = np.random.default_rng(seed)
    middle, sd = _prior()
    efficiency = _efficiency(middle + sd * float(rng.standard_normal()))
    gain = GAIN_SD * float(rng.standard_normal())
    current, minutes = 6.0, charge_ah / 6.0 * 60
    entries: list[dict[str, Any]] = [
        {"kind": "tank", "tank": "bath", "role": "plate", "order": 1, "recipe": RECIPE, "working_volume_l": 40.0},
        {"kind": "make_up", "tank": "bath", "volume_l": 40.0},
        {"kind": "anode", "tank": "bath", "anode": "zinc-1", "action": "hung", "metal": "zinc", "mass_g": 4000.0},
    ]
    gained, runs = 0.0, []
    for number in range(loads):
        passed = charge_ah * math.exp(gain + CHARGE_SD * float(rng.standard_normal()))
        gained += efficiency * G_PER_AH * passed
        runs.append(f"load-{number:04d}")
        step = {"tank": "bath", "minutes": minutes, "charge": {"current_a": current}, "supply": "bench"}
        entries.append({"kind": "run", "id": runs[-1], "steps": [step], "parts": [{"description": "parts", "area_dm2": 4.0}]})
    before = 900.0 * loads
    read = [_scale(rng, mass) for mass in (before, before + gained)]
    where = {"runs": runs} if loads > 1 else {"run": runs[0]}
    value = {"of": "deposit_mass", "value": max(read[1] - read[0], 0.0), "unit": "g"}
    entries.append({"kind": "reading", **where, "values": [value]})
    made = [parse({"id": f"entry-{i:05d}", "at": START + timedelta(hours=i), **raw}) for i, raw in enumerate(entries)]
    fold = Fold(load())
    start, end = fold.take(made[:-1]), fold.take(made)
    item = learned(end.tanks["bath"])["cathode_efficiency"]
    return Weighing(
        efficiency,
        item.value,
        (item.high - item.low) / 2 / Z95,
        _best(value["value"], loads, charge_ah),
        item.told,
        item.low <= efficiency <= item.high,
        tuple(weighing_words(start, end, made[-1])),
    )


def bound(loads: int, charge_ah: float = 5.0) -> float:
    """The least root mean square error that any estimator can reach, as a fraction of the prior's, in the efficiency's logit.

    The weighing knows ln(eta) with variance s_g^2 + s_c^2/N + (scale error / gain)^2, and the logit moves ln(eta) by 1 - eta;
    the information is its mean over the prior, and 1 / (1 / sd^2 + information) the bound.
    """
    middle, sd = _prior()
    nodes, weights = np.polynomial.hermite_e.hermegauss(21)
    eta = _efficiency(middle + sd * nodes)
    information = float(weights / weights.sum() @ ((1 - eta) ** 2 / _noise(eta * G_PER_AH * charge_ah * loads, loads)))
    return 1 / math.sqrt(1 + sd**2 * information)


def row(loads: int, seeds: Sequence[int]) -> Row:
    """Many workshops that weigh so many loads together."""
    middle, sd = _prior()
    nodes, weights = np.polynomial.hermite_e.hermegauss(41)
    at = _efficiency(middle + sd * nodes)
    mean = float(weights @ at / weights.sum())
    before = math.sqrt(float(weights @ (at - mean) ** 2 / weights.sum()))  # of the efficiency itself
    found = [simulate(seed, loads) for seed in seeds]
    return Row(
        loads,
        math.sqrt(float(np.mean([(w.value - w.truth) ** 2 for w in found]))) / before,
        float(np.mean([w.deviation for w in found])) / before,
        math.sqrt(float(np.mean([(w.best - w.truth) ** 2 for w in found]))) / before,
        bound(loads),
        float(np.mean([w.inside for w in found])),
        float(np.median([w.told for w in found])),
        float(np.mean([any("little" in s for s in w.said) for w in found])),
    )


def _prior() -> tuple[float, float]:
    """Mean and standard deviation of the efficiency's logit, from the catalogue's 95 % range."""
    prior = load().recipe(RECIPE).parameters["cathode_efficiency"]
    value = prior.value
    return math.log(value / (1 - value)), (prior.spread or 0.0) / (value * (1 - value)) / Z95


def _efficiency(logit: Any) -> Any:
    return 1 / (1 + np.exp(-logit))


def _noise(gain_g: Any, loads: int) -> Any:
    """Variance of the logarithm of a gain."""
    return GAIN_SD**2 + CHARGE_SD**2 / loads + 2 * (SCALE_SD / gain_g) ** 2


def _best(gain_g: float, loads: int, charge_ah: float) -> float:
    """Mean of the exact posterior of the efficiency, given what the scale showed."""
    middle, sd = _prior()
    x = np.linspace(middle - 7 * sd, middle + 7 * sd, 2001)
    eta = _efficiency(x)
    gain = eta * G_PER_AH * charge_ah * loads
    variance = (GAIN_SD**2 + CHARGE_SD**2 / loads) * gain**2 + 2 * SCALE_SD**2
    log = -((x - middle) ** 2) / (2 * sd**2) - (gain_g - gain) ** 2 / (2 * variance) - 0.5 * np.log(variance)
    weight = np.exp(log - log.max())
    return float(weight @ eta / weight.sum())


def _scale(rng: np.random.Generator, mass_g: float) -> float:
    """What a scale in 1 g steps shows; its own scatter and the steps together are within 1 g in 95 of 100 weighings."""
    own = math.sqrt(SCALE_SD**2 - STEP_G**2 / 12)
    return float(round((mass_g + own * float(rng.standard_normal())) / STEP_G) * STEP_G)


def main(seeds: int = 2000) -> None:
    print(f"{RECIPE}, loads of 5 Ah weighed together on a 1 g scale, {seeds} workshops each.")
    print("Root mean square error of the efficiency as a fraction of the prior's: the program's, as stated, the best possible")
    print("with the same weighing, and the information bound; then intervals that held, and where the program said `little`.")
    heads = f"{'error':>8}{'stated':>8}{'best':>8}{'bound':>8}{'/ best':>8}{'/ bound':>9}"
    print(f"{'loads':>6}{heads}{'inside':>9}{'told':>7}{'said':>8}")
    for loads in (1, 2, 3, 5, 10, 30):
        r = row(loads, range(10_000 * loads, 10_000 * loads + seeds))
        print(
            f"{loads:>6}{r.error:>8.3f}{r.stated:>8.3f}{r.best:>8.3f}{r.bound:>8.3f}{r.error / r.best:>8.3f}"
            f"{r.error / r.bound:>9.3f}{r.inside:>9.1%}{r.told:>7.2f}{r.said:>8.0%}"
        )


if __name__ == "__main__":
    main(*(int(a) for a in sys.argv[1:2]))
