"""Setting a load where something is missing or must not be: no area, window, recipe or anodes; wrong anodes; threads; heat."""

from __future__ import annotations

import json
import math
from dataclasses import replace

import pytest

from bathkeeper.catalogue.loader import load
from bathkeeper.catalogue.setting import setting_defaults
from bathkeeper.catalogue.typed import CatalogueError
from bathkeeper.entries import Part
from bathkeeper.runs.fitting import fit_cautions, hydrogen_cautions, metric_thread
from bathkeeper.runs.past import past_runs
from bathkeeper.runs.setting import SettingError, Wish, set_run
from bathkeeper.units.numerals import Preferences
from tests.estimate.helpers import Book
from tests.runs.setting_books import bath_of, define, known, set_in, zinc_nickel

PLATING = [n for n, r in load().recipes.items() if r.role == "plate"]


@pytest.mark.parametrize("recipe", PLATING)
def test_every_plating_recipe_says_its_window_with_where_it_is_from(recipe: str):
    electrode = load().recipes[recipe].electrode
    assert electrode.density is not None and electrode.density.source
    assert electrode.density.low < electrode.density.target < electrode.density.high
    for metal in electrode.anodes:
        assert electrode.anode_density[metal].high > 0 and electrode.anode_density[metal].source


@pytest.mark.parametrize("recipe", PLATING)
def test_a_load_can_be_set_in_every_plating_recipe(recipe: str):
    setting = set_in(bath_of(recipe), area_dm2=3, thickness_um=8)
    assert setting.current_a.value == pytest.approx(3 * setting.density.target)
    assert 0 < setting.minutes.low < setting.minutes.value < setting.minutes.high
    assert setting.lines(Preferences()) and json.dumps(setting.plain())
    if setting.holding is not None:
        assert setting.shares_text
    assert any("no anode is on record as hung" in c for c in setting.cautions)


def test_without_an_area_the_time_is_known_and_the_current_is_not():
    with_area = set_in(zinc_nickel(), area_dm2=5, density_a_dm2=2, thickness_um=8)
    setting = set_in(zinc_nickel(), density_a_dm2=2, thickness_um=8)
    assert setting.current_a is None and setting.charge_ah is None
    assert setting.minutes.value == pytest.approx(with_area.minutes.value)
    assert any("no area is told" in n for n in setting.notes)
    assert setting.lines(Preferences())[0].startswith("current density: 2 A/dm²")


def test_a_current_without_an_area_says_nothing_of_time():
    setting = set_in(zinc_nickel(), current_a=6.5, thickness_um=8)
    assert setting.minutes is None and setting.current_a.value == 6.5
    assert any("nothing of thickness" in n for n in setting.notes)


def test_without_a_window_the_density_is_asked_for():
    book = bath_of("own")
    define(book, "recipe", "own", based_on="zinc-chloride-potassium", electrode={"density": None})
    setting = set_in(book, area_dm2=3, thickness_um=8)
    assert setting.current_a is None and setting.minutes is None and setting.standing == "unknown"
    assert any("give the current density" in n for n in setting.notes)
    told = set_in(book, area_dm2=3, density_a_dm2=1.5)
    assert (told.current_a.low, told.current_a.value, told.current_a.high) == (4.5, 4.5, 4.5)


def test_a_keepers_own_window():
    book = zinc_nickel()
    define(book, "limit", "gentle", of="current density", tank="bath", target=1.2, high=1.8)
    setting = set_in(book, area_dm2=5)
    assert (setting.current_a.low, setting.current_a.value, setting.current_a.high) == pytest.approx((5, 6, 9))
    assert "keeper's own limit `gentle`" in setting.density.source and setting.density.status == "practice"
    other = zinc_nickel()
    define(other, "limit", "gentle", of="current density", tank="elsewhere", target=1.2)
    assert set_in(other, area_dm2=5).current_a.value == 10


def test_a_keepers_window_that_does_not_rise_is_refused():
    book = zinc_nickel()
    define(book, "limit", "odd", of="current density", tank="bath", low=5.0)
    with pytest.raises(SettingError, match=r"odd.*must rise"):
        set_in(book, area_dm2=5)


