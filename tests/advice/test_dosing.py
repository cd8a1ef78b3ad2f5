"""Dosing plans by worked cases, each with its arithmetic beside it, and what a plan says and in which order."""

from __future__ import annotations

import subprocess
import sys
from typing import Any

import pytest
from msgspec.structs import replace

from bathkeeper.advice.dosing import DosingPlan, DragOutRinse, ShelfItem, dose, make_up_plan, refresh
from bathkeeper.catalogue.loader import load
from bathkeeper.catalogue.schema import MakeUpStep
from tests.advice.tanks import AT, recipe, tank, window
from tests.estimate.helpers import Book

CATALOGUE = load()
OZ_GAL, GAL = 7.4892, 3.785412  # g/L, L: US measures (NIST)
BATH = CATALOGUE.recipes["zinc-nickel-chloride-potassium"]
TARGETS = {n: s.target for n, s in BATH.species.items()}


def item(name: str, available: float | None = None, price: float | None = None, **changed: Any) -> ShelfItem:
    return ShelfItem(replace(CATALOGUE.reagents[name], **changed), available, price)


def native(*names: str) -> tuple[MakeUpStep, ...]:
    return tuple(MakeUpStep(reagent=n, amount_g_l=1.0, why="test", status="practice") for n in names)


def adds(plan: DosingPlan) -> list[tuple[str, float]]:
    return [(a.step.reagent, a.step.amount) for a in plan.steps if a.step.action == "add"]


OWN = [item(s.reagent) for s in BATH.make_up if s.reagent != "water"]


@pytest.mark.parametrize(("purity", "grams"), [(1.0, 875.5), (0.97, 902.6)])
def test_zinc_from_28_to_35_in_60_litres(purity: float, grams: float) -> None:
    """60 L x 7 g/L = 420 g Zn; / 0.4797 (65.38/136.286, IUPAC) = 875.5 g ZnCl2, 902.6 g at 97 %; it brings 455.5 g chloride,
    7.6 g/L (worked case of the mass balance)."""
    of = recipe({"zinc": window(30, 35, 40, "metal"), "chloride": window(100, 150, 200)}, make_up=native("zinc chloride"))
    state = tank(of, {"zinc": 28.0, "chloride": 150.0}, 60.0, 60.0)
    plan = dose(state, CATALOGUE, [item("zinc chloride", purity=purity)], scale_g=0.1, at=AT)
    assert plan.amounts["zinc chloride"].amount == pytest.approx(grams, abs=0.11)  # the scale shows 0.1 g
    assert plan.exact["zinc chloride"] * purity == pytest.approx(875.5, abs=0.05)
    assert (plan.after["chloride"].after.value - 150.0) * 60 == pytest.approx(455.5, abs=0.1)
    assert plan.after["chloride"].after.value - 150.0 == pytest.approx(7.6, abs=0.05)
    assert sum(a for _, a in adds(plan)) == pytest.approx(plan.amounts["zinc chloride"].amount)
    assert [a.step.action for a in plan.steps].count("add") == 2  # large: halves, zinc measured between
    actions = [(a.step.action, a.step.of) for a in plan.steps]
    assert ("measure", "zinc") in actions[actions.index(("add", None)) + 1 : -1]


def test_level_low_and_reading_high_takes_water_first() -> None:
    """88 g/L in 36 L are 79.2 g/L in 40 L (88 x 36 / 40): above 85 as read, in the window when filled up. Water only."""
    of = recipe({"nickel": window(70, 78, 85, "metal")}, make_up=native("nickel sulfate hexahydrate"))
    plan = dose(tank(of, {"nickel": 88.0}, 36.0, 40.0), CATALOGUE, [item("nickel sulfate hexahydrate")], at=AT)
    assert plan.feasible and not plan.nothing_needed and plan.waste_l == 0
    assert adds(plan) == [("water", pytest.approx(4.0, abs=0.011))]
    assert plan.after["nickel"].after.value == pytest.approx(79.2, abs=0.03)
    assert "88 reads 79.2 g/L at 40 L" in plan.steps[0].step.why


def test_water_goes_before_a_dose() -> None:
    plan = dose(tank(BATH, {**TARGETS, "zinc": 22.0}, 36.0, 40.0), CATALOGUE, OWN, at=AT)
    assert adds(plan)[0][0] == "water" and plan.amounts["water"].amount == pytest.approx(4.0, abs=0.011)


