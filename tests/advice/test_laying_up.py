"""Lay-up and wake-up lists: numbers from a published solubility table and by hand, items by the state of each tank."""

from __future__ import annotations

from datetime import timedelta

import pytest

from bathkeeper.advice.laying_up import Checklist, lay_up, wake_up
from bathkeeper.advice.resting import boric_soluble_g_l, crystals, displaced_l, freezes_c
from bathkeeper.catalogue.loader import load
from bathkeeper.entries import parse
from tests.stories.telling import Telling

BANNED = ("optimal", "guaranteed", "compliant", "safe to pour", "non-hazardous")
TANKS = (
    ("clean", "degrease", "alkaline-degreaser", 20.0, 20.0),
    ("pickle", "pickle", "hydrochloric-pickle", 20.0, 20.0),
    ("watts", "plate", "watts-nickel", 40.0, 40.0),
    ("electrolyte", "plate", "zinc-nickel-chloride-potassium", 40.0, 38.5),
    ("rinse", "rinse", "still-rinse", 20.0, 20.0),
    ("passivate", "passivate", "trivalent-passivate-clear", 10.0, 10.0),
)


@pytest.fixture(scope="module")
def tale() -> Telling:
    tale = Telling()
    for order, (name, role, recipe, working, _) in enumerate(TANKS, 1):
        tale.tank(name, role, order, recipe, working)
    tale.tank("spare", "plate", 7, "watts-nickel", 40.0)
    for name, _, _, _, volume in TANKS:
        contents = {"boric acid": 45.0} if name == "watts" else {}
        tale.log("make_up", tank=name, volume_l=volume, contents=contents)
    tale.log("anode", tank="electrolyte", anode="zinc-1", action="hung", metal="zinc", mass_g=4000.0, area_dm2=5.0)
    tale.log("anode", tank="electrolyte", anode="nickel-1", action="hung", metal="nickel", mass_g=1500.0, area_dm2=3.0)
    return tale


def of(lists: list[Checklist], tank: str) -> Checklist:
    return next(c for c in lists if c.tank == tank)


def words(found: Checklist) -> str:
    return " ".join([f"{a.step.why} {a.step.caution}" for a in found.items] + list(found.lines))


# --- figures -----------------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("temperature_c", "per_100_g"), [(0, 2.77), (10, 3.65), (20, 4.87), (25, 5.74), (40, 8.9), (60, 14.89)]
)
def test_boric_acid_follows_the_table(temperature_c: float, per_100_g: float):
    """g in 100 g of water (en.chemister.ru, id 397), in the 0.9 kg of water that a litre of bath holds."""
    assert boric_soluble_g_l(temperature_c) == pytest.approx(9 * per_100_g)


def test_boric_acid_between_the_rows_and_beside_other_sources():
    """4.72 g in 100 g of solution at 20 degC (an encyclopaedia) is 4.95 in 100 g of water; about 30 g/L in a cold nickel bath
    (pfonline.com, crystals in nickel tank), 4 oz/gal."""
    assert boric_soluble_g_l(20) == pytest.approx(9 * 4.72 / 0.9528, rel=0.02)
    assert boric_soluble_g_l(7) == pytest.approx(30, abs=1.0)
    steps = [boric_soluble_g_l(t) for t in range(61)]
    assert steps == sorted(steps)
    for beyond in (-1, 61, float("nan")):
        with pytest.raises(ValueError, match="0 to 60 degC"):
            boric_soluble_g_l(beyond)


def test_what_lies_on_the_bottom_of_a_cold_watts_bath(tale: Telling):
    """45 g/L in 40 L at 10 degC: (45 - 32.85) x 40 = 486 g."""
    fallen = crystals(tale.state("watts"), 10.0)
    assert fallen is not None and fallen.grams == pytest.approx(486, abs=3)
    assert crystals(tale.state("pickle"), 10.0) is None
    warm = crystals(tale.state("watts"), 55.0)
    assert warm is not None and warm.grams == 0


def test_first_ice(tale: Telling):
    """Clean water at 0; 2 mol/L of particles in 0.9 kg near -4 degC (1.86 K kg/mol); a strong chloride bath well below -5."""
    metals = load().metals
    assert freezes_c(tale.state("rinse"), metals) == pytest.approx(0, abs=0.2)
    assert freezes_c(tale.state("electrolyte"), metals) < -5
    assert -20 < freezes_c(tale.state("watts"), metals) < -2


