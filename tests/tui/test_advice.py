"""From what is due to what is done about it, by keyboard alone: plans, stock, advice, putting off; and what is typed there."""

from __future__ import annotations

from collections.abc import Callable
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any

import pytest
from textual.pilot import Pilot
from textual.widgets import OptionList

from bathkeeper.catalogue.loader import load
from bathkeeper.counsel import Counsel
from bathkeeper.entries import Addition, Plan, PlanStep, Reading, Remark, Snooze, Stock
from bathkeeper.estimate.view import TankView
from bathkeeper.findings import Because, Finding
from bathkeeper.tui import advised
from bathkeeper.tui.advice_said import Manner, SaidError, put_off, step_done, stocked
from bathkeeper.tui.app import BathkeeperApp
from bathkeeper.tui.screens.advice import AdviceScreen
from bathkeeper.tui.screens.ask_line import AskLine
from bathkeeper.tui.screens.line import LineScreen
from bathkeeper.tui.screens.plan import PlanScreen
from bathkeeper.tui.screens.stock import StockScreen
from bathkeeper.units.numerals import Preferences
from bathkeeper.workshop import Workshop
from tests.tui.helpers import LARGE, NOW, SMALL, app_on, book, drive, seen, type_text, until, until_seen

NEVER = ("optimal", "guaranteed", "compliant", "safe to pour", "non-hazardous")
SALT = "nickel chloride hexahydrate"


def low_nickel(folder: Path) -> Path:
    """The small book, with the nickel read far below its window, and both salts bought."""
    path = book(folder)
    workshop = Workshop.open(path)
    hour = timedelta(hours=1)
    workshop.log({"kind": "reading", "at": NOW - 3 * hour, "tank": "electrolyte", "values": [
        {"of": "nickel", "value": 14.0, "unit": "g/L"}, {"of": "zinc", "value": 31.0, "unit": "g/L"},
        {"of": "level", "value": 40.0, "unit": "L"}]})  # fmt: skip
    workshop.log({"kind": "reading", "at": NOW - 2 * hour, "tank": "electrolyte", "values": [
        {"of": "nickel", "value": 14.1, "unit": "g/L"}]})  # fmt: skip
    for name, amount in ((SALT, 5000.0), ("zinc chloride", 3000.0), ("potassium chloride", 9000.0), ("boric acid", 2000.0)):
        workshop.log({"kind": "stock", "at": NOW - hour, "reagent": name, "action": "bought", "amount": amount, "unit": "g"})
    return path


def entries(path: Path, kind: type) -> list[Any]:
    return [e for e in Workshop.open(path).entries() if isinstance(e, kind)]


def on(pilot: Pilot[None], screen: type) -> Callable[[], bool]:
    return lambda: isinstance(pilot.app.screen, screen)


async def due_line(pilot: Pilot[None], id: str) -> None:
    """Puts the cursor on a due item with the keys alone."""
    app = pilot.app
    assert isinstance(app, BathkeeperApp)
    place = [f.id for f in app.snapshot.due].index(id)
    await pilot.press("d")
    for _ in range(place):
        await pilot.press("down")
    assert app.screen.query_one("#due", OptionList).highlighted == place


def plan_screen(pilot: Pilot[None]) -> PlanScreen:
    screen = pilot.app.screen
    assert isinstance(screen, PlanScreen)
    return screen


async def to_accepted_plan(pilot: Pilot[None]) -> None:
    await due_line(pilot, "electrolyte.low.nickel")
    await pilot.press("j")
    await until(pilot, on(pilot, PlanScreen))
    await until(pilot, lambda: plan_screen(pilot).look.offer is not None)
    await pilot.press("a")
    await until(pilot, lambda: plan_screen(pilot).look.plan is not None)


