"""Acid balance of a plating bath: what its charge should have used against what was really added, and what would explain a gap.

Acid baths use acid because their anodes dissolve with more of the current than their cathodes plate, (eta_a - eta_c) Q
3600/F; zincate baths lose caustic by the same amount. The same road is checked from the other end: the metal that the bath
gained from its anodes uses one acid for each charge of it. The balance gives only a bound for a dose; pH is dosed by jar test.
"""

from __future__ import annotations

import math
from bisect import bisect_right
from collections.abc import Collection, Iterable
from dataclasses import dataclass
from datetime import datetime

from bathkeeper.advice.acid_gaps import Explanation, charge_gap, metal_gap, unread_ph
from bathkeeper.advice.acid_paths import (
    HUNDRED_AH,
    Counted,
    Dissolved,
    Kind,
    counted,
    dissolved,
    equivalents_per_g,
    gains,
    per_100_ah,
)
from bathkeeper.advice.feeds import acid_of
from bathkeeper.advice.jar import Jar, dose_of, jar_plan, told
from bathkeeper.catalogue.loader import Catalogue, CatalogueError
from bathkeeper.catalogue.schema import Reagent
from bathkeeper.entries import Addition, AnyEntry, Reading, Treatment, Unknown
from bathkeeper.estimate.learned import learned
from bathkeeper.estimate.state import Z95, TankState
from bathkeeper.findings import Because, Estimate

__all__ = ["AcidBalance", "Consistency", "Drift", "Jar", "acid_balance", "jar_plan", "sentences"]

ADDED_RELATIVE = 0.02  # 95 % half-width of what was put in, as the estimate takes it [practice]
TOLD = 4  # explanations said aloud; all are there to be asked for
FORMULA = "acid used = (eta_a - eta_c) Q 3600/F + 2 per Zn dissolved without current; gap = added - used - more in the bath"


@dataclass(frozen=True)
class Drift:
    """How the pH moves by charge, from readings of one method with no acid or base between them: pH per 100 Ah."""

    per_100_ah: Estimate
    method: str
    readings: int
    entries: tuple[str, ...]


@dataclass(frozen=True)
class Consistency:
    """The same acid by two roads (mol): what the metals that the bath gained from its anodes used, and what was put in less
    what went otherwise. ``gap``: first less second."""

    by_metals_mol: Estimate
    by_acid_mol: Estimate
    gap_mol: Estimate

    @property
    def closes(self) -> bool:
        return self.gap_mol.low <= 0 <= self.gap_mol.high


@dataclass(frozen=True)
class AcidBalance:
    """The balance since the make-up, in mol of H+ (``acid``) or OH- (``caustic``); amounts of ``reagent`` in its unit.

    ``expected_mol``: used by charge and by metal dissolved without current. ``held_mol``: more (or, below zero, less) in the
    bath than at the make-up, None where neither a titration nor the pH tells. ``missing_mol``: what the balance would allow to
    be put in now, the bound of a jar test. ``gap_mol``: added - expected - held.
    """

    tank: str
    kind: Kind
    reagent: str | None
    per_100_ah_mol: Estimate
    per_100_ah_ml: Estimate | None
    per_100_ah_g: Estimate | None
    charge_ah: float
    by_charge_mol: Estimate
    by_dissolution: tuple[Dissolved, ...]
    expected_mol: Estimate
    added_mol: Estimate
    held_mol: Estimate | None
    gap_mol: Estimate
    drift: Drift | None
    consistency: Consistency | None
    explanations: tuple[Explanation, ...]
    because: Because

    @property
    def closes(self) -> bool:
        return self.gap_mol.low <= 0 <= self.gap_mol.high

    @property
    def missing_mol(self) -> Estimate:
        value, half = self.expected_mol.value - self.added_mol.value, _half(self.expected_mol, self.added_mol)
        return Estimate(value, value - half, value + half, "mol")


