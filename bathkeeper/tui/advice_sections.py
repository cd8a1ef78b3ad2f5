"""The sections of advice about a tank, each in rows: what it comes to, its numbers with spread, what it rests on."""

from __future__ import annotations

from collections.abc import Callable
from datetime import datetime

from bathkeeper.counsel import Counsel, PlanKind
from bathkeeper.entries import Run
from bathkeeper.estimate.view import TankView
from bathkeeper.findings import Because, Estimate
from bathkeeper.tui.advice_rows import BAD, GOOD, MUTED, WARN, Row, heading
from bathkeeper.tui.widgets.bar import with_spread

SECTIONS = {"anodes": "Anodes", "acid": "Acid", "signs": "Signs", "defect": "Defects", "rest": "Rest", "wake": "Wake-up"}
REST_DAYS = 30.0  # what a lay-up is told for on this screen
BAR_WIDTH = 12
VERDICT = {"keep": ("✓", GOOD), "refresh": ("!", WARN), "replace": ("!!", BAD)}
RUNS_SHOWN = 8


def sections_for(view: TankView) -> list[str]:
    """The sections that a tank has: a plating bath has anodes and acid, any other signs of age."""
    first = ["anodes", "acid"] if view.role == "plate" else ["signs"]
    return [*first, *(["defect"] if view.role != "rinse" else []), "rest", "wake"]


def rows_of_section(counsel: Counsel, section: str, tank: str, at: datetime) -> list[Row]:
    """One section, worked out. Raises CounselError or NotFound where there is nothing to advise on."""
    makers: dict[str, Callable[[Counsel, str, datetime], list[Row]]] = {
        "anodes": anodes_rows, "acid": acid_rows, "signs": signs_rows, "defect": defect_rows,
        "rest": lambda c, t, m: resting_rows(c, t, m, "lay up"), "wake": lambda c, t, m: resting_rows(c, t, m, "wake up"),
    }  # fmt: skip
    return makers[section](counsel, tank, at)


def filled(share: float) -> str:
    """How much is left, as a bar of signs with its number."""
    full = min(max(round(share * BAR_WIDTH), 0), BAR_WIDTH)
    return "█" * full + "░" * (BAR_WIDTH - full) + f" {max(share, 0.0):4.0%} left"


def told(estimate: Estimate) -> str:
    """An estimate with its spread."""
    return with_spread(estimate.value, estimate.low, estimate.high, estimate.unit)


# -- anodes ------------------------------------------------------------------------------------------------------------------


def anodes_rows(counsel: Counsel, tank: str, at: datetime) -> list[Row]:
    """How long each lasts, whether the split holds the bath, what idle zinc costs."""
    advice = counsel.anodes(tank, at)
    if advice is None:
        return [Row(f"{tank} has no anodes to advise on: it is empty, or nothing is plated in it.", MUTED, "–")]
    because = advice.because
    rows: list[Row] = []
    for life in advice.lives:
        ends = (
            f"{life.to_half_ah:.0f} Ah to half, {life.to_end_ah:.0f} Ah to its end"
            if life.to_half_ah is not None
            else "no loss by current"
        )
        dates = f"half about {life.half_by:%d %b %Y}" if life.half_by is not None else "no date without recent runs"
        place = "hung" if life.hung else "lifted"
        rows.append(Row(f"{life.anode} ({life.metal}, {place}): {told(life.left)}", "bold", "·",
                        ((f"{life.per_100_ah_g:.3g} g per 100 Ah; {ends}; {dates}", MUTED),),
                        why=(f"{life.anode}: how long it lasts", because)))  # fmt: skip
    if not rows:
        rows.append(Row("No anode with a known mass is on record.", WARN, "?"))
    if advice.splits:
        rows.append(heading("Split of the anode current"))
    for split in advice.splits:
        near = split.holding.low <= split.share.value <= split.holding.high
        sign, style = ("✓", GOOD) if near else ("!", WARN)
        word = "holds the bath" if near else "too little" if split.share.value < split.holding.value else "too much"
        current = (
            f"; {split.amperes:.2f} A of {split.current_a:.2f} A would hold it"
            if split.amperes is not None and split.current_a is not None
            else ""
        )
        rests = "read or given" if split.given else "learned or assumed"
        cost = (
            f"{split.salt_g:.0f} g {split.salt} per 100 Ah makes up for it"
            if split.salt and split.salt_g and split.salt_g > 0
            else (f"the bath gains {split.net_g.value:.0f} g per 100 Ah" if split.net_g.value > 0 else "")
        )
        rows.append(Row(f"{split.metal} carries {told(split.share)}, {told(split.holding)} would hold it: {word}", style, sign,
                        ((f"{rests}{current}", MUTED), (cost, "")),
                        why=(f"{split.metal}: its part of the anode current", because)))  # fmt: skip
    if advice.verdict:
        rows.append(Row(advice.verdict, "bold", "·", why=("whether both metals can hold", because)))
    if advice.idle is not None:
        idle = advice.idle
        acid = f", and {idle.acid_most_ml:.0f} mL of {idle.acid} at most" if idle.acid_most_ml is not None else ""
        more = (
            f"about {idle.cemented_g:.0f} g of the nobler metal may plate out on it, unseen by titration"
            if idle.cemented_g > 0.5
            else ""
        )
        rows.append(heading("When the line stands idle"))
        rows.append(Row(f"Lift the {idle.metal}: a week without current costs {told(idle.loss_g)}{acid}", WARN, "!",
                        ((more, MUTED),),
                        why=(f"{idle.metal} that hangs without current", because)))  # fmt: skip
    return rows