def test_from_a_due_item_to_a_ticked_off_plan_by_keyboard_alone(tmp_path: Path) -> None:
    path = low_nickel(tmp_path)
    really = 0.0
    salt_step = 0

    async def steps(pilot: Pilot[None]) -> None:
        nonlocal really, salt_step
        await to_accepted_plan(pilot)
        await until_seen(pilot, "steps done", "▶", "□")
        while (plan := plan_screen(pilot).look.plan) is not None and plan.next is not None:
            step, before = plan.next.step, plan.done
            await pilot.press("enter")
            await until(pilot, on(pilot, AskLine))
            if step.reagent == SALT and not salt_step:
                salt_step, really = step.step, round(float(step.amount or 0.0)) - 3.0
                await type_text(pilot, f"{really:g} g")
                await until_seen(pilot, f"{really:g} g in place of")
            elif step.action == "measure":
                await type_text(pilot, "24.0" if step.of == "nickel" else "no strips left")
            await pilot.press("enter")

            def ticked(before: int = before) -> bool:
                here = pilot.app.screen
                return isinstance(here, PlanScreen) and here.look.plan is not None and here.look.plan.done > before

            await until(pilot, ticked)
        await until_seen(pilot, "✓ done")

    drive(app_on(path, tmp_path), steps, SMALL)
    plan = entries(path, Plan)[0]
    added = [e for e in entries(path, Addition) if e.plan == plan.id]
    salt = next(e for e in added if e.step == salt_step)
    assert (salt.items[0].reagent, salt.items[0].amount, salt.items[0].unit) == (SALT, really, "g")
    assert {e.step for e in added} == {s.step for s in plan.steps if s.action == "add"}
    measured = [e for e in entries(path, Reading) if e.plan == plan.id]
    assert any(v.of == "nickel" and v.value == 24.0 and v.unit == "g/L" for e in measured for v in e.values)
    assert all(s.done for s in Counsel(Workshop.open(path)).plan_of(plan.id).steps)


def test_what_the_plan_shows_before_it_is_accepted(tmp_path: Path) -> None:
    async def steps(pilot: Pilot[None]) -> None:
        await due_line(pilot, "electrolyte.low.nickel")
        await pilot.press("j")
        await until(pilot, on(pilot, PlanScreen))
        await until_seen(pilot, "an offer, nothing is written yet", f"g {SALT}", "▲", "gloves", "nickel 14", "After it", "→")
        assert not any(word in seen(pilot).casefold() for word in NEVER)
        await pilot.press("w")
        await until_seen(pilot, "Close (Esc)")

    path = low_nickel(tmp_path)
    drive(app_on(path, tmp_path), steps, (100, 60))
    assert not entries(path, Plan)


def test_a_plan_is_given_up_only_with_a_reason(tmp_path: Path) -> None:
    path = low_nickel(tmp_path)

    async def steps(pilot: Pilot[None]) -> None:
        await to_accepted_plan(pilot)
        await pilot.press("x")
        await until(pilot, on(pilot, AskLine))
        await pilot.press("enter")
        await until_seen(pilot, "!! say why")
        await type_text(pilot, "the shop is shut")
        await pilot.press("enter")
        await until(pilot, lambda: isinstance(pilot.app.screen, PlanScreen) and plan_screen(pilot).look.plan is None)

    drive(app_on(path, tmp_path), steps)
    dropped = [p for p in entries(path, Plan) if p.dropped]
    assert [p.note for p in dropped] == ["the shop is shut"]
    assert Counsel(Workshop.open(path)).open_plans() == []


def test_another_kind_of_plan_and_one_that_cannot_be(tmp_path: Path) -> None:
    async def steps(pilot: Pilot[None]) -> None:
        await due_line(pilot, "electrolyte.low.nickel")
        await pilot.press("j")
        await until(pilot, lambda: isinstance(s := pilot.app.screen, PlanScreen) and s.look.offer is not None)
        await pilot.press("k", "3")
        await until(pilot, lambda: (o := plan_screen(pilot).look.offer) is not None and o.kind == "refresh")
        await pilot.press("k", "2")
        await until(
            pilot,
            lambda: (s := plan_screen(pilot).look).refused != "" or (s.offer is not None and s.offer.kind == "make up"),
        )

    drive(app_on(low_nickel(tmp_path), tmp_path), steps)


