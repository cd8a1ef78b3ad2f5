"""What an entry changed: two estimates compared, in lines for people."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import datetime

from bathkeeper.estimate.containers import NOTHING_LEFT_L, ContainerState
from bathkeeper.estimate.fold import at_moment
from bathkeeper.estimate.missing import evaporated
from bathkeeper.estimate.state import Z95, TankState
from bathkeeper.estimate.world import World

LEFT = 0.005  # of the litres made up: less of a difference is not told


def _container(name: str, old: ContainerState, new: ContainerState) -> Iterator[str]:
    """What came into a container or left it, and the contents that a test moved."""
    if new.empty and not old.empty:
        yield f"{name}: emptied, {old.volume_l:.4g} L" if old.volume_l > 0 else f"{name}: emptied"
        return
    for what, unit, was, now in (
        ("volume", "L", old.volume_l, new.volume_l),
        ("solids", "kg", old.solids_kg, new.solids_kg),
    ):
        if abs(now - was) > 0.005:
            yield f"{name}: {what} {was:.4g} -> {now:.4g} {unit}"
    if new.volume_l > NOTHING_LEFT_L and abs(new.volume_l - old.volume_l) <= 0.005:
        for key in new.gauss.names:
            grams = old.gauss.value(key) if key in old.gauss else 0.0
            if key.startswith("mass:") and abs(new.gauss.value(key) - grams) > max(0.005 * grams, 1e-3):
                yield f"{name}: {key[5:]} {grams:.4g} -> {new.gauss.value(key):.4g} g"


def _made_up(state: TankState) -> str:
    """``made up, 40 L``; of a make-up long ago also what is left of it, and what the rest became."""
    litres = state.flows.get("make-up", {}).get("volume", state.volume_l)
    told = f"made up, {litres:.3g} L"
    if abs(state.volume_l - litres) <= LEFT * litres:
        return told
    gone, _ = evaporated(state)
    why = f", of which about {gone:.3g} L evaporated since" if gone > LEFT * litres else ""
    return f"{told}{why}; {state.volume_l:.3g} L are there now by the book"


def changes(before: World, after: World, moment: datetime) -> list[str]:
    """What differs between two estimates at a moment, by more than a thousandth of the interval or value."""
    lines: list[str] = []
    b, a = at_moment(before, moment), at_moment(after, moment)
    for name, state in a.tanks.items():
        old = b.tanks.get(name)
        if old is None:
            lines.append(f"{name}: new tank")
            continue
        if state.alive != old.alive:
            lines.append(f"{name}: {_made_up(state) if state.alive else 'emptied'}")
            continue
        if abs(state.volume_l - old.volume_l) > 0.005:
            lines.append(f"{name}: volume {old.volume_l:.4g} -> {state.volume_l:.4g} L")
        for species, rule in state.species.items():
            if species not in old.species:
                continue
            (c0, _), (c1, sd1) = old.concentration(species), state.concentration(species)
            if abs(c1 - c0) > max(0.02 * Z95 * sd1, 1e-4 * max(abs(c0), abs(c1)), 1e-6):
                lines.append(f"{name}: {species} {c0:.4g} -> {c1:.4g} {rule.unit}")
        for anode in state.anodes:
            m0 = old.gauss.value(f"anode:{anode}") if f"anode:{anode}" in old.gauss else 0.0
            m1 = state.gauss.value(f"anode:{anode}")
            if abs(m1 - m0) > 0.5:
                lines.append(f"{name}: anode {anode} {m0:.0f} -> {m1:.0f} g")
        for key, doubt in state.doubts.items():
            if key not in old.doubts:
                lines.append(
                    f"{name}: {doubt.of} {doubt.value:.4g} {doubt.unit} is in doubt (expected {doubt.expected or 0:.4g} "
                    f"+- {doubt.expected_spread or 0:.2g}); kept, not used until a second reading agrees or you confirm it"
                )
    for name, held in a.containers.items():
        lines += _container(name, b.containers.get(name, ContainerState(name)), held)
    new = [p for p in after.problems if p not in before.problems]
    return lines + [f"problem: {p.what}; {p.right}" for p in new]
