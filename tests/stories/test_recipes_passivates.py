"""Trivalent passivates, the nitric dip before them and the seal after: what a season of parts takes out and puts in.

Hand-worked: 50 loads of 4 dm2 = 200 dm2; 1.5 mL/dm2 carried off, as much clean water carried in. Masses: Zn 65.38, Ni 58.693,
Fe 55.845, HNO3 63.012 g/mol.
"""

from __future__ import annotations

import math

import pytest

from tests.stories.telling import Telling

LOADS, DM2, LITRES = 50, 4.0, 20.0
KEPT = (1 - 0.0015 * DM2 / LITRES) ** LOADS  # 50 x 6 mL out of 20 L: 98.5 %


def told(role: str, recipe: str, minutes: float = 1.0, **contents: float) -> Telling:
    tale = Telling()
    tale.log("workshop", name="Slipway bench")
    tale.tank("dip", role, 1, recipe, LITRES)
    named = {n.replace("_", " "): v for n, v in contents.items()}
    tale.log("make_up", tank="dip", volume_l=LITRES, contents=named)
    for _ in range(LOADS):
        step = {"tank": "dip", "minutes": minutes, "temperature_c": 20.0}  # so cold that no water is missed
        tale.log("run", parts=[{"description": "brackets", "area_dm2": DM2}], steps=[step])
    return tale


ON_ZINC = {"zinc-blue": 0.0002, "zinc-coloured": 0.0005, "zinc-black": 0.0008}  # g chromium laid down per dm2
ON_ZINC_NICKEL = {"clear": 0.0003, "coloured": 0.0007, "zinc-nickel-black": 0.0008, "zinc-nickel-thick": 0.001}


@pytest.mark.parametrize(("kind", "laid"), [*ON_ZINC.items(), *ON_ZINC_NICKEL.items()])
def test_two_hundred_dm2(kind: str, laid: float) -> None:
    """200 dm2 x 0.02 g = 4 g zinc in (and 0.149 of it nickel on zinc-nickel), 0.1 g iron in, chromium out by film and
    drag-out.
    """
    flows = told("passivate", f"trivalent-passivate-{kind}", chromium=3.0).view("dip").flows
    assert flows["chromium laid down"]["mass:chromium"] == pytest.approx(-200 * laid, rel=1e-6)
    assert flows["drag-out"]["mass:chromium"] == pytest.approx(-60 * (1 - KEPT), rel=0.01)
    assert flows["coating dissolved"]["mass:zinc"] == pytest.approx(4.0, rel=1e-6)
    assert flows["iron dissolved"]["mass:iron"] == pytest.approx(0.1, rel=1e-6)
    nickel = 4.0 * 0.13 / 0.87 if kind in ON_ZINC_NICKEL else 0.0
    assert flows["coating dissolved"].get("mass:nickel", 0.0) == pytest.approx(nickel, rel=5e-3)
    acid = 2 * (4.0 / 65.38 + nickel / 58.693)  # two protons for each metal
    assert -flows["coating dissolved"]["acid"] == pytest.approx(acid, rel=2e-3)
    assert -flows["iron dissolved"]["acid"] == pytest.approx(2 * 0.1 / 55.845, rel=1e-3)


def test_the_thick_film_uses_cobalt_and_bears_more_zinc() -> None:
    view = told("passivate", "trivalent-passivate-zinc-thick", chromium=4.4, cobalt=2.5).view("dip")
    assert view.flows["cobalt laid down"]["mass:cobalt"] == pytest.approx(-0.02, rel=1e-6)  # 200 x 0.0001 g
    assert view.flows["chromium laid down"]["mass:chromium"] == pytest.approx(-0.24, rel=1e-6)
    assert view.species["zinc"].value == pytest.approx(4.0 / 20, rel=0.02)
    assert view.species["zinc"].window["high"] == 10.0 and view.species["zinc"].window["give_up_high"] == 20.0