def test_a_due_item_is_put_off_with_a_reason_by_keyboard(tmp_path: Path) -> None:
    path = low_nickel(tmp_path)

    async def steps(pilot: Pilot[None]) -> None:
        await due_line(pilot, "electrolyte.low.nickel")
        await pilot.press("z")
        await until(pilot, on(pilot, AskLine))
        await type_text(pilot, "14d")
        await pilot.press("enter")
        await until_seen(pilot, "!! say why")
        await type_text(pilot, " salts are ordered")
        await until_seen(pilot, "until 04 Jul 2026, because: salts are ordered")
        await pilot.press("enter")
        await until(pilot, on(pilot, LineScreen))
        await until_seen(pilot, "Put off")

    drive(app_on(path, tmp_path), steps)
    snooze = entries(path, Snooze)[0]
    assert (snooze.finding, snooze.reason) == ("electrolyte.low.nickel", "salts are ordered")
    assert snooze.until == NOW + timedelta(days=14)


def test_stock_is_bought_and_counted_in_one_line(tmp_path: Path) -> None:
    path = low_nickel(tmp_path)

    async def steps(pilot: Pilot[None]) -> None:
        await pilot.press("y")
        await until(pilot, on(pilot, StockScreen))
        await until_seen(pilot, "on the shelf", "boric acid", "✓")
        await pilot.press("b")
        await until(pilot, on(pilot, AskLine))
        await type_text(pilot, "zinc chloride=2.5 kg price=21 lot=B7")
        await until_seen(pilot, "bought: 2500 g zinc chloride, price 21, lot B7")
        await pilot.press("enter")
        await until_seen(pilot, "5.5 kg")
        await pilot.press("c")
        await until(pilot, on(pilot, AskLine))
        await type_text(pilot, "zinc chloride=4 kg")
        await pilot.press("enter")
        await until_seen(pilot, "4 ±0.2 kg")
        shelf = pilot.app.screen.query_one("#shelf", OptionList)
        for _ in range(shelf.option_count):
            if "zinc chloride: bought" in seen(pilot):
                break
            await pilot.press("down")
        await until_seen(pilot, "1500 g less than the book had", "lots, oldest first", "B7")

    drive(app_on(path, tmp_path), steps)
    bought = next(e for e in entries(path, Stock) if e.lot == "B7")
    assert (bought.reagent, bought.amount, bought.unit, bought.price) == ("zinc chloride", 2500.0, "g", 21.0)


@pytest.mark.parametrize("size", [SMALL, LARGE])
def test_every_section_of_the_advice_says_something(tmp_path: Path, size: tuple[int, int]) -> None:
    async def steps(pilot: Pilot[None]) -> None:
        app = pilot.app
        assert isinstance(app, BathkeeperApp)
        for tank, words in (("electrolyte", ("zinc-1", "balance", "Enter: the likely causes", "unplugged", "look before")),
                            ("pickle", ("Signs, side by side", "Enter: the likely causes", "off", "look before"))):  # fmt: skip
            app.push_screen(AdviceScreen(tank))
            await until(pilot, on(pilot, AdviceScreen))
            for number, word in enumerate(words, start=1):
                await pilot.press(str(number))
                await until_seen(pilot, word)
                assert not any(never in seen(pilot).casefold() for never in NEVER)
            await pilot.press("escape")
            await until(pilot, on(pilot, LineScreen))

    drive(app_on(low_nickel(tmp_path), tmp_path), steps, size)


def test_causes_of_a_defect_and_the_way_back(tmp_path: Path) -> None:
    async def steps(pilot: Pilot[None]) -> None:
        app = pilot.app
        assert isinstance(app, BathkeeperApp)
        app.push_screen(AdviceScreen("electrolyte", "defect"))
        await until_seen(pilot, "the likely causes")
        await pilot.press("enter")
        await until_seen(pilot, "Look first, the cheapest first", "Causes", "without knowing this bath")
        await pilot.press("escape")
        await until_seen(pilot, "the likely causes")
        await pilot.press("escape")
        await until(pilot, on(pilot, LineScreen))

    drive(app_on(low_nickel(tmp_path), tmp_path), steps)


