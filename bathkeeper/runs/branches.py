"""The current of a load on its supplies: each metal's share for the balance point, and whether a supply reaches it.

    s* = [ eta_c w n/(M e) + (F/3600) n delta c / M ] / eta_a        delta: drag-out in L/Ah, c: the bath in g/L

Only with anodes on supplies of their own can a share be set; on one supply the base metal takes nearly everything.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

from bathkeeper.catalogue.loader import Catalogue, CatalogueError
from bathkeeper.catalogue.own import Supply, all_of
from bathkeeper.chemistry.balance import Case, balance_case
from bathkeeper.chemistry.constants import MOL_PER_AH
from bathkeeper.chemistry.formulas import molar_mass
from bathkeeper.entries import Run
from bathkeeper.estimate.dual import Dual
from bathkeeper.estimate.state import Z95, TankState
from bathkeeper.findings import Estimate
from bathkeeper.runs.thickness import Deposit
from bathkeeper.runs.wish import SettingError, Wish
from bathkeeper.safety.hazards import INERT, STAINLESS
from bathkeeper.units.numerals import figures

WIDE_SUM = 0.01  # a sum known better than this needs no interval beside it
CHLORIDE_BATH_G_L = 5.0  # from here on chloride is part of the bath and not a trace that brightens copper [practice]


@dataclass(frozen=True)
class Holding:
    """The share of the anode current that holds each metal. ``unfed``: metals that no anode feeds, g that 100 Ah take.

    ``base_net_g``: what the base metal gains in 100 Ah (below 0: loses) when the others get their share and it the rest.
    ``drag_out_l_per_ah`` is None where it is not counted; ``text`` says which case it is.
    """

    shares: Mapping[str, Estimate]
    total: Estimate
    case: Case
    text: str
    unfed: Mapping[str, float]
    base_net_g: float | None
    drag_out_l_per_ah: float | None


@dataclass(frozen=True)
class Place:
    """A supply with the anodes on it; ``metal`` is None where it feeds several."""

    supply: str
    anodes: tuple[str, ...] = ()
    metal: str | None = None
    guessed: bool = False
    entry: str | None = None


@dataclass(frozen=True)
class BranchSetting:
    """One supply's part of the current. ``share`` of the whole; ``reaches`` is None where its reach is not on record, or no
    current is advised (``why``)."""

    supply: str
    anodes: tuple[str, ...]
    metal: str | None
    current_a: float | None
    share: float | None
    reach_a: float | None
    reaches: bool | None
    largest_load_dm2: float | None = None
    why: str = ""


def holding(state: TankState, catalogue: Catalogue, deposit: Deposit, drag_out_l_per_ah: Dual | float | None) -> Holding | None:
    """The balance point of a tank; None where no anode of it dissolves."""
    assert state.recipe is not None and state.recipe.electrode is not None
    electrode = state.recipe.electrode
    if not electrode.anodes:
        return None
    zero = state.gauss.dual("volume") * 0.0
    counted = drag_out_l_per_ah if state.alive and state.volume_l > 1e-9 else None
    total: Dual = zero
    shares: dict[str, Dual] = {}
    unfed: dict[str, float] = {}
    for metal, w in deposit.fractions.items():
        leaving: Dual = deposit.g_per_ah * w
        if counted is not None:
            leaving = leaving + state.gauss.dual(f"mass:{metal}") / state.gauss.dual("volume") * counted
        if metal in electrode.anodes:
            shares[metal] = leaving / (state.parameter(f"anode_efficiency_{metal}") * _g_per_ah(catalogue, metal))
            total = total + shares[metal]
        else:
            unfed[metal] = 100.0 * leaving.value
    base = electrode.anodes[0]
    net = None
    if base in shares and not electrode.inert:
        rest = 1.0 - total.value
        net = 100.0 * rest * state.parameter_value(f"anode_efficiency_{base}") * _g_per_ah(catalogue, base)
    whole = _estimate(state, total)
    case = balance_case({m: s.value for m, s in shares.items()})
    delta = counted.value if isinstance(counted, Dual) else counted
    return Holding(
        shares={m: _estimate(state, s) for m, s in shares.items()},
        total=whole,
        case=case,
        text=_verdict(whole, case, tuple(shares), unfed, net, electrode.inert, delta),
        unfed=unfed,
        base_net_g=net,
        drag_out_l_per_ah=delta,
    )


def places(state: TankState, catalogue: Catalogue, wish: Wish, past: Iterable[Run]) -> list[Place]:
    """Which supply feeds which anodes: as asked, else as in the newest run with that tank, else all on one.

    Raises:
        SettingError: a supply is asked to feed a metal that nobody knows.
    """
    before = _newest_places(state, past)
    if not wish.supplies:
        if before:
            return before
        only = list(all_of(catalogue.own, "supply", Supply))
        return [Place(only[0] if len(only) == 1 else "", for_a_run(state), _one_metal(state, for_a_run(state)))]
    asked = [(s.partition("=")[0].strip(), s.partition("=")[2].strip()) for s in wish.supplies]
    told = {name: _metal(catalogue, metal, name) for name, metal in asked if metal}
    if len(asked) == 1:
        name, metal = asked[0][0], told.get(asked[0][0])
        on_it = tuple(a for a in for_a_run(state) if metal is None or state.anodes[a].metal == metal)
        return [Place(name, on_it, metal or _one_metal(state, on_it))]
    earlier = {p.supply: p for p in before}
    feeds = list(state.recipe.electrode.anodes) if state.recipe is not None and state.recipe.electrode is not None else []
    taken = {told.get(n) or (earlier[n].metal if n in earlier else None) for n, _ in asked}
    free = [m for m in feeds if m not in taken]
    found = []
    for name, _ in asked:
        if name not in told and name in earlier:
            found.append(earlier[name])
            continue
        guessed = name not in told
        metal = told.get(name) or (free.pop(0) if free else feeds[0] if feeds else None)
        found.append(Place(name, tuple(a for a in for_a_run(state) if state.anodes[a].metal == metal), metal, guessed))
    return found


def branch_settings(
    state: TankState,
    catalogue: Catalogue,
    where: Sequence[Place],
    current_a: float | None,
    density_a_dm2: float | None,
    held: Holding | None,
) -> list[BranchSetting]:
    """The current over the supplies: alloying metals get their share for the balance point, the base metal the rest, or, with
    anodes that only carry current, its own share and they the rest. No current for anodes that do not belong here."""
    shares = _shares(state, catalogue, where, held)
    supplies = all_of(catalogue.own, "supply", Supply)
    made = []
    for place, (share, why) in zip(where, shares, strict=True):
        reach = supplies[place.supply].reach_a if place.supply in supplies else None
        amps = share * current_a if share is not None and current_a is not None else None
        largest = reach / (share * density_a_dm2) if reach is not None and share and density_a_dm2 is not None else None
        reaches = amps <= reach * (1 + 1e-9) if amps is not None and reach is not None else None
        made.append(BranchSetting(place.supply, place.anodes, place.metal, amps, share, reach, reaches, largest, why))
    return made


def _shares(
    state: TankState, catalogue: Catalogue, where: Sequence[Place], held: Holding | None
) -> list[tuple[float | None, str]]:
    """(share of the current, why none) by place."""
    electrode = state.recipe.electrode if state.recipe is not None else None
    strangers = [_stranger(state, catalogue, p) for p in where]
    usable = [p for p, metal in zip(where, strangers, strict=True) if metal is None]
    set_here = dict(held.shares) if held is not None else {}
    base = electrode.anodes[0] if electrode is not None and electrode.anodes else None
    inert = [p for p in usable if electrode is not None and p.metal in electrode.inert]
    shares: dict[Place, float] = {}
    for place in usable:
        if place.metal is not None and place.metal in set_here and (place.metal != base or inert):
            alike = sum(1 for p in usable if p.metal == place.metal)
            shares[place] = set_here[place.metal].value / alike
    rest = [p for p in usable if p not in shares]
    left = max(1.0 - sum(shares.values()), 0.0)
    if not rest and usable and shares:  # every supply has its share: they are scaled to the whole current
        whole = sum(shares.values())
        shares = {p: s / whole for p, s in shares.items()}
    found: list[tuple[float | None, str]] = []
    for place, stranger in zip(where, strangers, strict=True):
        if stranger is not None:
            found.append((None, f"no current is advised while {stranger} hangs on it: it does not belong in this bath"))
        else:
            found.append((shares[place] if place in shares else left / len(rest), ""))
    return found


def strangers_hung(state: TankState, catalogue: Catalogue) -> list[str]:
    """Metals hung as anodes that do not belong in this bath."""
    return list(dict.fromkeys(m for a in _hung(state) if not belongs(state, catalogue, m := state.anodes[a].metal)))


def belongs(state: TankState, catalogue: Catalogue, metal: str) -> bool:
    """Whether an anode metal may carry current here: as the recipe lists them, but never stainless steel, and nothing that
    does not dissolve in a bath of chloride, where it makes chlorine. A recipe without a list takes any other."""
    if metal.casefold() in STAINLESS:
        return False
    recipe = state.recipe
    if recipe is None or recipe.electrode is None:
        return True
    chloride = recipe.species.get("chloride")
    known = catalogue.metals.get(metal)
    dissolves = metal.casefold() not in INERT and (known is None or known.electrons > 0)
    if not dissolves and chloride is not None and (chloride.target or chloride.high or 0.0) >= CHLORIDE_BATH_G_L:
        return False
    listed = (*recipe.electrode.anodes, *recipe.electrode.inert)
    return not listed or metal in listed


def _stranger(state: TankState, catalogue: Catalogue, place: Place) -> str | None:
    """A metal on this supply that does not belong; no current is advised while it is there."""
    metals = {state.anodes[a].metal for a in place.anodes if a in state.anodes} or ({place.metal} if place.metal else set())
    return next((m for m in sorted(metals) if not belongs(state, catalogue, m)), None)


def _newest_places(state: TankState, past: Iterable[Run]) -> list[Place]:
    """The supplies of the newest run that plated here (no dummy), with their anodes."""
    for run in sorted(past, key=lambda r: r.order, reverse=True):
        for step in run.steps:
            if step.tank != state.name or step.dummy:
                continue
            told = [b for b in step.branches if b.supply is not None]
            if told and len(told) == len(step.branches):
                many = len(told) > 1
                on_it = [b.anodes or (() if many else for_a_run(state)) for b in told]
                return [
                    Place(b.supply or "", names, _one_metal(state, names), False, run.id)
                    for b, names in zip(told, on_it, strict=True)
                ]
            if step.charge is not None and step.supply is not None:
                return [Place(step.supply, for_a_run(state), _one_metal(state, for_a_run(state)), False, run.id)]
    return []


def _hung(state: TankState) -> tuple[str, ...]:
    return tuple(n for n, a in state.anodes.items() if a.hung and not a.retired)


def for_a_run(state: TankState) -> tuple[str, ...]:
    """The anodes that will be in for a run: those hung, and of a metal of which none hangs those lifted, which are hung for it.
    Lifted ones that do not belong here stay out."""
    hanging = {state.anodes[n].metal for n in _hung(state)}
    electrode = state.recipe.electrode if state.recipe is not None else None
    feeds = electrode.anodes if electrode is not None else ()
    return tuple(
        n for n, a in state.anodes.items() if not a.retired and (a.hung or (a.metal not in hanging and a.metal in feeds))
    )


def _one_metal(state: TankState, anodes: Sequence[str]) -> str | None:
    metals = {state.anodes[a].metal for a in anodes if a in state.anodes}
    if len(metals) == 1:
        return next(iter(metals))
    electrode = state.recipe.electrode if state.recipe is not None else None
    feeds = electrode.anodes if electrode is not None else ()
    return feeds[0] if not metals and len(feeds) == 1 else None


def _metal(catalogue: Catalogue, text: str, supply: str) -> str:
    try:
        return catalogue.metal(text).name
    except CatalogueError as problem:
        raise SettingError(f"supply {supply}: {problem}; write for example {supply}=nickel") from None


def _g_per_ah(catalogue: Catalogue, metal: str) -> float:
    m = catalogue.metals[metal]
    return MOL_PER_AH * molar_mass(m.symbol) / m.electrons


def _estimate(state: TankState, x: Dual) -> Estimate:
    half = Z95 * math.sqrt(max(state.gauss.variance_of(x), 0.0))
    return Estimate(x.value, x.value - half, x.value + half, "fraction")


def _verdict(
    total: Estimate,
    case: Case,
    metals: Sequence[str],
    unfed: Mapping[str, float],
    base_net_g: float | None,
    inert: Sequence[str],
    drag_out: float | None,
) -> str:
    """Which case it is, in words."""
    number = figures(total.value, total.spread)
    one = len(metals) == 1
    many = f"{metals[0]} holds at {number} of the current"
    if not one:
        many = f"the shares that hold {' and '.join(metals)} sum to {number}"
    if case == "holds":
        said = f"{many}: " + ("it holds" if one else "with this split all of them hold")
    elif case == "falls":
        said = f"{many}, above 1: salts are needed even at the best split"
    elif inert:
        said = f"{many}; the rest belongs on anodes that only carry current ({', '.join(inert)}), else it grows"
    else:
        said = f"{many}, below 1: even at the best split metal grows"
    if base_net_g is not None and case != "holds":
        rest = "with the others held the base metal" if not one else "it"
        said += f" ({rest} {'gains' if base_net_g > 0 else 'loses'} {abs(base_net_g):.2g} g in 100 Ah)"
    if total.spread > WIDE_SUM and total.low < 1.0 < total.high:
        low, high = figures(total.low, total.spread), figures(total.high, total.spread)
        said += f"; what is known allows {low} to {high}" + (", so 1 is not ruled out" if case != "holds" else "")
    if unfed:
        told = " and ".join(f"{figures(g)} g of {m}" for m, g in unfed.items())
        said += f"; no anode feeds the rest: 100 Ah take {told}, to be added"
    return said + ("" if drag_out is not None else "; drag-out is not counted, nothing is known of it")
