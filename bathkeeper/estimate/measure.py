"""Readings as statements: what the state says an instrument should show, how far it may be off, and whose fault a miss would
be."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from datetime import datetime

from bathkeeper.catalogue.schema import Metal, Method
from bathkeeper.chemistry.formulas import molar_mass
from bathkeeper.chemistry.water_density_kell_1975 import water_density_kg_m3
from bathkeeper.entries import LevelMark, Value
from bathkeeper.estimate.dual import Dual, exp
from bathkeeper.estimate.electrode import Plating, deposit_fractions, deposit_g_per_ah
from bathkeeper.estimate.state import BEGINNING, Z95, TankState

STRAIGHT_PH = 0.3  # how far from its start a buffered bath's pH follows acid in a straight line; beyond, it may bend [practice]
DENSITY_MODEL_SPREAD = 0.01  # g/cm3, what is linearised away and what old baths carry besides [practice]
WORKING_STRENGTH = 0.89  # of the limiting conductivity at 0.05 eq/L: KCl 133.3 of 149.8 S.cm2/mol [memory of a handbook table]
RINSE_CONDUCTIVITY_SPREAD = 0.05  # of the value, reading by reading [practice]


@dataclass(frozen=True)
class RunRecord:
    """What later readings on a run's parts need to know of it: the plating step as read. ``also``: other tanks that laid metal
    on the same parts. ``judged``: additives that a defect of it has spoken of already."""

    tank: str
    plating: Plating
    charge_variance: float
    area_variance: float
    at: datetime = BEGINNING
    also: tuple[str, ...] = ()
    judged: tuple[str, ...] = ()


def joined(first: RunRecord, second: RunRecord) -> RunRecord:
    """Two plating steps of one run as one, where they were in one tank; else the later one, which knows of the other."""
    if first.tank != second.tank:
        return replace(second, also=(*first.also, first.tank))
    a, b = first.plating, second.plating
    minutes = a.minutes + b.minutes if a.minutes is not None and b.minutes is not None else None
    total = a.read_ah + b.read_ah
    variance = (first.charge_variance * a.read_ah**2 + second.charge_variance * b.read_ah**2) / total**2
    plating = Plating((*a.branches, *b.branches), a.area, minutes, b.temperature_c)
    return replace(first, plating=plating, charge_variance=variance)


@dataclass(frozen=True)
class Expectation:
    """``h``: what should be shown. ``noise``: variance of this reading's own error. ``blame``: the state entries, with the
    size of
    one unit of the reading in each, that a jump would be laid on. ``needs``: instrument errors that the state must hold."""

    h: Dual
    noise: float
    blame: Mapping[str, float] = field(default_factory=dict)


def bias_name(value: Value, method: Method) -> str | None:
    """The state entry of what is wrong with every reading of this lot (titrant) or method (instrument), if anything is."""
    if method.bias_relative > 0:
        return f"bias:{value.lot or method.name}"
    if method.bias_absolute > 0:
        return f"offset:{method.name}"
    return None


def bias_belief(method: Method) -> float:
    """Variance of the instrument's error before anything is known of it."""
    return ((method.bias_relative or method.bias_absolute) / Z95) ** 2


def own_noise(value: Value, method: Method, expected: float) -> float:
    """Variance of the scatter: as the entry states it, else by the method's default on the larger of read and expected, because
    a titration that finds nothing is no surer than one that finds what is there."""
    if value.spread is not None:
        return (value.spread / Z95) ** 2
    amount = max(abs(value.value or 0.0), abs(expected))
    variance = ((method.relative * amount) ** 2 + method.absolute**2) / Z95**2
    return variance if variance > 0 else max((0.05 * amount / Z95) ** 2, 1e-12)


def expect(
    state: TankState,
    value: Value,
    method: Method,
    metals: Mapping[str, Metal],
    run: RunRecord | None,
    temperature_c: float | None,
) -> Expectation | None:
    """What the reading should show; None for what is kept and shown but not conserved (temperature, voltage, verdicts ...)."""
    if value.value is None:
        return None
    base = _run_reading(state, value, run, metals) if run is not None else _tank_reading(state, value, metals, temperature_c)
    if base is None:
        return None
    h, extra, blame = base
    bias = bias_name(value, method)
    if bias is not None and bias in state.gauss:
        error = state.gauss.dual(bias)
        h = h * (error + 1.0) if bias.startswith("bias:") else h + error
    return Expectation(h, own_noise(value, method, h.value) + extra, blame)


def noise_covariance(values: Sequence[tuple[Value, Method, float]], metals: Mapping[str, Metal]) -> list[list[float]]:
    """Error covariance of an entry's readings: diagonal but for a metal taken by difference from a total.

    A total in mol minus the partner's reading: an error in the partner comes back with the opposite sign, by the ratio of
    atomic masses.
    """
    R = [[0.0] * len(values) for _ in values]
    for i, (_, _, variance) in enumerate(values):
        R[i][i] = variance
    for i, (value, method, _) in enumerate(values):
        partner = method.by_difference_from
        for k, (other, _, other_variance) in enumerate(values):
            if partner is None or other.of != partner or value.of == partner or not {value.of, partner} <= metals.keys():
                continue
            ratio = molar_mass(metals[value.of].symbol) / molar_mass(metals[partner].symbol)
            R[i][i] += ratio**2 * other_variance
            R[i][k] = R[k][i] = -ratio * other_variance
    return R


def displaced_l(state: TankState, metals: Mapping[str, Metal]) -> Dual:
    """Litres that the hung anodes push aside."""
    total = state.gauss.dual("volume") * 0.0
    for name, anode in state.anodes.items():
        if anode.hung and not anode.retired and anode.metal in metals:
            total = total + state.gauss.dual(f"anode:{name}") / (1000 * metals[anode.metal].density_g_cm3)
    return total