def test_the_second_part_goes_with_the_parts() -> None:
    """200 dm2 x 0.01 mL = 2 mL used, and 1.5 % of a litre (50 mL/L x 20 L) carried off: 14.9 mL."""
    flows = told("passivate", "trivalent-passivate-zinc-black", chromium=3.0, second_part=50.0).view("dip").flows
    assert flows["second part used"]["mass:second part"] == pytest.approx(-2.0, rel=1e-6)
    assert flows["drag-out"]["mass:second part"] == pytest.approx(-1000 * (1 - KEPT), rel=0.01)


def test_the_hot_bath_steams() -> None:
    """60 degC: 2.82 L/m2.h on the surface of 20 L as a cube (7.37 dm2), two heated hours a load that was warmer than
    28 degC.
    """
    tale = Telling()
    tale.tank("dip", "passivate", 1, "trivalent-passivate-zinc-thick", LITRES)
    tale.log("make_up", tank="dip", volume_l=LITRES, contents={"chromium": 4.4})
    tale.log(
        "run", parts=[{"description": "bracket", "area_dm2": 4}], steps=[{"tank": "dip", "minutes": 1, "temperature_c": 60}]
    )
    flows = tale.view("dip").flows
    assert flows["evaporation, heated"]["volume"] == pytest.approx(-2.82 / 100 * 20 ** (2 / 3) * 2, rel=0.01)


@pytest.mark.parametrize(("recipe", "nickel_per_zinc"), [("nitric-dip", 0.13 / 0.87), ("nitric-dip-zinc", 0.0)])
def test_nitric_acid_used_by_the_coating(recipe: str, nickel_per_zinc: float) -> None:
    """4 dm2 x 0.25 min x 0.05 g at full strength, falling with the acid; 2.5 H+ a zinc (and iron): 2.410 g HNO3 per g zinc."""
    flows = told("acid dip", recipe, minutes=0.25, free_acid=4.8).view("dip").flows
    acid, zinc, iron = 96.0, 0.0, 0.0
    for _ in range(LOADS):
        strength = acid / 96.0
        dissolved, steel = 0.05 * DM2 * 0.25 * strength, 0.001 * DM2 * 0.25 * strength
        zinc, iron = zinc + dissolved, iron + steel
        acid -= 2.5 * 63.012 * (dissolved / 65.38 + steel / 55.845)
        acid *= 1 - 0.0015 * DM2 / LITRES
    assert flows["coating dissolved"]["mass:zinc"] == pytest.approx(zinc, rel=5e-3)
    assert flows["coating dissolved"].get("mass:nickel", 0.0) == pytest.approx(zinc * nickel_per_zinc, rel=0.01)
    assert -flows["coating dissolved"]["mass:free acid"] == pytest.approx(2.410 * zinc, rel=5e-3)
    assert flows["iron dissolved"]["mass:iron"] == pytest.approx(iron, rel=5e-3)


def test_the_seal_leaves_mostly_as_film_and_drip() -> None:
    """200 mL/L in 20 L: 200 dm2 x 0.02 mL = 4 mL laid down, and 1.5 % of 4 L carried off: 59.6 mL."""
    flows = told("seal", "seal-topcoat", sealer=200.0).view("dip").flows
    assert flows["sealer laid down"]["mass:sealer"] == pytest.approx(-4.0, rel=1e-6)
    assert flows["drag-out"]["mass:sealer"] == pytest.approx(-4000 * (1 - KEPT), rel=0.01)
    assert math.isclose(1 - KEPT, 0.0149, rel_tol=0.01)


def test_a_passivate_made_up_from_its_two_parts() -> None:
    """100 mL/L of a concentrate with 30 g/L chromium, 50 mL/L of the second part; 20 L."""
    tale = Telling()
    tale.tank("dip", "passivate", 1, "trivalent-passivate-zinc-black", LITRES)
    reagents = [
        {"reagent": "trivalent chromium passivate concentrate", "amount": 2.0, "unit": "L"},
        {"reagent": "passivate part B", "amount": 1.0, "unit": "L"},
    ]
    tale.log("make_up", tank="dip", volume_l=LITRES, reagents=reagents)
    view = tale.view("dip")
    assert view.species["chromium"].value == pytest.approx(3.0, rel=0.01)
    assert view.species["second part"].value == pytest.approx(50.0, rel=1e-3)
