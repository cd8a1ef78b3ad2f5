"""Density of water at 0 to 150 degC (as a liquid at 1 atm, or under its own pressure above 100 degC).

Source: G. S. Kell, J. Chem. Eng. Data 20 (1975) 97-105; coefficients also in the NIST paper J. Res. NIST 97 (1992) 335
(which swaps two digits of the last one: 16.897850 for 16.879850). Temperatures are IPTS-68; the shift to ITS-90 changes it
by less than 0.02 kg/m3.
"""

from __future__ import annotations

from bathkeeper.chemistry._checks import within

LOWEST_C, HIGHEST_C = 0.0, 150.0

_ABOVE = (999.83952, 16.945176, -7.9870401e-3, -46.170461e-6, 105.56302e-9, -280.54253e-12)
_BELOW = 16.879850e-3


def water_density_kg_m3(temperature_c: float) -> float:
    """Density of water, kg/m3 (998.20 at 20 degC). Raises ValueError outside 0 to 150 degC."""
    t = within("temperature in degC", temperature_c, LOWEST_C, HIGHEST_C)
    above = 0.0
    for coefficient in reversed(_ABOVE):
        above = above * t + coefficient
    return above / (1.0 + _BELOW * t)