def test_the_mark_falls_by_the_volume_of_the_anodes(tale: Telling):
    """4 kg / 7.14 g/cm3 = 0.56 L."""
    assert displaced_l(tale.state("electrolyte"), ["zinc-1"], load().metals) == pytest.approx(0.560, abs=0.001)


# --- lay-up ------------------------------------------------------------------------------------------------------------------


def test_zinc_comes_out_with_what_it_would_cost(tale: Telling):
    """0.5 g/(dm2 day) x 5 dm2 x 28 days = 70 g; x 2/65.38 / 12.04 mol/L = 178 mL of 37 % hydrochloric acid at most."""
    found = of(lay_up(tale.world(), tale.moment, 28), "electrolyte")
    lift = next(a for a in found.items if a.step.why.startswith("lift zinc-1"))
    assert "about 70 g in 28 days" in lift.step.why
    assert "up to 178 mL of hydrochloric acid 37%" in lift.step.why
    assert "0.56 L" in lift.step.why
    assert lift.because.formula and any("idle loss" in s for s in lift.because.sources)
    assert any(a.step.of == "anode:zinc-1" and a.step.action == "measure" for a in found.items)
    assert any("lift nickel-1" in a.step.why for a in found.items)


def test_a_long_weekend_leaves_the_nickel_hanging(tale: Telling):
    found = of(lay_up(tale.world(), tale.moment, 3), "electrolyte")
    assert not any("lift nickel-1" in a.step.why for a in found.items)
    assert any("nickel-1 may stay" in a.step.why for a in found.items)
    assert "about 8 g in 3 days" in words(found)  # 7.5 g


def test_loss_grows_with_the_rest_and_never_past_the_anode(tale: Telling):
    def grams(days: float) -> float:
        text = next(
            a.step.why for a in of(lay_up(tale.world(), tale.moment, days), "electrolyte").items if "lose" in a.step.why
        )
        return float(text.split("lose about ")[1].split(" g")[0])

    losses = [grams(d) for d in (7, 28, 90, 365, 3650)]
    assert losses == sorted(losses)
    assert losses[-1] <= 4000


def test_level_power_lid_label_and_readings(tale: Telling):
    lists = lay_up(tale.world(), tale.moment, 28)
    bath = of(lists, "electrolyte")
    water = next(a.step for a in bath.items if a.step.action == "add")
    assert (water.reagent, water.unit) == ("water", "L")
    assert water.amount == pytest.approx(1.5, abs=0.05)
    text = words(bath)
    for word in ("unplugged", "heater off", "lid on", "label: electrolyte", "filter", "before leaving"):
        assert word in text
    assert [a.step.step for a in bath.items] == list(range(1, len(bath.items) + 1))
    assert "vapour rusts" in words(of(lists, "pickle"))
    assert "carbonate" in words(of(lists, "clean"))
    assert "fish out fallen parts" in words(of(lists, "passivate"))
    assert all(a.because.sources or a.because.text for c in lists for a in c.items)
    assert [c.tank for c in lists] == [t[0] for t in TANKS]  # in process order, the empty tank left out


def test_crystals_stay_in_the_bath(tale: Telling):
    cold = of(lay_up(tale.world(), tale.moment, 28, coldest_c=10), "watts")
    item = next(a for a in cold.items if "crystals" in a.step.why and "leave" in a.step.why)
    assert "486 g of boric acid" in item.step.why
    assert any("chemister" in s for s in item.because.sources)
    assert "leave the crystals" not in words(of(lay_up(tale.world(), tale.moment, 28, coldest_c=25), "watts"))


def test_frost_is_spoken_of_where_it_bites(tale: Telling):
    winter = lay_up(tale.world(), tale.moment, 60, coldest_c=-2)
    assert "keep it from frost" in words(of(winter, "rinse"))
    assert "keep it from frost" in words(of(winter, "passivate"))
    mild = lay_up(tale.world(), tale.moment, 60, coldest_c=15)
    assert not any("frost" in words(c) for c in mild)


def test_a_passivate_that_will_be_too_old_is_told(tale: Telling):
    lists = lay_up(tale.world(), tale.moment, 400)
    assert "past its usual" in words(of(lists, "passivate"))
    assert "local authority" in words(of(lists, "passivate"))
    assert "past its usual" not in words(of(lay_up(tale.world(), tale.moment, 5), "passivate"))