def test_the_lay_up_list_becomes_a_plan_that_is_ticked_off(tmp_path: Path) -> None:
    path = low_nickel(tmp_path)

    async def steps(pilot: Pilot[None]) -> None:
        app = pilot.app
        assert isinstance(app, BathkeeperApp)
        app.push_screen(AdviceScreen("pickle", "rest"))
        await until_seen(pilot, "Before pickle rests")
        await pilot.press("p")
        await until(pilot, lambda: isinstance(s := pilot.app.screen, PlanScreen) and s.look.offer is not None)
        await pilot.press("a")
        await until(pilot, lambda: plan_screen(pilot).look.plan is not None)
        plan = plan_screen(pilot).look.plan
        assert plan is not None
        place = next(s.step.step for s in plan.steps if s.step.action == "check") - 1
        for _ in range(place):
            await pilot.press("down")
        await pilot.press("space")
        await until(pilot, on(pilot, AskLine))
        await pilot.press("enter")
        await until(
            pilot,
            lambda: isinstance(s := pilot.app.screen, PlanScreen) and s.look.plan is not None and s.look.plan.done == 1,
        )

    drive(app_on(path, tmp_path), steps)
    assert [e.step for e in entries(path, Remark) if e.plan is not None]
    assert entries(path, Plan)[0].purpose == "lay up"


def test_names_of_strangers_are_never_markup_on_these_screens(tmp_path: Path) -> None:
    path = low_nickel(tmp_path)
    name = "[red]x[/red] \x1b[31mpowder"
    Workshop.open(path).log({"kind": "stock", "at": NOW, "reagent": name, "action": "bought", "amount": 10.0, "unit": "g"})

    async def steps(pilot: Pilot[None]) -> None:
        await pilot.press("y")
        await until_seen(pilot, "[red]x[/red]")
        assert "\x1b" not in seen(pilot)

    drive(app_on(path, tmp_path), steps, LARGE)


# -- where a finding leads ---------------------------------------------------------------------------------------------------


def finding(id: str, tank: str = "electrolyte") -> Finding:
    return Finding(id=id, tank=tank, what="", why="", level="soon", because=Because(text=""))


@pytest.mark.parametrize(
    ("id", "place", "what"),
    [
        ("electrolyte.low.nickel", "plan", "dose"),
        ("electrolyte.high.ph", "advice", "acid"),
        ("electrolyte.high.temperature", "why", ""),
        ("electrolyte.age.bath", "advice", "signs"),
        ("electrolyte.anode.zinc-1", "advice", "anodes"),
        ("electrolyte.make_up.bath", "plan", "make up"),
        ("electrolyte.doubt.zinc", "log", "reading"),
        ("electrolyte.caution.high-strength", "why", ""),
    ],
)
def test_where_a_finding_leads(tmp_path: Path, id: str, place: str, what: str) -> None:
    view: TankView = Workshop.open(book(tmp_path)).tank("electrolyte", NOW)
    way = advised.way_of(finding(id), view)
    assert (way.place, way.what) == (place, what)


# -- what is typed -----------------------------------------------------------------------------------------------------------

AT = datetime(2026, 6, 20, 12, 0, tzinfo=UTC)


@pytest.fixture(scope="module")
def manner(tmp_path_factory: pytest.TempPathFactory) -> Manner:
    workshop = Workshop.open(book(tmp_path_factory.mktemp("manner")))
    return Manner(workshop.preferences, workshop.vocabulary, {"nickel": "g/L", "ph": "pH"}, ("waste-1",))


def a_step(action: str, **more: Any) -> PlanStep:
    return PlanStep(step=1, action=action, **more)  # type: ignore[arg-type]


