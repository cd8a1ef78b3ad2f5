"""The verb ``safety``: what can hurt in this workshop, and what must not meet."""

from __future__ import annotations

from datetime import datetime
from pathlib import Path
from typing import TYPE_CHECKING

import click

from bathkeeper.cli.options import answers, open_workshop, tell_damage
from bathkeeper.cli.talk import answer, answer_json, say

if TYPE_CHECKING:
    from collections.abc import Sequence

    from bathkeeper.answers.matrix import Grid
    from bathkeeper.findings import Finding


@click.command("safety")
@answers
def verb(as_json: bool, book: Path | None, at: datetime | None) -> None:
    """What can hurt here, and what must not meet.

    By tank, the urgent first, each with its why and source. It rests on this workshop's own tanks, anodes, reagents and
    parts, and does not replace safety data sheets or local rules.
    """
    from bathkeeper.workshop import now

    workshop = open_workshop(book)
    moment = at or now()
    findings = workshop.safety(moment)
    matrix = workshop.must_not_meet(moment)
    if as_json:
        answer_json({"book": str(workshop.book.path), "as_of": moment, "findings": findings, "must_not_meet": matrix})
    else:
        from bathkeeper.answers.matrix import grid

        answer([*_by_tank(findings), *_grid(grid(matrix))])
        if not findings:
            say("Nothing is on record that could hurt. The usual care holds all the same.")
    tell_damage(workshop)


def _by_tank(findings: Sequence[Finding]) -> list[str]:
    from bathkeeper.answers.hazards import by_tank
    from bathkeeper.cli.plain import clean, wrapped
    from bathkeeper.cli.tables import screen_cells, styled

    cells = screen_cells()
    lines: list[str] = []
    for tank, own in by_tank(findings):
        lines += [*([""] if lines else []), styled(clean(tank, lines=False), "head")]
        for finding in own:
            style = {"now": "bad", "soon": "warn"}.get(finding.level, "")
            by = f" by {finding.by:%Y-%m-%d %H:%M}" if finding.by is not None else ""
            head = wrapped(clean(f"{finding.level}: {finding.what}{by}", lines=False), cells - 2)
            lines += [f"  {styled(line, style)}" for line in head]
            sources = "; ".join(s for s in finding.because.sources if s)
            texts = [finding.why, f"source: {sources}" if sources else ""]
            lines += [f"      {line}" for text in texts if text for line in wrapped(clean(text, lines=False), cells - 6)]
    return lines


def _grid(grid: Grid) -> list[str]:
    from bathkeeper.answers.matrix import LEGEND
    from bathkeeper.cli.plain import clean, width, wrapped
    from bathkeeper.cli.tables import screen_cells, styled

    if not grid.names:
        return []
    cells = screen_cells()
    names = [shortened(clean(n, lines=False), 24) for n in grid.names]
    room = max(width(n) for n in names)
    lines = ["", styled("what must not meet", "head"), *wrapped(LEGEND, cells)]
    lines += [" " * (room + 4) + head for head in grid.heads if head.strip()]
    for number, (name, row) in enumerate(zip(names, grid.rows, strict=True), start=1):
        lines.append(f"{number:>2} {name}{' ' * (room - width(name))} {row}".rstrip())
    return lines


def shortened(text: str, cells: int) -> str:
    """The text in at most so many cells."""
    from bathkeeper.cli.plain import width

    while width(text) > cells:
        text = text.removesuffix("…")[:-1] + "…"
    return text
