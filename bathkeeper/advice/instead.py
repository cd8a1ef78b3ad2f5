"""What can be done instead of throwing bath away: running without the anodes that feed what is high, waiting, a treatment."""

from __future__ import annotations

from collections.abc import Collection, Mapping
from dataclasses import dataclass

from bathkeeper.advice.steps import Advice, Advised, numbered, step
from bathkeeper.advice.wanted import Task, Wish
from bathkeeper.catalogue.loader import Catalogue
from bathkeeper.chemistry.constants import MOL_PER_AH
from bathkeeper.chemistry.formulas import molar_mass
from bathkeeper.estimate.balance import Balance, balance
from bathkeeper.estimate.state import TankState
from bathkeeper.findings import Because

FORMULA = "N = (m - goal V) / (grams of it that leave per Ah in deposit and drag-out, nothing coming in)"
MOST_AH_L = 100.0  # a way out longer than this is no way out [practice]


@dataclass(frozen=True)
class WithoutAnodes:
    """Charge (Ah) with a metal's anodes lifted until it is back at its goal, or until another metal would leave its window:
    what it has ``reached`` by then, and by how much the others change meanwhile, g/L."""

    metal: str
    lifted: tuple[str, ...]
    left: tuple[str, ...]
    charge_ah: float
    reached: float
    others: Mapping[str, float]


def without_anodes(state: TankState, catalogue: Catalogue, wish: Wish, level_l: float) -> WithoutAnodes | None:
    """None where that metal is not fed by hung anodes, where nothing else hangs that may carry the current (an inert anode in
    a chloride bath makes chlorine and never may), or before any charge has passed."""
    recipe = state.recipe
    assert recipe is not None
    electrode = recipe.electrode
    if electrode is None or wish.name not in electrode.deposit or wish.name not in catalogue.metals:
        return None
    hung = {n: a for n, a in state.anodes.items() if not a.retired}  # those lifted while idle go back in for a run
    lifted = tuple(n for n, a in hung.items() if a.metal == wish.name)
    may_stay = set(electrode.anodes) | (set(electrode.inert) if "chloride" not in recipe.species else set())
    left = tuple(n for n, a in hung.items() if a.metal != wish.name and a.metal in may_stay)
    if not lifted or not left:
        return None
    present = balance(state, catalogue.metals)
    if present is None:
        return None
    leaving = _leaving_g_per_ah(state, present, catalogue)
    gram = state.gauss.value(f"mass:{wish.name}") - wish.goal * level_l
    if leaving.get(wish.name, 0.0) <= 0 or gram <= 0:
        return None
    charge = gram / leaving[wish.name]
    if charge > MOST_AH_L * level_l:
        return None
    carrying = {state.anodes[n].metal for n in left}
    per_ah: dict[str, float] = {}
    for metal in electrode.deposit:
        if metal == wish.name or metal not in leaving:
            continue
        fed = _fed_g_per_ah(state, metal, catalogue) / len(carrying) if metal in carrying else 0.0
        per_ah[metal] = (fed - leaving[metal]) / level_l
        high = recipe.species[metal].high
        if high is not None and per_ah[metal] > 0:
            charge = min(charge, (high - state.gauss.value(f"mass:{metal}") / level_l) / per_ah[metal])
    if charge < 1.0:
        return None
    charge = float(f"{charge:.2g}") if charge >= 10 else round(charge, 1)
    reached = (state.gauss.value(f"mass:{wish.name}") - leaving[wish.name] * charge) / level_l
    return WithoutAnodes(wish.name, lifted, left, charge, reached, {m: r * charge for m, r in per_ah.items()})


def _fed_g_per_ah(state: TankState, metal: str, catalogue: Catalogue) -> float:
    m = catalogue.metals[metal]
    return state.parameter_value(f"anode_efficiency_{metal}") * MOL_PER_AH * molar_mass(m.symbol) / m.electrons


def _leaving_g_per_ah(state: TankState, present: Balance, catalogue: Catalogue) -> dict[str, float]:
    """Deposit and drag-out, by metal."""
    return {m: s.value * _fed_g_per_ah(state, m, catalogue) for m, s in present.holding_share.items()}


def alternatives(
    state: TankState, catalogue: Catalogue, task: Task, out_l: float, near: Collection[str] = ()
) -> list[Advice]:
    """Other ways for what is too high, or (``near``) soon will be, each as steps of its own."""
    found = []
    assert state.recipe is not None
    for wish in task.wishes:
        value = wish.value(task.volume_l, task.masses)
        soon = wish.name in near and value > wish.goal and wish.kind == "metal"
        if wish.is_ratio or (wish.standing(value) != "high" and not soon):
            continue
        way = without_anodes(state, catalogue, wish, task.level_l)
        if way is not None:
            found.append(_lifted(state, task, wish, way, out_l))
        elif wish.kind == "contaminant" and state.recipe.species[wish.name].treatment:
            words = state.recipe.species[wish.name].treatment
            because = Because(text=words, sources=(wish.source,))
            lines = (f"{wish.title} {value:.3g} {wish.unit} is above {wish.high:g}; a treatment may spare the bath: {words}",)
            found.append(Advice(state.name, "treat", numbered([step("check", words, because=because)]), lines))
        elif wish.kind == "additive" and state.recipe.electrode is not None:
            words = f"{wish.title} is used up by plating: no more of it until a panel asks for it"
            found.append(Advice(state.name, "dose", numbered([step("measure", words, of="panel")]), (words,)))
    return found


def _lifted(state: TankState, task: Task, wish: Wish, way: WithoutAnodes, out_l: float) -> Advice:
    meanwhile = [f"{m} {'rises' if d > 0 else 'falls'} by {abs(d):.2g} g/L meanwhile" for m, d in way.others.items()]
    words = f"run without {way.metal} anodes for {way.charge_ah:g} Ah: {way.metal} falls to {way.reached:.3g} g/L"
    words += " with nothing thrown away"
    if out_l > 0:
        words += f", in place of {out_l:.3g} L taken out"
    because = Because(
        text="plating and drag-out take metal while no anode brings it",
        entries=tuple(dict.fromkeys(state.anodes[n].entry for n in (*way.lifted, *way.left))),
        formula=FORMULA,
        sources=("Faraday constant: CODATA; atomic masses: IUPAC", wish.source),
    )
    limits = _anode_limits(state, way)
    warn = "No inert anode in their place: in chloride it makes chlorine." if "chloride" in task.masses else ""
    steps: list[Advised] = [
        step(
            "check", f"lift {', '.join(way.lifted)}; {', '.join(way.left)} carries the current", because=because, caution=warn
        ),
        step("plate", "; ".join([words, *meanwhile, *limits]), because=because, amount=way.charge_ah, unit="Ah"),
        step("measure", f"{wish.title} before the anodes go back", of=wish.name),
        step("check", f"hang {', '.join(way.lifted)} again"),
    ]
    return Advice(state.name, "dose", numbered(steps), ("; ".join([words, *meanwhile]),))


def _anode_limits(state: TankState, way: WithoutAnodes) -> list[str]:
    """The amps that the anodes left can stand, where area and limit are known."""
    assert state.recipe is not None and state.recipe.electrode is not None
    amps = 0.0
    for name in way.left:
        anode = state.anodes[name]
        window = state.recipe.electrode.anode_density.get(anode.metal)
        if anode.area_dm2 is None or window is None or window.high is None:
            return []
        amps += anode.area_dm2 * window.high
    return [f"at most {amps:.2g} A on what is left hanging"]
