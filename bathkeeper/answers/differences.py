"""What an entry changed: two estimates compared, in lines for people."""

from __future__ import annotations

from datetime import datetime

from bathkeeper.estimate.fold import at_moment
from bathkeeper.estimate.state import Z95
from bathkeeper.estimate.world import World


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
            lines.append(f"{name}: {'made up, ' + format(state.volume_l, '.3g') + ' L' if state.alive else 'emptied'}")
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
    new = [p for p in after.problems if p not in before.problems]
    return lines + [f"problem: {p.what}; {p.right}" for p in new]
