"""Anodes: how long they last, whether their split holds the bath, what it costs in salts, and what idle zinc does."""

from __future__ import annotations

from collections.abc import Collection, Mapping
from dataclasses import dataclass
from datetime import datetime, timedelta

from bathkeeper.advice.feeds import acid_ml, acid_of, salts_of, species_g_per_g
from bathkeeper.catalogue.loader import Catalogue
from bathkeeper.catalogue.schema import Reagent
from bathkeeper.chemistry.constants import MOL_PER_AH
from bathkeeper.chemistry.formulas import molar_mass
from bathkeeper.estimate.balance import Balance, balance
from bathkeeper.estimate.learned import learned
from bathkeeper.estimate.state import TankState
from bathkeeper.estimate.usage import Usage
from bathkeeper.estimate.view import AnodeView, tank_view
from bathkeeper.estimate.wear import idle_area_dm2
from bathkeeper.findings import Because, Estimate

CLOSES_WITHIN = 0.01  # how far the holding shares may sum from 1 and still be said to close [practice]
IDLE_DAYS = 7.0  # what idle loss is told for
HALF = 0.5
SPLIT_FORMULA = "s* = [eta w n/(M e) + (F/3600) n d c/M] / eta_a; d: drag-out in L/Ah, c: content in g/L"


@dataclass(frozen=True)
class AnodeLife:
    """What is left of an anode and how long it lasts.

    ``to_half_ah`` and ``to_end_ah`` are None where it loses nothing by current; the dates are None without recent use.
    """

    anode: str
    metal: str
    hung: bool
    left: Estimate
    per_100_ah_g: float
    to_half_ah: float | None
    to_end_ah: float | None
    half_by: datetime | None
    end_by: datetime | None


@dataclass(frozen=True)
class Split:
    """One metal's part of the anode current: as it is and as it would hold the bath, with what the difference costs.

    ``salt_g`` per 100 Ah of ``salt`` keeps the metal up at the present split (below zero: the bath gains that much instead and
    no salt is needed). ``amperes`` is what its own supply would carry at the usual current, None without recent runs.
    """

    metal: str
    share: Estimate
    holding: Estimate
    net_g: Estimate
    salt: str | None
    salt_g: float | None
    amperes: float | None
    current_a: float | None
    given: bool


@dataclass(frozen=True)
class IdleLoss:
    """What hung anodes lose without current in a week, the acid it uses at most, and what may plate out on them."""

    metal: str
    area_dm2: float
    loss_g: Estimate
    acid: str | None
    acid_most_ml: float | None
    cemented_g: float


@dataclass(frozen=True)
class AnodeAdvice:
    """Everything about a tank's anodes. ``verdict`` says in one sentence whether both metals can hold."""

    tank: str
    lives: tuple[AnodeLife, ...]
    splits: tuple[Split, ...]
    sum_of_holding: float | None
    verdict: str
    idle: IdleLoss | None
    because: Because


def anode_advice(
    state: TankState, catalogue: Catalogue, usage: Usage, at: datetime, shelf: Collection[str] = ()
) -> AnodeAdvice | None:
    """Advice on a plating tank's anodes at a moment; None for a tank without an electrode, or one that is empty.

    ``shelf``: names of reagents at hand, preferred when a salt or an acid is named.
    """
    recipe = state.recipe
    if recipe is None or recipe.electrode is None or not state.alive:
        return None
    present = balance(state, catalogue.metals)
    views = tank_view(state, catalogue.metals).anodes
    lives = tuple(
        _life(state, n, v, catalogue, present, usage, at) for n, v in views.items() if not v.retired and not v.caution
    )
    splits = tuple(_split(state, m, present, catalogue, usage, shelf) for m in present.holding_share) if present else ()
    return AnodeAdvice(
        tank=state.name,
        lives=lives,
        splits=splits,
        sum_of_holding=present.sum_of_holding if present is not None and present.holding_share else None,
        verdict=_verdict(present) if present is not None and present.holding_share else "",
        idle=_idle(state, catalogue, shelf),
        because=Because(
            text="The split is what weighings, branch currents and analyses have taught; drag-out is in the balance point.",
            entries=tuple(dict.fromkeys(i.entry for i in state.anodes.values())),
            formula=SPLIT_FORMULA,
            sources=("Faraday constant and atomic masses: CODATA, IUPAC", *_sources(state)),
        ),
    )