def acid_balance(
    state: TankState,
    catalogue: Catalogue,
    entries: Iterable[AnyEntry | Unknown],
    at: datetime,
    shelf: Collection[str] = (),
) -> AcidBalance | None:
    """The acid (or caustic) balance of a plating bath; None for a tank that is empty or lays nothing down.

    ``shelf``: names of reagents at hand, whose acid is preferred for telling amounts.
    """
    recipe = state.recipe
    if recipe is None or recipe.electrode is None or not recipe.electrode.deposit or not state.alive:
        return None
    known = [e for e in entries if not isinstance(e, Unknown) and e.at <= at]
    by = counted(state)
    demand = per_100_ah(state, catalogue.metals)
    charge = state.counters.charge_ah + state.counters.dummy_ah
    gain, gain_half = gains(state)
    charged = demand.value * charge * gain / HUNDRED_AH
    charged_half = math.hypot(demand.spread * charge / HUNDRED_AH, charged * gain_half)
    by_charge = Estimate(charged, charged - charged_half, charged + charged_half, "mol")
    gone = tuple(dissolved(state, known, at))
    expected = _sum([by_charge, *(d.used_mol for d in gone)])
    added = _added(state, by)
    held = _held(state, by, known, catalogue)
    left = _left(state, by, gone)
    gap = added.value - expected.value - left - (held.value if held is not None else 0.0)
    gap_half = _half(expected, added, *([held] if held is not None else []))
    gap_mol = Estimate(gap, gap - gap_half, gap + gap_half, "mol")
    reagent = _reagent(state, by, catalogue, shelf)
    consistency = _consistency(state, catalogue, by, gone, added, held, left)
    explanations: list[Explanation] = []
    if not gap_mol.low <= 0 <= gap_mol.high:
        explanations += charge_gap(state, catalogue, by, gap_mol, by_charge, charge, gone, reagent)
        if held is None:
            explanations += unread_ph(state, gap_mol)
    if consistency is not None and not consistency.closes:
        explanations += metal_gap(state, catalogue, by, consistency.gap_mol, reagent, [d.metals_g for d in gone])
    return AcidBalance(
        tank=state.name,
        kind=by.kind,
        reagent=reagent.name if reagent is not None else None,
        per_100_ah_mol=demand,
        per_100_ah_ml=_out_of_the_bottle(reagent, demand, "mL"),
        per_100_ah_g=_out_of_the_bottle(reagent, demand, "g"),
        charge_ah=charge,
        by_charge_mol=by_charge,
        by_dissolution=gone,
        expected_mol=expected,
        added_mol=added,
        held_mol=held,
        gap_mol=gap_mol,
        drift=ph_drift(state, known, catalogue),
        consistency=consistency,
        explanations=tuple(sorted(explanations, key=lambda e: e.strain)),
        because=_because(state, by, known, catalogue),
    )


def _sum(parts: list[Estimate]) -> Estimate:
    value, half = sum((p.value for p in parts), 0.0), _half(*parts)
    return Estimate(value, value - half, value + half, "mol")


def _half(*parts: Estimate) -> float:
    return math.sqrt(sum(p.spread**2 for p in parts))


def _added(state: TankState, by: Counted) -> Estimate:
    """Acid (caustic) put in since the make-up less base (acid) put in, mol, as the entries say."""
    flows = state.flows.get("addition", {})
    mol = by.mol(flows.get(by.name, 0.0))
    half = ADDED_RELATIVE * abs(mol)
    return Estimate(mol, mol - half, mol + half, "mol")


def _left(state: TankState, by: Counted, gone: tuple[Dissolved, ...]) -> float:
    """What left with the solution (drag-out, bail-outs) less what came in with it (drag-in), mol; of a bath without a species
    for it next to nothing."""
    own_roads = {"make-up", "addition", "acid balance", "reading adjustments", "stopped at zero", *(d.term for d in gone)}
    return sum((-by.mol(account.get(by.name, 0.0)) for cause, account in state.flows.items() if cause not in own_roads), 0.0)