def deposit_mass(state: TankState, record: RunRecord, metals: Mapping[str, Metal]) -> Dual:
    """Grams laid down in a run, as the present belief about efficiency and supplies has it."""
    fractions = deposit_fractions(state, _current_density(record.plating), record.plating.temperature_c)
    return deposit_g_per_ah(state, fractions, metals) * _charge(state, record.plating)


def _tank_reading(
    state: TankState, value: Value, metals: Mapping[str, Metal], temperature_c: float | None
) -> tuple[Dual, float, dict[str, float]] | None:
    g = state.gauss
    volume = g.dual("volume")
    if value.of in state.species:
        if volume.value <= 1e-9:
            return None
        return g.dual(f"mass:{value.of}") / volume, 0.0, {f"mass:{value.of}": volume.value}
    if value.of == "volume":
        return volume, 0.0, {"volume": 1.0}
    if value.of == "level":
        return _level(volume + displaced_l(state, metals), value, state.entry.level_table)
    if value.of == "ph" and state.recipe is not None and "ph_slope" in state.recipe.parameters and volume.value > 1e-9:
        h = g.dual("ph0") + state.parameter("ph_slope") * (g.dual("acid") / volume * -1000.0)
        start = g.value("ph0")
        away = max(abs(h.value - start), abs((value.value or 0.0) - start))
        return h, max(away - STRAIGHT_PH, 0.0) ** 2, {"ph0": 1.0}
    if volume.value <= 1e-9:
        return None
    if value.of == "density" and value.unit == "g/cm3" and state.recipe is not None and state.recipe.density:
        h = _density(state, temperature_c if temperature_c is not None else 25.0)
        return h, (DENSITY_MODEL_SPREAD / Z95) ** 2, {}
    if value.of == "conductivity" and state.conductivity and state.entry.role == "rinse":
        tap = state.recipe is not None and "conductivity_water" in state.recipe.parameters
        h = state.parameter("conductivity_water") if tap else volume * 0.0
        for species, slope in state.conductivity.items():
            if species in state.species:
                h = h + g.dual(f"mass:{species}") / volume * (slope * WORKING_STRENGTH)
        return h, (RINSE_CONDUCTIVITY_SPREAD * (value.value or 0.0) / Z95) ** 2, {}
    if value.of.endswith("_share") and value.unit == "%" and state.recipe is not None:
        metal = value.of.removesuffix("_share")
        if f"anode_share_{metal}" in state.recipe.parameters:
            return state.parameter(f"anode_share_{metal}") * 100.0, 0.0, {}
    return None


def _density(state: TankState, temperature_c: float) -> Dual:
    """g/cm3: the recipe's density at its target, along its slopes, moved with temperature as water moves; without a target's
    density, from water."""
    assert state.recipe is not None
    g, volume = state.gauss, state.gauss.dual("volume")
    at_target = state.recipe.density_at_target
    water = water_density_kg_m3(min(max(temperature_c, 0.0), 100.0)) / 1000
    h = volume * 0.0 + water
    if at_target is not None:
        h = h + (at_target.value - water_density_kg_m3(at_target.temperature_c) / 1000)
    for species, k in state.recipe.density.items():
        target = (state.recipe.species[species].target or 0.0) if at_target is not None else 0.0
        h = h + (g.dual(f"mass:{species}") / volume - target) * k.value
    return h


def _run_reading(
    state: TankState, value: Value, run: RunRecord | None, metals: Mapping[str, Metal]
) -> tuple[Dual, float, dict[str, float]] | None:
    assert run is not None
    recipe = state.recipe
    if recipe is None or recipe.electrode is None or not recipe.electrode.deposit:
        return None
    fractions = deposit_fractions(state, _current_density(run.plating), run.plating.temperature_c)
    if value.of.startswith("deposit_") and value.of[8:] in fractions:
        return fractions[value.of[8:]] * 100.0, 0.0, {}
    if value.of == "thickness" and run.plating.area:
        specific: Dual = state.gauss.dual("volume") * 0.0
        for m, w in fractions.items():
            specific = specific + w / metals[m].density_g_cm3
        area = run.plating.area
        h = deposit_mass(state, run, metals) * specific * (100.0 / area) * (state.gauss.dual("habit:area") * -1.0 + 1.0)
        point_to_point = 0.2  # a point's thickness against the average of a part, standard deviation [practice]
        return h, h.value**2 * (run.charge_variance + run.area_variance + point_to_point**2), {}
    if value.of.endswith("_share"):
        return _tank_reading(state, value, metals, None)
    return None


def _level(mark_l: Dual, value: Value, table: Sequence[LevelMark]) -> tuple[Dual, float, dict[str, float]] | None:
    if value.unit == "L":
        return mark_l, 0.0, {"volume": 1.0}
    if len(table) < 2 or value.unit != "mm":
        return None
    rows = list(table)
    k = next((i for i in range(1, len(rows) - 1) if mark_l.value < rows[i].volume_l), len(rows) - 1)
    low, high = rows[k - 1], rows[k]
    slope = (high.mm - low.mm) / (high.volume_l - low.volume_l)
    return (mark_l - low.volume_l) * slope + low.mm, 0.0, {"volume": 1 / slope}


def _current_density(plating: Plating) -> float | None:
    return plating.read_ah * 60 / plating.minutes / plating.area if plating.minutes and plating.area else None


def _charge(state: TankState, plating: Plating) -> Dual:
    total = state.gauss.dual("volume") * 0.0
    for branch in plating.branches:
        total = total + exp(state.gauss.dual(f"gain:{branch.supply}")) * branch.charge_ah
    return total
