"""Laws: what a calculator says one way it says the other way too, and amounts add up."""

from __future__ import annotations

from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from bathkeeper.units.door import KINDS

from .asking import values

few = settings(max_examples=60, deadline=None)
METALS = st.sampled_from(["zinc", "nickel", "copper", "copper(I)", "silver", "tin", "zinc-nickel:13%", "zinc-nickel:15.5%"])


def between(low: float, high: float) -> st.SearchStrategy[float]:
    return st.floats(low, high, allow_nan=False, allow_infinity=False)


@few
@given(METALS, between(0.1, 50), between(1, 500), between(0.1, 50), between(0.05, 1))
def test_deposit_every_way(metal: str, current: float, minutes: float, area: float, efficiency: float) -> None:
    first = values(
        "deposit",
        metal=metal,
        current=f"{current}A",
        time=f"{minutes}min",
        area=f"{area}dm2",
        efficiency=f"{100 * efficiency}%",
    )
    known = {
        "charge": f"{first['charge_ah']}Ah", "current": f"{first['current_a']}A", "time": f"{first['minutes']}min",
        "mass": f"{first['mass_g']}g", "area": f"{first['area_dm2']}dm2", "density": f"{first['density_a_dm2']}A/dm2",
    }  # fmt: skip
    shared = {"metal": metal, "efficiency": f"{100 * efficiency}%"}
    for names in (
        ("charge", "time", "area"),
        ("mass", "current", "density"),
        ("density", "area", "time"),
        ("mass", "time", "area"),
    ):
        again = values("deposit", **shared, **{n: known[n] for n in names})
        assert again == pytest.approx(first, rel=1e-7)
    if 1e-3 < first["thickness_um"] < 1e3:
        by_thickness = values(
            "deposit", **shared, thickness=f"{first['thickness_um']}um", area=known["area"], time=known["time"]
        )
        assert by_thickness == pytest.approx(first, rel=1e-7)
    told = values("deposit", metal=metal, charge=known["charge"], mass=known["mass"])
    assert told["efficiency"] == pytest.approx(efficiency, rel=1e-7)


@few
@given(between(0.1, 80), st.sampled_from(["144", "144.3", "144.38", "145", "146.78"]))
def test_baume_and_back(degrees: float, modulus: str) -> None:
    sg = values("density", baume=f"{degrees:.6f}", modulus=modulus)["sg"]
    assert values("density", sg=str(sg), modulus=modulus)["baume"] == pytest.approx(degrees, abs=1e-5)


@few
@given(st.sampled_from(["hydrochloric acid", "sulfuric acid", "nitric acid", "sodium hydroxide"]), between(1, 36))
def test_strength_and_density(acid: str, percent: float) -> None:
    found = values("density", acid=f"{acid} {percent:.4f}%")
    again = values("density", acid=acid, sg=str(found["sg"]))
    assert again["percent_w_w"] == pytest.approx(percent, abs=2e-3)
    by_grams = values("density", acid=f"{acid} {found['concentration_g_l']}g/L")
    assert by_grams["sg"] == pytest.approx(found["sg"], abs=1e-6)


@few
@given(between(2, 1e5), st.integers(1, 4), between(0.1, 100))
def test_rinse_ratio_and_water(ratio: float, stages: int, drag_in: float) -> None:
    found = values("rinse", ratio=f"{ratio}", stages=str(stages), drag_in=f"{drag_in}L/h")
    again = values("rinse", drag_in=f"{drag_in}L/h", water=f"{found['water_l_h']}L/h", stages=str(stages))
    assert again["ratio"] == pytest.approx(ratio, rel=1e-6)
    if stages > 1:
        assert found["water_per_drag_in"] < values("rinse", ratio=f"{ratio}", stages=str(stages - 1))["water_per_drag_in"]


@few
@given(between(1, 300), between(0.1, 0.99), between(1, 1000))
def test_dilute_then_add_back(start: float, share: float, volume: float) -> None:
    thinned = values("dilute", volume=f"{volume}L", from_=f"{start}g/L", to=f"{start * share}g/L")
    assert thinned["swap_l"] == pytest.approx(volume * (1 - share), rel=1e-6)
    back = values("add", reagent="boric acid", volume=f"{volume}L", from_=f"{start * share}g/L", to=f"{start}g/L")
    assert back["amount_g"] == pytest.approx(thinned["swap_l"] * start, rel=1e-6)