def _held(state: TankState, by: Counted, entries: list[AnyEntry], catalogue: Catalogue) -> Estimate | None:
    """What stands in the bath more than at the make-up, mol: by its titrated species, else by two pH readings of one method."""
    if by.species is not None:
        order = list(state.species).index(by.species)
        start = state.trail[0]
        now, sd = state.concentration(by.species)
        change = by.mol(now * state.volume_l - start.values[order] * start.volume_l)
        half = Z95 * by.mol_per_g * math.hypot(sd * state.volume_l, start.deviations[order] * start.volume_l)
        return Estimate(change, change - half, change + half, "mol")
    slope = learned(state).get("ph_slope")
    read = _ph_readings(state, entries, catalogue)
    if slope is None or len(read) < 2:
        return None
    first, last = read[0], read[-1]
    litres = state.volume_l / 1000.0
    change = -(last[2] - first[2]) / slope.value * litres
    far = abs(change) * max(slope.value / slope.low - 1.0, 1.0 - slope.value / slope.high)
    scatter = math.sqrt(2.0) * first[3] / slope.value * litres
    half = math.hypot(far, scatter)
    return Estimate(change, change - half, change + half, "mol")


def _ph_readings(
    state: TankState, entries: list[AnyEntry], catalogue: Catalogue, method: str | None = None
) -> list[tuple[datetime, float, float, float, str]]:
    """(moment, charge in Ah, pH, 95 % half-width of the scatter, entry) of this life's pH readings by the method used most."""
    found: dict[str, list[tuple[datetime, float, float, float, str]]] = {}
    moments = [p.at for p in state.trail]
    for entry in sorted((e for e in entries if isinstance(e, Reading)), key=lambda e: e.order):
        if entry.tank != state.name or state.made_up is None or entry.at < state.made_up:
            continue
        for value in entry.values:
            if value.of.casefold() != "ph" or value.value is None:
                continue
            try:
                how = catalogue.method(value.method) if value.method else catalogue.default_method("ph", "pH")
            except CatalogueError:
                how = catalogue.default_method("ph", "pH")
            place = bisect_right(moments, entry.at)
            charge = state.trail[place - 1].charge_ah if place else 0.0
            half = value.spread or how.absolute or how.relative * value.value
            found.setdefault(how.name, []).append((entry.at, charge, value.value, half, entry.id))
    return max(found.values(), key=len, default=[])


def ph_drift(state: TankState, entries: Iterable[AnyEntry | Unknown], catalogue: Catalogue) -> Drift | None:
    """pH per 100 Ah: one slope through every stretch of readings that no acid or base parts, each with a level of its own.

    Readings of one method only: what a strip and a meter read apart would pass for drift. None with fewer than two in
    a stretch.
    """
    known = [e for e in entries if not isinstance(e, Unknown)]
    read = _ph_readings(state, known, catalogue)
    moved = sorted(
        e.at for e in known if isinstance(e, (Addition, Treatment)) and e.tank == state.name and _moves_ph(e, catalogue)
    )
    stretches: dict[int, list[tuple[datetime, float, float, float, str]]] = {}
    for point in read:
        stretches.setdefault(bisect_right(moved, point[0]), []).append(point)
    spread_ah = together = weight = 0.0
    used: list[str] = []
    halves: list[float] = []
    for points in stretches.values():
        if len(points) < 2:
            continue
        mean_ah = sum(p[1] for p in points) / len(points)
        mean_ph = sum(p[2] for p in points) / len(points)
        spread_ah += sum((p[1] - mean_ah) ** 2 for p in points)
        together += sum((p[1] - mean_ah) * (p[2] - mean_ph) for p in points)
        weight += sum((p[1] - mean_ah) ** 2 * p[3] ** 2 for p in points)
        used += [p[4] for p in points]
        halves += [p[3] for p in points]
    if spread_ah <= 0:
        return None
    slope = HUNDRED_AH * together / spread_ah
    half = HUNDRED_AH * math.sqrt(weight) / spread_ah
    estimate = Estimate(slope, slope - half, slope + half, "pH")
    return Drift(estimate, _method_of(known, used[0], catalogue), len(used), tuple(used))


