"""Cause finder: laws of the weights, the normal distribution against a printed table, and stories with a known culprit."""

from __future__ import annotations

import math

import pytest

from bathkeeper.advice.causes import Diagnosis, causes_of, distinct, sentences, shares, strength
from bathkeeper.advice.clue import ANYWAY, IF_SO, Clue, below, beyond, factor_of
from bathkeeper.catalogue.checks import piece_faults
from bathkeeper.catalogue.defects import Evidence, bath_of, load_defects
from bathkeeper.catalogue.loader import CatalogueError, load
from bathkeeper.catalogue.schema import Electrode, Piece, Window
from tests.stories.telling import Telling

BANNED = ("optimal", "guaranteed", "compliant", "safe to pour", "non-hazardous")


def bath(recipe: str, volume_l: float = 40.0, **contents: float) -> Telling:
    tale = Telling()
    tale.tank("bath", "plate", 3, recipe, volume_l)
    stated = {n.replace("_", " "): v for n, v in contents.items()}
    tale.log("make_up", tank="bath", volume_l=volume_l, contents=stated)
    return tale


def run(tale: Telling, charge_ah: float = 10.0, minutes: float = 60.0, area_dm2: float = 4.0, **more: object) -> str:
    temperature = {"temperature_c": more.pop("temperature_c")} if "temperature_c" in more else {}
    step = {"tank": "bath", "minutes": minutes, "charge": {"charge_ah": charge_ah}, **temperature}
    return tale.log("run", parts=[{"description": "cleats", "area_dm2": area_dm2}], steps=[step], **more)


def look(tale: Telling, defect: str | None, run_id: str | None = None, tank: str | None = None) -> Diagnosis:
    return causes_of(defect, tale.world(), tale.entries, tale.moment, run=run_id, tank=tank)


def weight(found: Diagnosis, name: str) -> float:
    return next(c.weight for c in found.causes if c.name == name)


# --- arithmetic --------------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("z", "area"), [(0.0, 0.5), (1.0, 0.8413), (1.645, 0.9500), (1.96, 0.9750), (-1.0, 0.1587), (2.576, 0.9950)]
)
def test_the_normal_distribution(z: float, area: float):
    """A printed table of the standard normal distribution, four figures."""
    assert below(z) == pytest.approx(area, abs=1e-4)


def test_chance_beyond_an_edge():
    """0.4 +- 0.1 (one deviation) against 0.5: one deviation below, 84 %."""
    assert beyond(0.4, 0.1, 0.5, "low") == pytest.approx(0.8413, abs=1e-4)
    assert beyond(0.4, 0.1, 0.5, "high") == pytest.approx(0.1587, abs=1e-4)
    assert beyond(0.4, 0.0, 0.5, "low") == 1.0
    assert beyond(0.6, 0.0, 0.5, "low") == 0.0


def test_factor_by_hand():
    """Bayes by hand: certain 0.8/0.15 = 5.33, ruled out 0.2/0.85 = 0.235, and nothing at what happens anyway."""
    assert factor_of(1.0) == pytest.approx(5.333, abs=1e-3)
    assert factor_of(0.0) == pytest.approx(0.2353, abs=1e-4)
    assert factor_of(ANYWAY) == pytest.approx(1.0)
    steps = [factor_of(p / 50) for p in range(51)]
    assert steps == sorted(steps)
    assert IF_SO > ANYWAY


def clue(factor: float, of: str = "brightener", kind: str = "content") -> Clue:
    evidence = Evidence(kind=kind, of=of, side="low")  # type: ignore[arg-type]
    return Clue(evidence, "bath", 0.9 if factor > 1 else 0.01, factor, of)


def test_what_speaks_against_counts_by_its_part():
    """One of three ways to show, ruled out: the cube root of its factor; what is not known does nothing."""
    unknown = Clue(Evidence(kind="seen", of="x", side="high"), "bath", None, 1.0, "x")
    assert strength([clue(0.235), unknown, unknown]) == pytest.approx(0.235 ** (1 / 3))
    assert strength([clue(0.235)]) == pytest.approx(0.235)
    assert strength([clue(4.0), clue(0.25)]) == pytest.approx(4.0 * 0.5)
    assert strength([]) == 1.0


