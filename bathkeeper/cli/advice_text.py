"""Advice as lines for a terminal: plans and their steps, checklists, the shelf, signs, anything told in sentences."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from typing import TYPE_CHECKING, Any

from bathkeeper.cli.plain import clean, wrapped
from bathkeeper.cli.tables import Cell, Column, screen_cells, styled, table
from bathkeeper.findings import Estimate
from bathkeeper.showing import shown_day, shown_estimate

if TYPE_CHECKING:
    from bathkeeper.accounts.costs import Cost, Reorder
    from bathkeeper.accounts.shelf import Shelf
    from bathkeeper.advice.open_plans import OpenPlan
    from bathkeeper.advice.replacing import Replacing
    from bathkeeper.advice.steps import Advised
    from bathkeeper.counsel import Offer
    from bathkeeper.entries import PlanStep
    from bathkeeper.units.numerals import Preferences


def paragraphs(texts: Iterable[str], indent: int = 0) -> list[str]:
    """Sentences wrapped to the terminal; the second and later lines of each stand in."""
    cells = screen_cells() - indent
    lines = []
    for text in texts:
        for number, line in enumerate(wrapped(clean(text, lines=False), cells - 2)):
            lines.append(" " * indent + ("  " if number else "") + line)
    return lines


def headed(head: str, texts: Sequence[str], indent: int = 0) -> list[str]:
    """Sentences under a head; nothing without sentences."""
    return [styled(clean(head, lines=False), "head"), *paragraphs(texts, indent)] if texts else []


def what_of(step: PlanStep) -> str:
    """What a step does, in a few words: ``add 120 g zinc chloride``."""
    amount = f" {step.amount:.4g} {step.unit}" if step.amount is not None and step.unit is not None else ""
    return f"{step.action}{amount} {step.reagent or step.of or ''}".rstrip()


def steps_text(steps: Iterable[Advised]) -> list[str]:
    """The steps of a plan with their reasons and cautions."""
    rows: list[list[Cell | str]] = []
    for advised in steps:
        rows.append([f"{advised.step.step}", _step_cell(advised.step)])
    return table([Column("", right=True), Column("", wraps=True)], rows)


def _step_cell(step: PlanStep) -> str:
    parts = [what_of(step), step.why] if step.action not in ("wait", "check") else [f"{what_of(step)}: {step.why}"]
    parts += [f"Take care: {step.caution}"] if step.caution else []
    return "\n".join(p for p in parts if p)


def offer_text(offer: Offer, prefs: Preferences) -> list[str]:
    """A plan on offer: its steps, where it lands, what else there is to know."""
    lines = [styled(clean(f"{offer.advice.purpose}: {offer.tank}", lines=False), "head")]
    lines += paragraphs(offer.advice.lines)
    lines += paragraphs(f"limit: {c}" for c in offer.conflict)
    lines += steps_text(offer.steps)
    if offer.dosing is not None and (offer.steps or offer.nearest is None):
        rows: list[list[Cell | str]] = []
        for after in offer.dosing.after.values():
            edges = " to ".join("" if v is None else f"{v:.3g}" for v in (after.low, after.high))
            row: list[Cell | str] = [after.title, _plain(after.before), _plain(after.after), edges, after.state]
            rows.append(row)
        columns = [Column("after it"), Column("now", right=True), Column("then", right=True), Column("window"), Column("")]
        lines += ["", *table(columns, rows)]
        if offer.dosing.cost is not None:
            lines.append(f"costs about {offer.dosing.cost:.2f}")
    lines += paragraphs(offer.advice.doubts)
    lines += paragraphs(offer.hints)
    return lines


def _plain(estimate: Estimate) -> str:
    unit = "" if estimate.unit in ("", "fraction", "ratio") else f" {estimate.unit}"
    return f"{estimate.value:.3g} ± {estimate.spread:.2g}{unit}"


def offer_plain(offer: Offer) -> dict[str, Any]:
    """A plan as ``dose --json`` gives it."""
    dosing = offer.dosing
    after: dict[str, Any] = {}
    if dosing is not None:
        for name, told in dosing.after.items():
            e = told.after
            after[name] = {"value": e.value, "low": e.low, "high": e.high, "unit": e.unit, "state": told.state}
    near = offer.nearest
    return {
        "tank": offer.tank, "purpose": offer.advice.purpose, "as_of": offer.at, "feasible": offer.feasible,
        "nothing_needed": offer.nothing_needed, "plan": [step_plain(a) for a in offer.steps], "after": after,
        "conflict": list(offer.conflict), "still_open": list(dosing.still_open) if dosing is not None else [],
        "nearest": offer_plain(near) if near is not None else None,
        "waste_l": dosing.waste_l if dosing is not None else 0.0, "cost": dosing.cost if dosing is not None else None,
        "lines": [*offer.advice.lines], "doubts": [*offer.advice.doubts], "hints": list(offer.hints),
    }  # fmt: skip


def step_plain(advised: Advised) -> dict[str, Any]:
    """A step with what it rests on."""
    s, b = advised.step, advised.because
    return {
        "step": s.step, "action": s.action, "reagent": s.reagent, "amount": s.amount, "unit": s.unit, "of": s.of, "why": s.why,
        "caution": s.caution, "because": {"text": b.text, "entries": b.entries, "formula": b.formula, "sources": b.sources},
    }  # fmt: skip


def plan_text(plan: OpenPlan) -> list[str]:
    """An accepted plan and how far it is."""
    head = f"{plan.purpose}: {plan.tank}, accepted {shown_day(plan.entry.at)}, {plan.state} [{plan.id[-8:]}]"
    rows: list[list[Cell | str]] = []
    for state in plan.steps:
        sign = Cell("done", "good") if state.done else Cell("next", "warn") if state is plan.next else Cell("")
        said = _step_cell(state.step)
        if state.done and not state.as_planned:
            said += f"\nreally {state.really:.4g} {state.step.unit}"
        rows.append([f"{state.step.step}", sign, said])
    columns = [Column("", right=True), Column(""), Column("", wraps=True)]
    return [styled(clean(head, lines=False), "head"), *table(columns, rows)]


def plan_plain(plan: OpenPlan) -> dict[str, Any]:
    """An accepted plan as JSON."""
    import msgspec

    steps = [
        {**msgspec.structs.asdict(s.step), "done_by": s.done_by, "done_at": s.done_at, "really": s.really} for s in plan.steps
    ]
    return {
        "plan": plan.id, "tank": plan.tank, "purpose": plan.purpose, "at": plan.entry.at, "state": plan.state,
        "ended_by": plan.ended_by, "steps": steps,
    }  # fmt: skip


def shelf_text(shelves: Mapping[str, Shelf], prefs: Preferences) -> list[str]:
    """The shelf: what is left, used, and what the last count showed."""
    rows: list[list[Cell | str]] = []
    for s in shelves.values():
        left = shown_estimate(s.amount, prefs) if s.amount is not None else "never counted"
        drift = s.counts[-1].drift if s.counts else None
        told = f"counted {shown_day(s.counts[-1].at)}" if s.counts else ""
        told += f", {drift:+.3g} {s.unit} against the book" if drift is not None else ""
        if s.short:
            told += f"{'; ' if told else ''}used though by the book it was not there: count it"
        lots = ", ".join(f"lot {lot.name}: {lot.left:.3g}" for lot in s.lots if lot.left > 0)
        rows.append([s.title, left, f"{s.used:.4g} {s.unit}", "\n".join(t for t in (told, lots) if t)])
    columns = [
        Column("what", wraps=True), Column("left", right=True), Column("used so far", right=True), Column("", wraps=True),
    ]  # fmt: skip
    return table(columns, rows) if rows else []


def reorder_text(wanted: Sequence[Reorder], prefs: Preferences) -> list[str]:
    """What to buy, soonest first."""
    rows: list[list[Cell | str]] = []
    for r in wanted:
        days = "none left" if r.days_left <= 0.5 else f"{r.days_left:.0f} days"
        rows.append([r.name, shown_estimate(r.left, prefs), f"{r.per_day * 7:.3g} {r.unit} a week", days, shown_day(r.by)])
    columns = [Column("buy"), Column("left", right=True), Column("use", right=True), Column("lasts", right=True), Column("by")]
    return table(columns, rows) if rows else []


def cost_text(cost: Cost, currency: str) -> list[str]:
    """What a span cost, in all, per run and per dm2."""
    money = f" {currency}" if currency else ""
    lines = [f"{shown_day(cost.since)} to {shown_day(cost.until)}: {cost.total:.2f}{money}, {cost.runs} runs"]
    if cost.per_run is not None:
        lines.append(f"a run: {cost.per_run:.2f}{money}")
    if cost.per_dm2 is not None:
        lines.append(f"a dm2: {cost.per_dm2:.3f}{money}")
    rows: list[list[Cell | str]] = [[n, f"{v:.2f}"] for n, v in sorted(cost.by_item.items(), key=lambda p: -p[1])]
    lines += table([Column("of it"), Column(currency or "", right=True)], rows) if rows else []
    if cost.unpriced:
        lines += paragraphs([f"without a price on record, so not counted: {', '.join(cost.unpriced)}"])
    return lines


def signs_text(told: Replacing) -> list[str]:
    """The signs of a side tank side by side, and what they come to."""
    by = f", about {shown_day(told.by)}" if told.by is not None else ""
    batches = ""
    if told.batches_left is not None:
        b = told.batches_left
        batches = f"; about {b.value:.0f} loads left ({b.low:.0f} to {b.high:.0f}){by}"
    head = styled(clean(f"{told.tank}: {told.verdict}", lines=False), "head")
    lines = [head, *paragraphs([f"{told.why}; {told.rule}{batches}"])]
    rows: list[list[Cell | str]] = []
    for sign in told.signs:
        value = f"{sign.value.value:.3g} ± {sign.value.spread:.2g} {sign.value.unit}"
        left = Cell(f"{max(sign.left, 0.0):.0%}", "bad" if sign.past else "")
        source = f"{sign.status}: {sign.source}".rstrip(": ")
        rows.append([sign.name, value, f"{sign.fresh:.3g}", f"{sign.limit:.3g}", left, source])
    columns = [
        Column("sign"), Column("now", right=True), Column("fresh", right=True), Column("limit", right=True),
        Column("left", right=True), Column("limit from", wraps=True),
    ]  # fmt: skip
    lines += table(columns, rows) if rows else []
    if told.refresh is not None:
        r = told.refresh
        stays = ", ".join(f"{n} keeps {max(v, 0.0):.0%} of its way" for n, v in r.stays.items())
        lines += paragraphs([f"refresh: {r.amount:.3g} {r.unit} {r.reagent} for {r.species}" + (f"; {stays}" if stays else "")])
    return lines