def test_a_tank_without_a_recipe_takes_a_current_by_area():
    book = Book()
    book.tank("bath", "plate", 5, None, 20.0)
    setting = set_in(book, area_dm2=3, density_a_dm2=2, thickness_um=8)
    assert setting.current_a.value == 6 and setting.minutes is None
    assert any("no recipe" in n for n in setting.notes)


def test_a_tank_that_was_never_made_up_is_set_by_its_recipe():
    book = Book()
    book.tank("bath", "plate", 5, "zinc-nickel-chloride-potassium", 20.0)
    setting = set_in(book, area_dm2=5, density_a_dm2=2, thickness_um=8)
    assert setting.minutes.value == pytest.approx(15.74, abs=0.01)  # the same 13 % and 93 % as in the worked case
    assert any("has no make-up on record" in n for n in setting.notes)
    assert "drag-out is not counted" in setting.shares_text


def test_rust_removal_has_a_current_and_no_thickness():
    book = bath_of("electrolytic-rust-removal", "rust removal")
    book.anode("plate-1", "hung", metal="steel", mass_g=2000.0, area_dm2=6.0)
    setting = set_in(book, area_dm2=4, thickness_um=8)
    assert setting.current_a.value == pytest.approx(8) and setting.density.status == "practice"
    assert setting.minutes is None and setting.deposit is None and setting.holding is None and setting.worst_spot is None
    assert any("a thickness cannot be" in n for n in setting.notes)
    assert setting.anodes[0].density_a_dm2 == pytest.approx(8 / 6)
    assert not any("does not belong" in c for c in setting.cautions)
    threaded = set_in(book, area_dm2=4, thickness_um=8, parts=(Part(description="M8x30 hex bolt"),))
    assert threaded.fit == ()
    timed = set_in(book, area_dm2=4, minutes=30)
    assert timed.charge_ah == pytest.approx(4.0)


def test_stainless_anodes_are_never_advised():
    book = bath_of("electrolytic-rust-removal", "rust removal")
    book.anode("spoon", "hung", metal="stainless steel", mass_g=200.0, area_dm2=1.0)
    setting = set_in(book, area_dm2=4)
    assert setting.branches[0].current_a is None and "stainless steel" in setting.branches[0].why
    assert any("chromium(VI)" in c for c in setting.cautions)


@pytest.mark.parametrize("metal", ["graphite", "coated titanium"])
def test_inert_anodes_in_a_chloride_bath_get_no_current(metal: str):
    book = zinc_nickel()
    book.anode("rod", "hung", metal=metal, mass_g=200.0, area_dm2=1.0)
    setting = set_in(book, area_dm2=4, supplies=("bench-1=zinc", "bench-2=nickel", f"bench-3={metal}"))
    third = setting.branches[2]
    assert third.current_a is None and third.share is None and third.reaches is None
    assert any("chlorine" in c and metal in c for c in setting.cautions)
    assert sum(b.current_a for b in setting.branches[:2]) == pytest.approx(setting.current_a.value)
    together = set_in(book, area_dm2=4, supplies=("bench-1",))
    assert together.branches[0].current_a is None


def test_a_keepers_recipe_cannot_make_inert_anodes_belong_in_chloride():
    book = bath_of("own")
    define(book, "recipe", "own", based_on="zinc-chloride-potassium", electrode={"inert": ["graphite"]})
    book.anode("rod", "hung", metal="graphite", mass_g=200.0, area_dm2=1.0)
    setting = set_in(book, area_dm2=4)
    assert setting.branches[0].current_a is None and any("chlorine" in c for c in setting.cautions)


