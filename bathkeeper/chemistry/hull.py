"""Current density along the panel of a Hull cell, from the high-current end.

Sources: 267 mL cell, I x (27.7 - 48.7 log10 L) A/ft2, L in inches, 0.25 to 3.25 in, and 1 L cell, I x (18.8 - 28.3 log10
L): Metal Finishing guidebook 2013, p. 482. The metric form I x (5.10 - 5.24 log10 L) A/dm2, L in cm, is from memory and
agrees with it to 0.5 %.
"""

from __future__ import annotations

import math

from bathkeeper.chemistry._checks import not_negative, positive, within

SHORTEST_CM, LONGEST_CM = 0.635, 8.255
SHORTEST_IN, LONGEST_IN = 0.25, 3.25


def current_density_a_dm2(current_a: float, distance_cm: float) -> float:
    """Current density on the panel of the 267 mL cell, A/dm2. Raises ValueError outside 0.635 to 8.255 cm."""
    distance = within("distance from the high-current end in cm", distance_cm, SHORTEST_CM, LONGEST_CM)
    return not_negative("cell current in A", current_a) * (5.10 - 5.24 * math.log10(distance))


def current_density_a_ft2(current_a: float, distance_in: float) -> float:
    """The guidebook's formula for the 267 mL cell, A/ft2. Raises ValueError outside 0.25 to 3.25 in."""
    distance = within("distance from the high-current end in in", distance_in, SHORTEST_IN, LONGEST_IN)
    return not_negative("cell current in A", current_a) * (27.7 - 48.7 * math.log10(distance))


def current_density_1l_a_ft2(current_a: float, distance_in: float) -> float:
    """The guidebook's formula for the 1 L cell, A/ft2. Raises ValueError under 0.25 in and where it falls below 0 (4.6 in)."""
    distance = within("distance from the high-current end in in", distance_in, SHORTEST_IN, 4.6)
    return not_negative("cell current in A", current_a) * (18.8 - 28.3 * math.log10(distance))


def distance_cm(current_a: float, density_a_dm2: float) -> float:
    """Where on the panel of the 267 mL cell a current density is found, cm. ValueError when the panel does not show it."""
    per_amp = not_negative("current density in A/dm2", density_a_dm2) / positive("cell current in A", current_a)
    distance = 10.0 ** ((5.10 - min(per_amp, 50.0)) / 5.24)
    if not SHORTEST_CM <= distance <= LONGEST_CM:
        low = current_density_a_dm2(current_a, LONGEST_CM)
        high = current_density_a_dm2(current_a, SHORTEST_CM)
        raise ValueError(
            f"a panel at {current_a:g} A shows {low:.2g} to {high:.3g} A/dm2; {density_a_dm2:g} A/dm2 wants another current"
        )
    return float(distance)