def test_a_rinse_tells_what_it_holds(tale: Telling):
    other = Telling()
    other.tank("bath", "plate", 1, "watts-nickel", 40.0)
    other.tank("rinse", "rinse", 2, "still-rinse", 20.0)
    other.log("make_up", tank="bath", volume_l=40.0, contents={"nickel": 68.0})
    other.log("make_up", tank="rinse", volume_l=20.0)
    for k in range(10):
        other.day(k + 1)
        steps = [{"tank": "bath", "minutes": 30.0, "charge": {"charge_ah": 5.0}}, {"tank": "rinse", "minutes": 1.0}]
        other.log("run", parts=[{"description": "plates", "area_dm2": 4.0}], steps=steps)
    item = of(lay_up(other.world(), other.moment, 28), "rinse").items[0]
    assert "g nickel" in item.step.why and "local authority" in item.step.why  # 10 x 4 dm2 x 1.5 mL x 68 g/L: about 4 g


@pytest.mark.parametrize(("days", "coldest"), [(0, 5), (-1, 5), (4000, 5), (float("nan"), 5), (28, -60), (28, 80)])
def test_a_rest_that_cannot_be(tale: Telling, days: float, coldest: float):
    with pytest.raises(ValueError, match=r"days|degC"):
        lay_up(tale.world(), tale.moment, days, coldest_c=coldest)


# --- wake-up -----------------------------------------------------------------------------------------------------------------


def test_wake_up_warms_and_stirs_before_it_reads_and_doses_nothing(tale: Telling):
    back = tale.moment + timedelta(days=28)
    found = of(wake_up(tale.world(), back, room_c=10.0), "watts")
    text = [a.step.why for a in found.items]
    order = ["warm to 55", "do not add boric acid", "stir the crystals", "boric acid of the warm", "is scrap"]
    place = {key: next(i for i, t in enumerate(text) if key in t) for key in order}
    assert sorted(place, key=lambda k: place[k]) == order
    assert {a.step.reagent for a in found.items if a.step.action == "add"} <= {"water"}
    assert "reads low" in text[place["do not add boric acid"]]
    assert place["is scrap"] == len(text) - 1
    assert found.items[-1].step.action == "plate" and "panel" in text[-1]


def test_wake_up_expects_what_time_did(tale: Telling):
    """Evaporation of four weeks is in the level that is expected; anodes that hung are weighed, lifted ones hung."""
    back = tale.moment + timedelta(days=28)
    bath = of(wake_up(tale.world(), back), "electrolyte")
    level = next(a.step.why for a in bath.items if a.step.of == "level")
    assert float(level.split("hung: ")[1].split(" ")[0]) < 38.4
    assert any("lift zinc-1, nickel-1, which hung all the while" in a.step.why for a in bath.items)
    assert any(a.step.of == "ph" for a in bath.items) and any(a.step.of == "zinc" for a in bath.items)
    rest = Telling()
    rest.entries = [*tale.entries, parse({"kind": "anode", "id": "story-90000", "at": tale.moment + timedelta(hours=1),
                    "tank": "electrolyte", "anode": "zinc-1", "action": "lifted"})]  # fmt: skip
    rest.moment = back
    again = of(wake_up(rest.world(), back), "electrolyte")
    assert any(a.step.why.startswith("brush zinc-1") for a in again.items)


def test_wake_up_of_an_old_passivate_and_an_empty_tank(tale: Telling):
    lists = wake_up(tale.world(), tale.moment + timedelta(days=400))
    assert "make this passivate up fresh" in words(of(lists, "passivate"))
    assert "make it up" in words(of(lists, "spare"))
    with pytest.raises(ValueError, match="degC"):
        wake_up(tale.world(), tale.moment, room_c=90)


def test_a_checklist_is_a_plan_that_can_be_accepted(tale: Telling):
    for purpose, lists in (("lay up", lay_up(tale.world(), tale.moment, 28)), ("wake up", wake_up(tale.world(), tale.moment))):
        for number, found in enumerate(lists):
            plan = {"kind": "plan", "id": f"plan-{number:05d}", "at": tale.moment, "tank": found.tank, "purpose": purpose}
            entry = parse({**plan, "steps": list(found.advice.plan_steps)})
            assert len(entry.steps) == len(found.items)  # type: ignore[union-attr]
            assert not any(word in words(found).casefold() for word in BANNED)