def _moves_ph(entry: Addition | Treatment, catalogue: Catalogue) -> bool:
    for item in entry.items:
        try:
            if catalogue.reagent(item.reagent).acid_equivalents:
                return True
        except CatalogueError:
            continue
    return False


def _method_of(entries: Iterable[AnyEntry], entry_id: str, catalogue: Catalogue) -> str:
    for entry in entries:
        if isinstance(entry, Reading) and entry.id == entry_id:
            told_by = next((v.method for v in entry.values if v.of.casefold() == "ph"), None)
            try:
                return catalogue.method(told_by).name if told_by else catalogue.default_method("ph", "pH").name
            except CatalogueError:
                break
    return catalogue.default_method("ph", "pH").name


def _reagent(state: TankState, by: Counted, catalogue: Catalogue, shelf: Collection[str]) -> Reagent | None:
    assert state.recipe is not None
    if by.kind == "acid":
        return acid_of(state.recipe, catalogue, shelf)
    bases = [r for r in catalogue.reagents.values() if r.name in ("sodium hydroxide", "potassium hydroxide")]
    return next((r for r in bases if r.name in shelf), bases[0] if bases else None)


def _out_of_the_bottle(reagent: Reagent | None, mol: Estimate, unit: str) -> Estimate | None:
    """So many mol as mL of a liquid or g of a solid; None where the reagent goes by the other unit."""
    if reagent is None:
        return None
    one, own = dose_of(reagent, 1.0)
    return Estimate(one * mol.value, one * mol.low, one * mol.high, unit) if own == unit else None


def _consistency(
    state: TankState,
    catalogue: Catalogue,
    by: Counted,
    gone: tuple[Dissolved, ...],
    added: Estimate,
    held: Estimate | None,
    left: float,
) -> Consistency | None:
    """sum n dm/M in the bath, plus what left with the solution, minus what came as salts or by dissolution, against the acid.

    None without a first point to count from.
    """
    recipe = state.recipe
    if recipe is None or recipe.electrode is None or not state.trail:
        return None
    metals = [m for m in dict.fromkeys((*recipe.electrode.deposit, *recipe.electrode.anodes)) if m in state.species]
    start, order = state.trail[0], list(state.species)
    kept = {"deposit", "anodes dissolved", "reading adjustments", "make-up", "stopped at zero", *(d.term for d in gone)}
    total, variance = 0.0, 0.0
    now = state.gauss.dual("volume") * 0.0
    for name in metals:
        per_g = equivalents_per_g(state.species[name], catalogue.metals[name])
        other = sum(account.get(f"mass:{name}", 0.0) for cause, account in state.flows.items() if cause not in kept)
        other += sum(d.metals_g.get(name, 0.0) for d in gone)
        place = order.index(name)
        began, sd = start.values[place] * start.volume_l, start.deviations[place] * start.volume_l
        total += per_g * (state.gauss.value(f"mass:{name}") - began - other)
        now = now + state.gauss.dual(f"mass:{name}") * per_g
        variance += (per_g * sd) ** 2
    half = Z95 * math.sqrt(max(state.gauss.variance_of(now), 0.0) + variance)
    metals_mol = Estimate(total, total - half, total + half, "mol")
    chemical = _sum([d.used_mol for d in gone])
    rest = added.value - chemical.value - left - (held.value if held is not None else 0.0)
    rest_half = _half(added, chemical, *([held] if held is not None else []))
    acid_mol = Estimate(rest, rest - rest_half, rest + rest_half, "mol")
    gap, gap_half = total - rest, math.hypot(half, rest_half)
    return Consistency(metals_mol, acid_mol, Estimate(gap, gap - gap_half, gap + gap_half, "mol"))