def test_alkaline_zinc_splits_between_zinc_and_steel():
    book = bath_of("alkaline-zinc")
    book.anode("zinc-1", "hung", metal="zinc", mass_g=2000.0, area_dm2=2.0)
    book.anode("steel-1", "hung", metal="steel", mass_g=2000.0, area_dm2=6.0)
    setting = set_in(book, 0.0, area_dm2=4, density_a_dm2=2, supplies=("bench-1=zinc", "bench-2=steel"))
    zinc, steel = setting.branches
    efficiency = setting.deposit.efficiency.value  # what the cathode takes is what the zinc has to give
    assert zinc.share == pytest.approx(efficiency, rel=1e-6)
    assert steel.share == pytest.approx(1 - efficiency, rel=1e-6)
    assert "anodes that only carry current" in setting.shares_text
    assert setting.worst_spot.factor == 0.7


def test_alkaline_zinc_nickel_says_what_has_to_be_added():
    book = bath_of("alkaline-zinc-nickel-zinc-anodes")
    setting = set_in(book, 0.0, area_dm2=4, density_a_dm2=2)
    w, per_ah = setting.deposit.fractions["nickel"].value, setting.deposit.g_per_ah.value
    assert setting.holding.unfed["nickel"] == pytest.approx(100 * w * per_ah)
    assert "nickel, to be added" in setting.shares_text
    assert set_in(bath_of("alkaline-zinc-nickel-generator"), area_dm2=4).holding is None


def test_a_density_outside_the_window_is_said():
    assert any("above the window" in c for c in set_in(zinc_nickel(), area_dm2=2, density_a_dm2=6).cautions)
    low = set_in(zinc_nickel(), area_dm2=2, density_a_dm2=0.3)
    assert low.standing == "low" and any("below the window" in c for c in low.cautions)
    assert any("only an analysis" in c for c in low.cautions)


def test_an_anode_without_an_area_is_said():
    book = zinc_nickel(anodes=False)
    book.anode("zinc-1", "hung", metal="zinc", mass_g=4000.0)
    setting = set_in(book, area_dm2=5)
    assert setting.anodes[0].area_dm2 is None and "not on record" in setting.anodes[0].note


def test_a_lifted_anode_of_a_branch_is_said():
    book = zinc_nickel()
    branches = [
        {"supply": "left", "anodes": ["zinc-1"], "charge": {"charge_ah": 4.2}},
        {"supply": "right", "anodes": ["nickel-1"], "charge": {"charge_ah": 0.8}},
    ]
    book.log("run", steps=[{"tank": "bath", "minutes": 45.0, "branches": branches}])
    book.anode("zinc-1", "lifted")
    setting = set_in(book, area_dm2=4.3)
    assert any("zinc-1 on left is lifted" in c for c in setting.cautions)
    assert next(a for a in setting.anodes if a.metal == "zinc").density_a_dm2 > 0


def test_anodes_lifted_between_runs_are_counted_as_hung_for_the_next():
    book = zinc_nickel()
    hanging = set_in(book, area_dm2=4)
    book.anode("zinc-1", "lifted")
    setting = set_in(book, area_dm2=4)
    assert {a.metal: a.within for a in setting.anodes} == {"zinc": True, "nickel": True}
    by_metal = {a.metal: a.density_a_dm2 for a in hanging.anodes}
    assert {a.metal: a.density_a_dm2 for a in setting.anodes} == pytest.approx(by_metal)
    assert any("zinc-1 is lifted: hang it first" in c for c in setting.cautions)
    book.anode("zinc-1", "retired")
    assert [a.metal for a in set_in(book, area_dm2=4).anodes] == ["nickel"]


def test_an_unknown_supply_is_said():
    setting = set_in(zinc_nickel(), area_dm2=4, supplies=("garage charger",))
    assert setting.reach == {"garage charger": None} and setting.largest_load_dm2 is None
    assert any("how far garage charger reaches is not on record" in n for n in setting.notes)


def test_guessed_supplies_are_said():
    setting = set_in(zinc_nickel(), area_dm2=4, supplies=("a", "b"))
    assert [(b.supply, b.metal) for b in setting.branches] == [("a", "zinc"), ("b", "nickel")]
    assert any("a=zinc, b=nickel" in n for n in setting.notes)


