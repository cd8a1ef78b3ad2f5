"""Small books for the estimate's tests: a clock, a few ready tanks, and checks that hold for any of them."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from datetime import UTC, datetime, timedelta
from typing import Any

import numpy as np

from bathkeeper.catalogue.loader import load
from bathkeeper.entries import AnyEntry, parse
from bathkeeper.estimate.fold import Fold, at_moment
from bathkeeper.estimate.gauss import Gauss
from bathkeeper.estimate.state import TankState
from bathkeeper.estimate.world import World

START = datetime(2026, 1, 5, 8, 0, tzinfo=UTC)
BATH = "zinc-nickel-chloride-potassium"
CONTENTS = {"zinc": 33.0, "nickel": 24.0, "chloride": 150.0, "potassium": 105.0, "boric acid": 25.0}
TWO_POINT = [{"mm": 300.0, "volume_l": 30.0}, {"mm": 420.0, "volume_l": 42.0}]


class Book:
    """Entries on a running clock: :meth:`day` sets it, each :meth:`log` moves it on by a minute."""

    def __init__(self) -> None:
        self.entries: list[AnyEntry] = []
        self.moment = START

    def day(self, number: float) -> Book:
        self.moment = START + timedelta(days=number)
        return self

    def log(self, kind: str, **fields: Any) -> str:
        """Adds an entry and returns its id."""
        self.moment += timedelta(minutes=1)
        name = f"test-{len(self.entries):05d}"
        self.entries.append(parse({"kind": kind, "id": name, "at": self.moment, **fields}))
        return name

    def tank(self, tank: str, role: str, order: int, recipe: str | None, litres: float = 20.0, **fields: Any) -> None:
        self.log("tank", tank=tank, role=role, order=order, recipe=recipe, working_volume_l=litres, **fields)

    def make_up(self, tank: str, litres: float, contents: Mapping[str, float] | None = None, **fields: Any) -> str:
        return self.log("make_up", tank=tank, volume_l=litres, contents=dict(contents or {}), **fields)

    def bath(self, anodes: bool = True, **fields: Any) -> None:
        """A 40 L zinc-nickel bath named ``bath`` with its anodes."""
        self.tank("bath", "plate", 5, BATH, 40.0, **{"surface_dm2": 12.0, **fields})
        self.make_up("bath", 40.0, CONTENTS)
        if anodes:
            self.anode("zinc-1", "hung", metal="zinc", mass_g=4000.0, area_dm2=5.0)
            self.anode("nickel-1", "hung", metal="nickel", mass_g=1500.0, area_dm2=2.5)

    def anode(self, anode: str, action: str, tank: str = "bath", **fields: Any) -> str:
        return self.log("anode", tank=tank, anode=anode, action=action, **fields)

    def plate(self, charge_ah: float = 5.0, area_dm2: float = 4.3, tank: str = "bath", **fields: Any) -> str:
        step = {"tank": tank, "charge": {"charge_ah": charge_ah}, "minutes": 45.0, "supply": "main"}
        return self.log("run", steps=[step], parts=[{"description": "parts", "area_dm2": area_dm2}], **fields)

    def read(self, tank: str, unit: str = "g/L", method: str | None = None, lot: str | None = None, **values: float) -> str:
        extra = {k: v for k, v in (("method", method), ("lot", lot)) if v is not None}
        found = [{"of": n.replace("_", " "), "value": v, "unit": unit, **extra} for n, v in values.items()]
        return self.log("reading", tank=tank, values=found)

    def reading(self, tank: str | None = "bath", confirms: Any = (), run: str | None = None, **value: Any) -> str:
        where = {k: v for k, v in (("tank", tank), ("run", run)) if v is not None}
        return self.log("reading", values=[value] if value else [], confirms=confirms, **where)

    def add(self, tank: str, reagent: str, amount: float, unit: str = "g") -> str:
        return self.log("addition", tank=tank, items=[{"reagent": reagent, "amount": amount, "unit": unit}])

    def ordered(self) -> list[AnyEntry]:
        return sorted(self.entries, key=lambda e: e.order)

    def world(self) -> World:
        return at_moment(take(self.entries), self.moment)

    def state(self, tank: str = "bath") -> TankState:
        return self.world().tanks[tank]


def take(entries: Iterable[AnyEntry]) -> World:
    """The world of entries in any order, folded afresh."""
    return Fold(load()).take(sorted(entries, key=lambda e: e.order))


def g_l(state: TankState, species: str) -> float:
    return state.concentration(species)[0]


def totals(flows: Mapping[str, Mapping[str, float]]) -> dict[str, float]:
    """Sum over the causes, by name."""
    found: dict[str, float] = {}
    for account in flows.values():
        for name, amount in account.items():
            found[name] = found.get(name, 0.0) + amount
    return found


def all_lives(state: TankState) -> dict[str, float]:
    """Everything that ever moved in a tank, closed lives included, by name."""
    found: dict[str, float] = {}
    for flows in [*(life.flows for life in state.lives), state.flows]:
        for name, amount in totals(flows).items():
            found[name] = found.get(name, 0.0) + amount
    return found


def unbalanced(state: TankState) -> dict[str, tuple[float, float]]:
    """{name: (booked, held)} of every amount whose flows do not add up to what is there."""
    booked = all_lives(state)
    wrong = {}
    for name in state.gauss.names:
        if name in ("volume", "acid") or name.startswith(("mass:", "anode:")):
            held = state.gauss.value(name)
            if abs(booked.get(name, 0.0) - held) > 1e-9 * max(1.0, abs(held)) * 10:
                wrong[name] = (booked.get(name, 0.0), held)
    return wrong


def is_covariance(gauss: Gauss) -> bool:
    """Finite, symmetric, and without negative eigenvalues once every entry is scaled by its own deviation."""
    if not (np.isfinite(gauss.mean).all() and np.isfinite(gauss.cov).all() and np.array_equal(gauss.cov, gauss.cov.T)):
        return False
    deviations = np.sqrt(np.diag(gauss.cov))
    scale = np.where(deviations > 0, deviations, 1.0)
    return float(np.linalg.eigvalsh(gauss.cov / np.outer(scale, scale)).min()) > -1e-9


def same_gauss(a: Gauss, b: Gauss, relative: float = 1e-9) -> bool:
    """Equal to rounding, whatever the order of the names; covariances are compared on the scale of the deviations."""
    if set(a.names) != set(b.names):
        return False
    order = [b.index[n] for n in a.names]
    mean, cov = b.mean[order], b.cov[np.ix_(order, order)]
    deviations = np.sqrt(np.maximum(np.diag(cov), 1e-30))
    close = np.abs(a.cov - cov) <= relative * np.outer(deviations, deviations) + 1e-24
    return bool(np.all(np.abs(a.mean - mean) <= relative * (np.abs(mean) + deviations)) and np.all(close))


def differences(a: World, b: World) -> list[str]:
    """What differs between two worlds in what a keeper could see; empty when nothing does."""
    found = []
    for name in sorted(set(a.tanks) | set(b.tanks)):
        x, y = a.tanks.get(name), b.tanks.get(name)
        if x is None or y is None:
            found.append(f"{name}: only in one")
            continue
        if not same_gauss(x.gauss, y.gauss):
            found.append(f"{name}: mean or covariance")
        if _doubts(x) != _doubts(y):
            found.append(f"{name}: doubts {_doubts(x)} and {_doubts(y)}")
        if not _close(x.flows, y.flows):
            found.append(f"{name}: flows")
        if [(j.of, j.entries) for j in x.jumps] != [(j.of, j.entries) for j in y.jumps]:
            found.append(f"{name}: jumps")
        if x.counters != y.counters or x.made_up != y.made_up or set(x.anodes) != set(y.anodes):
            found.append(f"{name}: counters, life or anodes")
    if not _close(a.places, b.places):
        found.append("places")
    if set(a.containers) != set(b.containers):
        found.append("containers")
    for name in set(a.containers) & set(b.containers):
        one, other = a.containers[name], b.containers[name]
        if not same_gauss(one.gauss, other.gauss) or not _close(one.flows, other.flows) or one.fills != other.fills:
            found.append(f"{name}: what is in it")
    if sorted((p.entry or "", p.what) for p in a.problems) != sorted((p.entry or "", p.what) for p in b.problems):
        found.append("problems")
    return found


def _doubts(state: TankState) -> dict[str, str]:
    return {of: seen.entry for of, seen in state.doubts.items()}


def _close(a: Mapping[str, Mapping[str, float]], b: Mapping[str, Mapping[str, float]]) -> bool:
    if set(a) != set(b):
        return False
    for cause in a:
        if set(a[cause]) != set(b[cause]):
            return False
        if any(abs(a[cause][n] - b[cause][n]) > 1e-9 * (1 + abs(b[cause][n])) for n in a[cause]):
            return False
    return True


def shown(problems: Sequence[Any], entry: str) -> str:
    """What the problems of an entry say, in one text."""
    return " | ".join(p.what for p in problems if p.entry == entry)