@pytest.mark.parametrize("others", [[0.24], [1.0, 5.3], [0.24, 0.24, 1.0], []])
def test_evidence_that_speaks_for_a_cause_never_lowers_it(others: list[float]):
    """Whatever else is known, adding a clue that speaks for both causes or for one lowers neither that it speaks for."""
    rest = [clue(f) for f in others]
    unknown = Clue(Evidence(kind="content", of="x", side="low"), "bath", None, 1.0, "x")
    for factor in (1.01, 2.0, 5.33):
        before = shares([2.0 * strength([*rest, unknown]), 1.0 * strength([unknown]), 3.0])
        both = shares([2.0 * strength([*rest, clue(factor)]), 1.0 * strength([clue(factor)]), 3.0])
        assert both[0] >= before[0] - 1e-12 and both[1] >= before[1] - 1e-12
        one = shares([2.0 * strength([*rest, clue(factor)]), 1.0 * strength([unknown]), 3.0])
        assert one[0] >= before[0]
        assert sum(both) == pytest.approx(1.0)


# --- laws over the whole catalogue -------------------------------------------------------------------------------------------


@pytest.mark.parametrize("recipe", ["watts-nickel", "zinc-nickel-chloride-potassium", "alkaline-zinc", "acid-copper"])
def test_weights_sum_to_one_whatever_the_defect(recipe: str):
    tale = bath(recipe)
    for k in range(4):
        tale.day(k + 1)
        last = run(tale)
    kind = bath_of(load().recipe(recipe))
    for name in (d.name for d in load_defects().values() if kind in d.baths):
        found = look(tale, name, last)
        assert sum(c.weight for c in found.causes) == pytest.approx(1.0)
        assert sum(c.prior for c in found.causes) == pytest.approx(1.0)
        assert all(0 < c.weight < 1 for c in found.causes)
        assert [c.weight for c in found.causes] == sorted((c.weight for c in found.causes), reverse=True)
        assert {c.name for c in found.tests} == {c.name for c in found.leading}
        minutes = [c.test_minutes for c in found.tests]
        assert minutes == sorted(minutes)
        assert not any(word in " ".join(sentences(found)).casefold() for word in BANNED)


def test_with_nothing_known_the_ranking_is_the_catalogues():
    """A seal tank that nobody read and no run: what is found is the prior, and what is missing is said."""
    tale = Telling()
    tale.tank("rinse", "rinse", 1, "still-rinse", 20.0)
    tale.tank("dry", "dry", 2, None, 20.0)
    tale.log("make_up", tank="rinse", volume_l=20.0)
    found = causes_of("stained", tale.world(), [], tale.moment, tank="rinse")
    clueless = [c for c in found.causes if not c.evidence]
    assert len(clueless) >= 2
    prior = [c.name for c in load_defects()["stained"].causes_in("rinse")]
    assert [c.name for c in found.causes if c in clueless] == [n for n in prior if n in {c.name for c in clueless}]
    bare = Telling()
    bare.tank("bath", "plate", 1, "watts-nickel", 40.0)
    never = look(bare, "burnt")
    assert [c.name for c in never.causes] == [c.name for c in load_defects()["burnt"].causes_in("nickel")]
    assert [c.weight for c in never.causes] == pytest.approx([c.prior for c in never.causes])
    assert all(c.unknown or not c.evidence for c in never.causes)


def test_more_of_the_same_evidence_never_lowers_its_cause():
    """The lower the brightener was stated, the likelier it is behind dullness."""
    weights = []
    for content in (1.5, 1.0, 0.7, 0.5, 0.4, 0.2):
        tale = bath("watts-nickel", brightener=content)
        weights.append(weight(look(tale, "dull", run(tale, charge_ah=1.0)), "brightener low"))
    assert weights == sorted(weights)
    assert weights[-1] > 0.6 > 0.35 > weights[0]


# --- stories -----------------------------------------------------------------------------------------------------------------


def test_low_brightener_and_a_dull_run():
    """40 mL in 40 L, 0.2 mL/Ah: 24 loads of 5 Ah use 24 mL, 0.4 mL/L is left, and 0.5 is the low edge."""
    tale = bath("watts-nickel", brightener=1.0, nickel=68.0)
    for k in range(24):
        tale.day(k + 1)
        if k % 6 == 0:
            tale.log("reading", tank="bath", values=[{"of": "volume", "value": 40.0, "unit": "L"}])
        last = run(tale, charge_ah=5.0, minutes=20.0)
    tale.log("remark", text="milky all over", run=last, defect="dull")
    found = look(tale, None, last)
    first = found.causes[0]
    assert (found.tank, found.bath, found.run) == ("bath", "nickel", last)
    assert first.name == "brightener low" and first.weight > first.prior
    told = first.evidence[0].text
    assert told.startswith("brightener 0.") and " then" in told and "low edge 0.5" in told
    assert float(told.split()[1]) == pytest.approx(0.4, abs=0.12)
    assert any("told already" in c.text for c in first.evidence)  # the charge since says nothing new
    assert first.because.entries and first.because.formula and any("window" in s for s in first.because.sources)
    assert found.tests[0].test_minutes <= first.test_minutes
    assert any(line.startswith("1. brightener used up") for line in sentences(found))


