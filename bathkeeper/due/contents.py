"""Findings from what is in the tanks: species, ratios and indicators out of or near their windows, level, anodes."""

from __future__ import annotations

import math
from collections.abc import Iterator

from bathkeeper.estimate.state import Z95
from bathkeeper.estimate.view import AnodeView, Content, Indicator, TankView
from bathkeeper.findings import Because, Finding, Level

LIKELY_OUT = 0.5  # chance beyond an edge at which a content counts as out of its window
MAYBE_OUT = 0.2  # chance at which it counts as near [practice]
SURELY_OUT = 0.8  # chance asked of what is hardly known [practice]
HARDLY_KNOWN = 0.5  # half the interval, of the window's width, from which only a likely miss is told [practice]
LEVEL_SOON, LEVEL_NOW = 0.95, 0.90  # of the working volume [practice]
OVERFULL = 1.15  # of the working volume [practice]
RINSE_SOON, RINSE_NOW = 0.85, 0.70  # a rinse may stand lower [practice]
ANODE_SOON, ANODE_NOW = 0.30, 0.10  # of the mass when hung [practice]
BAND = "value and 95 % interval of the estimate against the edge of the window"


def content_findings(view: TankView) -> Iterator[Finding]:
    """Everything that the contents of one tank ask for."""
    if not view.alive:
        return
    for name, content in {**view.species, **view.ratios}.items():
        yield from _edge(view, name, content)
    for name, indicator in view.indicators.items():
        yield from _indicator(view, name, indicator)
    yield from _level(view)
    for name, anode in view.anodes.items():
        yield from _anode(view, name, anode)


def _edge(view: TankView, name: str, content: Content) -> Iterator[Finding]:
    sd = max((content.high - content.value) / Z95, 1e-12)
    for edge, sign in (("low", 1.0), ("high", -1.0)):
        limit = content.window.get(edge)
        if limit is None:
            continue
        chance = 0.5 * math.erfc((content.value - limit) * sign / sd / math.sqrt(2))
        given_up = content.window.get(f"give_up_{edge}")
        beyond = given_up is not None and (content.value - given_up) * sign < 0
        enough = SURELY_OUT if _hardly_known(content) else LIKELY_OUT if content.kind == "contaminant" else MAYBE_OUT
        if chance < enough:
            continue
        level: Level = "now" if chance >= LIKELY_OUT else "soon"
        unit = "" if content.unit in ("fraction", "ratio") else f" {content.unit}"
        side = "below" if edge == "low" else "above"
        what = f"{content.title} {_number(content.value)}{unit} is {side} its {edge} limit {_number(limit)}"
        if level == "soon":
            what = f"{content.title} {_number(content.value)}{unit} is near its {edge} limit {_number(limit)}"
        if beyond:
            what += f" and past {_number(given_up or 0.0)}, where the bath is given up"
        last = content.last_reading
        yield Finding(
            id=f"{view.tank}.{edge}.{name}",
            tank=view.tank,
            what=what,
            why=f"{chance:.0%} chance that it is {side}; 95 % interval {_number(content.low)} to {_number(content.high)}{unit}",
            level=level,
            because=Because(
                text="The estimate integrates the entries since the make-up and every reading by its spread.",
                entries=(last.entry,) if last is not None else (),
                formula=BAND,
                sources=(f"{content.window_status}: {content.window_source or 'an editable default'}",),
            ),
        )


def _hardly_known(content: Content) -> bool:
    """Whether the interval is too wide against the window for its nearness to an edge to mean anything."""
    width = content.window.get("high", math.inf) - content.window.get("low", 0.0)
    return (content.high - content.low) / 2 > HARDLY_KNOWN * width


def _indicator(view: TankView, name: str, indicator: Indicator) -> Iterator[Finding]:
    last = indicator.last_reading
    if last is None or last.value is None or indicator.state not in ("low", "high"):
        return
    edge = indicator.state
    yield Finding(
        id=f"{view.tank}.{edge}.{name}",
        tank=view.tank,
        what=f"{'pH' if name == 'ph' else name} {_number(last.value)} is {edge}: window "
        f"{_number(indicator.window.get('low', 0.0))} to {_number(indicator.window.get('high', 0.0))}",
        why=f"last reading by {last.method}, {last.at:%d %b}",
        level="soon",
        because=Because(
            text="The last reading against the recipe's window.",
            entries=(last.entry,),
            formula="reading against window",
            sources=(f"the window of {view.recipe or 'the tank'}: `bathkeeper recipe show` has its status and source",),
        ),
    )


def _level(view: TankView) -> Iterator[Finding]:
    full = view.working_volume_l
    if not full:
        return
    share = view.volume_l.value / full
    if share > OVERFULL:
        yield Finding(
            id=f"{view.tank}.high.level",
            tank=view.tank,
            what=f"by the book {view.tank} holds {view.volume_l.value:.1f} L, more than its {full:g} L",
            why="a top-up or a level may be wrong, or something taken out was not logged; read the level",
            level="soon",
            because=Because(
                text="Volume as the entries add it up.",
                formula="volume = last + flows",
                sources=(f"told from {OVERFULL:.0%} of the working volume: practice",),
            ),
        )
    soon, now = (RINSE_SOON, RINSE_NOW) if view.role == "rinse" else (LEVEL_SOON, LEVEL_NOW)
    if share >= soon:
        return
    missing = full - view.volume_l.value
    yield Finding(
        id=f"{view.tank}.low.level",
        tank=view.tank,
        what=f"level is down to {view.volume_l.value:.1f} L of {full:g} L: about {missing:.1f} L of water is missing",
        why="evaporation and drag-out since the last reading; the level is between "
        f"{view.volume_l.low:.1f} and {view.volume_l.high:.1f} L (95 % interval)",
        level="now" if share < now else "soon",
        because=Because(
            text="Water first, then dose: a reading at low level reads high.",
            formula="volume = last + flows",
            sources=(f"told from {soon:.0%} of the working volume, urgent from {now:.0%}: practice",),
        ),
    )


def _anode(view: TankView, name: str, anode: AnodeView) -> Iterator[Finding]:
    if anode.caution and not anode.retired:
        yield Finding(
            id=f"{view.tank}.caution.{name}",
            tank=view.tank,
            what=f"anode {name} ({anode.metal}) does not belong in this tank: {anode.caution}",
            why="take it out, air the room; no plan is made on it",
            level="now",
            because=Because(text="The recipe does not name this metal as an anode.", sources=("common practice",)),
        )
        return
    if anode.retired or anode.left_fraction >= ANODE_SOON:
        return
    gone = anode.mass_g.value <= 0
    left = f"{anode.mass_g.value:.0f} g of {anode.start_mass_g:.0f} g ({anode.left_fraction:.0%})"
    yield Finding(
        id=f"{view.tank}.anode.{name}",
        tank=view.tank,
        what=f"anode {name} is gone by the estimate" if gone else f"anode {name} has {left} left",
        why="charge passed on its metal, and what hung zinc loses when idle",
        level="now" if anode.left_fraction < ANODE_NOW else "soon",
        because=Because(
            text="An anode below a third of its weight changes its area and drops pieces.",
            formula="mass lost = share x efficiency x charge x M / (n F) + idle loss",
            sources=("practice",),
        ),
    )


def _number(x: float) -> str:
    return f"{x:.3g}"