def test_dilution_takes_every_salt_along() -> None:
    """4.5 -> 3.5 oz/gal: 1 - 3.5/4.5 = 22.2 % swapped, 88.9 of 400 gal; chloride falls by the same 22.2 %."""
    of = recipe({"zinc": window(3.4 * OZ_GAL, 3.5 * OZ_GAL, 3.6 * OZ_GAL, "metal"), "chloride": window(50, 90, 150)})
    state = tank(of, {"zinc": 4.5 * OZ_GAL, "chloride": 120.0}, 400 * GAL, 400 * GAL)
    plan = dose(state, CATALOGUE, [], at=AT)
    assert plan.waste_l / (400 * GAL) == pytest.approx(0.2222, abs=1e-4)
    assert plan.waste_l / GAL == pytest.approx(88.9, abs=0.05)
    assert plan.after["zinc"].after.value == pytest.approx(3.5 * OZ_GAL, rel=2e-4)
    assert plan.after["chloride"].after.value == pytest.approx(120 * 3.5 / 4.5, rel=2e-4)
    kinds = [a.step.action for a in plan.steps]
    assert kinds.index("remove") < kinds.index("add")
    caution = next(a.step.caution for a in plan.steps if a.step.action == "remove")
    assert "never a drain" in caution and "authority" in caution


def test_a_watts_bath_from_two_salts() -> None:
    """300 g/L NiSO4.6H2O hold 67.0 g/L Ni, 60 g/L NiCl2.6H2O 14.8: 81.8 together (IUPAC masses); 45 g/L boric acid."""
    of = recipe(
        {
            "nickel": window(70, 81.8, 90, "metal"), "sulfate": window(90, 109.6, 130), "chloride": window(12, 17.9, 22),
            "boric acid": window(37, 45, 52),
        },
        make_up=native("boric acid", "nickel sulfate hexahydrate", "nickel chloride hexahydrate"),
    )  # fmt: skip
    shelf = [item(n) for n in ("nickel sulfate hexahydrate", "nickel chloride hexahydrate", "boric acid")]
    plan = make_up_plan(of, 10.0, CATALOGUE, shelf)
    assert plan.amounts["nickel sulfate hexahydrate"].amount == pytest.approx(3000, rel=2e-3)
    assert plan.amounts["nickel chloride hexahydrate"].amount == pytest.approx(600, rel=2e-3)
    assert plan.amounts["boric acid"].amount == pytest.approx(450, abs=1)
    assert plan.after["nickel"].after.value == pytest.approx(81.8, rel=2e-3)
    of_salts = [
        plan.amounts[n].amount / 10 * w
        for n, w in (("nickel sulfate hexahydrate", 0.22330), ("nickel chloride hexahydrate", 0.24693))
    ]
    assert of_salts == pytest.approx([67.0, 14.8], abs=0.1)  # Ni 58.693 of 262.84 and of 237.69


def test_nothing_is_dosed_while_all_is_in_its_window() -> None:
    plan = dose(tank(BATH, TARGETS, 39.6, 40.0), CATALOGUE, OWN, at=AT)
    assert plan.feasible and plan.nothing_needed and plan.steps == () and plan.waste_l == 0


def test_a_conflict_names_its_limits_and_the_compromise_says_what_stays() -> None:
    """Nickel may only come as chloride, and chloride is at its edge: 4 g/L Ni as NiCl2 bring 4.8 g/L Cl (70.9/58.69)."""
    of = recipe({"nickel": window(60, 65, 70, "metal"), "chloride": window(10, 14, 16)})
    of = replace(of, make_up=native("nickel chloride hexahydrate"))
    state = tank(of, {"nickel": 56.0, "chloride": 15.5}, 40.0, 40.0)
    plan = dose(state, CATALOGUE, [item("nickel chloride hexahydrate")], at=AT)
    assert not plan.feasible and plan.steps == ()
    assert {"nickel at least 60 g/L", "chloride at most 16 g/L"} <= set(plan.conflict)
    assert plan.nearest is not None and plan.nearest.steps and len(plan.nearest.still_open) == 1
    both = dose(state, CATALOGUE, [item("nickel chloride hexahydrate"), item("nickel sulfate hexahydrate")], at=AT)
    assert not both.feasible  # sulfate is a stranger to this bath
    known = replace(of, make_up=native("nickel chloride hexahydrate", "nickel sulfate hexahydrate"))
    state = tank(known, {"nickel": 56.0, "chloride": 15.5}, 40.0, 40.0)
    assert dose(state, CATALOGUE, [item("nickel sulfate hexahydrate")], at=AT).feasible


