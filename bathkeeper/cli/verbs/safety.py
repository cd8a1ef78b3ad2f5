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
    from bathkeeper.counsel.dangers import Dangers
    from bathkeeper.findings import Finding


@click.command("safety")
@answers
def verb(as_json: bool, book: Path | None, at: datetime | None) -> None:
    """What can hurt here, by tank and substance, and what to do first.

    What must not meet, hydrogen of the last runs, first responses; the urgent first, each with its why and source. It rests on
    this workshop's own tanks, containers, anodes, reagents and parts, and does not replace safety data sheets or local rules.
    """
    from bathkeeper.counsel.dangers import dangers_of

    workshop = open_workshop(book)
    found = dangers_of(workshop, at)
    if as_json:
        answer_json({"book": str(workshop.book.path), **{n: getattr(found, n) for n in found.__struct_fields__}})
    else:
        from bathkeeper.answers.matrix import grid

        lines = [*_by_tank(found.findings), *_grid(grid(found.must_not_meet)), *_substances(found), *_hydrogen(found)]
        answer([*lines, *_first(found)])
        if not found.findings:
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


def _substances(found: Dangers) -> list[str]:
    from bathkeeper.answers.dangers import AS_SUCH, substance_lines
    from bathkeeper.cli.plain import clean, wrapped
    from bathkeeper.cli.tables import screen_cells, styled

    lines = ["", styled("by substance", "head")] if found.substances else []
    for substance in found.substances:
        head, *more = substance_lines(substance)
        lines += [f"  {line}" for line in wrapped(clean(head, lines=False), screen_cells() - 2)]
        lines += [f"      {line}" for text in more for line in wrapped(clean(text, lines=False), screen_cells() - 6)]
    sources = dict.fromkeys(s.source for s in found.substances if s.index)
    told = [AS_SUCH, *(f"source: {s}" for s in sources)] if found.substances else []
    return [*lines, *(f"  {line}" for text in told for line in wrapped(text, screen_cells() - 2))]


def _hydrogen(found: Dangers) -> list[str]:
    from bathkeeper.answers.dangers import hydrogen_line
    from bathkeeper.cli.plain import clean, wrapped
    from bathkeeper.cli.tables import screen_cells, styled

    if not found.hydrogen:
        return []
    told = [f"  {line}" for h in found.hydrogen for line in wrapped(clean(hydrogen_line(h), lines=False), screen_cells() - 2)]
    source = [f"      {line}" for line in wrapped(f"source: {found.hydrogen_source}", screen_cells() - 6)]
    return ["", styled("hydrogen of the last runs, and the fresh air that it needs", "head"), *told, *source]


def _first(found: Dangers) -> list[str]:
    from bathkeeper.cli.plain import wrapped
    from bathkeeper.cli.tables import screen_cells, styled
    from bathkeeper.waste.picking import mark

    lines = ["", styled("what to do first", "head")]
    for help in found.first_response:
        told = f"{help.title}: {help.text} {mark(help.status) or f'source: {help.source}'}"
        lines += [f"  {line}" for line in wrapped(told, screen_cells() - 2)]
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