def _sources(state: TankState) -> list[str]:
    assert state.recipe is not None
    names = [n for n in state.recipe.parameters if n.startswith(("anode_", "cathode_efficiency", "deposit_", "drag_out"))]
    priors = {n: state.recipe.parameters[n] for n in names}
    return [f"{p.title or n}, before this workshop taught better: {p.status}{', ' + p.source if p.source else ''}"
            for n, p in priors.items()]  # fmt: skip


def _life(
    state: TankState, name: str, view: AnodeView, catalogue: Catalogue, present: Balance | None, usage: Usage, at: datetime
) -> AnodeLife:
    per_ah = 0.0
    if present is not None and view.metal in present.share and f"anode_efficiency_{view.metal}" in _parameters(state):
        metal = catalogue.metals[view.metal]
        whole = MOL_PER_AH * molar_mass(metal.symbol) / metal.electrons
        share = max(present.share[view.metal].value, 0.0)
        per_ah = share * state.parameter_value(f"anode_efficiency_{view.metal}") * whole * _part_of(state, name)
    left = view.mass_g.value
    half = max(left - HALF * view.start_mass_g, 0.0)
    to_half, to_end = (half / per_ah, left / per_ah) if per_ah > 0 else (None, None)
    return AnodeLife(
        name,
        view.metal,
        view.hung,
        view.mass_g,
        100 * per_ah,
        to_half,
        to_end,
        _date(to_half, usage, at),
        _date(to_end, usage, at),
    )


def _part_of(state: TankState, name: str) -> float:
    """How much of its metal's current an anode carries: by area, equally where one is not known."""
    same = {n: a for n, a in state.anodes.items() if a.metal == state.anodes[name].metal and not a.retired}
    hung = {n: a for n, a in same.items() if a.hung} or same
    if name not in hung:
        return 0.0
    weights = {n: a.area_dm2 or 0.0 for n, a in hung.items()}
    return weights[name] / sum(weights.values()) if all(weights.values()) else 1.0 / len(hung)


def _date(charge_ah: float | None, usage: Usage, at: datetime) -> datetime | None:
    if charge_ah is None or usage.charge_ah_per_day <= 0 or charge_ah / usage.charge_ah_per_day > 3650:
        return None
    return at + timedelta(days=charge_ah / usage.charge_ah_per_day)


def _split(state: TankState, metal: str, present: Balance, catalogue: Catalogue, usage: Usage, shelf: Collection[str]) -> Split:
    assert state.recipe is not None
    salts = salts_of(metal, state.recipe, catalogue)
    salt = next((s for s in salts if s.name in shelf), salts[0] if salts else None)
    current = usage.charge_ah * 60 / usage.minutes if usage.minutes > 0 and usage.charge_ah > 0 else None
    lost = -present.net_g[metal].value
    return Split(
        metal=metal,
        share=present.share[metal],
        holding=present.holding_share[metal],
        net_g=present.net_g[metal],
        salt=salt.name if salt is not None else None,
        salt_g=_salt_g(salt, metal, lost),
        amperes=present.holding_share[metal].value * current if current is not None else None,
        current_a=current,
        given=len(present.holding_share) > 1,
    )


def _salt_g(salt: Reagent | None, metal: str, lost_g: float) -> float | None:
    return lost_g / species_g_per_g(salt, metal) if salt is not None else None


def _verdict(present: Balance) -> str:
    total = present.sum_of_holding
    if abs(total - 1.0) <= CLOSES_WITHIN:
        return f"the shares that hold each metal sum to {total:.2f}: set so, both hold without salts"
    if total > 1.0:
        return f"the shares that would hold each metal sum to {total:.2f}, above 1: even at the best split some salt is needed"
    return f"the shares that would hold each metal sum to {total:.2f}, below 1: even at the best split the bath gains metal"