def test_temperature_is_the_newest_known():
    book = zinc_nickel()
    book.reading(of="temperature", value=36.0, unit="degC")
    assert set_in(book, area_dm2=4).temperature.standing == "in"
    step = {"tank": "bath", "minutes": 45.0, "charge": {"charge_ah": 5.0}, "temperature_c": 24.0}
    run = book.day(2).log("run", steps=[step], parts=[{"description": "cleats", "area_dm2": 4.3}])
    setting = set_in(book, area_dm2=4)
    assert (setting.temperature.last_c, setting.temperature.entry) == (24.0, run)
    assert setting.temperature.standing == "low" and any("too cold" in c for c in setting.cautions)


def test_last_good_runs_near_this_load():
    book = zinc_nickel()
    book.day(1).plate(area_dm2=20.0, charge_ah=20.0, result="good")
    near = book.day(2).plate(area_dm2=4.5, result="good")
    silent = book.day(3).plate(area_dm2=4.4)
    book.day(4).plate(area_dm2=4.3, defect="burning")
    book.day(5).plate(area_dm2=4.3, rejects=2)
    setting = set_in(book, area_dm2=4.3)
    ids = [r.id for r in setting.last_good]
    assert len(ids) == 3 and ids[0] == near and ids[-1] == silent
    assert setting.last_good[0].density_a_dm2 == pytest.approx(5.0 / 0.75 / 4.5)
    assert any(line.startswith("before (good)") for line in setting.lines(Preferences()))


def test_what_became_of_a_load_counts_where_it_is_known():
    """A remark may say later what the run's own entry does not: the history stands before the runs."""
    book = zinc_nickel()
    spoilt, fine = book.day(1).plate(area_dm2=4.3), book.day(2).plate(area_dm2=4.3)
    book.log("remark", run=spoilt, text="burnt at the edges", defect="burning")
    book.log("remark", run=fine, text="as wanted", result="good")
    state, catalogue, past = known(book)
    alone = set_run(state, catalogue, Wish(area_dm2=4.3), past)
    assert {r.id for r in alone.last_good} == {spoilt, fine}
    history = past_runs(book.ordered(), book.world())
    told = set_run(state, catalogue, Wish(area_dm2=4.3), past, history=history)
    assert [(r.id, r.good) for r in told.last_good] == [(fine, True)]
    doubtful = [replace(r, good=None) for r in history]
    assert [r.id for r in set_run(state, catalogue, Wish(area_dm2=4.3), past, history=doubtful).last_good] == [fine]


def test_good_loads_stand_before_those_of_like_size_of_which_nothing_was_said():
    book = zinc_nickel()
    good = book.day(1).plate(area_dm2=20.0, charge_ah=20.0, result="good")
    book.day(2).plate(area_dm2=4.3)
    assert set_in(book, area_dm2=4.3).last_good[0].id == good


def test_threads_of_the_load():
    """ISO 4042 as printed: M8 6g carries 5 um (28 um over 4 is 7), M10 6g 8 um (32 over 4)."""
    parts = (Part(description="20x M8x30 hex bolt", count=20), Part(description="M10 x 25 flange bolt"))
    m8, m10 = set_in(zinc_nickel(), area_dm2=5, thickness_um=8, parts=parts).fit
    assert (m8.thread, m8.fits, m8.largest_um) == ("M8", False, 5)
    assert (m10.thread, m10.fits) == ("M10", True)
    assert set_in(zinc_nickel(), area_dm2=5, parts=parts).fit == ()  # nothing is said of no thickness


@pytest.mark.parametrize(
    ("text", "name", "diameters"),
    [
        ("M8x30", "M8", 3.75),
        ("m8 × 1 × 30 screws", "M8x1", 3.75),
        ("M10x1,25", "M10x1.25", None),
        ("M3x4 grub screw", "M3", 4 / 3),
        ("stud M12", "M12", None),
        ("2x plate 100x60x2", None, None),
        ("RM8 bracket", None, None),
    ],
)
def test_threads_in_words(text: str, name: str | None, diameters: float | None):
    thread = metric_thread(text)
    assert (thread.name if thread else None) == name
    assert (thread.diameters if thread else None) == (pytest.approx(diameters) if diameters else None)


