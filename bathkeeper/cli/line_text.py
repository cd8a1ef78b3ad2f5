"""The whole line as text: a row for each tank, then what is due."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

from bathkeeper.cli.plain import clean
from bathkeeper.cli.tables import Cell, Column, styled, table
from bathkeeper.findings import Finding
from bathkeeper.showing import shown, shown_age, shown_day, shown_moment, shown_parts
from bathkeeper.units.numerals import Preferences

if TYPE_CHECKING:
    from bathkeeper.estimate.view import TankView
    from bathkeeper.workshop import Status

LEVELS = {"now": Cell("! now", "bad"), "soon": Cell("* soon", "warn"), "later": Cell("- later", "faint")}


def line_text(status: Status, prefs: Preferences) -> list[str]:
    """The status of the line."""
    lines = [styled(clean(status.workshop, lines=False), "head") + f" at {shown_moment(status.as_of)}"]
    if status.tanks:
        columns = [
            Column("tank", wraps=True), Column("role"), Column("level", right=True), Column("age", right=True),
            Column("load", right=True), Column("contents", wraps=True),
        ]
        lines += ["", *table(columns, [_tank(view, prefs) for view in status.tanks])]
    if status.due:
        lines += ["", styled("due", "head"), *due_text(status.due)]
    return lines


def due_text(due: Sequence[Finding]) -> list[str]:
    """What is due: level, what with its id, and why."""
    rows: list[list[Cell | str]] = []
    for finding in due:
        by = f" (by {shown_day(finding.by)})" if finding.by is not None else ""
        rows.append([LEVELS[finding.level], f"{finding.tank}: {finding.what}{by}\n{finding.why} [{finding.id}]"])
    return table([Column(""), Column("", wraps=True)], rows)


def _tank(view: TankView, prefs: Preferences) -> list[Cell | str]:
    return [view.tank, view.role, _level(view, prefs), shown_age(view.life_days), _load(view, prefs), state_of(view)]


def _level(view: TankView, prefs: Preferences) -> str:
    if not view.alive:
        return ""
    number, unit = shown_parts(view.volume_l.value, "L", prefs, view.volume_l.spread)
    if view.working_volume_l is None:
        return f"{number} {unit}"
    return f"{number} of {shown_parts(view.working_volume_l, 'L', prefs)[0]} {unit}"


def _load(view: TankView, prefs: Preferences) -> str:
    """Charge where any has passed, else area."""
    charge, area = view.charge_ah["since_make_up"], view.area_dm2["since_make_up"]
    if charge > 0:
        return shown(charge, "Ah", prefs, max(charge / 100, 0.1))
    return shown(area, "dm2", prefs, max(area / 100, 0.1)) if area > 0 else ""


def state_of(view: TankView) -> Cell:
    """What is out of its window, in doubt or not known; in words with a sign."""
    if not view.in_service:
        return Cell("out of service", "faint")
    if view.role == "dry" and not view.alive:
        return Cell("")
    if not view.alive:
        return Cell("? no make-up yet", "warn")
    contents = {**view.species, **view.ratios}
    titles = {**{n: c.title or n for n, c in contents.items()}, "ph": "pH"}
    states = {**{n: c.state for n, c in contents.items()}, **{n: i.state for n, i in view.indicators.items()}}
    out = [f"! {titles.get(n, n)} {s}" for n, s in states.items() if s in ("low", "high")]
    doubt = [f"? {titles.get(n, n)} reading in doubt" for n in view.doubtful]
    unsure = [
        f"? {c.title or n} not known well" for n, c in contents.items()
        if c.state == "unknown" and ("low" in c.window or "high" in c.window)
    ]
    if out:
        return Cell(", ".join([*out, *doubt, *unsure]), "bad")
    if doubt or unsure:
        return Cell(", ".join([*doubt, *unsure]), "warn")
    known = any(s == "in" for s in states.values())
    return Cell("in its windows", "good") if known else Cell("no windows", "faint")