def test_the_bath_of_the_run_counts_not_the_one_that_was_mended_since():
    tale = bath("watts-nickel", brightener=0.3)
    bad = run(tale, charge_ah=1.0)
    tale.add("bath", "brightener", 40.0, "mL")
    found = look(tale, "dull", bad)
    assert found.causes[0].name == "brightener low"
    assert "0.3" in found.causes[0].evidence[0].text.split("then")[0]
    now = look(tale, "dull")
    assert weight(now, "brightener low") < weight(found, "brightener low")


def test_a_defect_is_no_evidence_of_itself():
    """That the load came out dull has moved the estimate of brightener; what was believed before it said so is what counts."""
    texts = []
    for more in ({}, {"defect": "dull"}):
        tale = bath("watts-nickel", nickel=68.0)
        for k in range(3):
            tale.day(k + 1)
            run(tale, charge_ah=8.0)
        tale.day(5)
        bad = run(tale, charge_ah=8.0, **more)
        first = next(c for c in look(tale, "dull", bad).causes if c.name == "brightener low")
        texts.append(next(c.text for c in first.evidence if c.evidence.kind == "content"))
    quiet, told = texts
    assert quiet.split(" then")[0] == told.split(" then")[0]
    assert "then as now" in quiet and "then as now" not in told  # the defect did move what is believed now


def test_burnt_edges_with_the_current_above_its_window():
    """30 Ah in half an hour on 4 dm2 is 15 A/dm2 of 10: too much."""
    tale = bath("watts-nickel", nickel=68.0, boric_acid=45.0)
    for k in range(5):
        tale.day(k + 1)
        usual = run(tale, charge_ah=8.0, minutes=30.0)
    bad = run(tale, charge_ah=30.0, minutes=30.0)
    found = look(tale, "burnt edges", bad)
    assert found.causes[0].name == "current too high" and found.causes[0].weight > 0.6
    assert "15 " in found.causes[0].evidence[0].text and "high edge 10" in found.causes[0].evidence[0].text
    assert weight(look(tale, "burnt", usual), "current too high") < found.causes[0].prior


def test_dark_recesses_in_nickel_with_copper_high():
    """30 mg/L of copper, three times the limit of 10: not known before it was read, and the surer the more often it is."""
    tale = bath("watts-nickel", nickel=68.0)
    for k in range(5):
        tale.day(k + 1)
        bad = run(tale, charge_ah=16.0)
    before = look(tale, "dark recesses", bad)
    unread = next(c for c in before.causes if c.name == "copper or zinc in nickel")
    assert any("copper in bath was never read" in text for text in unread.unknown)
    tale.day(8)
    tale.read("bath", "mg/L", copper=30.0)
    once = look(tale, "dark recesses", bad)
    tale.day(9)
    tale.read("bath", "mg/L", copper=30.0)
    twice = look(tale, "dark recesses", bad)
    assert twice.causes[0].name == "copper or zinc in nickel"
    weights = [weight(d, "copper or zinc in nickel") for d in (before, once, twice)]
    assert weights == sorted(weights) and weights[2] > 0.85
    assert "by 2 readings" in twice.causes[0].evidence[0].text and "high edge 0.01" in twice.causes[0].evidence[0].text
    tale.log("treatment", tank="bath", what="dummy", charge_ah=20.0)
    tale.read("bath", "mg/L", copper=2.0)
    later = look(tale, "dark recesses", bad)
    assert weight(later, "copper or zinc in nickel") == pytest.approx(weights[2])  # what a dummy took out was in it then


def test_copper_read_and_found_absent_speaks_against_itself():
    tale = bath("watts-nickel", nickel=68.0)
    bad = run(tale)
    before = weight(look(tale, "dark_recesses", bad), "copper or zinc in nickel")
    values = [{"of": "copper", "value": 1.0, "unit": "mg/L", "spread": 1.0}]
    tale.log("reading", tank="bath", values=values)
    assert weight(look(tale, "dark_recesses", bad), "copper or zinc in nickel") < before


