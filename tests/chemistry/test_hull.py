"""Current density along a Hull cell panel."""

from __future__ import annotations

import pytest

from bathkeeper.chemistry import hull

from .printed import printed

A_FT2_PER_A_DM2 = 144 * 0.254**2


@pytest.mark.parametrize(
    ("cm", "one", "two", "three"),
    # metric form, computed apart
    [
        (0.64, "6.12", "12.23", "18.35"), (1, "5.10", "10.20", "15.30"),
        (2, "3.52", "7.05", "10.57"), (3, "2.60", "5.20", "7.80"),
        (4, "1.95", "3.89", "5.84"), (5, "1.44", "2.87", "4.31"), (6, "1.02", "2.04", "3.07"), (7, "0.67", "1.34", "2.02"),
        (8, "0.37", "0.74", "1.10"),
    ],
)  # fmt: skip
def test_metric_table(cm: float, one: str, two: str, three: str) -> None:
    for amps, density in ((1, one), (2, two), (3, three)):
        assert hull.current_density_a_dm2(amps, cm) == printed(density, slack=0.7)


@pytest.mark.parametrize(
    ("inches", "one", "two", "three"),
    # Metal Finishing guidebook 2013, p. 482: I x (27.7 - 48.7 log L)
    [
        (0.25, "57.0", "114.0", "171.1"), (0.5, "42.4", "84.7", "127.1"), (1.0, "27.7", "55.4", "83.1"),
        (1.5, "19.1", "38.2", "57.4"), (2.0, "13.0", "26.1", "39.1"), (2.5, "8.3", "16.6", "25.0"),
        (3.0, "4.5", "8.9", "13.4"), (3.25, "2.8", "5.5", "8.3"),
    ],
)  # fmt: skip
def test_guidebook_table(inches: float, one: str, two: str, three: str) -> None:
    for amps, density in ((1, one), (2, two), (3, three)):
        assert hull.current_density_a_ft2(amps, inches) == printed(density, slack=0.6)


def test_the_two_forms_agree() -> None:
    # 2.54 cm -> 2.98 A/dm2 = 27.7 A/ft2
    assert hull.current_density_a_dm2(1, 2.54) * A_FT2_PER_A_DM2 == printed("27.7", slack=1)
    for inches in (0.25, 0.5, 1, 2, 3):
        metric = hull.current_density_a_dm2(1, inches * 2.54) * A_FT2_PER_A_DM2
        assert metric == pytest.approx(hull.current_density_a_ft2(1, inches), abs=0.25)


def test_one_litre_cell() -> None:
    # guidebook: I x (18.8 - 28.3 log L); at 1 in the constant itself
    assert hull.current_density_1l_a_ft2(2, 1) == pytest.approx(37.6)
    assert hull.current_density_1l_a_ft2(1, 4.6) == pytest.approx(0.04, abs=0.05)


def test_where_a_density_is_found() -> None:
    # at 2 A, 2 A/dm2 is at 6.06 cm, computed apart
    assert hull.distance_cm(2, 2) == printed("6.06")
    assert hull.current_density_a_dm2(3, hull.distance_cm(3, 4.2)) == pytest.approx(4.2)


@pytest.mark.parametrize(
    ("call", "said"),
    [
        (lambda: hull.current_density_a_dm2(2, 0.5), "must be between 0.635 and 8.255, got 0.5"),
        (lambda: hull.current_density_a_ft2(2, 3.5), "must be between 0.25 and 3.25"),
        (lambda: hull.current_density_1l_a_ft2(2, 5), "must be between 0.25 and 4.6"),
        (lambda: hull.distance_cm(1, 10), "a panel at 1 A shows 0.3 to 6.13 A/dm2"),
        (lambda: hull.distance_cm(1, 1e9), "wants another current"),
        (lambda: hull.distance_cm(0, 1), "cell current in A"),
    ],
)
def test_off_the_panel_is_refused(call: object, said: str) -> None:
    with pytest.raises(ValueError, match=said):
        call()  # type: ignore[operator]
