"""Drag-out and rinses: what leaves a tank on the parts, and what that makes of the rinse after it.

Derived from mass balances; each rinse is taken as well mixed and each load as carrying out as much as it carried in.
"""

from __future__ import annotations

import math

from bathkeeper.chemistry._checks import not_negative, positive, whole_number, within


def dragout_volume_l(area_dm2: float, dragout_ml_dm2: float) -> float:
    """Solution that a wetted area (all faces) carries out, L. 16.3 mL/m2 well drained is 0.163 mL/dm2."""
    return not_negative("area in dm2", area_dm2) * not_negative("drag-out in mL/dm2", dragout_ml_dm2) / 1000.0


def dragout_g(volume_l: float, concentration_g_l: float) -> float:
    """Grams of a species that the dragged-out volume takes along."""
    return not_negative("volume in L", volume_l) * not_negative("concentration in g/L", concentration_g_l)


def dragout_from_marker_l(marker_lost_g: float, concentration_g_l: float) -> float:
    """Drag-out back-calculated from a component that leaves only that way (chloride salt, boric acid, caustic), L.

    ``marker_lost_g``: what had to be added to hold it at ``concentration_g_l``.
    """
    return not_negative("marker lost in g", marker_lost_g) / positive("concentration in g/L", concentration_g_l)


def still_rinse_g_l(bath_g_l: float, rinse_l: float, dragin_l: float, loads: int) -> float:
    """Concentration in a still rinse after a number of loads, g/L: bath x [1 - (V/(V+D))^N], D dragged in by each load."""
    n = whole_number("number of loads", loads, low=0)
    return not_negative("bath in g/L", bath_g_l) * -math.expm1(n * _log_kept(rinse_l, dragin_l))


def still_rinse_loads(bath_g_l: float, rinse_l: float, dragin_l: float, limit_g_l: float) -> int:
    """The load after which a fresh still rinse first reaches a limit. Raises ValueError for a limit it can never reach."""
    bath = positive("bath in g/L", bath_g_l)
    limit = positive("limit in g/L", limit_g_l)
    if limit >= bath:
        raise ValueError(f"the limit of a rinse must be below the {bath:g} g/L of the bath (never reached), got {limit:g}")
    exact = math.log1p(-limit / bath) / _log_kept(rinse_l, dragin_l)
    return max(1, math.ceil(exact - 1e-9))


def dragin_from_still_rinse_l(bath_g_l: float, rinse_l: float, rinse_g_l: float, loads: int) -> float:
    """Drag-in per load, L, back-calculated from what a fresh still rinse holds after a number of loads."""
    bath = positive("bath in g/L", bath_g_l)
    now = within("rinse in g/L", rinse_g_l, 0.0, 0.999 * bath)
    n = whole_number("number of loads", loads)
    return positive("rinse volume in L", rinse_l) * math.expm1(-math.log1p(-now / bath) / n)


def running_rinse_ratio(dragout: float, water: float) -> float:
    """How many times a running rinse thins the drag-out, (D+Q)/D; both in the same unit (L/h)."""
    return 1.0 + not_negative("rinse water", water) / positive("drag-out", dragout)


def running_rinse_g_l(bath_g_l: float, dragout: float, water: float) -> float:
    """Steady concentration in a running rinse, g/L."""
    return not_negative("bath in g/L", bath_g_l) / running_rinse_ratio(dragout, water)


def counterflow_ratio(dragout: float, water: float, stages: int) -> float:
    """How many times a counterflow rinse thins the drag-out, exactly: sum of (Q/D)^k for k = 0 to the number of stages."""
    q = not_negative("rinse water", water) / positive("drag-out", dragout)
    n = whole_number("number of stages", stages)
    return sum(q**k for k in range(n + 1))


def counterflow_water(ratio: float, stages: int, dragout: float) -> float:
    """Water for a wanted dilution, in the unit of ``dragout``: solves ``counterflow_ratio`` (5000:1, three stages: 16.8 D)."""
    wanted = _ratio(ratio)
    n = whole_number("number of stages", stages)
    low, high = 0.0, wanted  # q = wanted gives more than wanted already with one stage
    for _ in range(200):
        middle = (low + high) / 2.0
        if counterflow_ratio(1.0, middle, n) < wanted:
            low = middle
        else:
            high = middle
    return positive("drag-out", dragout) * (low + high) / 2.0


def counterflow_water_rule(ratio: float, stages: int, dragout: float) -> float:
    """The usual short form, Q = D x ratio^(1/n); a little more than the exact amount."""
    return positive("drag-out", dragout) * float(_ratio(ratio) ** (1.0 / whole_number("number of stages", stages)))


def _ratio(ratio: float) -> float:
    return within("dilution ratio", ratio, 1.0, 1e9)


def _log_kept(rinse_l: float, dragin_l: float) -> float:
    """Logarithm of the share of a rinse that stays behind when one load leaves it (below 0)."""
    return -math.log1p(positive("drag-in per load in L", dragin_l) / positive("rinse volume in L", rinse_l))
