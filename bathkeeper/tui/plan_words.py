"""A plan in rows: steps with what they rest on, cautions where they are needed, what every species will be after."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from typing import TYPE_CHECKING

from bathkeeper.advice.open_plans import OpenPlan, StepState
from bathkeeper.advice.steps import Advised
from bathkeeper.counsel import Offer, Recheck
from bathkeeper.entries import PlanStep
from bathkeeper.estimate.view import Content
from bathkeeper.tui.advice_rows import BAD, GOOD, MUTED, WARN, Row, heading
from bathkeeper.tui.widgets.bar import STATES, between, edge, with_spread
from bathkeeper.units.door import figures

if TYPE_CHECKING:
    from bathkeeper.advice.dosing import After

ENDED = {
    "open": ("!", "open"),
    "done": ("✓", "done"),
    "given up": ("–", "given up"),
    "superseded": ("–", "replaced by a newer plan"),
}


def step_head(step: PlanStep) -> str:
    """``3 add 225 g nickel chloride``."""
    amount = f"{figures(step.amount)} {step.unit}" if step.amount is not None and step.unit is not None else ""
    what = step.reagent or (f"from {step.of}" if step.action == "remove" and step.of else step.of or "")
    what = "pH" if what == "ph" else what
    return " ".join(part for part in (f"{step.step}", step.action, amount, what) if part)


def _first_words(step: PlanStep) -> str:
    """A step that has nothing but words is told by them."""
    return f"{step_head(step)}: {step.why}" if step.amount is None and not step.reagent and not step.of else step_head(step)


def offered(step: Advised) -> Row:
    """A step of an offer."""
    own = step.step
    more = [] if _first_words(own) != step_head(own) else [(own.why, MUTED)]
    return Row(
        _first_words(own), "bold", "□", (*more, *_caution(own)), why=(f"step {step_head(own)}", step.because)
    )  # fmt: skip


def accepted(state: StepState, next_one: bool) -> Row:
    """A step of a plan in the book: done, next, or still to do."""
    own = state.step
    head = _first_words(own)
    more: list[tuple[str, str]] = [] if head != step_head(own) else [(own.why, MUTED)]
    if state.done:
        really = f" {figures(state.really)} {own.unit}" if state.really is not None and own.unit else ""
        when = f", {state.done_at:%d %b %H:%M}" if state.done_at is not None else ""
        differs = "" if state.as_planned else f" in place of {figures(own.amount or 0.0)} {own.unit}"
        return Row(f"{head}  done{really}{differs}{when}", GOOD, "✓", leads=("why", str(own.step)))
    sign, word = ("▶", "  next") if next_one else ("□", "")
    return Row(head + word, "bold", sign, (*more, *_caution(own)), leads=("tick", str(own.step)))


def _caution(step: PlanStep) -> tuple[tuple[str, str], ...]:
    return ((f"▲ {step.caution}", WARN),) if step.caution else ()


def offer_rows(offer: Offer) -> list[Row]:
    """An offer from the top: conflict and nearest, steps, what will be after, doubts, other ways."""
    rows: list[Row] = []
    shown = offer
    if not offer.feasible:
        rows.append(Row("No plan meets all of these together:", BAD, "!!"))
        rows += [Row(line, "", "") for line in offer.conflict]
        if offer.nearest is not None:
            shown = offer.nearest
            rows.append(heading("The nearest there is"))
            still = shown.dosing.still_open if shown.dosing is not None else ()
            rows += [Row(f"stays open: {line}", WARN, "!") for line in still]
    elif offer.nothing_needed:
        said = offer.advice.lines or (f"{offer.tank}: nothing is needed",)
        rows += [Row(line, GOOD, "✓") for line in said]
    rows += [offered(step) for step in shown.steps]
    rows += after_rows(shown.dosing.after.values() if shown.dosing is not None else (), offer.tank)
    rows += _notes(shown)
    for number, way in enumerate(offer.dosing.alternatives if offer.dosing is not None else (), start=1):
        rows.append(heading(f"Another way, {number}"))
        rows += [Row(line, "", "·", leads=("way", str(number - 1))) for line in way.lines]
        rows += [offered(step) for step in way.steps]
    return rows


def _notes(offer: Offer) -> list[Row]:
    lines = [] if offer.nothing_needed else list(offer.advice.lines)
    rows = [Row(line, "", "·") for line in lines]
    rows += [Row(line, WARN, "?") for line in offer.advice.doubts]
    rows += [Row(line, MUTED, "·") for line in offer.hints]
    if offer.dosing is not None and offer.dosing.cost is not None and offer.steps:
        rows.append(Row(f"costs about {offer.dosing.cost:.2f} in your currency", MUTED, "·"))
    return [heading("To know"), *rows] if rows else []


def after_rows(after: Iterable[After], tank: str) -> list[Row]:
    """Every species and ratio: now, then, its window and how it will stand."""
    rows = []
    for one in after:
        sign, word, style = STATES.get(one.state, STATES["none"])
        unit = one.after.unit
        now = edge(one.before.value, unit)
        then = with_spread(one.after.value, one.after.low, one.after.high, unit if unit != "ratio" else "")
        rows.append(
            _landing(one.title, f"{now} → {then}", _window(one.low, one.high, unit), sign, word, style, f"{tank}.{one.name}")
        )
    return [heading("After it"), *rows] if rows else []


def recheck_rows(recheck: Recheck | None) -> list[Row]:
    """Where the steps that are left would bring the tank."""
    if recheck is None or not recheck.after:
        return []
    rows = [heading("With the steps that are left")]
    rows += [Row(line, BAD, "!!") for line in recheck.still_out]
    rows += [_content_row(content, name, recheck.plan.tank) for name, content in _kept(recheck.after).items()]
    return rows


def _kept(after: Mapping[str, Content]) -> dict[str, Content]:
    return {n: c for n, c in after.items() if not c.dragged_in}


def _content_row(content: Content, name: str, tank: str) -> Row:
    window = content.window
    sign, word, style = STATES[content.state if window else "none"]
    value = with_spread(content.value, content.low, content.high, content.unit if content.unit != "ratio" else "")
    told = _window(window.get("low"), window.get("high"), content.unit)
    return _landing(content.title or name, value, told, sign, word, style, f"{tank}.{name}")


def _landing(title: str, value: str, window: str, sign: str, word: str, style: str, ask: str) -> Row:
    return Row(
        f"{title}: {value}{window}  {word}".rstrip(), style if word not in ("in", "") else "", sign.strip(), leads=("ask", ask)
    )


def _window(low: float | None, high: float | None, unit: str) -> str:
    if low is not None and high is not None:
        by = 100.0 if unit == "fraction" else 1.0
        return f", window {between(low * by, high * by)}"
    if low is not None:
        return f", at least {edge(low, unit)}"
    return f", at most {edge(high, unit)}" if high is not None else ""


def plan_rows(plan: OpenPlan, recheck: Recheck | None) -> list[Row]:
    """A plan in the book, and where the rest of it would land."""
    following = plan.next
    rows = [accepted(s, following is not None and s.step.step == following.step.step) for s in plan.steps]
    return rows + (recheck_rows(recheck) if plan.is_open else [])


def plan_state(plan: OpenPlan) -> str:
    """``! open, 2 of 6 steps done``."""
    sign, word = ENDED[plan.state]
    return f"{sign} {word}, {plan.done} of {len(plan.steps)} steps done; accepted {plan.entry.at:%d %b %H:%M}"
