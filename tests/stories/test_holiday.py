"""Zinc left hanging over a holiday: water goes, zinc climbs, the anodes agree, and lifting them is not evaporation.

Invented and self-consistent: 40 L with Zn 33.0 and Ni 24.0 g/L, 5 dm2 of zinc left hanging for 28 days. 44 g of zinc dissolve
(0.31 g/dm2 day) and 1.7 L of water evaporate, so that zinc reads 1364 g / 38.3 L = 35.6 g/L.
"""

from __future__ import annotations

import pytest

from bathkeeper.chemistry.formulas import molar_mass
from tests.stories.telling import Telling


def told(lift: bool = False) -> Telling:
    tale = Telling()
    tale.log("workshop", name="Slipway bench", scale_resolution_g=1.0)
    tale.tank("electrolyte", "plate", 1, "zinc-nickel-chloride-potassium", 40.0, surface_dm2=12.0)
    tale.log("make_up", tank="electrolyte", volume_l=40.0, contents={"zinc": 33.0, "nickel": 24.0})
    tale.log("anode", tank="electrolyte", anode="zinc-1", action="hung", metal="zinc", mass_g=4000.0, area_dm2=5.0)
    tale.read("electrolyte", "L", volume=40.0)
    tale.read("electrolyte", zinc=33.0, nickel=24.0, method="EDTA titration", lot="A")
    tale.day(28)
    if lift:
        tale.log("anode", tank="electrolyte", anode="zinc-1", action="lifted")
    return tale


def back(tale: Telling) -> Telling:
    tale.read("electrolyte", "L", volume=38.3)
    tale.read("electrolyte", zinc=35.6, method="EDTA titration", lot="A")
    tale.log("anode", tank="electrolyte", anode="zinc-1", action="weighed", mass_g=3956.0, brushed=True)
    return tale


def test_the_gain_agrees_with_the_anodes():
    view = back(told()).view("electrolyte")
    assert view.anodes["zinc-1"].mass_g.value == pytest.approx(3956, abs=2)
    gained = view.species["zinc"].value * view.volume_l.value - 33.0 * 40.0
    assert gained == pytest.approx(44, abs=12)  # two titrations of 0.7 % each cannot say it better
    loss = view.learned["idle_zinc"]
    assert loss.value == pytest.approx(0.31, abs=0.03)
    assert not loss.assumed
    assert not view.doubtful


def test_water_first_then_zinc_is_34():
    tale = back(told())
    tale.add("electrolyte", "water", 1.7, "L")
    view = tale.view("electrolyte")
    assert view.volume_l.value == pytest.approx(40.0, abs=0.4)
    assert view.species["zinc"].value == pytest.approx(34.1, abs=0.4)


def test_the_acid_is_bounded_by_all_of_it_going_to_hydrogen():
    view = back(told()).view("electrolyte")
    most = 44 * 2 / molar_mass("Zn")
    assert most == pytest.approx(1.35, abs=0.01)
    assert most * 1000 / 12.1 == pytest.approx(111, abs=1)  # mL of 37 % hydrochloric acid, 12.1 mol/L
    assert 0.5 * most < view.acid_used_mol.value <= 1.02 * most


def test_eight_grams_of_cemented_nickel_would_not_show():
    view = back(told()).view("electrolyte")
    nickel = view.species["nickel"]
    assert (nickel.high - nickel.low) / 2 * view.volume_l.value > 8


def test_lifting_the_zinc_is_not_evaporation():
    """4 kg of zinc push 0.56 L aside (7.14 g/cm3): the mark falls by that, the solution stays."""
    tale = Telling()
    tale.tank("electrolyte", "plate", 1, "zinc-nickel-chloride-potassium", 40.0, surface_dm2=12.0)
    tale.log("make_up", tank="electrolyte", volume_l=40.0, contents={"zinc": 33.0, "nickel": 24.0})
    tale.log("anode", tank="electrolyte", anode="zinc-1", action="hung", metal="zinc", mass_g=4000.0, area_dm2=5.0)
    tale.log("reading", tank="electrolyte", values=[{"of": "level", "value": 40.56, "unit": "L"}])
    before = tale.view("electrolyte").volume_l.value
    tale.log("anode", tank="electrolyte", anode="zinc-1", action="lifted")
    tale.log("reading", tank="electrolyte", values=[{"of": "level", "value": 40.0, "unit": "L"}])
    view = tale.view("electrolyte")
    assert view.volume_l.value == pytest.approx(before, abs=0.05)
    assert sum(a.get("volume", 0.0) for c, a in view.flows.items() if c.startswith("evaporation")) == pytest.approx(0, abs=0.01)
