"""One tank as text: contents against windows, what was read, anodes, what was learned, and the balance."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

from bathkeeper.cli.line_text import due_text
from bathkeeper.cli.plain import clean
from bathkeeper.cli.tables import Cell, Column, styled, table
from bathkeeper.findings import Finding
from bathkeeper.showing import (
    shown,
    shown_age,
    shown_between,
    shown_day,
    shown_estimate,
    shown_parts,
    shown_window,
)
from bathkeeper.units.numerals import Preferences

if TYPE_CHECKING:
    from bathkeeper.estimate.view import Content, LastReading, TankView

STATES = {
    "in": Cell("in", "good"), "low": Cell("! low", "bad"), "high": Cell("! high", "bad"), "unknown": Cell("? unknown", "warn"),
}
ANODE_NOTES = {(True, False): "hung", (False, False): "lifted", (True, True): "retired", (False, True): "retired"}


def tank_text(view: TankView, due: Sequence[Finding], cautions: Sequence[str], prefs: Preferences) -> list[str]:
    """Everything that is known of a tank."""
    lines = [styled(clean(view.tank, lines=False), "head") + clean(_heading(view, prefs), lines=False)]
    if view.alive:
        lines += _section("contents", _contents(view, prefs))
        lines += _section("read", _indicators(view, prefs))
    lines += _section("anodes", _anodes(view, prefs))
    lines += _section("due", due_text(due) if due else [])
    lines += _section("balance per 100 Ah", _balance(view, prefs))
    lines += _section("learned", _learned(view, prefs))
    return lines + _section("take care", table([Column("", wraps=True)], [[text] for text in cautions]) if cautions else [])


def _section(title: str, body: list[str]) -> list[str]:
    return ["", styled(title, "head"), *body] if body else []


def _heading(view: TankView, prefs: Preferences) -> str:
    parts = [f", {view.role}" + (f" ({view.recipe})" if view.recipe else "")]
    if not view.in_service:
        parts.append("out of service")
    if not view.alive:
        return "; ".join([*parts, "no make-up on record: its contents are not known"])
    volume = shown_estimate(view.volume_l, prefs)
    if view.working_volume_l is not None:
        volume += f" of {shown(view.working_volume_l, 'L', prefs)}"
    parts.append(volume)
    parts.append(f"{shown_age(view.life_days)} since make-up" if view.made_up else "")
    if view.charge_ah["since_make_up"]:
        parts.append(shown(view.charge_ah["since_make_up"], "Ah", prefs))
    if view.area_dm2["since_make_up"]:
        parts.append(f"{shown(view.area_dm2['since_make_up'], 'dm2', prefs)} in {view.runs} runs")
    return "; ".join(p for p in parts if p)


def _contents(view: TankView, prefs: Preferences) -> list[str]:
    columns = [
        Column("", wraps=True), Column("now", right=True), Column("95 % interval", right=True), Column(""), Column("window"),
        Column(""), Column("last reading", wraps=True),
    ]
    rows = [_content(name, content, prefs) for name, content in {**view.species, **view.ratios}.items()]
    return table(columns, rows) if rows else []


def _content(name: str, content: Content, prefs: Preferences) -> list[Cell | str]:
    half = (content.high - content.low) / 2
    number, unit = shown_parts(content.value, content.unit, prefs, half)
    window = shown_window(content.window, content.unit, prefs)
    state = STATES[content.state] if window else Cell("")
    return [
        content.title or name, number, shown_between(content.low, content.high, content.unit, prefs), unit, window, state,
        _reading(content.last_reading, prefs),
    ]


def _reading(last: LastReading | None, prefs: Preferences) -> Cell:
    if last is None:
        return Cell("")
    said = last.word or "" if last.value is None else shown(last.value, last.unit, prefs)
    return Cell(f"{said}, {shown_day(last.at)}" + (", in doubt" if last.doubtful else ""), "warn" if last.doubtful else "")


def _indicators(view: TankView, prefs: Preferences) -> list[str]:
    rows: list[list[Cell | str]] = []
    for name, indicator in view.indicators.items():
        if indicator.last_reading is None and not indicator.window:
            continue
        title = "pH" if name == "ph" else name.replace("_", " ")
        window = shown_window(indicator.window, indicator.unit, prefs)
        state = STATES[indicator.state] if window and indicator.last_reading else Cell("")
        rows.append([title, window, state, _reading(indicator.last_reading, prefs) if indicator.last_reading else "not read"])
    columns = [Column("", wraps=True), Column("window"), Column(""), Column("last reading", wraps=True)]
    return table(columns, rows) if rows else []


def _anodes(view: TankView, prefs: Preferences) -> list[str]:
    rows: list[list[Cell | str]] = []
    for name, anode in view.anodes.items():
        number, unit = shown_parts(anode.mass_g.value, "g", prefs, anode.mass_g.spread or None)
        left = "" if anode.retired else f"{anode.left_fraction:.0%} left"
        interval = shown_between(anode.mass_g.low, anode.mass_g.high, "g", prefs)
        rows.append([name, anode.metal, number, interval, unit, left, ANODE_NOTES[anode.hung, anode.retired]])
    columns = [
        Column("", wraps=True), Column(""), Column("mass", right=True), Column("95 % interval", right=True),
        Column(""), Column(""), Column(""),
    ]
    return table(columns, rows) if rows else []


def _learned(view: TankView, prefs: Preferences) -> list[str]:
    rows: list[list[Cell | str]] = []
    for item in view.learned.values():
        half = (item.high - item.low) / 2
        number, unit = shown_parts(item.value, item.unit, prefs, half)
        told = Cell(f"assumed; to learn it, {item.experiment}", "faint") if item.assumed else Cell("learned")
        rows.append([item.title, number, shown_between(item.low, item.high, item.unit, prefs), unit, told])
    columns = [
        Column("", wraps=True), Column("", right=True), Column("95 % interval", right=True), Column(""), Column("", wraps=True),
    ]
    return table(columns, rows) if rows else []


def _balance(view: TankView, prefs: Preferences) -> list[str]:
    balance = view.balance
    if balance is None:
        return []
    rows: list[list[Cell | str]] = []
    for metal, net in balance.net_g.items():
        share = balance.share.get(metal)
        holding = balance.holding_share.get(metal)
        rows.append([
            metal, _signed(net.value, net.spread), shown_between(net.low, net.high, "g", prefs), "g",
            "" if share is None else f"{shown(share.value, 'fraction', prefs, share.spread)} of the anode current now",
            "" if holding is None else f"{shown(holding.value, 'fraction', prefs, holding.spread)} would hold it",
        ])
    acid = balance.acid_mol
    between = shown_between(acid.low, acid.high, "mol", prefs)
    rows.append(["acid used", _signed(acid.value, acid.spread), between, "mol", "", ""])
    columns = [
        Column(""), Column("net", right=True), Column("95 % interval", right=True), Column(""), Column("", wraps=True),
        Column("", wraps=True),
    ]
    return table(columns, rows)


def _signed(value: float, spread: float) -> str:
    number = shown_parts(value, "", Preferences(), spread)[0]
    return number if number.startswith("-") or number == "0" else f"+{number}"