def _because(state: TankState, by: Counted, entries: list[AnyEntry], catalogue: Catalogue) -> Because:
    assert state.recipe is not None
    put_in = [e.id for e in entries if isinstance(e, (Addition, Treatment)) and e.tank == state.name
              and state.made_up is not None and e.at >= state.made_up and _moves_ph(e, catalogue)]  # fmt: skip
    priors = [p for n, p in state.recipe.parameters.items() if n.startswith(("cathode_eff", "anode_eff", "idle_", "ph_slope"))]
    made_up = (state.make_up_entry,) if state.make_up_entry else ()
    return Because(
        text=f"{by.kind} used by charge and by metal that dissolves without current, against what the entries put in",
        entries=tuple(dict.fromkeys([*made_up, *put_in])),
        formula=FORMULA if by.kind == "acid" else FORMULA.replace("acid used", "OH- used"),
        sources=(
            "Faraday constant and atomic masses: CODATA, IUPAC",
            *(f"{p.title}, before this workshop taught better: {p.status} {p.source}".strip() for p in priors),
        ),
    )


def sentences(balance: AcidBalance) -> list[str]:
    """What a keeper is told, line by line, in fixed units."""
    b = balance
    amount = b.per_100_ah_ml or b.per_100_ah_g
    verb = "use" if b.per_100_ah_mol.value >= 0 else "set free"
    use = f"100 Ah {verb} {abs(b.per_100_ah_mol.value):.2f} mol of {b.kind} (± {b.per_100_ah_mol.spread:.2f})"
    if amount is not None:
        use += f", {told(abs(amount.value))} {amount.unit} of {b.reagent} (± {told(amount.spread)})"
    lines = [use]
    roads = [f"{b.by_charge_mol.value:.2f} mol by {b.charge_ah:.0f} Ah"]
    for d in b.by_dissolution:
        hung = f"{d.dm2_days:.0f} dm2 x days hung, " if d.dm2_days else ""
        roads.append(f"{d.used_mol.value:.2f} by {d.term} ({hung}at most {d.most_mol:.2f})")
    should = f"{b.expected_mol.value:.2f} mol should have gone (± {b.expected_mol.spread:.2f})"
    lines.append(f"since the make-up {should}: {', '.join(roads)}; {b.added_mol.value:.2f} mol were put in")
    if b.held_mol is None:
        lines.append("what stands in the bath is taken as at the make-up: two pH readings by one method would tell")
    gap = f"{round(b.gap_mol.value, 2) + 0.0:+.2f} ± {b.gap_mol.spread:.2f} mol"
    if b.closes:
        lines.append(f"the two agree within their spread (gap {gap})")
    else:
        lines.append(f"the two do not agree: gap {gap}")
    if b.consistency is not None:
        c = b.consistency
        verdict = "which agree" if c.closes else "which do not agree"
        lines.append(
            f"metal gained from the anodes speaks for {c.by_metals_mol.value:.2f} ± {c.by_metals_mol.spread:.2f} mol, "
            f"the bottles for {round(c.by_acid_mol.value, 2) + 0.0:.2f} ± {c.by_acid_mol.spread:.2f}, {verdict}"
        )
    if b.explanations:
        told_once = list({e.name: e.text for e in reversed(b.explanations)}.values())[::-1]
        lines.append("what would explain it, nearest first: " + "; ".join(told_once[:TOLD]))
    if b.drift is not None:
        d2 = b.drift.per_100_ah
        by = f"{b.drift.readings} readings, {b.drift.method}"
        lines.append(f"pH moves by {d2.value:+.2f} per 100 Ah (± {d2.spread:.2f}; {by})")
    lines.append("this bounds a dose, it is none: pH by jar test, in quarters")
    return lines
