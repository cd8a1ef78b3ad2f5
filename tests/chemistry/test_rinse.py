"""Drag-out and rinses against published worked examples."""

from __future__ import annotations

import pytest

from bathkeeper.chemistry import rinse

from .printed import printed

ML_M2_PER_GAL_1000FT2 = 3785.411784 / (1000 * 0.3048**2)


@pytest.mark.parametrize(
    ("gallons", "ml_m2"),
    # Metal Finishing guidebook 2012, p. 103, table II (gal/1000 ft2), converted
    [(0.4, "16.3"), (2.0, "81.5"), (4.0, "163"), (0.8, "32.6"), (10.0, "407"), (24.0, "978"), (5.3, "215")],
)
def test_dragout_table_in_litres(gallons: float, ml_m2: str) -> None:
    litres = rinse.dragout_volume_l(100, gallons * ML_M2_PER_GAL_1000FT2 / 100)
    assert 1000 * litres == printed(ml_m2, slack=1)


def test_metal_lost_by_draining_well_and_badly() -> None:
    # zinc 35 g/L: 0.57 g/m2 well drained, 5.7 g/m2 very badly, computed apart
    assert rinse.dragout_g(rinse.dragout_volume_l(100, 0.163), 35) == printed("0.57")
    assert rinse.dragout_g(rinse.dragout_volume_l(100, 1.63), 35) == printed("5.7")


def test_copper_line() -> None:
    # remco.com an2: 250 g/L, 20 mL/ft2, 600 ft2/h -> 3000 g/h; 50/100/200 mg/L take 1000/500/250 L/min
    area_dm2 = 600 * 144 * 0.254**2
    litres = rinse.dragout_volume_l(area_dm2, 20 / (144 * 0.254**2))
    assert litres == pytest.approx(12)
    assert rinse.dragout_g(litres, 250) == pytest.approx(3000)
    for limit_g_l, l_min in ((0.05, 1000), (0.1, 500), (0.2, 250)):
        # the page leaves the dragged volume itself out of the water: 0.02-0.08 %
        assert rinse.counterflow_water(250 / limit_g_l, 1, litres) / 60 == pytest.approx(l_min, rel=1e-3)


def test_marker_salt() -> None:
    # supplier article on bath drag-out, 2014: 1000 lb caustic a month at 20 oz/gal -> 800 gal
    litres = rinse.dragout_from_marker_l(1000 * 453.59237, 20 * 28.349523125 / 3.785411784)
    assert litres / 3.785411784 == pytest.approx(800)


def test_running_rinse() -> None:
    # poly-products rinsing pages: 1 gph drag-out and 99 gph water 100:1; 2000 gph from 10 oz/gal -> 2001:1, 0.005 oz/gal
    assert rinse.running_rinse_ratio(1, 99) == pytest.approx(100)
    assert rinse.running_rinse_ratio(1, 2000) == pytest.approx(2001)
    assert rinse.running_rinse_ratio(0.5, 100) == pytest.approx(201)
    assert rinse.running_rinse_g_l(10, 1, 2000) == printed("0.005")


def test_counterflow_by_the_short_form() -> None:
    # p2infohouse.org/ref/01/00051: Watts nickel, 270 000 to 40 mg/L: 6750, 82, 18 (18.9) gallons per gallon
    for stages, water in ((1, "6750"), (2, "82"), (3, "18.9")):
        assert rinse.counterflow_water_rule(270_000 / 40, stages, 1) == printed(water)


def test_counterflow_exactly() -> None:
    # 5000:1 needs 4999 / 70.2 / 16.8 with one / two / three stages, computed apart
    for stages, water in ((1, "4999"), (2, "70.2"), (3, "16.8")):
        ours = rinse.counterflow_water(5000, stages, 1)
        assert ours == printed(water)
        assert rinse.counterflow_ratio(1, ours, stages) == pytest.approx(5000)
        assert rinse.counterflow_water_rule(5000, stages, 1) > ours


def test_counterflow_by_solving_the_stages() -> None:
    # outside check: mass balances of three stages solved as linear equations
    import numpy as np

    d, q, bath = 0.5, 6.0, 100.0
    # stage k: D c[k-1] + Q c[k+1] = (D + Q) c[k]
    a = np.array([[d + q, -q, 0], [-d, d + q, -q], [0, -d, d + q]])
    last = np.linalg.solve(a, np.array([d * bath, 0, 0]))[-1]
    assert bath / last == pytest.approx(rinse.counterflow_ratio(d, q, 3))


def test_still_rinse() -> None:
    # 10 L, 5 mL a rack, bath 35 g/L: after 100/200/400 racks 1.71/3.33/6.34 g/L; 0.5 g/L at rack 29; computed apart
    for racks, g_l in ((100, "1.71"), (200, "3.33"), (400, "6.34")):
        assert rinse.still_rinse_g_l(35, 10, 0.005, racks) == printed(g_l)
    assert rinse.still_rinse_loads(35, 10, 0.005, 0.5) == 29
    # 20 L, 50 mL, 20 loads -> 1.705 g/L
    assert rinse.still_rinse_g_l(35, 20, 0.05, 20) == printed("1.705")


def test_still_rinse_one_load_at_a_time() -> None:
    # outside check: carry the mass through each load by hand
    held_g = 0.0
    for _ in range(50):
        held_g = (held_g + 0.05 * 35) * 20 / 20.05
    assert held_g / 20 == pytest.approx(rinse.still_rinse_g_l(35, 20, 0.05, 50))


def test_dragin_back_from_the_rinse() -> None:
    assert rinse.dragin_from_still_rinse_l(35, 10, rinse.still_rinse_g_l(35, 10, 0.005, 29), 29) == pytest.approx(0.005)


@pytest.mark.parametrize(
    ("call", "said"),
    [
        (lambda: rinse.still_rinse_loads(35, 10, 0.005, 35), "limit of a rinse must be below the 35 g/L"),
        (lambda: rinse.still_rinse_g_l(35, 10, 0, 5), "drag-in per load"),
        (lambda: rinse.still_rinse_g_l(35, 10, 0.005, 2.5), "number of loads must be a whole number"),
        (lambda: rinse.still_rinse_g_l(35, 10, 0.005, -1), "number of loads"),
        (lambda: rinse.counterflow_ratio(1, 1, 0), "number of stages must be a whole number of 1 or more, got 0"),
        (lambda: rinse.counterflow_water(0.5, 2, 1), "dilution ratio must be between 1"),
        (lambda: rinse.running_rinse_ratio(0, 5), "drag-out must be a number above 0"),
        (lambda: rinse.dragout_from_marker_l(5, 0), "concentration in g/L"),
        (lambda: rinse.dragin_from_still_rinse_l(35, 10, 36, 5), "rinse in g/L must be between"),
    ],
)
def test_bad_values_are_refused(call: object, said: str) -> None:
    with pytest.raises(ValueError, match=said):
        call()  # type: ignore[operator]
