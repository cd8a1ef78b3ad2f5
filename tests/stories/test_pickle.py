"""A dry-acid pickle from make-up to dump: free acid titrated once, old coatings stripped, what goes to waste.

Invented and self-consistent: 20 L of 100 g/L NaHSO4, four runs a week on 4.3 dm2, 3.0 g of iron each, 2.4 H+ per iron, drag-out
1.5 mL/dm2. Run 52 (week 13): a 10 mL sample takes 4.87 mL of 1 N caustic. Rejects with 5.5 g of coating each at runs 56, 58,
60.
"""

from __future__ import annotations

import pytest

from bathkeeper.chemistry.formulas import molar_mass
from bathkeeper.chemistry.titration import concentration_g_l
from tests.stories.telling import Telling

NAHSO4, FE, ZN, NI = 120.06, 55.845, 65.38, 58.693


def hand_worked(runs: int, per_iron: float, stripped: int = 0) -> dict[str, float]:
    """Free acid in mol, metals in g, and what was dragged out, after so many runs."""
    acid, iron, zinc, nickel, dragged = 20 * 100 / NAHSO4, 0.0, 0.0, 0.0, 0.0
    share = 4.3 * 1.5e-3 / 20
    for _ in range(runs):
        iron += 3.0
        acid -= 3.0 / FE * per_iron
        dragged += acid * share
        acid, iron = acid * (1 - share), iron * (1 - share)
    for _ in range(stripped):
        zinc += 5.5 * 0.87
        nickel += 5.5 * 0.13
        acid -= 2 * (5.5 * 0.87 / ZN + 5.5 * 0.13 / NI)
    return {"acid": acid, "iron": iron, "zinc": zinc, "nickel": nickel, "dragged": dragged}


def told(upto: int) -> Telling:
    tale = Telling()
    tale.log("workshop", name="Slipway bench")
    tale.tank("pickle", "pickle", 1, "bisulfate-pickle", 20.0)
    tale.log("make_up", tank="pickle", volume_l=20.0, contents={"free acid": 100.0})
    for number in range(1, upto + 1):
        tale.day(number * 7 / 4)
        part = {"description": "hinges", "area_dm2": 4.3}
        if number in (56, 58, 60):
            part["coating_stripped_g"] = 5.5
        tale.log("run", parts=[part], steps=[{"tank": "pickle", "minutes": 10.0}])
        if number % 8 == 0:
            tale.log("reading", tank="pickle", values=[{"of": "volume", "value": 20.0, "unit": "L"}])
        if number == 52:
            read = concentration_g_l(4.87, 10.0, 1.0, molar_mass("NaHSO4"))
            tale.read("pickle", free_acid=read)
            tale.read("pickle", iron=round(hand_worked(52, 2.4)["iron"] / 20, 1), method="iron by permanganate")
    return tale


def test_the_story_is_what_it_says():
    at_52 = hand_worked(52, 2.4)
    assert at_52["acid"] / (2000 / NAHSO4) == pytest.approx(0.58, abs=0.005)
    assert hand_worked(52, 2.0)["acid"] / (2000 / NAHSO4) == pytest.approx(0.65, abs=0.006)  # the metal-only figure
    assert at_52["acid"] * NAHSO4 / 20 == pytest.approx(58.5, abs=0.3)
    assert pytest.approx(58.5, abs=0.05) == 4.87 * NAHSO4 / 10


def test_acid_per_iron_is_learned():
    view = told(52).view("pickle")
    assert view.species["free acid"].value == pytest.approx(58.5, abs=1.2)
    ratio = view.learned["acid_per_iron"]
    assert ratio.value == pytest.approx(2.4, abs=0.2)
    assert ratio.low > 2.0
    assert not ratio.assumed


def test_half_the_acid_comes_long_before_an_iron_limit():
    view = told(60).view("pickle")
    acid = view.species["free acid"]
    assert acid.value / 100 == pytest.approx(0.50, abs=0.03)
    assert acid.low < 50 < acid.high + 2
    assert view.species["iron"].value < 10  # 15 g/L would come only at run 102


def test_what_is_dumped_at_run_64():
    tale = told(64)
    tale.log("removal", tank="pickle", all=True, to="drum-1")
    world = tale.world()
    drum = world.containers["drum-1"].held()
    litres = drum["volume"]
    assert litres == pytest.approx(20, abs=0.6)
    truth = hand_worked(64, 2.4, stripped=3)
    assert drum["mass:iron"] / litres == pytest.approx(9.5, abs=0.35)
    assert truth["iron"] / 20 == pytest.approx(9.5, abs=0.05)
    assert drum["mass:zinc"] / litres == pytest.approx(0.72, abs=0.03)
    assert drum["mass:nickel"] / litres == pytest.approx(0.107, abs=0.01)
    # By the acid's own account the base that it would take is what was made up less what was dragged out: 16.3 equivalents.
    life = world.tanks["pickle"].lives[-1]
    dragged = -life.flows["drag-out"]["mass:free acid"] / NAHSO4
    assert 2000 / NAHSO4 - dragged == pytest.approx(16.3, abs=0.15)
    assert 2000 / NAHSO4 - truth["dragged"] == pytest.approx(16.35, abs=0.06)
    assert not world.tanks["pickle"].alive