def _idle(state: TankState, catalogue: Catalogue, shelf: Collection[str]) -> IdleLoss | None:
    assert state.recipe is not None
    for term in state.recipe.wear:
        if term.exposure != "anode_dm2_day" or not term.anode_metal:
            continue
        area = idle_area_dm2(state, term.anode_metal)
        if area <= 0:
            continue
        rate = state.parameter(term.rate)
        lost = sum(-e.amount for e in term.effects if e.to.startswith("anode:"))
        value = rate.value * area * IDLE_DAYS * lost
        low, high = _range(state, term.rate)
        metal = catalogue.metals[term.anode_metal]
        acid = acid_of(state.recipe, catalogue, shelf) if not _alkaline(state) else None
        mol = value * metal.electrons / molar_mass(metal.symbol)
        return IdleLoss(
            metal=term.anode_metal,
            area_dm2=area,
            loss_g=Estimate(value, value * low / rate.value, value * high / rate.value, "g"),
            acid=acid.name if acid is not None else None,
            acid_most_ml=acid_ml(acid, mol) if acid is not None else None,
            cemented_g=_cemented(state, area),
        )
    return None


def _range(state: TankState, parameter: str) -> tuple[float, float]:
    found = learned(state)[parameter]
    return found.low, found.high


def _cemented(state: TankState, area_dm2: float) -> float:
    """Grams of the nobler metal that plate out on the hung anodes in a week."""
    assert state.recipe is not None
    total = 0.0
    for term in state.recipe.wear:
        if term.exposure == "anode_dm2_day":
            for effect in term.effects:
                if effect.to in state.recipe.species and effect.amount < 0:
                    share = state.parameter_value(effect.parameter) if effect.parameter else 1.0
                    total -= state.parameter_value(term.rate) * area_dm2 * IDLE_DAYS * effect.amount * share
    return total


def _alkaline(state: TankState) -> bool:
    assert state.recipe is not None
    return any(s.kind == "alkali" for s in state.recipe.species.values())


def _parameters(state: TankState) -> Mapping[str, object]:
    assert state.recipe is not None
    return state.recipe.parameters


def sentences(advice: AnodeAdvice) -> list[str]:
    """What a keeper is told, line by line, in fixed units."""
    lines = []
    for life in advice.lives:
        ends = [] if life.to_half_ah is None else [f"{life.to_half_ah:.0f} Ah to half", f"{life.to_end_ah:.0f} Ah to the end"]
        if life.end_by is not None:
            ends[-1] += f", about {life.end_by:%d %b %Y}"
        lines.append(f"{life.anode}: {life.left.value:.0f} g left (± {life.left.spread:.0f})" + "".join(f"; {e}" for e in ends))
    for split in advice.splits:
        told = f"{split.metal}: carries {split.share.value:.1%} ± {split.share.spread:.1%} of the current; "
        told += f"{split.holding.value:.1%} would hold it"
        if split.amperes is not None and split.current_a is not None:
            told += f", {split.amperes:.2f} A of {split.current_a:.2f} A"
        lines.append(told)
        if split.salt is not None and split.salt_g is not None and split.salt_g > 0:
            lines.append(f"{split.metal}: holding it at this split costs {split.salt_g:.0f} g {split.salt} per 100 Ah")
        elif split.net_g.value > 0:
            lines.append(f"{split.metal}: the bath gains {split.net_g.value:.0f} g per 100 Ah at this split")
    if advice.verdict:
        lines.append(advice.verdict)
    if advice.idle is not None:
        idle = advice.idle
        lines.append(
            f"{idle.metal} left hanging without current loses about {idle.loss_g.value:.0f} g a week "
            f"({idle.loss_g.low:.0f} to {idle.loss_g.high:.0f})"
            + (f", and uses at most {idle.acid_most_ml:.0f} mL of {idle.acid}" if idle.acid_most_ml is not None else "")
            + ("; lift it when the line rests")
        )
        if idle.cemented_g > 0.5:
            lines.append(
                f"about {idle.cemented_g:.0f} g of the nobler metal may plate out on it in that week, unseen by titration"
            )
    return lines