# -- acid --------------------------------------------------------------------------------------------------------------------


def acid_rows(counsel: Counsel, tank: str, at: datetime) -> list[Row]:
    """What charge should have used against what was put in, and what would explain a gap."""
    from bathkeeper.advice.acid import sentences

    found = counsel.acid(tank, at)
    if found is None:
        return [Row(f"{tank} has no acid balance: it is empty, or nothing is plated in it.", MUTED, "–")]
    why = (f"{found.kind} balance of {tank}", found.because)
    sign, style, word = (
        ("✓", GOOD, "the balance closes within its spread") if found.closes else ("!", WARN, "the balance does not close")
    )
    rows = [Row(f"{found.kind}: {word}", style + (" bold" if "bold" not in style else ""), sign, why=why)]
    lines = [line for line in sentences(found) if not line.startswith("what would explain")]
    rows += [
        Row(
            line if line.startswith("pH") else line[:1].upper() + line[1:],
            WARN if line.startswith("this bounds") else "",
            "▲" if line.startswith("this bounds") else "·",
            why=why,
        )
        for line in lines
    ]
    if found.explanations:
        rows.append(heading("What would explain the gap, nearest first"))
        for one in found.explanations:
            rows.append(Row(one.text, "", "?", ((f"to tell: {one.how_to_tell}", MUTED),), why=(one.text, found.because)))
    return rows


# -- signs -------------------------------------------------------------------------------------------------------------------


def signs_rows(counsel: Counsel, tank: str, at: datetime) -> list[Row]:
    """Keep, refresh or replace: the signs side by side, and the rule that decides."""
    found = counsel.signs(tank, at)
    if found is None:
        return [Row(f"{tank} has no signs to show: it is empty or has no recipe.", MUTED, "–")]
    sign, style = VERDICT[found.verdict]
    rows = [
        Row(
            f"{found.verdict}: {found.why}",
            style,
            sign,
            ((f"decided {found.rule}", MUTED),),
            why=(f"{tank}: {found.verdict}", found.because),
        )
    ]
    if found.batches_left is not None:
        left = found.batches_left
        rows.append(
            Row(
                f"about {left.value:.0f} loads left ({left.low:.0f} to {left.high:.0f})"
                + (f", to about {found.by:%d %b %Y}" if found.by else ""),
                "",
                "·",
            )
        )
    elif found.by is not None:
        rows.append(Row(f"to about {found.by:%d %b %Y}", "", "·"))
    rows.append(heading("Signs, side by side"))
    for one in found.signs:
        decides = found.deciding is not None and one.name == found.deciding.name
        sign, style, word = ("!!", BAD, "past") if one.past else ("!", WARN, "near") if one.left < 0.2 else ("✓", "", "")
        text = f"{one.name:<11} {filled(one.left)}  {told(one.value)}, limit {one.limit:.4g}{'  ◀ decides' if decides else ''}"
        source = f"{word + '; ' if word else ''}{one.status}{': ' + one.source if one.source else ''}"
        because = Because(text=f"{one.name}: {told(one.value)}; fresh {one.fresh:.3g}, limit {one.limit:.4g}",
                          entries=one.entries,
                          formula=found.because.formula, sources=(source,))  # fmt: skip
        rows.append(Row(text, style, sign, ((source, MUTED),), why=(f"{tank}: {one.name}", because)))
    if found.refresh is not None:
        fresh = found.refresh
        stays = ", ".join(f"{name} has {left:.0%} of its way left" for name, left in fresh.stays.items())
        rows.append(heading("Refreshing"))
        rows.append(Row(f"{fresh.amount:.4g} {fresh.unit} {fresh.reagent} for {fresh.species}: Enter opens the plan", "bold",
                        "▶",
                        ((f"what stays in it: {stays}" if stays else "", MUTED),), leads=("plan", "refresh")))  # fmt: skip
    elif found.verdict != "replace":
        rows.append(Row("Enter opens the refreshing plan all the same", MUTED, "▶", leads=("plan", "refresh")))
    else:
        rows.append(
            Row(
                "Enter opens the make-up plan; where the old bath may go the local authority or a licensed contractor says",
                "",
                "▶",
                leads=("plan", "make up"),
            )
        )
    return rows