def test_a_reading_in_doubt_is_half_believed_and_said():
    """Boric acid stated at 45 g/L and read 20: doubted, so that it speaks for its cause, but not as if it were sure."""
    tale = bath("watts-nickel", nickel=68.0, boric_acid=45.0)
    tale.read("bath", boric_acid=45.0)
    bad = run(tale)
    before = weight(look(tale, "pitting", bad), "boric acid low")
    tale.read("bath", boric_acid=20.0)
    found = look(tale, "pitting", bad)
    assert weight(found, "boric acid low") > before
    texts = [c.text for c in next(c for c in found.causes if c.name == "boric acid low").evidence]
    assert any("read 20 on" in t and "in doubt: read it again" in t for t in texts)


def passivate(days: float, ph: float, zinc: float) -> tuple[Telling, str]:
    tale = Telling()
    tale.tank("bath", "plate", 1, "zinc-chloride-potassium", 40.0)
    tale.tank("blue", "passivate", 3, "trivalent-passivate-clear", 10.0)
    tale.log("make_up", tank="bath", volume_l=40.0)
    tale.log("make_up", tank="blue", volume_l=10.0)
    tale.day(days)
    values = [{"of": "ph", "value": ph, "unit": "pH", "method": "pH meter"}]
    tale.log("reading", tank="blue", values=values)
    for _ in range(2):
        tale.read("blue", zinc=zinc)
    steps = [{"tank": "bath", "minutes": 60.0, "charge": {"charge_ah": 10.0}}, {"tank": "blue", "minutes": 0.7}]
    bad = tale.log("run", parts=[{"description": "hooks", "area_dm2": 5.0}], steps=steps, defect="no colour")
    return tale, bad


def test_pale_from_an_old_passivate_full_of_zinc():
    """Zinc at 9 g/L of 4, the pH in its window: the metals, not the pH."""
    window = load().recipe("trivalent-passivate-clear").indicators["ph"]
    assert window.low is not None and window.high is not None
    middle = (window.low + window.high) / 2
    tale, bad = passivate(200, middle, zinc=9.0)
    found = look(tale, None, bad)
    assert (found.tank, found.defect.name) == ("blue", "pale_passivate")
    assert found.causes[0].name == "metals high"
    assert found.causes[0].weight > found.causes[0].prior
    assert weight(found, "pH out of window") < next(c.prior for c in found.causes if c.name == "pH out of window")
    fresh, other = passivate(5, window.high + 1.0, zinc=0.1)
    assert look(fresh, None, other).causes[0].name == "pH out of window"


def test_a_cold_run_is_told_once():
    tale = bath("watts-nickel", nickel=68.0)
    tale.log("reading", tank="bath", values=[{"of": "temperature", "value": 20.0, "unit": "degC"}])
    bad = run(tale, temperature_c=22.0)
    cold = next(c for c in look(tale, "burnt", bad).causes if c.name == "cold")
    assert [c.factor > 1 for c in cold.evidence].count(True) == 1
    assert any("told already" in c.text for c in cold.evidence)
    assert cold.weight > cold.prior


def test_blisters_look_into_the_degreaser_and_the_pickle():
    tale = Telling()
    tale.tank("clean", "degrease", 1, "alkaline-degreaser", 20.0)
    tale.tank("pickle", "pickle", 2, "bisulfate-pickle", 20.0)
    tale.tank("bath", "plate", 3, "zinc-chloride-potassium", 40.0)
    for tank, volume in (("clean", 20.0), ("pickle", 20.0), ("bath", 40.0)):
        tale.log("make_up", tank=tank, volume_l=volume)
    tale.day(3)
    for _ in range(3):
        tale.read("clean", free_alkali=4.0)
    steps = [{"tank": "clean", "minutes": 10.0}, {"tank": "pickle", "minutes": 10.0},
             {"tank": "bath", "minutes": 60.0, "charge": {"charge_ah": 10.0}}]  # fmt: skip
    bad = tale.log("run", parts=[{"description": "hooks", "area_dm2": 5.0}], steps=steps)
    found = look(tale, "blisters", bad)
    first = found.causes[0]
    assert first.name == "poor cleaning"
    assert any(c.text.startswith("clean: free alkali") for c in first.evidence)
    assert any("Water-break test" in c.test for c in found.tests[:2])