def test_a_short_shelf_is_named() -> None:
    state = tank(BATH, {**TARGETS, "zinc": 20.0}, 40.0, 40.0)
    short = [item(i.reagent.name, 100.0 if i.reagent.name == "zinc chloride" else None) for i in OWN]
    assert "100 g of zinc chloride on the shelf" in dose(state, CATALOGUE, short, at=AT).conflict
    bare = [i for i in OWN if i.reagent.name != "zinc chloride"]
    assert "nothing on the shelf brings zinc" in dose(state, CATALOGUE, bare, at=AT).conflict


def test_ph_is_never_dosed_and_strangers_stay_out() -> None:
    shelf = [ShelfItem(r) for r in CATALOGUE.reagents.values()]
    state = tank(BATH, {**TARGETS, "zinc": 20.0, "nickel": 16.0}, 37.0, 40.0)
    plan = dose(state, CATALOGUE, shelf, at=AT)
    assert plan.feasible
    for name in plan.amounts:
        if name != "water":
            reagent = CATALOGUE.reagents[name]
            assert reagent.acid_equivalents == 0 and "sulf" not in name
    assert any(a.step.of == "ph" and "jar test" in a.step.why for a in plan.steps)


def test_boric_acid_waits_for_a_warm_bath_and_additives_go_last() -> None:
    plan = dose(tank(BATH, {**TARGETS, "boric acid": 15.0, "carrier": 15.0}, 40.0, 40.0), CATALOGUE, OWN, at=AT)
    kinds = [(a.step.action, a.step.reagent) for a in plan.steps]
    assert kinds[kinds.index(("add", "boric acid")) - 1][0] == "check"
    assert "cold bath" in plan.steps[kinds.index(("add", "boric acid")) - 1].step.caution
    assert [r for a, r in kinds if a == "add"][-1] == "carrier"


def test_the_drag_out_rinse_stands_in_for_water() -> None:
    """4 L of rinse at 3 g/L zinc bring 12 g: 25 g less of ZnCl2 than with water."""
    state = tank(BATH, {**TARGETS, "zinc": 22.0}, 36.0, 40.0)
    rinse = DragOutRinse("rinse-2", 6.0, {"zinc": 3.0, "nickel": 2.2, "chloride": 14.0, "potassium": 10.0})
    plan, plain = dose(state, CATALOGUE, OWN, rinse=rinse, at=AT), dose(state, CATALOGUE, OWN, at=AT)
    assert plan.amounts["rinse-2"].amount > 3
    assert plan.amounts["zinc chloride"].amount < plain.amounts["zinc chloride"].amount - 15
    poured = next(a.step for a in plan.steps if a.step.of == "rinse-2")
    assert poured.action == "remove" and poured.unit == "L"
    strange = dose(state, CATALOGUE, OWN, rinse=DragOutRinse("rinse-9", 6.0, {"chromium": 0.1}), at=AT)
    assert "rinse-9" not in strange.amounts and any("chromium" in line for line in strange.advice.lines)


def test_a_wide_estimate_is_measured_first() -> None:
    state = tank(BATH, {**TARGETS, "zinc": 22.0}, 40.0, 40.0, relative_sd=0.15)
    plan = dose(state, CATALOGUE, OWN, at=AT)
    first = plan.steps[0].step
    assert (first.action, first.of) == ("measure", "zinc")
    assert "at 15.5 it would be" in first.why and "zinc chloride" in first.why
    narrow = dose(tank(BATH, {**TARGETS, "zinc": 22.0}, 40.0, 40.0), CATALOGUE, OWN, at=AT)
    assert narrow.steps[0].step.action != "measure"
    assert plan.after["zinc"].after.spread > 3 * narrow.after["zinc"].after.spread


