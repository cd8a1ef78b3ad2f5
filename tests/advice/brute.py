"""Dosing by brute force and by pencil: what a plan's steps do, worked out apart from the program, and a search that knows
nothing of linear programmes.

Masses by molmass. As in the book: a solid takes no room, a liquid its own; strong acids and bases go to what the bath titrates,
a carbonate only where the titration goes on to a low pH; zinc in lye holds four hydroxide.
"""

from __future__ import annotations

import itertools
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import lru_cache

import molmass
import numpy as np

from bathkeeper.catalogue.schema import Ratio, Reagent, Species
from bathkeeper.entries import PlanStep

SYMBOL = {"zinc": "Zn", "nickel": "Ni", "copper": "Cu", "chromium": "Cr", "cobalt": "Co", "iron": "Fe"}


@lru_cache
def mass(formula: str) -> float:
    """Molar mass; a hydrate's water added up."""
    first, *water = formula.split(".")
    total = float(molmass.Formula(first).mass)
    for part in water:
        digits = part[: len(part) - len(part.lstrip("0123456789"))]
        total += int(digits or 1) * float(molmass.Formula(part[len(digits) :]).mass)
    return total


def share(formula: str, group: str) -> float:
    """Mass fraction of an element or a group in a compound; a group stands once for each of its first atom that it needs."""
    if group == "whole":
        return 1.0
    there = molmass.Formula(formula.split(".")[0]).composition()
    wanted = molmass.Formula(group).composition()
    rarest = next((e for e in wanted if e not in ("O", "H")), next(iter(wanted)))
    return (there[rarest].count // wanted[rarest].count) * mass(group) / mass(formula)


def effect(reagent: Reagent, species: Mapping[str, Species]) -> dict[str, float]:
    """g (mL of additives) of each species by one g of a solid, one mL of anything else."""
    if reagent.form == "additive":
        return {reagent.additive: 1.0} if reagent.additive in species else {}
    pure = reagent.purity * (1.0 if reagent.form == "solid" else reagent.density_g_ml)
    found = {s: pure * share(reagent.formula, g) for s, g in reagent.brings.items() if s in species}
    protons = reagent.acid_equivalents * pure / mass(reagent.formula)
    protons += sum(species[s].hydroxide_held * g / mass(SYMBOL[s]) for s, g in found.items() if species[s].hydroxide_held)
    for name, own in species.items():
        if own.kind in ("acid", "alkali") and (own.counts_weak or not reagent.weak_base):
            sign = 1 if own.kind == "acid" else -1
            found[name] = found.get(name, 0.0) + sign * protons * mass(own.formula) / own.equivalents
    return {s: g for s, g in found.items() if g}


def litres_of(reagent: Reagent) -> float:
    """By one g of a solid or one mL of a liquid."""
    return 0.0 if reagent.form == "solid" else 0.001


@dataclass
class Vessel:
    """A tank by bare numbers; ``highest`` is the most that ever stood in it after the first removal."""

    volume_l: float
    masses: dict[str, float]
    highest: float = 0.0

    def do(self, step: PlanStep, reagents: Mapping[str, Reagent], species: Mapping[str, Species], rinse: object = None) -> None:
        """One step as a keeper does it."""
        if step.action == "remove" and step.of is not None:
            assert rinse is not None and rinse.tank == step.of
            self.volume_l += step.amount
            for s, c in rinse.contents.items():
                self.masses[s] += c * step.amount
        elif step.action == "remove":
            kept = 1 - step.amount / self.volume_l
            self.volume_l -= step.amount
            self.masses = {s: m * kept for s, m in self.masses.items()}
        elif step.action == "add" and step.reagent == "water":
            assert step.unit == "L"
            self.volume_l += step.amount
        elif step.action == "add":
            reagent = reagents[step.reagent]
            assert step.unit == ("g" if reagent.form == "solid" else "mL")
            self.volume_l += litres_of(reagent) * step.amount
            for s, g in effect(reagent, species).items():
                self.masses[s] = self.masses.get(s, 0.0) + g * step.amount
        self.highest = max(self.highest, self.volume_l)

    def value(self, window: Species | Ratio, name: str) -> float:
        if isinstance(window, Ratio):
            below = sum(self.masses.get(s, 0.0) for s in window.whole)
            return sum(self.masses.get(s, 0.0) for s in window.parts) / below if below > 0 else 0.0
        return self.masses.get(name, 0.0) / self.volume_l

    def out(self, windows: Mapping[str, Species | Ratio], tolerance: float = 1e-4) -> list[str]:
        """What lies outside; a contaminant has no lower edge. Two tables of atomic masses differ by up to 8e-5 (HCl)."""
        found = []
        for name, w in windows.items():
            v = self.value(w, name)
            low = None if getattr(w, "kind", "") == "contaminant" else w.low
            if low is not None and v < low * (1 - tolerance):
                found.append(f"{name} {v:.6g} < {low:g}")
            if w.high is not None and v > w.high * (1 + tolerance) + 1e-12:
                found.append(f"{name} {v:.6g} > {w.high:g}")
        return found


@dataclass(frozen=True)
class Question:
    """Whether some weighable plan exists."""

    volume_l: float
    masses: Mapping[str, float]
    level_l: float
    full_l: float
    most_out_l: float
    grid_l: float
    windows: Mapping[str, Species | Ratio]
    species: Mapping[str, Species]
    shelf: Sequence[tuple[Reagent, float | None]]
    scale_g: float
    ml: float
    margin: float = 1e-3


def search(q: Question, points: int = 4000, seeds: int = 4) -> tuple[float, list[float]] | None:
    """(litres out, amounts) of a plan in whole steps that keeps every window by a hair and more, or None where none is found.

    A grid over what may be taken out and over every reagent, then steps of the scale downhill from the best of it.
    """
    names = sorted({*q.masses, *(s for s in q.species)})
    start = np.array([q.masses.get(s, 0.0) for s in names])
    effects = np.array([[effect(r, q.species).get(s, 0.0) for s in names] for r, _ in q.shelf]).reshape(
        len(q.shelf), len(names)
    )
    room = np.array([litres_of(r) for r, _ in q.shelf])
    steps = np.array([q.scale_g if r.form == "solid" else q.ml for r, _ in q.shelf])
    tops = np.array([_top(q, names, e, a) for e, (_, a) in zip(effects, q.shelf, strict=True)])
    tops = np.floor(tops / steps + 1e-9) * steps if len(steps) else tops

    def badness(out: np.ndarray, amounts: np.ndarray) -> np.ndarray:
        liquids = amounts @ room
        water = np.floor(np.maximum(q.level_l - (q.volume_l - out) - liquids, 0.0) / q.grid_l + 1e-9) * q.grid_l
        volume = q.volume_l - out + liquids + water
        masses = start * (1 - out / q.volume_l)[:, None] + amounts @ effects
        bad = np.maximum(volume - q.full_l, 0.0) * 10
        for name, w in q.windows.items():
            if isinstance(w, Ratio):
                top = sum(masses[:, names.index(s)] for s in w.parts)
                below = sum(masses[:, names.index(s)] for s in w.whole)
                value = np.where(below > 0, top / np.where(below > 0, below, 1.0), 0.0)
            else:
                value = masses[:, names.index(name)] / volume
            low = None if getattr(w, "kind", "") == "contaminant" else w.low
            width = (w.high - low) if w.high is not None and low is not None else w.high or low or 1.0
            if low is not None:
                bad += np.maximum(low + q.margin * width - value, 0.0) / width
            if w.high is not None:
                bad += np.maximum(value - w.high + q.margin * width, 0.0) / width
        return bad

    dims = 1 + len(steps)
    each = max(int(points ** (1 / dims)), 2)
    most = np.floor(q.most_out_l / q.grid_l + 1e-9) * q.grid_l
    axes = [np.round(np.linspace(0, most, each) / q.grid_l) * q.grid_l]
    axes += [np.round(np.linspace(0, t, each) / s) * s for t, s in zip(tops, steps, strict=True)]
    grid = np.array(list(itertools.product(*axes)))
    bad = badness(grid[:, 0], grid[:, 1:])
    limits, units = np.array([most, *tops]), np.array([q.grid_l, *steps])
    for seed in np.argsort(bad)[:seeds]:
        here, worst = grid[seed].copy(), bad[seed]
        stride = np.maximum(np.round(limits / units / each), 1)
        while worst > 0:
            moves = [here + sign * stride[i] * units[i] * np.eye(dims)[i] for i in range(dims) for sign in (1, -1)]
            moves += [  # two at once: along a ratio, or more water for more salt
                here + a * stride[i] * units[i] * np.eye(dims)[i] + b * stride[j] * units[j] * np.eye(dims)[j]
                for i, j in itertools.combinations(range(dims), 2)
                for a, b in itertools.product((1, -1), repeat=2)
            ]
            tried = np.clip(np.array(moves), 0, limits)
            found = badness(tried[:, 0], tried[:, 1:])
            k = int(np.argmin(found))
            if found[k] < worst - 1e-12:
                here, worst = tried[k], found[k]
            elif (stride > 1).any():
                stride = np.maximum(stride // 2, 1)
            else:
                break
        if worst <= 0:
            return float(here[0]), [float(a) for a in here[1:]]
    return None


def _top(q: Question, names: Sequence[str], effects: np.ndarray, available: float | None) -> float:
    """No more than the shelf holds, nor than fills every window that it feeds from nothing."""
    tops = [
        3 * q.windows[s].high * q.full_l / e
        for s, e in zip(names, effects, strict=True)
        if e > 0 and s in q.windows and q.windows[s].high is not None
    ]
    top = min(tops, default=1000.0 * q.full_l)
    return top if available is None else min(top, available)
