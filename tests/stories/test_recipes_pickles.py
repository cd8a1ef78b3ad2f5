"""Hydrochloric and sulfuric pickles, bare and inhibited: what a load of rusty parts costs in acid and leaves as iron.

Hand-worked from first principles: rust at 0.4 g iron per dm2 takes 2.7 H+ per iron, clean steel 2 H+; parts carry 1.5
mL/dm2 off.
Masses: HCl 36.458, H2SO4 98.072, Fe 55.845 g/mol.
"""

from __future__ import annotations

import math

import pytest

from bathkeeper.catalogue.loader import load
from tests.stories.telling import Telling

G_PER_H = {"hydrochloric": 36.458, "sulfuric": 98.072 / 2}  # g of the acid that give one mol of H+
START = {"hydrochloric": 100.0, "sulfuric": 150.0}  # g/L
STEEL = {  # g iron per dm2 and minute at the starting strength and the bath's usual warmth
    ("hydrochloric", ""): 0.0013,
    ("hydrochloric", "-inhibited"): 0.00016,
    ("sulfuric", ""): 0.0015,
    ("sulfuric", "-inhibited"): 0.0002,
}
USUAL_C = {"hydrochloric": 20.0, "sulfuric": 25.0}
LITRES, DM2, MINUTES = 20.0, 4.0, 15.0


def told(acid: str, kind: str, runs: int, celsius: float | None = None) -> Telling:
    tale = Telling()
    tale.log("workshop", name="Slipway bench")
    tale.tank("pickle", "pickle", 1, f"{acid}-pickle{kind}", LITRES)
    tale.log("make_up", tank="pickle", volume_l=LITRES, contents={"free acid": START[acid]})
    step = {"tank": "pickle", "minutes": MINUTES} | ({"temperature_c": celsius} if celsius is not None else {})
    for _ in range(runs):
        tale.log("run", parts=[{"description": "hinges", "area_dm2": DM2}], steps=[step])
    return tale


def by_hand(acid: str, kind: str, runs: int, warmer_by: float = 0.0) -> dict[str, float]:
    free, iron = LITRES * START[acid], 0.0
    for _ in range(runs):
        rust = 0.4 * DM2
        steel = STEEL[acid, kind] * DM2 * MINUTES * math.sqrt(free / LITRES / START[acid]) * math.exp(0.0185 * warmer_by)
        iron += rust + steel
        free -= (2.7 * rust + 2 * steel) / 55.845 * G_PER_H[acid]
        kept = 1 - 0.0015 * DM2 / LITRES  # what leaves on the parts; as much clean water comes in on them
        iron, free = iron * kept, free * kept
    return {"iron": iron / LITRES, "free acid": free / LITRES}


@pytest.mark.parametrize(("acid", "kind"), STEEL)
def test_forty_loads(acid: str, kind: str) -> None:
    view = told(acid, kind, 40).view("pickle")
    hand = by_hand(acid, kind, 40)
    assert view.species["iron"].value == pytest.approx(hand["iron"], rel=0.01)
    assert START[acid] - view.species["free acid"].value == pytest.approx(START[acid] - hand["free acid"], rel=0.01)
    assert view.volume_l.value == pytest.approx(LITRES, abs=0.05)


def test_one_load_by_pencil() -> None:
    """1.6 g of rust iron: 1.6/55.845 x 2.7 x 36.458 = 2.820 g HCl; 0.078 g of steel: 0.078/55.845 x 2 x 36.458 = 0.102 g."""
    flows = told("hydrochloric", "", 1).view("pickle").flows
    assert flows["rust dissolved"]["mass:iron"] == pytest.approx(1.6, rel=1e-6)
    assert flows["rust dissolved"]["mass:free acid"] == pytest.approx(-2.820, abs=0.002)
    assert flows["steel dissolved"]["mass:iron"] == pytest.approx(0.078, rel=1e-3)
    assert flows["steel dissolved"]["mass:free acid"] == pytest.approx(-0.102, abs=0.001)
    assert flows["drag-out"]["mass:free acid"] == pytest.approx(-0.006 * 99.85, rel=2e-3)  # 6 mL of what is left, 99.85 g/L


def test_the_inhibitor_spares_steel_and_nothing_else() -> None:
    bare = told("hydrochloric", "", 40).view("pickle").flows
    inhibited = told("hydrochloric", "-inhibited", 40).view("pickle").flows
    assert inhibited["rust dissolved"]["mass:iron"] == pytest.approx(bare["rust dissolved"]["mass:iron"], rel=1e-6)
    spared = 1 - inhibited["steel dissolved"]["mass:iron"] / bare["steel dissolved"]["mass:iron"]
    assert spared == pytest.approx(0.88, abs=0.01)  # Scientific Reports 2023, s41598-023-41165-7: 88 % less at 30 degC
    assert inhibited["inhibitor used"]["mass:inhibitor"] == pytest.approx(-0.005 * 4.0 * 40, rel=1e-6)


def test_warm_acid_eats_steel_as_the_paper_says() -> None:
    """7.00 against 4.02 g/m2.h, 60 against 30 degC (same paper, table 4): 1.74 times for 30 degrees."""
    cold = told("hydrochloric", "", 1, USUAL_C["hydrochloric"]).view("pickle").flows["steel dissolved"]["mass:iron"]
    warm = told("hydrochloric", "", 1, USUAL_C["hydrochloric"] + 30).view("pickle").flows["steel dissolved"]["mass:iron"]
    assert warm / cold == pytest.approx(7.00 / 4.02, rel=0.01)


def test_a_stripped_reject_takes_two_protons_for_each_metal() -> None:
    """5.5 g of zinc-nickel, 87 % zinc: (4.785/65.38 + 0.715/58.693) x 2 x 36.458 = 6.224 g HCl; sulfuric x 49.036: 8.372 g."""
    for acid, grams in (("hydrochloric", 6.224), ("sulfuric", 8.372)):
        tale = told(acid, "", 0)
        parts = [{"description": "reject", "area_dm2": 0.5, "coating_stripped_g": 5.5}]
        tale.log("run", parts=parts, steps=[{"tank": "pickle", "minutes": 3}])
        flows = tale.view("pickle").flows["coating stripped"]
        assert flows["mass:zinc"] == pytest.approx(4.785, rel=1e-3) and flows["mass:nickel"] == pytest.approx(0.715, rel=1e-3)
        assert flows["mass:free acid"] == pytest.approx(-grams, rel=1e-3)


@pytest.mark.parametrize(
    ("acid", "bottle", "ml"), [("hydrochloric", "hydrochloric acid 37%", 227.8), ("sulfuric", "sulfuric acid 96%", 84.9)]
)
def test_made_up_from_the_bottle(acid: str, bottle: str, ml: float) -> None:
    """100 g/L over 1.18 x 0.372 and 150 g/L over 1.84 x 0.96 g/mL; 20 L of it."""
    tale = Telling()
    tale.tank("pickle", "pickle", 1, f"{acid}-pickle", LITRES)
    step = next(s for s in load().recipes[f"{acid}-pickle"].make_up if s.reagent == bottle)
    assert step.amount_ml_l == pytest.approx(ml, abs=0.3)
    reagents = [{"reagent": bottle, "amount": (step.amount_ml_l or 0) * LITRES / 1000, "unit": "L"}]
    tale.log("make_up", tank="pickle", volume_l=LITRES, reagents=reagents)
    assert tale.view("pickle").species["free acid"].value == pytest.approx(START[acid], rel=2e-3)
