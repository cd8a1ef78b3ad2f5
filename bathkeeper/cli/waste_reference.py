"""The rules of waste as lines for a terminal: a rule set in full, codes in question, contents beside limits, with sources."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import TYPE_CHECKING, Any

import msgspec

from bathkeeper.cli.advice_text import headed, paragraphs
from bathkeeper.cli.plain import clean
from bathkeeper.cli.tables import Cell, Column, styled, table
from bathkeeper.units.numerals import figures

if TYPE_CHECKING:
    from bathkeeper.catalogue.own_waste import WasteLimit
    from bathkeeper.waste.comparing import Compared
    from bathkeeper.waste.schema import Candidate, Cited, Discharge, Property, RuleSet, Threshold

LISTS = ("routes", "thresholds", "storage", "papers", "discharge", "ask", "mixing", "notes", "allowances")
STANDINGS = {
    "above": ("! above", "bad"), "may be above": ("* may be above", "warn"), "within": ("· within", ""),
    "not known": ("? ask", "warn"),
}  # fmt: skip
STRENGTHS = {"first": "nearest", "also": "also", "question": "a question"}
NOT_FINAL = "Candidates, never final: the one who takes the waste, or the authority, says which code holds."
COMPARED = "For comparison only: limits for discharge of those whom they name. No figure here is leave to let anything go."


def rules_plain(rules: RuleSet) -> dict[str, Any]:
    """A rule set as JSON, every field there whether or not it says something."""
    told: dict[str, Any] = {f: getattr(rules, f) for f in ("name", "title", "date", "system", "extends", "within", "chosen")}
    for field in LISTS:
        told[field] = [{n: getattr(line, n) for n in line.__struct_fields__} for line in getattr(rules, field)]
    return {"rule_set": told.pop("name"), **told}


def rules_text(rules: RuleSet, keeper: str) -> list[str]:
    """The rule set that holds: what it says, line by line, with where it was read."""
    from bathkeeper.waste.limits import hand_over_papers

    lines = [styled(clean(rules.title, lines=False), "head"), *paragraphs([f"{rules.date}; chosen {rules.chosen}"])]
    lines += paragraphs([f"keeper: {keeper or 'not told; both routes are shown (`settings keeper=household` or `business`)'}"])
    routes = [r for r in rules.routes if not keeper or r.keeper in (None, keeper)]
    lines += _section("routes", (_told(r, f"{r.keeper or 'anyone'}: {r.text}") for r in routes))
    lines += _section(
        "thresholds",
        (_told(t, f"{_edge(t)}: {t.text}") for t in rules.thresholds),
    )
    kept = [_told(s, f"{s.text}; counted from {s.starts}") for s in rules.storage]
    lines += _section("how long it may stand", kept or ["no limit in days was read for this place: ask"])
    theirs = [p for p in rules.papers if not keeper or p.keeper in (None, keeper)]
    papers = [*theirs, *(p for p in hand_over_papers(rules, keeper) if p not in theirs)]
    lines += _section("papers", (_told(p, f"{p.name}: {p.text}{_years(p.keep_years, p.since)}") for p in papers))
    lines += _discharge(rules.discharge)
    lines += _section("whom to ask", (_told(a, a.text) for a in rules.ask if not keeper or a.keeper in (None, keeper)))
    lines += _section("mixing", (_told(m, m.text) for m in rules.mixing))
    lines += _section("notes", (_told(n, n.text) for n in rules.notes))
    return lines + _section(
        "what some places take (examples only)", (_told(a, f"{a.name}: {a.text}") for a in rules.allowances)
    )


def _edge(t: Threshold) -> str:
    return f"{t.trips} pH {t.value:g}" if t.unit == "pH" else f"{t.trips} {figures(t.value)} {t.unit}"


def own_limits_text(limits: Sequence[WasteLimit]) -> list[str]:
    """What the authority told this keeper; it wins over the rule set."""
    told = []
    for w in limits:
        amount = f"{figures(w.volume_l)} L" if w.volume_l is not None else f"{figures(w.mass_kg)} kg" if w.mass_kg else ""
        ph = " to ".join(f"{v:g}" for v in (w.low, w.high) if v is not None)
        number = f"{w.of} {f'{w.mg_l:g} mg/L' if w.mg_l is not None else ph}"
        said = {
            "allowance": f"{amount} in {figures(w.per_days)} days",
            "storage": f"{figures(w.days or 0.0)} days",
            "elsewhere": f"at another place of yours, since {w.since or 'a day that is not told'}",
            "far": "whoever takes it lies 200 miles (322 km) or more away",
        }.get(w.what, number)
        whose = ", ".join(
            t for t in (w.authority, w.reference, w.about, f"of {', '.join(w.containers)}" if w.containers else "") if t
        )
        told.append(f"{w.what}: {said}{f' ({whose})' if whose else ''}")
    return ["", *headed("your own limits, which win over these rules", told)] if told else []


def _section(title: str, texts: Iterable[str]) -> list[str]:
    told = list(texts)
    return ["", *headed(title, told)] if told else []


def _told(line: Cited, text: str) -> str:
    """A line of a rule set with its mark and where it stands."""
    from bathkeeper.waste.picking import mark

    where = "; ".join(w for w in (f"{line.citation}{f' ({line.edition})' if line.edition else ''}", line.source) if w)
    return " ".join(w for w in (text, mark(line.status), f"[{where}]" if where else "") if w)


def _years(years: float | None, since: str) -> str:
    return f"; keep {figures(years)} years from {since}" if years is not None else ""


def _discharge(limits: Sequence[Discharge]) -> list[str]:
    from bathkeeper.waste.comparing import period
    from bathkeeper.waste.picking import mark

    if not limits:
        return [
            "",
            *headed("discharge limits", ["none was read for this place: they are set site by site; ask, and enter your own"]),
        ]
    tables: dict[tuple[str, str], list[Discharge]] = {}
    for d in limits:
        tables.setdefault((d.table, d.applies), []).append(d)
    lines = ["", styled("discharge limits, for comparison only", "head"), *paragraphs([COMPARED])]
    for (name, applies), group in tables.items():
        lines += paragraphs([f"{name}: {applies}"])
        rows: list[list[Cell | str]] = []
        for d in group:
            average = f"average over {period(d)} {d.average_mg_l:g} mg/L" if d.average_mg_l is not None else ""
            more = "; ".join(w for w in (average, d.about, mark(d.status)) if w)
            rows.append([f"  {'pH' if d.of == 'ph' else d.of}", _limit(d), more])
        lines += table([Column(""), Column("", right=True), Column("", wraps=True)], rows)
        sources = dict.fromkeys(f"{d.citation}{f' ({d.edition})' if d.edition else ''}; {d.source}".rstrip("; ") for d in group)
        lines += paragraphs([f"[{s}]" for s in sources], indent=2)
    return lines


def _limit(d: Discharge) -> str:
    if d.of == "ph":
        return " ".join(
            w for w in (f"from {d.low:g}" if d.low is not None else "", f"to {d.high:g}" if d.high is not None else "") if w
        )
    return f"{d.max_mg_l:g} mg/L" if d.max_mg_l is not None else ""


def codes_text(name: str, found: Sequence[Candidate], hazards: Sequence[Property], rules: RuleSet) -> list[str]:
    """Candidates with why, type and standing, and hazardous properties that come into question."""
    from bathkeeper.waste.candidates import candidate_line
    from bathkeeper.waste.saying import sentences

    head = f"{name}: codes in question under {rules.title}; {rules.date}"
    lines = [*(styled(line, "head") for line in paragraphs([head])), *paragraphs([NOT_FINAL])]
    if not found:
        lines += paragraphs(["Nothing is in it: there is nothing to name."])
    for c in found:
        lines += ["", styled(f"{c.code or 'no code'} ({STRENGTHS[c.strength]})", "head")]
        bare = msgspec.structs.replace(c, code="")
        lines += paragraphs([candidate_line(bare), f"source: {c.status}{f': {c.source}' if c.source else ''}"], indent=2)
    if hazards:
        lines += [
            "",
            styled("hazardous properties that come into question (what is not listed is not thereby ruled out)", "head"),
        ]
    for p in hazards:
        lines += paragraphs([sentences(f"{p.hp or 'beside these'}: {p.title} ({p.verdict})", p.why)])
        assumed = [f"taken to be so: {'; '.join(p.assumed)}"] if p.assumed else []
        lines += paragraphs([*assumed, f"source: {p.status}{f': {p.source}' if p.source else ''}"], indent=2)
    if not hazards and found and rules.system == "us":
        lines += ["", *paragraphs(["The federal rules go by characteristics and lists: they stand among the codes."])]
    return lines


def compared_text(name: str, rows: Sequence[Compared], rules: RuleSet) -> list[str]:
    """Contents beside limits, the most above first."""
    from bathkeeper.waste.comparing import ONLY_COMPARED
    from bathkeeper.waste.picking import mark

    head = f"{name} beside discharge limits of {rules.title}; {rules.date}"
    lines = [*(styled(line, "head") for line in paragraphs([head])), *paragraphs([COMPARED])]
    if not rows:
        lines += paragraphs(
            [
                "No limit to compare with: none was read for this place that it falls under, and none of yours is entered. "
                'Enter those of your consent: `log definition "waste limit" …`.'
            ]
        )
    body: list[list[Cell | str]] = []
    for r in rows:
        word, style = STANDINGS[r.standing]
        sign = Cell(word.replace("above", "outside") if r.of == "ph" else word, style)
        text = r.text.removesuffix(f"; {ONLY_COMPARED}")
        where = f"{r.table}: {r.applies} {mark(r.status) if not r.own else ''}".rstrip(" :")
        body.append([sign, f"{text}\n{where}\n{r.source if not r.own else ''}".rstrip()])
    return lines + (table([Column(""), Column("", wraps=True)], body) if body else [])