@few
@given(between(1, 100), between(1, 50), between(1, 500), between(0.5, 1))
def test_addition_both_ways(now: float, more: float, volume: float, purity: float) -> None:
    asked = {"reagent": "zinc chloride", "volume": f"{volume}L", "purity": f"{100 * purity}%"}
    needed = values("add", **asked, from_=f"{now}g/L", to=f"{now + more}g/L", of="zinc")
    again = values("add", **asked, amount=f"{needed['amount_g']}g")
    assert again["brings"]["zinc"] == pytest.approx(more, rel=1e-7)
    assert sum(again["brings"].values()) == pytest.approx(again["compound_g_l"], rel=1e-7)


UNITS = {
    "volume": ("L", "mL", "usgal", "impgal", "ft3"), "mass": ("g", "kg", "lb", "oz avdp"), "area": ("dm2", "cm2", "in2", "ft2"),
    "concentration": ("g/L", "oz/usgal", "oz/impgal", "lb/usgal", "% w/v"), "current_density": ("A/dm2", "A/ft2", "mA/in2"),
    "thickness": ("um", "mil", "nm"), "temperature": ("degC", "degF", "K"), "charge": ("Ah", "mAh", "C", "kAh"),
    "flow": ("L/h", "L/min", "usgal/h"), "strength": ("MPa", "ksi", "psi"), "time": ("min", "h", "s"),
    "length": ("mm", "in", "ft"),
}  # fmt: skip


@few
@given(st.sampled_from(sorted(UNITS)), between(1, 1e4), st.data())
def test_convert_there_and_back(kind: str, number: float, data: st.DataObject) -> None:
    assert kind in KINDS
    first, second = (data.draw(st.sampled_from(UNITS[kind])) for _ in range(2))
    there = values("convert", value=f"{number} {first}", unit=second)["value"]
    assert values("convert", value=f"{there:.15g} {second}", unit=first)["value"] == pytest.approx(number, rel=1e-9)


@few
@given(between(0.1, 10), between(0.7, 8))
def test_hull_both_ways(current: float, at: float) -> None:
    density = values("hull", current=f"{current}A", at=f"{at}cm")["density_a_dm2"]
    assert values("hull", current=f"{current}A", density=f"{density}A/dm2")["at_cm"] == pytest.approx(at, rel=1e-6)


@few
@given(between(0.1, 20), between(0.1, 20))
def test_current_both_ways(area: float, density: float) -> None:
    amps = values("current", area=f"{area}dm2", density=f"{density}A/dm2")["current_a"]
    assert values("current", area=f"{area}dm2", current=f"{amps}A")["density_a_dm2"] == pytest.approx(density, rel=1e-9)


@few
@given(between(1, 2000), between(0.1, 0.3), between(0.001, 0.5), between(0.5, 1.0))
def test_anodes_are_deposit_and_what_stays(charge: float, nickel: float, share: float, efficiency: float) -> None:
    asked = {"charge": f"{charge}Ah", "nickel": f"{100 * nickel}%", "efficiency": f"{100 * efficiency}%"}
    found = values("anodes", **asked, nickel_share=f"{100 * share}%")
    kept = sum(found["net_bath_g"].values())
    assert found["anode_loss_g"] == pytest.approx(found["deposit_g"] + kept, rel=1e-9)
    held = values("anodes", **asked, nickel_share=f"{100 * found['balance_share']}%")
    assert held["net_bath_g"]["nickel"] == pytest.approx(0.0, abs=1e-6 * charge)


@few
@given(between(0.5, 50), between(1, 30), between(0.01, 1))
def test_titration_gives_back_the_bath(sample: float, used: float, strength: float) -> None:
    asked: dict[str, Any] = {"titrant": f"EDTA {strength:.6f}M", "sample": f"{sample}mL"}
    if used * strength * 65.38 / sample > 1000:
        return
    one = values("titrate", of="zinc", **asked, used=f"{used}mL")
    assert one["concentration_g_l"] * sample == pytest.approx(65.38 * one["found_mmol"], rel=1e-6)
    both = values("titrate", of="zinc", **asked, used=f"{1.5 * used}mL", less=f"{0.5 * used}mL")
    assert both["concentration_g_l"] == pytest.approx(one["concentration_g_l"], rel=1e-6)
