"""Waste as lines for a terminal: containers, one container, the plan, litres and grams, pairs to keep apart, hand-overs."""

from __future__ import annotations

import shlex
from collections.abc import Mapping, Sequence
from datetime import datetime
from typing import TYPE_CHECKING

from bathkeeper.cli.advice_text import headed, paragraphs
from bathkeeper.cli.plain import clean, wrapped
from bathkeeper.cli.tables import Cell, Column, screen_cells, styled, table
from bathkeeper.cli.talk import counted
from bathkeeper.showing import shown, shown_between, shown_day, shown_estimate, shown_moment, shown_parts

if TYPE_CHECKING:
    from bathkeeper.accounts.grams import Grams
    from bathkeeper.accounts.litres import Litres
    from bathkeeper.findings import Estimate
    from bathkeeper.ledger import HandOver, Held, MissingGrams, WasteStatus
    from bathkeeper.units.numerals import Preferences
    from bathkeeper.waste.allowing import AllowanceUse
    from bathkeeper.waste.disposal import DisposalPlan
    from bathkeeper.waste.limits import Storage
    from bathkeeper.waste.meeting_streams import KeepApart

VERDICTS = {"never": Cell("! never", "bad"), "with care": Cell("* with care", "warn")}
STORED = {"now": "bad", "soon": "warn"}
MOST_FOUND = 5
MOST_GRAMS_FOUND = 3
LEAST_TOLD_L = 0.02  # what a rounding hides is not told
SOLIDS_SPREAD = 0.05  # of kilograms of solids, in the same way
KG_SPREAD = 0.005  # of an estimated weight: to how many figures it is told
NO_LEAVE = "That a pair is not listed is no leave to mix it: mixing needs a permit in many places, and water counts too."


def ending(ask_first: str) -> list[str]:
    """The standing sentence under every page on waste."""
    return ["", *paragraphs([ask_first])]


def status_text(status: WasteStatus, apart: Sequence[KeepApart], prefs: Preferences) -> list[str]:
    """Containers, what must not meet, the account in short, and whom to ask first."""
    head = styled(clean(status.workshop, lines=False), "head") + f", waste at {shown_moment(status.as_of)}"
    keeper = status.keeper or "household or business: not told (`settings keeper=…`)"
    lines = [head, *paragraphs([f"rules: {status.rule_set_title}, {status.rule_set_chosen}; {keeper}"])]
    if status.generator is not None:
        size = status.generator
        lines += paragraphs([f"size: {size.size}, all waste counted: {size.why}; the state may count otherwise"])
    if status.containers:
        columns = [
            Column("container", wraps=True), Column("holds", wraps=True), Column("amount", right=True),
            Column("stood", right=True), Column("left", right=True), Column("codes", wraps=True), Column("look at", wraps=True),
        ]  # fmt: skip
        lines += ["", *table(columns, [_row(held, prefs) for held in status.containers])]
        lines += paragraphs(["codes: as labelled, else in question (?), never final; `waste codes CONTAINER` tells why"])
    never = [k for k in apart if k.verdict == "never"]
    if never:
        pairs = [f"{k.a} and {k.b} ({k.gives})" for k in never]
        lines += ["", *paragraphs([f"must never meet: {'; '.join(pairs)}. More: `waste apart`"])]
    lines += ["", *account_text(status.account, None, status.as_of, prefs, brief=True), *_metals(status, prefs)]
    waiting = [h for h in status.handed_over if h.waits]
    refused = [h.reference or h.container for h in status.handed_over if h.refused is not None]
    if status.handed_over:
        receipts = f"; no receipt yet of {_listed([h.reference or h.container for h in waiting])}" if waiting else ""
        back = f"; refused: {_listed(refused)}" if refused else ""
        gone = len(status.handed_over) - len(refused)
        lines += paragraphs([f"handed over so far: {gone}{back}{receipts}. More: `waste handed`"])
    lines += paragraphs([_allowance(use) for use in status.allowances])
    return lines + ending(status.ask_first)


def _allowance(use: AllowanceUse) -> str:
    return f"{'! ' if use.full else ''}allowance of {use.authority or 'your authority'} ({use.name}): {use.text}"


def _metals(status: WasteStatus, prefs: Preferences) -> list[str]:
    """The metals of which more is missing, or there, than can be explained; else the one of which the most is."""
    from bathkeeper.ledger.missing import missing_said, stands_out

    clear = [m for m in status.unaccounted_g if stands_out(m)]
    told = [f"{'! ' if m in clear else ''}unaccounted for: {missing_said(m, prefs)}" for m in clear or status.unaccounted_g[:1]]
    return paragraphs(told)