# -- defects -----------------------------------------------------------------------------------------------------------------


def defect_rows(counsel: Counsel, tank: str, at: datetime) -> list[Row]:
    """Runs that showed a defect, and every defect that arises in such a bath; Enter asks for the causes."""
    from bathkeeper.catalogue.defects import bath_of, defects_of

    state = counsel.workshop.at(at).tanks[tank]
    if state.recipe is None:
        return [Row(f"{tank} has no recipe, so nothing is known of its defects.", MUTED, "–")]
    runs = [e for e in counsel.workshop.entries(tank, at) if isinstance(e, Run) and e.defect]
    rows = [heading("Runs with a defect, the newest first")] if runs else []
    rows += [
        Row(f"{r.at:%d %b}: {r.defect}; {', '.join(p.description or 'parts' for p in r.parts)}", "", "!", leads=("run", r.id))
        for r in runs[:RUNS_SHOWN]
    ]
    known = defects_of(bath_of(state.recipe))
    if not known:
        return rows or [Row(f"No defects are known of a bath like {tank}.", MUTED, "–")]
    rows.append(heading("What does it look like? Enter: the likely causes"))
    rows += [Row(d.title, "bold", "·", ((d.looks, MUTED),), leads=("defect", d.name)) for d in known]
    return rows


def causes_rows(counsel: Counsel, tank: str, of: tuple[str, str], at: datetime) -> list[Row]:
    """The causes of one defect in this bath, the likeliest first, each with its evidence, test and remedy."""
    kind, name = of
    found = counsel.causes(name if kind == "defect" else None, run=name if kind == "run" else None, tank=tank, at=at)
    rows = [
        Row(
            f"{found.defect.title}: causes by what this bath tells",
            "bold",
            "◀",
            ((found.defect.looks, MUTED),),
            leads=("back", ""),
        )
    ]
    if found.defect.caution:
        rows.append(Row(found.defect.caution, WARN, "▲"))
    if found.tests:
        rows.append(heading("Look first, the cheapest first"))
        rows += [
            Row(f"{c.test_minutes:.0f} min: {c.test}", "", "□", ((f"tells: {c.title}", MUTED),), why=(c.title, c.because))
            for c in found.tests
        ]
    rows.append(heading("Causes"))
    for cause in found.causes:
        more: list[tuple[str, str]] = [
            (f"{'+' if clue.speaks else '−' if clue.factor < 1 else '·'} {clue.text}", "" if clue.speaks else MUTED)
            for clue in cause.evidence
        ]
        more += [(f"? not known: {words}", MUTED) for words in cause.unknown]
        more.append((f"remedy: {cause.remedy}", ""))
        if cause.caution:
            more.append((f"▲ {cause.caution}", WARN))
        sign = "▶" if cause in found.leading else "·"
        rows.append(
            Row(
                f"{cause.weight:.0%}  {cause.title} (without knowing this bath {cause.prior:.0%})",
                "bold",
                sign,
                tuple(more),
                why=(cause.title, cause.because),
            )
        )
    return rows


# -- rest and wake-up --------------------------------------------------------------------------------------------------------


def resting_rows(counsel: Counsel, tank: str, at: datetime, kind: PlanKind) -> list[Row]:
    """The checklist of a tank before the line rests, or before it works again."""
    offer = counsel.plan(tank, kind, days=REST_DAYS if kind == "lay up" else None, at=at)
    title = f"Before {tank} rests {REST_DAYS:.0f} days" if kind == "lay up" else f"Before {tank} works again"
    rows = [heading(f"{title} (p: make it a list to tick off)")]
    for step in offer.steps:
        own = step.step
        amount = f"{own.amount:.3g} {own.unit} {own.reagent or ''}: " if own.amount is not None else ""
        caution = ((f"▲ {own.caution}", WARN),) if own.caution else ()
        rows.append(
            Row(
                f"{own.step} {own.action}: {amount}{own.why}",
                "",
                "□",
                caution,
                why=(f"step {own.step}: {own.why}", step.because),
            )
        )
    rows += [Row(line, MUTED, "·") for line in offer.advice.lines]
    return rows if offer.steps else [Row(f"{tank} wants nothing for that.", GOOD, "✓"), *rows[1:]]