def test_what_was_weighed(manner: Manner) -> None:
    salt = a_step("add", reagent=SALT, amount=225.0, unit="g")
    assert step_done("", salt, "electrolyte", manner, AT).amount is None
    assert step_done("228", salt, "electrolyte", manner, AT).amount == 228.0
    done = step_done("0.23 kg; the bag was nearly empty", salt, "electrolyte", manner, AT)
    assert (done.amount, done.note) == (230.0, "the bag was nearly empty")
    acid = a_step("add", reagent="hydrochloric acid 37%", amount=20.0, unit="mL")
    assert step_done("0.025 L", acid, "electrolyte", manner, AT).amount == 25.0
    for wrong in ("3 L", "some", "0", "-5 g"):
        with pytest.raises(SaidError, match=r"g|amount"):
            step_done(wrong, salt, "electrolyte", manner, AT)


def test_where_solution_went(manner: Manner) -> None:
    out = a_step("remove", amount=0.25, unit="L")
    done = step_done("300 mL to Waste-1; spilled none", out, "electrolyte", manner, AT)
    assert (done.amount, done.to, done.note) == (pytest.approx(0.3), "waste-1", "spilled none")
    assert step_done("to waste-1", out, "electrolyte", manner, AT).amount is None


def test_what_was_read(manner: Manner) -> None:
    nickel = a_step("measure", of="nickel")
    (value,) = step_done("24.1", nickel, "electrolyte", manner, AT).values
    assert (value["of"], value["value"], value["unit"]) == ("nickel", 24.1, "g/L")
    two = step_done("nickel=24.1 pH=5.4", nickel, "electrolyte", manner, AT).values
    assert [v["of"] for v in two] == ["nickel", "ph"]
    assert step_done("no titrant left", nickel, "electrolyte", manner, AT).note == "no titrant left"
    with pytest.raises(SaidError, match="read, or in words why"):
        step_done("", nickel, "electrolyte", manner, AT)
    with pytest.raises(SaidError):
        step_done("24 metres", nickel, "electrolyte", manner, AT)


@pytest.mark.parametrize(
    ("text", "days", "reason"),
    [("14d waiting", 14, "waiting"), ("2 weeks: on holiday", 14, "on holiday"), ("no salts", 7, "no salts"),
     ("3 days x", 3, "x")],
)
def test_putting_off(text: str, days: int, reason: str) -> None:
    said = put_off(text, AT)
    assert (said.until, said.reason) == (AT + timedelta(days=days), reason)


@pytest.mark.parametrize("text", ["", "14d", "2026-01-01 past", "9999d too long", "2026-13-40 x"])
def test_putting_off_refused(text: str) -> None:
    with pytest.raises(SaidError, match=r"say|past|ten years|2026"):
        put_off(text, AT)


def test_stock_lines() -> None:
    catalogue, prefs = load(), Preferences()
    own = ("zinc chloride", "g", "reagent")

    def said(text: str, action: str = "bought") -> dict[str, Any]:
        return stocked(text, action, own, {"zinc chloride": "reagent", "EDTA 0.1M": "titrant"}, catalogue, prefs).raw

    assert said("5 kg price=32 lot=A17, purity=97%") == {
        "kind": "stock", "reagent": "zinc chloride", "action": "bought", "amount": 5000.0, "unit": "g", "what": "reagent",
        "price": 32.0, "lot": "A17", "purity": 0.97,
    }  # fmt: skip
    assert said("1200", "counted")["amount"] == 1200.0
    anode = said("zinc anode=4 kg")
    assert (anode["reagent"], anode["what"], anode["unit"]) == ("zinc", "anode", "g")
    acid = said("hydrochloric acid 37%=2.5 L")
    assert (acid["amount"], acid["unit"]) == (2500.0, "mL")
    for wrong, right in (
        ("", "how much"), ("unheard-of salt=5 kg", "unheard-of"), ("5 kg price=cheap", "no number"),
        ("5 kg purity=120%", "up to 100"),
        ("wood anode=4 kg", "no metal"), ("5 kg spread=3 L", "same kind"), ("5 parsec", "5"),
    ):  # fmt: skip
        with pytest.raises(SaidError, match=right):
            said(wrong)
    with pytest.raises(SaidError, match="belongs to what was bought"):
        said("5 kg price=3", "counted")