def _row(held: Held, prefs: Preferences) -> list[Cell | str]:
    if held.empty:
        return [held.container, Cell("empty", "faint"), "", "", "", "", ""]
    codes = ", ".join(held.codes) or ", ".join(f"{c}?" for c in held.candidate_codes) or "none known"
    return [
        held.container, ", ".join(held.kinds), _amount(held, prefs), _days(held.storage.stood_days), _left(held.storage), codes,
        _unsound(held),
    ]  # fmt: skip


def _amount(held: Held, prefs: Preferences) -> str:
    if held.volume_l is not None:
        of = f" of {shown(held.size_l, 'L', prefs)}" if held.size_l is not None else ""
        solids = f" + {shown(held.solids_kg, 'kg', prefs, SOLIDS_SPREAD * held.solids_kg)} solid" if held.solids_kg > 0 else ""
        return f"{shown_estimate(held.volume_l, prefs)}{of}{solids}"
    if held.mass_kg is not None:
        return shown_estimate(held.mass_kg, prefs)
    return f"{held.pieces} pieces" if held.pieces else "not known"


def _unsound(held: Held) -> str:
    """Points of the checklist that were answered no, or never."""
    bad = [c.point for c in held.checks if c.answer == "no"]
    unseen = [c.point for c in held.checks if c.answer == "not looked at"]
    return "; ".join(p for p in (f"! {', '.join(bad)}" if bad else "", f"{', '.join(unseen)}?" if unseen else "") if p)


def _days(days: float | None) -> str:
    return f"{days:.0f} d" if days is not None else ""


def _left(storage: Storage) -> Cell:
    left = storage.left_days
    if left is None:
        return Cell("ask" if storage.text else "")
    return Cell(f"{left:.0f} d" if left > 0 else f"! over by {-left:.0f} d", STORED.get(storage.level or "", ""))


def container_text(held: Held, apart: Sequence[KeepApart], gone: Sequence[HandOver], prefs: Preferences) -> list[str]:
    """Everything that is known of one container."""
    from bathkeeper.waste.saying import origins_said, ph_said

    size = shown(held.size_l, "L", prefs) if held.size_l is not None else ""
    form = " of ".join(p for p in (held.form or "", size) if p)
    told = [
        form,
        held.place or "",
        f"opened {shown_day(held.opened)}" if held.opened is not None else "",
        "empty" if held.empty else "",
    ]
    lines = [styled(clean(held.container, lines=False), "head") + clean("".join(f"; {t}" for t in told if t), lines=False)]
    if not held.empty:
        what = [", ".join(held.kinds), _amount(held, prefs)]
        if held.volume_l is not None and held.mass_kg is not None:
            what.append(f"about {shown_estimate(held.mass_kg, prefs)}")
        lines += paragraphs(["; ".join([*what, *([ph_said(held.ph)] if held.ph is not None else ["pH not measured"])])])
        lines += paragraphs([f"from: {origins_said(held.origins, prefs)}", *_told_of(held)])
        lines += paragraphs([f"treated {t}" for t in held.treated])
        lines += _contents(held, prefs)
        if not held.complete:
            lines += paragraphs(["Something unknown went in: what stands here is the least that is there."])
        lines += ["", *headed("how long it may stand", _stands(held.storage))]
    label = [
        f"codes {', '.join(held.codes)}" if held.codes else "",
        f"hazards {', '.join(held.hazards)}" if held.hazards else "",
    ]
    if not held.empty:
        in_question = f"in question, never final: {', '.join(held.candidate_codes) or 'none known'} (`waste codes`)"
        lines += ["", *headed("label", [t for t in label if t] + [in_question])]
    lines += ["", *headed("checklist", [_checked(c.point, c.answer, c.question, c.at) for c in held.checks])]
    if apart:
        lines += ["", styled("must not meet", "head"), *_pairs(apart, held.container)]
    for hand_over in gone:
        lines += ["", *_handed(hand_over, prefs)]
    return lines


def _contents(held: Held, prefs: Preferences) -> list[str]:
    rows: list[list[Cell | str]] = []
    for name, amount in sorted(held.amounts.items(), key=lambda item: -item[1].value):
        number, unit = shown_parts(amount.value, amount.unit, prefs, amount.spread)
        each = held.contents.get(name)
        per_l = (
            [shown_estimate(each, prefs), shown_between(each.low, each.high, each.unit, prefs)]
            if each is not None
            else ["", ""]
        )
        rows.append([name, f"{number} {unit}", shown_between(amount.low, amount.high, amount.unit, prefs), *per_l])
    columns = [
        Column("holds", wraps=True), Column("in all", right=True), Column("95 % interval", right=True),
        Column("in a litre", right=True), Column("95 % interval", right=True),
    ]  # fmt: skip
    return ["", *table(columns, rows)] if rows else []