def test_a_broken_hard_part_and_no_bake():
    tale = bath("zinc-chloride-potassium")
    step = {"tank": "bath", "minutes": 60.0, "charge": {"charge_ah": 10.0}}
    parts = [{"description": "bolts", "area_dm2": 5.0, "property_class": "12.9"}]
    bad = tale.log("run", parts=parts, steps=[step])
    tale.day(9)
    found = look(tale, "snapped", bad)
    assert found.causes[0].name == "not baked in time"
    assert any("no bake is on record" in c.text for c in found.causes[0].evidence)
    assert any("sensitive to hydrogen" in c.text for c in found.causes[0].evidence)
    assert "out of use" in sentences(found)[1]


def test_organics_are_counted_from_the_last_carbon():
    tale = bath("watts-nickel", nickel=68.0)
    for k in range(20):
        tale.day(k + 1)
        last = run(tale, charge_ah=150.0, minutes=600.0)
    full = weight(look(tale, "dull", last), "organics")
    tale.log("treatment", tank="bath", what="carbon")
    tale.day(25)
    after = run(tale, charge_ah=1.0)
    assert weight(look(tale, "dull", after), "organics") < full


# --- errors ------------------------------------------------------------------------------------------------------------------


def test_what_cannot_be_looked_up_is_said():
    tale = bath("watts-nickel")
    good = run(tale)
    with pytest.raises(ValueError, match="no run ends in `nothing`; the last one is story"):
        look(tale, "dull", "nothing")
    with pytest.raises(ValueError, match="several runs end in"):
        run(tale)
        look(tale, "dull", "")
    with pytest.raises(ValueError, match="no defect is on record for that run; name one"):
        look(tale, None, good)
    with pytest.raises(CatalogueError, match="no defect `dul`"):
        look(tale, "dul", good)
    with pytest.raises(ValueError, match="no tank is called `vat`; there are bath"):
        look(tale, "dull", tank="vat")
    with pytest.raises(ValueError, match="does not arise in bath"):
        look(tale, "smut", tank="bath")
    with pytest.raises(ValueError, match="that run went through none"):
        look(tale, "smut", good)
    with pytest.raises(ValueError, match="the line has none"):
        look(tale, "smut")


def test_a_defect_of_drying_is_looked_for_where_it_dries():
    tale = Telling()
    tale.tank("rinse", "rinse", 1, "still-rinse", 20.0)
    tale.tank("oven", "dry", 2, "drying", 20.0)
    tale.log("make_up", tank="rinse", volume_l=20.0)
    tale.log("reading", tank="rinse", values=[{"of": "conductivity", "value": 25.0, "unit": "mS/cm"}])
    found = causes_of("stained", tale.world(), tale.entries, tale.moment, tank="oven")
    assert found.causes[0].name == "dirty last rinse"
    assert any(c.text.startswith("rinse: conductivity 25") for c in found.causes[0].evidence)


def test_nothing_after_the_moment_is_used():
    tale = bath("watts-nickel", nickel=68.0)
    bad = run(tale)
    then, world = tale.moment, tale.world()
    before = causes_of("dark_recesses", world, tale.entries, then, run=bad)
    tale.day(5)
    tale.log("reading", tank="bath", values=[{"of": "temperature", "value": 10.0, "unit": "degC"}])
    again = causes_of("dark_recesses", world, tale.entries, then, run=bad)
    assert [(c.name, c.weight) for c in before.causes] == [(c.name, c.weight) for c in again.causes]


def test_a_second_telling_of_the_same_fact_is_kept_but_not_counted():
    tale = bath("watts-nickel")
    run(tale)
    world = tale.world()

    class _Scene:
        pass

    scene = _Scene()
    scene.world = world  # type: ignore[attr-defined]
    told = distinct([clue(5.3), clue(5.3, "since_addition_ah", "counter")], scene)  # type: ignore[arg-type]
    assert [c.factor for c in told] == [5.3, 1.0]
    assert math.isclose(strength(told), 5.3)


def test_an_unknown_metal_in_a_recipes_anode_density_is_refused():
    window = Window(unit="A/dm2", high=3.0, status="practice")
    piece = Piece(electrode=Electrode(anode_density={"zink": window}))
    catalogue = load()
    faults = list(piece_faults(piece, catalogue.metals, list(catalogue.reagents.values()), catalogue.recipes, catalogue.water))
    assert any("electrode.anode_density: there is no metal `zink`" in f and "zinc" in f for f in faults)
    assert catalogue.check() == []
