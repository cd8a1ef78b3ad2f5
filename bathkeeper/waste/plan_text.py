"""The disposal plan as plain lines of text, for the command line and the screen alike."""

from __future__ import annotations

from collections.abc import Iterator

from bathkeeper.findings import Estimate
from bathkeeper.units.numerals import Preferences, figures
from bathkeeper.waste.allowing import AllowanceUse
from bathkeeper.waste.base_need import BaseNeed
from bathkeeper.waste.disposal import DisposalPlan
from bathkeeper.waste.saying import FIXED, held_said, origins_said, ph_said, plain, quantity_said, ranged
from bathkeeper.waste.treatment_sums import BaseSum, TreatmentSums

MOST_CONTENTS = 30
DATE_SIGNS = 200


def plan_lines(plan: DisposalPlan, prefs: Preferences = FIXED) -> list[str]:
    """The plan in lines; headings end with a colon, what belongs to them begins with two spaces. People's own words are on one
    line each, without control signs; nothing is markup; what the container holds stands in the
    keeper's units, the sums of base in g and L. The last line is always the authority or contractor."""
    return [" " * (len(line) - len(line.lstrip(" "))) + plain(line, 2000) for line in _lines(plan, prefs)]


def _lines(plan: DisposalPlan, prefs: Preferences) -> Iterator[str]:
    yield f"{plain(plan.container, 120)}: plan for handing it over, {plan.at:%Y-%m-%d}"
    if plan.rule_set_title.strip():
        date = f"; {plain(plan.rule_set_date, DATE_SIGNS)}" if plan.rule_set_date.strip() else ""
        yield f"rules read: {plain(plan.rule_set_title, 120)}{date}"
    if plan.empty:
        yield "what it is:"
        yield "  nothing: the container is empty, so that there is nothing to hand over and nothing to work out"
        yield "last step:"
        yield f"  {plain(plan.last_step, 1000)}"
        return
    yield "what it is:"
    yield from _what(plan, prefs)
    yield from _block("candidate codes, never final (the one who takes it confirms):", plan.candidates)
    yield from _block("must not touch it:", plan.must_not_touch)
    if plan.sums.tests or plan.sums.unreliable:
        yield from _block("before anything else:", (*plan.sums.tests, *plan.sums.unreliable))
    if plan.need.needs or not plan.kinds or plan.volume_l is not None:
        yield "base that it would take, on paper:"
        yield from _need(plan.need)
        yield from _sums(plan.need, plan.sums)
    yield from _block("treating it yourself:", plan.home_treatment)
    yield from _block("amount and time:", (*_months(plan), *plan.notes))
    yield from _block("ask the council or the contractor:", plan.questions)
    yield "to hand over with it (the record):"
    for row in plan.hand_over:
        yield f"  [ ] {row.field}{': ' + plain(row.known, 1000) if row.known else ''}"
    yield "last step:"
    yield f"  {plain(plan.last_step, 1000)}"


def _block(title: str, rows: tuple[str, ...]) -> Iterator[str]:
    if rows:
        yield title
        for row in rows:
            yield f"  {plain(row, 1000)}"


def _what(plan: DisposalPlan, prefs: Preferences) -> Iterator[str]:
    kinds = ", ".join(plan.kinds) or "of a kind not on record"
    amount = quantity_said(plan.volume_l, plan.mass_kg, prefs) or "amount not known"
    yield f"  {kinds}; {amount}{f'; {ph_said(plan.ph)}' if plan.ph is not None else ''}"
    if plan.origins:
        yield f"  from: {origins_said(plan.origins, prefs)}"
    for held in plan.contents[:MOST_CONTENTS]:
        each = f"; {held_said(held.concentration, prefs)}" if held.concentration is not None else ""
        yield f"  {plain(held.title, 60)}: {held_said(held.amount, prefs)}{each}"
    if len(plan.contents) > MOST_CONTENTS:
        yield f"  and {len(plan.contents) - MOST_CONTENTS} more"
    if not plan.complete:
        yield "  and something unknown: what stands here is the least"