def _stands(storage: Storage) -> list[str]:
    told = [f"{_days(storage.stood_days)} so far"] if storage.stood_days is not None else []
    if storage.left_days is not None:
        by = f", until {shown_day(storage.by)}" if storage.by is not None else ""
        told.append(
            f"{storage.left_days:.0f} d left{by}"
            if storage.left_days > 0
            else f"over by {-storage.left_days:.0f} d: ask at once"
        )
    source = f"source: {storage.source}" if storage.source else ""
    return [t for t in ("; ".join(told), storage.told, source) if t]


def _checked(point: str, answer: str, question: str, at: datetime | None) -> str:
    when = f" on {shown_day(at)}" if at is not None else ""
    sign = {"yes": "", "no": "! "}.get(answer, "? ")
    return f"{sign}{point}: {answer}{when} ({question})"


def plan_text(plan: DisposalPlan, prefs: Preferences) -> list[str]:
    """The lines of a plan, wrapped to the terminal where they stand in."""
    from bathkeeper.waste.plan_text import plan_lines

    cells = screen_cells()
    lines = []
    for line in plan_lines(plan, prefs):
        text = line.lstrip(" ")
        indent = len(line) - len(text)
        parts = wrapped(clean(text, lines=False), cells - indent - 2)
        style = "head" if not indent and text.endswith(":") else ""
        lines += [" " * indent + ("  " if number else "") + styled(part, style) for number, part in enumerate(parts)]
    return lines


def account_text(
    account: Litres, since: datetime | None, until: datetime, prefs: Preferences, brief: bool = False
) -> list[str]:
    """Where every litre went; ``brief`` leaves out the lines that are nothing and the readings that found something missing."""
    period = f"{shown_day(since)} to {shown_day(until)}" if since is not None else f"from the first entry to {shown_day(until)}"
    more = "" if since is None else "more "
    came = [("put into tanks", account.into_tanks_l), ("put into containers", account.into_containers_l),
            ("rinse water that ran through", account.run_through_l)]  # fmt: skip
    went = [
        (f"{more}in tanks", account.in_tanks_l), (f"{more}in containers", account.in_containers_l),
        ("evaporated (by estimate)", account.evaporated_l), ("carried off on parts", account.on_parts_l),
        ("run off with rinse water", account.run_off_l), ("to the sewer, under a consent", account.to_sewer_l),
        ("samples", account.samples_l), ("handed over", account.handed_over_l), ("spilt", account.lost_l),
        ("taken out, nobody said where to", account.not_said_l), ("otherwise", account.other_l),
    ]  # fmt: skip
    kept = {"put into tanks", f"{more}in tanks", f"{more}in containers", "evaporated (by estimate)", "handed over"}
    rows: list[list[Cell | str]] = [["came in", ""]]
    rows += [[f"  {name}", _litres(value, prefs)] for name, value in came if name in kept or abs(value) >= 0.005]
    rows += [["is or went", ""]]
    rows += [[f"  {name}", _litres(value, prefs)] for name, value in went if name in kept or abs(value) >= 0.005]
    missing = account.unaccounted_l
    between = _interval(missing, prefs)
    told = "unaccounted for" if missing.value >= 0 else "more than the entries tell"
    style = "warn" if missing.low > 0 or missing.high < 0 else ""
    size = _litres(abs(missing.value), prefs)
    rows += [[Cell(f"  {told}", style), Cell(size, style)]]
    lines = [styled(f"account, {period}", "head"), *table([Column(""), Column("", right=True)], rows)]
    lines += paragraphs([f"unaccounted for: 95 % interval {between}{_verdict(account)}"])
    return lines + ([] if brief and not account.arose else _arose(account, prefs, brief))


def _litres(value: float, prefs: Preferences) -> str:
    return shown(value, "L", prefs, max(abs(value) * 0.02, 0.05))


def _verdict(account: Litres) -> str:
    missing = account.unaccounted_l
    if missing.low > 0:
        return "; a leak, a spill or a removal that was not written down"
    if missing.high < 0:
        return "; an addition that was not written down, or a level read too high"
    return "; it may be that nothing is missing"


