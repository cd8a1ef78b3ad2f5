"""What the safety screen tells beside findings and the grid: substances, hydrogen of the last runs, what to do first."""

from __future__ import annotations

from textual.content import Content

from bathkeeper.answers.dangers import AS_SUCH, hydrogen_line, substance_lines
from bathkeeper.counsel.dangers import Dangers
from bathkeeper.due.words import SIGNS
from bathkeeper.findings import Because, Finding
from bathkeeper.tui.advice_rows import BAD, MUTED, WARN, Row, content_of, heading
from bathkeeper.tui.widgets.vessel import STYLE
from bathkeeper.waste.picking import mark

SHEET = "This does not replace the suppliers' safety data sheets, local rules or licensed practice."
GRAVE = ("H300", "H310", "H330", "H340", "H350", "H360")
BURNS = ("H301", "H311", "H314", "H317", "H318", "H331", "H334", "H341", "H372")


def danger_lines(finding: Finding, width: int) -> Content:
    """What can hurt, then why, each in as many lines as it takes: a warning is never cut off."""
    by = f" by {finding.by:%d %b}" if finding.by is not None else ""
    row = Row(f"{finding.what}{by}", STYLE[finding.level], SIGNS[finding.level], ((finding.why, "$foreground-muted"),))
    return content_of(row, width)


def substance_rows(dangers: Dangers) -> list[Row]:
    """Every substance with what its statements mean, the gravest first; Enter shows the source."""
    found = [heading("By substance, as estimated in tanks and containers or on the shelf")]
    found.append(Row(f"{AS_SUCH} {SHEET}", MUTED, "▲"))
    for here in dangers.substances:
        head, meaning, *_ = substance_lines(here)
        codes = [code for code, _ in here.statements]
        grave = any(c.startswith(GRAVE) for c in codes)
        sign, style = ("!!", BAD) if grave else ("!", WARN) if any(c.startswith(BURNS) for c in codes) else ("·", "")
        source = f"{here.status}: CLP Annex VI, {here.index}: {here.source}"
        because = Because(text=f"{meaning}. {here.about}".strip(), sources=(source,))
        found.append(Row(head, style, sign, ((meaning, ""), (mark(here.status), MUTED)), (here.name, because)))
    if not dangers.substances:
        found.append(Row("No harmonised substance is known to be in what is on record here.", MUTED, "·"))
    return found


def response_rows(dangers: Dangers) -> list[Row]:
    """What to do first, and the hydrogen of the last runs with the fresh air that it needs."""
    found = [heading("What to do first")]
    for help in dangers.first_response:
        told = mark(help.status) or f"source: {help.source}"
        found.append(Row(f"{help.title}: {help.text}", "", "+", ((told, MUTED),)))
    found.append(heading("Hydrogen of the last runs, and the fresh air that it needs"))
    because = Because(
        text="All current that lays down no metal makes hydrogen. It gathers under lids and ceilings: air the room, no flame, "
        "no spark, current off before contacts are lifted.",
        formula="(1 - cathode efficiency) x charge x 3600 / (2 F); air = hydrogen / 1 %",
        sources=(dangers.hydrogen_source,),
    )
    found += [Row(hydrogen_line(h), "", "·", why=("hydrogen", because)) for h in dangers.hydrogen]
    if not dangers.hydrogen:
        found.append(Row("No run with a charge is on record.", MUTED, "·"))
    return [*found, Row(SHEET, MUTED, "▲")]