def test_running_without_zinc_anodes_in_place_of_throwing_bath_away() -> None:
    """Zinc leaves at what is plated and dragged out; what is above target over that is the charge."""
    book = Book()
    book.bath()
    for _ in range(20):
        book.plate()
    book.read("bath", zinc=48.0)
    book.read("bath", zinc=48.0)
    state = book.state()
    plan = dose(state, CATALOGUE, OWN, at=AT)
    way = next(a for a in plan.alternatives if any(s.action == "plate" for s in a.plan_steps))
    charge = next(s.amount for s in way.plan_steps if s.action == "plate")
    value = state.concentration("zinc")[0]
    # by hand: 13 % Ni, 93 %: 0.972 g Zn a Ah laid down, 1.29 mL a Ah dragged out at the bath's zinc
    leaving = 0.972 + 1.29e-3 * value
    grams = state.gauss.value("mass:zinc")
    nickel = state.gauss.value("mass:nickel") / 40.0
    until = (35.0 - nickel) * 40.0 / (1.095 - 0.145 - 1.29e-3 * nickel)  # all on nickel, 1.095 g/Ah: its window ends at 35 g/L
    assert charge == pytest.approx(min((grams - 32.0 * 40.0) / leaving, until), rel=0.12)
    assert charge < (grams - 32.0 * 40.0) / leaving
    told = next(s.why for s in way.plan_steps if s.action == "plate")
    assert f"nickel rises by {35.0 - nickel:.1f}"[:18] in told
    assert "zinc-1" in way.plan_steps[0].why and "nickel-1" in way.plan_steps[0].why
    book.anode("nickel-1", "retired")
    alone = dose(book.state(), CATALOGUE, OWN, at=AT)
    assert not any(s.action == "plate" for a in alone.alternatives for s in a.plan_steps)


def test_refreshing_half_spent_dry_acid() -> None:
    """20 L at 50 g/L want 1000 g NaHSO4 for 100 g/L; the iron stays."""
    of = CATALOGUE.recipes["bisulfate-pickle"]
    state = tank(of, {"free acid": 50.0, "iron": 9.0}, 20.0, 20.0)
    plan = refresh(state, CATALOGUE, [item("sodium bisulfate", price=0.004)], at=AT)
    assert plan.amounts["sodium bisulfate"].amount == pytest.approx(1000, abs=1)
    assert plan.after["iron"].after.value == pytest.approx(9.0) and plan.cost == pytest.approx(4.0, abs=0.01)
    assert refresh(tank(of, {"free acid": 99.0}, 20.0, 20.0), CATALOGUE, [], at=AT).nothing_needed


def test_bad_questions_get_a_clear_answer() -> None:
    state = tank(BATH, TARGETS, 40.0, 40.0)
    with pytest.raises(ValueError, match="scale weighs to more than 0 g"):
        dose(state, CATALOGUE, OWN, scale_g=0.0, at=AT)
    with pytest.raises(ValueError, match="room left"):
        dose(state, CATALOGUE, OWN, room_l=-1.0, at=AT)
    with pytest.raises(ValueError, match="volume has to be above 0"):
        make_up_plan(BATH, 0.0, CATALOGUE, OWN)
    with pytest.raises(ValueError, match="make-up plan fills it"):
        dose(tank(BATH, {}, 0.0, 40.0), CATALOGUE, OWN, at=AT)
    with pytest.raises(ValueError, match="fill it with water"):
        make_up_plan(CATALOGUE.recipes["still-rinse"], 10.0, CATALOGUE, OWN)


def test_every_added_reagent_says_why_and_whence() -> None:
    plan = dose(tank(BATH, {**TARGETS, "zinc": 22.0}, 36.0, 40.0), CATALOGUE, OWN, at=AT)
    for advised in plan.steps:
        if advised.step.action == "add":
            assert advised.because.formula and advised.because.entries
            assert advised.step.reagent == "water" or advised.because.sources


def test_scipy_is_imported_only_when_a_plan_is_asked_for() -> None:
    heavy = "('scipy', 'textual', 'pint')"
    code = f"import sys, bathkeeper.advice.dosing; print([m for m in sys.modules if m.split('.')[0] in {heavy}])"
    assert subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True).stdout.strip() == "[]"