@pytest.mark.parametrize(
    ("text", "said"),
    [("M8 nut", "overtapped"), ("5/16-18 x 1 1/4 UNC bolt", "2A"), ("M8 washer", None), ("bracket 3/8 in", None)],
)
def test_nuts_inches_and_washers(text: str, said: str | None):
    found = fit_cautions([Part(description=text)], 8.0, "g")
    assert [said in f.text for f in found] == ([True] if said else [])


def test_strong_steel_starts_the_clock_to_the_oven():
    def told(rule: str | None = None, plating: bool = True, **part: object) -> list[str]:
        return hydrogen_cautions([Part(description="bolt", **part)], rule, load(), plating)

    assert told(property_class="8.8") == [] and told() == []
    assert "name a rule" in told(property_class="10.9")[0] and "leaves the electrolyte" in told(property_class="10.9")[0]
    assert told(strength_mpa=1200.0) and told(strength_mpa=800.0) == []
    assert "bake" in told("ASTM B850", strength_mpa=1250.0)[0] and "12 h" in told("ASTM B850", strength_mpa=1250.0)[0]
    assert "qualified plater" in told("ASTM B850", strength_mpa=1250.0, safety_critical=True)[0]
    derusted = told("ASTM B850", False, strength_mpa=1250.0)[0]
    assert "takes up hydrogen here" in derusted and "clock" not in derusted
    setting = set_in(zinc_nickel(), area_dm2=4, parts=(Part(description="bolt", property_class="12.9"),))
    assert any("clock to the oven" in c for c in setting.cautions)


@pytest.mark.parametrize(
    ("wish", "said"),
    [
        ({"area_dm2": 0.0}, "area"),
        ({"area_dm2": math.nan}, "area"),
        ({"area_dm2": -3.0}, "above 0"),
        ({"area_dm2": 3.0, "area_spread_dm2": -1.0}, "spread"),
        ({"area_spread_dm2": 1.0}, "no area"),
        ({"area_dm2": 3.0, "density_a_dm2": 1e4}, "beyond what is plated"),
        ({"area_dm2": 3.0, "thickness_um": math.inf}, "thickness"),
        ({"area_dm2": 3.0, "minutes": 0.0}, "time"),
        ({"area_dm2": 3.0, "worst_spot": 1.2}, "worst spot"),
        ({"area_dm2": 3.0, "density_a_dm2": 1.0, "current_a": 3.0}, "not both"),
        ({"area_dm2": 3.0, "supplies": ("a", "a=zinc")}, "twice"),
        ({"area_dm2": 3.0, "supplies": ("=zinc",)}, "no name"),
        ({"area_dm2": 3.0, "supplies": ("a=zink", "b")}, "no metal `zink`.*a=nickel"),
    ],
)
def test_an_impossible_wish_is_refused_with_what_would_be_right(wish: dict[str, object], said: str):
    with pytest.raises(SettingError, match=said):
        set_in(zinc_nickel(), **wish)


def test_a_tank_that_takes_no_current_is_refused():
    with pytest.raises(SettingError, match="takes no current"):
        set_in(bath_of("bisulfate-pickle", "pickle"), area_dm2=3)
    state, catalogue, past = known(zinc_nickel())
    with pytest.raises(SettingError, match="drag-out"):
        set_run(state, catalogue, Wish(area_dm2=3), past, -1.0)


def test_a_density_in_another_unit_is_refused():
    with pytest.raises(CatalogueError, match="A/dm2"):
        load().with_definitions(
            [("recipe", "own", {"based_on": "watts-nickel", "electrode": {"density": {"unit": "A/ft2", "high": 40.0}}})]
        )
    with pytest.raises(CatalogueError, match="above 0"):
        load().with_definitions([("recipe", "own", {"based_on": "watts-nickel", "electrode": {"density": {"low": 0.0}}})])


def test_defaults_say_where_they_are_from():
    defaults = setting_defaults()
    for table in (defaults.worst_spot, defaults.sensitive):
        assert all(d.source and d.status for d in table.values())