def _arose(account: Litres, prefs: Preferences, brief: bool) -> list[str]:
    if not account.arose:
        return []
    if brief:
        return paragraphs(
            [f"it arose in {_listed([a.vessel for a in account.arose])}; `waste account` tells by which readings"]
        )
    lines = ["", styled("where it arose (below nothing: more than the entries tell)", "head")]
    for arose in account.arose:
        e = arose.litres
        within = "; within what readings can tell" if e.low <= 0 <= e.high else ""
        lines += paragraphs([f"{arose.vessel}: {shown(e.value, 'L', prefs, LEAST_TOLD_L)} ({_interval(e, prefs)}){within}"])
        most = sorted(arose.found, key=lambda f: -abs(f.litres))[:MOST_FOUND]
        for found in sorted(most, key=lambda f: f.at):
            litres = shown(found.litres, "L", prefs, LEAST_TOLD_L)
            lines += paragraphs([f"{shown_moment(found.at)}: {litres} by the entry {found.entry}"], indent=2)
        if len(arose.found) > MOST_FOUND:
            others = counted(len(arose.found) - MOST_FOUND, "other reading")
            lines += paragraphs([f"and {others}, each of which found less, one way or the other"], indent=2)
    rest = account.unaccounted_l.value - sum(a.litres.value for a in account.arose)
    if abs(rest) >= LEAST_TOLD_L:
        lines += paragraphs([f"all others together: {shown(rest, 'L', prefs, LEAST_TOLD_L)}"])
    return lines


def _interval(e: Estimate, prefs: Preferences) -> str:
    half = (e.high - e.low) / 2
    return f"{shown_parts(e.low, e.unit, prefs, half)[0]} to {shown(e.high, e.unit, prefs, half)}"


def grams_text(grams: Mapping[str, Grams]) -> list[str]:
    """Where the grams of every species went (mL of an additive): one row each, columns that are nothing for all left out."""
    names = {
        "put_in_g": "put in", "from_anodes_g": "off anodes", "worn_g": "by wear", "treated_g": "by treatment",
        "laid_down_g": "laid down", "in_tanks_g": "in tanks", "in_containers_g": "in containers", "on_parts_g": "on parts",
        "run_off_g": "run off", "to_sewer_g": "sewer", "samples_g": "samples", "handed_over_g": "handed over",
        "lost_g": "spilt", "not_said_g": "not said", "untracked_g": "not tracked",
        "recounted_g": "counted anew",
    }  # fmt: skip
    lines = [styled("grams by species (mL of additives); came in less what is or went leaves nothing", "head")]
    for one in grams.values():
        told = [(word, getattr(one, field)) for field, word in names.items()]
        texts = [f"{word} {value:.4g}" for word, value in told if abs(value) >= 0.005]
        missing = one.unaccounted_g
        if abs(missing.value) >= 0.005:
            texts.append(f"unaccounted for {missing.value:.4g} ({missing.low:.3g} to {missing.high:.3g})")
        if texts:
            lines += paragraphs([f"{one.species}: {', '.join(texts)}"])
    lines += paragraphs(["by wear: what dissolved or was spent (below nothing); unaccounted for: what readings put right."])
    return lines


def missing_text(found: Sequence[MissingGrams], prefs: Preferences) -> list[str]:
    """Grams that nobody can account for, each with its interval and the vessels in which it arose."""
    from bathkeeper.ledger.missing import missing_said, stands_out, vessel_said

    lines = [styled("grams unaccounted for (95 % interval; below nothing: more than the entries tell)", "head")]
    if not found:
        return [*lines, *paragraphs(["nothing that readings found comes to 0.05 g"])]
    for one in found:
        lines += paragraphs([f"{'! ' if stands_out(one) else ''}unaccounted for: {missing_said(one, prefs)}"])
        for arose in one.arose:
            if arose.beyond_spread:
                lines += paragraphs([f"{arose.vessel}: {vessel_said(arose.grams, one.species, prefs)}"], indent=2)
                for f in sorted(sorted(arose.found, key=lambda f: -abs(f.grams))[:MOST_GRAMS_FOUND], key=lambda f: f.at):
                    grams = shown(f.grams, arose.grams.unit, prefs, max(abs(f.grams) * 0.05, 0.05))
                    lines += paragraphs([f"{shown_moment(f.at)}: {grams} by the entry {f.entry}"], indent=4)
    if any(stands_out(one) for one in found):
        why = "!: more than make-ups, doses, plating and readings can be off by. A removal, a spill or a dose that nobody wrote"
        return lines + paragraphs([f"{why} down, or a reading that was wrong."])
    return lines + paragraphs(["all within what make-ups, doses, plating and readings can be off by"])


