"""Evaporation against the printed lines, an agency's figure and a measured tank."""

from __future__ import annotations

import pytest
import scipy.constants

from bathkeeper.chemistry import evaporation

from .printed import printed


@pytest.mark.parametrize(
    ("degf", "still", "agitated"),
    # Kirman's two lines (finishing.com 149/24), converted to litres apart
    [
        (70, "0.29", "0.68"), (80, "0.41", "0.88"), (90, "0.56", "1.15"), (100, "0.77", "1.50"),
        (120, "1.48", "2.55"), (140, "2.82", "4.34"), (160, "5.39", "7.37"), (180, "10.3", "12.5"),
    ],
)  # fmt: skip
def test_evaporation_table(degf: float, still: str, agitated: str) -> None:
    celsius = (degf - 32) / 1.8
    # slack 1: the table was rounded from a rounded 40.75 L/m2 in a gal/ft2
    assert evaporation.still_kirman_l_m2_h(celsius) == printed(still, slack=1)
    assert evaporation.agitated_kirman_l_m2_h(celsius) == printed(agitated, slack=1)


def test_the_agency_figure_lies_between_the_two_lines_when_hot() -> None:
    # EPA 625/8-82-008 fig. 5 (through pfonline): 0.30 gal/(ft2 h) at 180 degF
    agency = 0.30 * evaporation.L_M2_PER_GAL_FT2
    assert agency == printed("12.2")
    assert evaporation.still_kirman_l_m2_h(180 / 1.8 - 32 / 1.8) < agency < evaporation.agitated_kirman_l_m2_h(148 / 1.8)


def test_a_cold_tank_loses_ten_times_less() -> None:
    # papertrail.ca, measured: 5 mm of depth a week
    assert printed("0.030") == evaporation.BASEMENT_L_M2_H
    assert printed("0.030") == 5 / (7 * 24)
    assert evaporation.still_kirman_l_m2_h(21.1) / evaporation.BASEMENT_L_M2_H == pytest.approx(10, abs=1)


def test_the_gallon_per_square_foot() -> None:
    exact = 1000 * scipy.constants.gallon / scipy.constants.foot**2
    assert pytest.approx(exact, rel=1e-9) == evaporation.L_M2_PER_GAL_FT2
    assert printed("40.75") == evaporation.L_M2_PER_GAL_FT2


def test_loss_and_what_it_does_to_a_reading() -> None:
    assert evaporation.evaporated_l(0.5, 20, 10) == pytest.approx(1.0)
    # 100 L bath down to 95 L, zinc read 36.8 g/L -> 34.96 at the full mark
    assert 36.8 / evaporation.concentration_factor(100, 95) == printed("34.96")
    assert evaporation.concentration_factor(100, 100) == 1


def test_bad_values_are_refused() -> None:
    with pytest.raises(ValueError, match="volume now must be at most the full 40 L"):
        evaporation.concentration_factor(40, 41)
    with pytest.raises(ValueError, match="temperature in degC must be between 20 and 100, got 140"):
        evaporation.still_kirman_l_m2_h(140)
