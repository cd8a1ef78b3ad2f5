"""Acid chloride zinc and ammonium zinc-nickel: what a charge and an idle fortnight do to the metals and to the acid.

Printed equivalents: zinc 1.2197, nickel 1.0950 g/Ah (96 485.33 C/mol), 0.037311 mol of electrons per Ah; zinc-nickel of 13 %
nickel 1.2019 g/Ah. Two H+ for each zinc that dissolves without current, 65.38 g/mol.
"""

from __future__ import annotations

import pytest

from tests.stories.telling import Telling

ZN_G_AH, NI_G_AH, MOL_AH, ZN = 1.2197, 1.0950, 0.037311, 65.38
ZINC = {"zinc-chloride-ammonium": 22.0, "zinc-chloride-low-ammonium": 30.0, "zinc-chloride-potassium": 22.0}


def bath(recipe: str, **contents: float) -> Telling:
    tale = Telling()
    tale.log("workshop", name="Slipway bench")
    tale.tank("electrolyte", "plate", 1, recipe, 40.0, surface_dm2=12.0)
    tale.log("make_up", tank="electrolyte", volume_l=40.0, contents=contents)
    tale.log("anode", tank="electrolyte", anode="zinc-1", action="hung", metal="zinc", mass_g=3000.0, area_dm2=4.0)
    return tale


def plated(tale: Telling, runs: int, **step: object) -> Telling:
    for _ in range(runs):
        tale.log("run", parts=[{"description": "brackets", "area_dm2": 5.0}], steps=[{"tank": "electrolyte", **step}])
    return tale


@pytest.mark.parametrize("recipe", ZINC)
def test_zinc_gains_on_a_hundred_amp_hours(recipe: str) -> None:
    """In 121.97 g from the anode, out 0.96 x 121.97 on the parts: + 4.88 g, and 0.04 x 3.7311 = 0.149 mol of acid used."""
    tale = plated(bath(recipe, zinc=ZINC[recipe]), 20, minutes=30, charge={"charge_ah": 5.0})
    tale.log("anode", tank="electrolyte", anode="zinc-1", action="lifted")
    view = tale.view("electrolyte")
    flows = view.flows
    assert flows["anodes dissolved"]["mass:zinc"] == pytest.approx(100 * ZN_G_AH, rel=2e-3)
    assert flows["deposit"]["mass:zinc"] == pytest.approx(-96 * ZN_G_AH, rel=2e-3)
    assert flows["acid balance"]["acid"] == pytest.approx(-0.04 * 100 * MOL_AH, rel=0.01)
    assert view.anodes["zinc-1"].mass_g.value == pytest.approx(3000 - 100 * ZN_G_AH, abs=0.6)
    # 20 loads of 5 dm2 carry 7.5 mL each: 0.150 L of the bath; what idles in the minutes between them is next to nothing
    by_hand = ZINC[recipe] * 40 + 0.04 * 100 * ZN_G_AH - 0.150 * ZINC[recipe]
    assert view.species["zinc"].value * view.volume_l.value == pytest.approx(by_hand, abs=0.4)
    assert flows["brightener use"]["mass:brightener"] == pytest.approx(-20.0, rel=1e-3)  # mL: 0.2 mL/Ah


def test_salts_only_leave_with_the_parts() -> None:
    view = plated(bath("zinc-chloride-potassium", zinc=22.0, potassium=108.0), 20, minutes=30, charge={"charge_ah": 5.0})
    flows = view.view("electrolyte").flows
    assert {c for c, f in flows.items() if f.get("mass:potassium")} == {"make-up", "drag-out"}
    assert flows["drag-out"]["mass:potassium"] == pytest.approx(-108.0 * 0.150, rel=5e-3)


def test_a_fortnight_of_idle_zinc() -> None:
    """4 dm2 x 14 days x 0.5 g = 28 g, 2 H+ each: 0.857 mol; the anode loses the same 28 g."""
    tale = bath("zinc-chloride-potassium", zinc=22.0).day(14)
    view = tale.view("electrolyte")
    flows = view.flows["idle zinc to acid"]
    assert flows["mass:zinc"] == pytest.approx(28.0, rel=0.01)
    assert flows["acid"] == pytest.approx(-2 * 28.0 / ZN, rel=0.01)
    assert view.anodes["zinc-1"].mass_g.value == pytest.approx(2972, abs=0.5)
    water = view.flows["evaporation, cold"]["volume"]
    assert water == pytest.approx(-12.0 * 14 * 0.0072, rel=0.01)  # 5 mm of depth a week


def test_zinc_nickel_on_two_supplies_holds_nickel_at_its_share_of_the_charge() -> None:
    """85 and 15 Ah: in 103.67 g zinc and 16.43 g nickel; out 111.78 g of 12.93 % nickel (13 % x (0.4167/0.42)^0.7)."""
    tale = bath("zinc-nickel-chloride-ammonium", zinc=35.0, nickel=25.0)
    tale.log("anode", tank="electrolyte", anode="nickel-1", action="hung", metal="nickel", mass_g=1500.0, area_dm2=2.0)
    branches = [
        {"supply": "left", "anodes": ["zinc-1"], "charge": {"charge_ah": 8.5}},
        {"supply": "right", "anodes": ["nickel-1"], "charge": {"charge_ah": 1.5}},
    ]
    flows = plated(tale, 10, minutes=80, temperature_c=35, branches=branches).view("electrolyte").flows
    assert flows["anodes dissolved"]["mass:zinc"] == pytest.approx(85 * ZN_G_AH, rel=2e-3)
    assert flows["anodes dissolved"]["mass:nickel"] == pytest.approx(15 * NI_G_AH, rel=2e-3)
    share = 0.13 * (25 / 60 / 0.42) ** 0.7
    deposit = 0.93 * 100 / (share / NI_G_AH + (1 - share) / ZN_G_AH)
    assert share == pytest.approx(0.1293, abs=2e-4) and deposit == pytest.approx(0.93 * 100 * 1.2019, rel=1e-3)
    assert flows["deposit"]["mass:nickel"] == pytest.approx(-share * deposit, rel=0.01)
    assert flows["deposit"]["mass:zinc"] == pytest.approx(-(1 - share) * deposit, rel=5e-3)
    assert flows["acid balance"]["acid"] == pytest.approx(-0.07 * 100 * MOL_AH, rel=0.01)


def test_idle_zinc_in_ammonium_takes_nickel_out() -> None:
    """0.8 g/dm2.day on 4 dm2 for 7 days: 22.4 g; a tenth plates nickel out, 58.693/65.38 g each, and needs no acid."""
    flows = bath("zinc-nickel-chloride-ammonium", zinc=35.0, nickel=25.0).day(7).view("electrolyte").flows["idle zinc to acid"]
    assert flows["mass:zinc"] == pytest.approx(22.4, rel=0.01)
    assert flows["mass:nickel"] == pytest.approx(-2.24 * 58.693 / ZN, rel=0.01)
    assert flows["acid"] == pytest.approx(-2 * 22.4 * 0.9 / ZN, rel=0.01)