def apart_text(pairs: Sequence[KeepApart]) -> list[str]:
    """Pairs that must not meet, with what they would give and the source."""
    lines = [styled("what must not meet", "head")]
    lines += _pairs(pairs, "") if pairs else paragraphs(["No pair of the containers on record is known to give anything bad."])
    return [*lines, *paragraphs([NO_LEAVE])]


def _pairs(pairs: Sequence[KeepApart], name: str) -> list[str]:
    rows: list[list[Cell | str]] = []
    for k in pairs:
        who = f"{k.a} and {k.b}" if not name else k.b if k.a == name else k.a
        source = f"{k.status}: {k.source}" if k.source else "common practice"
        rows.append([VERDICTS.get(k.verdict, Cell(k.verdict)), who, f"{k.gives}\n{k.text}\n{source}"])
    return table([Column(""), Column("", wraps=True), Column("", wraps=True)], rows)


def handed_text(found: Sequence[HandOver], prefs: Preferences) -> list[str]:
    """Every hand-over with its papers."""
    lines: list[str] = []
    for number, hand_over in enumerate(found):
        lines += ([""] if number else []) + _handed(hand_over, prefs)
    return lines


def _handed(h: HandOver, prefs: Preferences) -> list[str]:
    from bathkeeper.waste.picking import mark
    from bathkeeper.waste.saying import origins_said

    amount = [shown_estimate(h.litres, prefs)] if h.litres is not None else []
    if h.mass_kg is not None:
        kg = shown(h.mass_kg, "kg", prefs) if h.weighed else shown(h.mass_kg, "kg", prefs, KG_SPREAD * h.mass_kg)
        amount.append(f"{kg} ({'weighed' if h.weighed else 'estimated'})")
    head = f"{shown_day(h.at)}: {h.container} to {h.to}"
    told = ["; ".join([", ".join(h.kinds) or "waste", *(amount or ["amount not known"])])]
    if h.origins:
        told.append(f"from: {origins_said(h.origins, prefs)}")
    told += _told_of(h)
    if h.stood_days is not None:
        told.append(f"stood {h.stood_days:.0f} d")
    told += [f"codes as told: {', '.join(h.codes)}" if h.codes else "no code on record"]
    told += [f"hazards as told: {', '.join(h.hazards)}"] if h.hazards else []
    told.append(f"reference {h.reference}" if h.reference else "no reference on record")
    came = f" on {shown_day(h.receipt_at)}" if h.receipt_at is not None else ""
    if h.refused is not None:
        when = f" on {shown_day(h.refused_at)}" if h.refused_at is not None else ""
        told.append(f"! refused{when}: {h.refused}; not handed over: it stayed in {h.container} or came back")
    elif h.receipt:
        told.append(f"receipt {h.receipt}{came}")
    else:
        told.append(f"! no receipt yet: ask for it; once it is there: {_receipt_line(h)}")
    told += [f"{name.replace('_', ' ')}: {_paper(value)}" for name, value in h.papers.items() if name != "refused"]
    if not h.on_record:
        told.append("! what went in is not on record: log it at its time, so that the papers and the book agree")
    elif not h.complete:
        told.append("something unknown went in: what is on record is the least")
    for kept in h.retention:
        until = f", until {shown_day(kept.until)}" if kept.until is not None else ""
        told.append(f"paper, {kept.paper.name}: {kept.text}{until} {mark(kept.paper.status)}".rstrip())
    return [styled(clean(head, lines=False), "head"), *paragraphs(told, indent=2)]


def _told_of(waste: Held | HandOver) -> list[str]:
    """Why it became waste and how it looks, as far as that was told."""
    from bathkeeper.ledger.record import looks_said

    why, looks = "; ".join(waste.why), looks_said(waste.physical_form, waste.colour)
    return [*([f"why it became waste: {why}"] if why else []), *([f"form and colour: {looks}"] if looks else [])]


def _receipt_line(h: HandOver) -> str:
    """The line that logs its receipt, dated today unless it says otherwise."""
    which = f"reference={quoted(h.reference)}" if h.reference else f"of={h.entry}"
    return f"`log container {quoted(h.container)} handed-over {which} receipt=…` (of today; of another day with receipt_at=)"


def quoted(name: str) -> str:
    """A name as a shell takes it whole."""
    return shlex.quote(name)


def _paper(value: str | bool) -> str:
    return value if isinstance(value, str) else "yes" if value else "no"


def _listed(names: Sequence[str], most: int = 5) -> str:
    more = f" and {len(names) - most} more" if len(names) > most else ""
    return f"{', '.join(names[:most])}{more}"