def _need(need: BaseNeed) -> Iterator[str]:
    least = "of what is known of it, " if need.partial else ""
    if need.alkaline:
        acid = ranged(_turned(need.equivalents), "equivalents")
        yield f"  {least}it is alkaline: it would take {acid} of acid to pH {need.ph:g}."
        yield "  No mixing is worked out here: acid on alkali boils and spits, and may set gas free."
    else:
        yield f"  {least}{ranged(need.equivalents, 'equivalents')} (mol of OH-) to pH {need.ph:g}"
    parts = [("free acid", need.free_acid), *((f"metal {plain(m, 60)}", e) for m, e in need.metals.items())]
    parts += [("boric acid", need.boric_acid), ("ammonium", need.ammonium), ("alkali, and base put in", need.alkali)]
    for name, amount in parts:
        if amount.value or amount.low or amount.high:
            yield f"    {name}: {ranged(amount, 'equivalents')}"
    if need.second_road is not None:
        road = need.second_road
        verdict = "the two roads meet" if road.agree else "they do not meet: an acid addition or a spill may be missing"
        put_in = f", base put in {ranged(road.put_in)}" if road.put_in is not None else ""
        yield (
            f"  by the acid's own account: {ranged(road.equivalents, 'equivalents')} (made up {ranged(road.made_up)}, carried "
            f"out {ranged(road.dragged_out)}{put_in}); contents less that {ranged(road.difference)}: {verdict}"
        )
    for text in need.assumptions:
        yield f"  assumed: {text}"


def _sums(need: BaseNeed, sums: TreatmentSums) -> Iterator[str]:
    for base in sums.bases:
        yield from _base(base)
    if need.ammonium.high > 0:
        yield f"  ammonia set free at that pH, at most: {ranged(sums.ammonia_g)}, {ranged(sums.ammonia_l)} of gas"
    if sums.sludge_dry_g.high > 0:
        low, high = sums.sludge_wet_kg
        yield f"  sludge: {ranged(sums.sludge_dry_g)} dry, {figures(low, low / 4)} to {figures(high, high / 4)} kg wet"
    for one in sums.ranges:
        about = f"; {one.about}" if one.about else ""
        yield f"  least soluble, {one.name}: pH {one.low:g} to {one.high:g} ({one.status}: {one.source}){about}"
    for text in (*sums.stages, *sums.cautions):
        yield f"  {text}"
    yield f"  sources: {'; '.join(sums.sources)}"


def _base(base: BaseSum) -> Iterator[str]:
    shelf = ""
    if base.reagent:
        left = f", {ranged(base.left)} left" if base.left is not None else ""
        shelf = f" (on the shelf as {plain(base.reagent, 60)}{left})"
    pure = f", {100 * base.purity:.3g} % pure" if base.purity < 1 else ""
    short = f"; {base.falls_short}" if base.falls_short else ""
    yield f"  as {base.base}{shelf}: {ranged(base.grams)}{pure}{short}"
    if base.carbon_dioxide_l.high > 0:
        yield f"    carbon dioxide up to {ranged(base.carbon_dioxide_l)}"
    if base.heat_dry_kj.high > 0:
        yield f"    heat {ranged(base.heat_kj)} with the base dissolved before, {ranged(base.heat_dry_kj)} dry{_warming(base)}"
    if base.about:
        yield f"    {base.about}"


def _warming(base: BaseSum) -> str:
    if base.rise_c is None or base.rise_dry_c is None:
        return ""
    dry = "to boiling" if base.boils else f"by {figures(base.rise_dry_c, 1.0)} °C, locally far more"
    return f"; all at once it warms by {figures(base.rise_c, 1.0)} °C (a solution as heavy as the waste), dry {dry}"


def _months(plan: DisposalPlan) -> Iterator[str]:
    if plan.use is not None:
        yield from _with_use(plan, plan.use)
    elif plan.allowance_l_per_month is None:
        yield "How much the council takes is not on record: ask, and write it down as a waste limit of yours."
    elif plan.months is None:
        yield f"The council takes {figures(plan.allowance_l_per_month)} L a month; how many months, only the litres tell."
    else:
        to = f" to {plan.months_high}" if plan.months_high is not None and plan.months_high > plan.months else ""
        unit = "month" if plan.months == 1 and not to else "months"
        yield f"At {figures(plan.allowance_l_per_month)} L a month this takes {plan.months}{to} {unit}, if they take it at all."


def _with_use(plan: DisposalPlan, use: AllowanceUse) -> Iterator[str]:
    whom = plain(use.authority, 60) or "the council"
    month = f"{figures(use.monthly)} {use.unit} a month"
    if plan.months is None:
        what = "litres" if use.unit == "L" else "kilograms"
        yield f"At {month} ({whom}); how many months, only the {what} tell. {use.text}."
        return
    to = f" to {plan.months_high}" if plan.months_high is not None and plan.months_high > plan.months else ""
    unit = "month" if plan.months == 1 and not to else "months"
    counted = ", what is used up counted" if use.used > 0 else ""
    yield f"At {month} ({whom}) this takes {plan.months}{to} {unit}{counted}, if they take it at all. {use.text}."


def _turned(amount: Estimate) -> Estimate:
    return Estimate(-amount.value, -amount.high, -amount.low, amount.unit)
