"""Watts and sulfamate nickel and acid copper: drift of metal and acid over a charge, and what brings it back.

Printed equivalents: nickel 1.0950, copper 1.1855 g/Ah, 0.037311 mol of electrons per Ah, hydrogen 0.456 L/Ah at 25 degC.
"""

from __future__ import annotations

import pytest

from tests.stories.telling import Telling

NI_G_AH, CU_G_AH, MOL_AH = 1.0950, 1.1855, 0.037311
NICKEL = {"watts-nickel": (68.0, 0.95), "nickel-sulfamate": (80.0, 0.97)}
COLD = 25.0  # degC: the charge alone, without the water that a hot bath loses


def bath(recipe: str, metal: str, **contents: float) -> Telling:
    tale = Telling()
    tale.log("workshop", name="Slipway bench")
    tale.tank("electrolyte", "plate", 1, recipe, 40.0, surface_dm2=12.0)
    named = {n.replace("_", " "): v for n, v in contents.items()}
    tale.log("make_up", tank="electrolyte", volume_l=40.0, contents=named)
    tale.log("anode", tank="electrolyte", anode="basket", action="hung", metal=metal, mass_g=3000.0, area_dm2=4.0)
    return tale


def plated(tale: Telling, runs: int, charge_ah: float, celsius: float) -> Telling:
    step = {"tank": "electrolyte", "minutes": 60, "charge": {"charge_ah": charge_ah}, "temperature_c": celsius}
    for _ in range(runs):
        tale.log("run", parts=[{"description": "levers", "area_dm2": 4.0}], steps=[step])
    return tale


@pytest.mark.parametrize("recipe", NICKEL)
def test_nickel_gains_what_the_cathode_spends_on_hydrogen(recipe: str) -> None:
    """Watts, 200 Ah: in 219.0 g, out 208.05 g; 0.05 x 200 x 0.037311 = 0.373 mol acid; 4.56 L of hydrogen."""
    content, efficiency = NICKEL[recipe]
    view = plated(bath(recipe, "nickel", nickel=content), 20, 10.0, COLD).view("electrolyte")
    lost = (1 - efficiency) * 200
    assert view.flows["anodes dissolved"]["mass:nickel"] == pytest.approx(200 * NI_G_AH, rel=2e-3)
    assert view.flows["deposit"]["mass:nickel"] == pytest.approx(-efficiency * 200 * NI_G_AH, rel=2e-3)
    assert view.flows["acid balance"]["acid"] == pytest.approx(-lost * MOL_AH, rel=0.02)
    assert view.hydrogen_l == pytest.approx(lost * 0.456, rel=0.02)
    # 20 loads of 4 dm2 carry 6 mL each; the gain of 11 or 6.6 g is nearly what leaves with them
    by_hand = content * 40 + lost * NI_G_AH - 0.120 * content
    assert view.species["nickel"].value * view.volume_l.value == pytest.approx(by_hand, abs=0.6)


def test_sulfuric_acid_brings_the_watts_bath_back() -> None:
    """0.373 mol of H+ are 18.3 g H2SO4, 10.4 mL of the 96 % acid (1.84 g/mL); the sulfate is counted, the acid is even."""
    tale = plated(bath("watts-nickel", "nickel", nickel=68.0, sulfate=95.0), 20, 10.0, COLD)
    ml = 0.05 * 200 * MOL_AH / 2 * 98.072 / (1.84 * 0.96)
    assert ml == pytest.approx(10.4, abs=0.05)
    tale.add("electrolyte", "sulfuric acid 96%", ml, "mL")
    view = tale.view("electrolyte")
    assert view.acid_used_mol.value == pytest.approx(0.0, abs=0.01)
    assert view.flows["addition"]["mass:sulfate"] == pytest.approx(18.3 * 96.056 / 98.072, rel=5e-3)


def test_nickel_carbonate_takes_acid_and_brings_nickel() -> None:
    """50 g NiCO3, 118.702 g/mol: 24.72 g nickel and 2 x 50/118.702 = 0.842 mol of acid."""
    tale = bath("watts-nickel", "nickel", nickel=68.0)
    tale.add("electrolyte", "nickel carbonate", 50.0)
    flows = tale.view("electrolyte").flows["addition"]
    assert flows["mass:nickel"] == pytest.approx(24.72, rel=1e-3)
    assert flows["acid"] == pytest.approx(-0.842, rel=1e-3)


def test_a_hot_open_watts_bath_loses_water_by_the_formula() -> None:
    """One hour of plating and two of warming and standing on 12 dm2: 3 x 12 x 2.11/100 = 0.760 L (still surface at 55 degC)."""
    view = plated(bath("watts-nickel", "nickel", nickel=68.0), 1, 10.0, 55.0).view("electrolyte")
    assert view.flows["evaporation, heated"]["volume"] == pytest.approx(-0.760, rel=0.01)


def test_acid_copper_is_nearly_even_and_creeps_up() -> None:
    """200 Ah at 99 %: + 0.01 x 200 x 1.1855 = 2.37 g copper, - 0.01 x 200 x 0.037311 x 49.036 = - 3.66 g acid."""
    tale = plated(bath("acid-copper", "copper", copper=56.0, free_acid=50.0, chloride=0.08), 20, 10.0, 25.0)
    view = tale.view("electrolyte")
    gained = sum(view.flows[c]["mass:copper"] for c in ("anodes dissolved", "deposit"))
    assert gained == pytest.approx(0.01 * 200 * CU_G_AH, abs=0.25)
    assert view.flows["acid balance"]["mass:free acid"] == pytest.approx(-0.01 * 200 * MOL_AH * 49.036, rel=0.05)
    assert "acid" not in view.flows["acid balance"]


def test_air_dissolves_hung_copper_with_one_sulfuric_acid_each() -> None:
    """4 dm2 x 0.1 g x 30 days = 12 g copper and 12 x 98.072/63.546 = 18.52 g acid; the anode loses the 12 g."""
    view = bath("acid-copper", "copper", copper=56.0, free_acid=50.0).day(30).view("electrolyte")
    flows = view.flows["copper dissolved by air"]
    assert flows["mass:copper"] == pytest.approx(12.0, rel=2e-3)
    assert flows["mass:free acid"] == pytest.approx(-18.52, rel=2e-3)
    assert view.anodes["basket"].mass_g.value == pytest.approx(2988.0, abs=0.1)


def test_ten_millilitres_of_acid_a_hundred_gallons_add_twelve_ppm_chloride() -> None:
    """Metal Finishing Guidebook 2011-12, p. 206: 10 mL concentrated HCl in 100 US gallons add 12 ppm; 37.2 % acid
    gives 11.3.
    """
    tale = bath("acid-copper", "copper", copper=56.0, free_acid=50.0, chloride=0.05)
    tale.add("electrolyte", "hydrochloric acid 37%", 10 * 40 / 378.54, "mL")
    added = tale.view("electrolyte").species["chloride"].value - 0.05
    assert added == pytest.approx(10 * 1.18 * 0.372 * 35.45 / 36.458 / 378.54, rel=0.01)
    assert added == pytest.approx(0.012, abs=0.001)
