"""Density of water at 0 to 40 degC and 1 atm.

Source: M. Tanaka, G. Girard, R. Davis, A. Peuto, N. Bignell, Metrologia 38 (2001) 301-309: the formula recommended by the
CIPM for air-free ocean-mean water. Tap water is within 0.5 kg/m3 of it (memory), a shop hydrometer reads to 2.
"""

from __future__ import annotations

from bathkeeper.chemistry._checks import within

LOWEST_C, HIGHEST_C = 0.0, 40.0


def water_density_kg_m3(temperature_c: float) -> float:
    """Density of water, kg/m3 (998.207 at 20 degC). Raises ValueError outside 0 to 40 degC; Kell's form goes further."""
    t = within("temperature in degC", temperature_c, LOWEST_C, HIGHEST_C)
    return 999.974950 * (1.0 - (t - 3.983035) ** 2 * (t + 301.797) / (522528.9 * (t + 69.34881)))
