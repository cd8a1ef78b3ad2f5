"""Rinses: how far water thins what parts drag in, running, in counterflow, or standing still; and drag-out told by a marker."""

from __future__ import annotations

from bathkeeper.calculators.given import Given
from bathkeeper.calculators.model import Answer, CalcError, Calculator, Input, Value
from bathkeeper.chemistry import rinse
from bathkeeper.units.door import figures, show

MOST_STAGES = 10
KEYS = {
    "ratio": "how many times the drag-in is thinned",
    "water_per_drag_in": "water over drag-in",
    "concentration_g_l": "g/L in the last rinse",
    "water_l_h": "water in L/h, of a drag-in in L/h",
    "racks": "racks until a still rinse reaches the limit",
    "drag_out_l": "drag-out in L, told by a marker",
}


def _rinse(given: Given) -> Answer:
    if given.has("still"):
        return _still(given)
    if given.has("marker"):
        return _marker(given)
    return _running(given)


def _values(**known: Value) -> dict[str, Value]:
    return {**dict.fromkeys(KEYS), **known}


def _running(given: Given) -> Answer:
    stages = given.count("stages")
    if stages > MOST_STAGES:
        raise CalcError(f"stages: {stages} rinses one after the other are not built; write 1 to {MOST_STAGES}", "stages")
    drag_in, kind = given.value_and_kind("drag-in") if given.has("drag-in") else (None, "")
    ways = given.have("water", "ratio")
    if len(ways) != 1:
        raise CalcError(
            "give either water (to get the ratio) or ratio (to get the water); for example water 99usgal/h", "water"
        )
    if ways == ["water"]:
        if drag_in is None:
            raise CalcError("drag-in is missing: say how much solution the parts bring; for example 1usgal/h", "drag-in")
        water, water_kind = given.value_and_kind("water")
        if water_kind != kind:
            raise CalcError(
                f"water: a {water_kind} cannot be held against drag-in as a {kind}; give both a time, or neither", "water"
            )
        ratio, per_drag_in = rinse.counterflow_ratio(drag_in, water, stages), water / drag_in
        if ratio > 1e12:
            raise CalcError("water: this thins beyond anything measurable; check both units", "water")
    else:
        ratio = given.value("ratio")
        if ratio <= 1:
            raise CalcError(f"ratio: {figures(ratio)} thins nothing; write for example 5000", "ratio")
        per_drag_in = rinse.counterflow_water(ratio, stages, 1.0)
    after = given.value("from") / ratio if given.has("from") else None
    water_l_h = per_drag_in * drag_in if drag_in is not None and kind == "flow" else None
    return Answer(
        values=_values(ratio=ratio, water_per_drag_in=per_drag_in, concentration_g_l=after, water_l_h=water_l_h),
        lines=(
            f"thinned {figures(ratio)} : 1 over {stages} stage{'s' if stages > 1 else ''}",
            f"water: {figures(per_drag_in)} times the drag-in"
            + (f", {show(water_l_h, 'flow', given.prefs)}" if water_l_h is not None else ""),
            *(() if after is None else (f"in the last rinse: {show(after, 'concentration', given.prefs)}",)),
        ),
        formula="ratio = sum of (water/drag-in)^k, k = 0 to the number of stages; one stage: (drag-in + water)/drag-in",
    )


def _still(given: Given) -> Answer:
    rinse_l = given.value("still")
    if not given.has("drag-in"):
        raise CalcError("drag-in is missing: say what one rack brings; for example 5mL", "drag-in")
    drag_in_l, kind = given.value_and_kind("drag-in")
    if kind != "volume":
        raise CalcError(
            "drag-in: into a still rinse it is a volume for each rack, not a flow; write for example 5mL", "drag-in"
        )
    if drag_in_l > rinse_l:
        raise CalcError("drag-in: one rack brings more than the rinse holds; were the two exchanged?", "drag-in")
    if not given.has("from"):
        raise CalcError("from is missing: say how strong the bath before is; for example 35g/L", "from")
    bath_g_l = given.value("from")
    ways = given.have("racks", "limit")
    if len(ways) != 1:
        raise CalcError(
            "give either racks (to get the concentration) or limit (to get the racks); for example racks 100", "racks"
        )
    racks = (
        given.count("racks")
        if ways == ["racks"]
        else rinse.still_rinse_loads(bath_g_l, rinse_l, drag_in_l, given.value("limit"))
    )
    after = rinse.still_rinse_g_l(bath_g_l, rinse_l, drag_in_l, racks)
    ratio = bath_g_l / after if after else None
    return Answer(
        values=_values(ratio=ratio, concentration_g_l=after, racks=racks),
        lines=(
            f"after {racks} rack{'s' if racks > 1 else ''}: {show(after, 'concentration', given.prefs)} in the rinse",
            *(() if ratio is None else (f"the bath thinned {figures(ratio)} : 1",)),
        ),
        formula="rinse = bath x [1 - (V/(V+D))^N], V the rinse, D what one rack drags in and out, N racks",
    )


def _marker(given: Given) -> Answer:
    lost_g = given.value("marker")
    if not given.has("from"):
        raise CalcError("from is missing: say how strong the bath is in it; for example 20oz/usgal", "from")
    litres = rinse.dragout_from_marker_l(lost_g, given.value("from"))
    return Answer(
        values=_values(drag_out_l=litres),
        lines=(f"drag-out: {show(litres, 'volume', given.prefs)}",),
        formula="drag-out = what was added to hold it / its concentration",
        cautions=("Only of something that leaves by drag-out alone: chloride salt, boric acid, caustic.",),
    )


RINSE = Calculator(
    name="rinse",
    title="Rinses",
    help="Running and counterflow rinses, still rinses by racks, and drag-out told by what had to be added.",
    inputs=(
        Input("drag-in", ("flow", "volume"), "drag-in", "What parts bring: in a time, or each rack.", "1usgal/h"),
        Input("water", ("flow", "volume"), "water", "Fresh water.", "99usgal/h"),
        Input(
            "stages", "count", "stages", "Rinses one after the other, the water running against the parts.", "1", default="1"
        ),
        Input("ratio", "number", "ratio", "How many times the drag-in is to be thinned.", "5000"),
        Input("still", "volume", "still rinse", "A still rinse without running water.", "10L"),
        Input("racks", "count", "racks", "Racks that went through it since it was fresh.", "100"),
        Input("from", "concentration", "bath", "Concentration in the tank before.", "35g/L"),
        Input("limit", "concentration", "limit", "Instead of racks: until the still rinse reaches so much.", "0.5g/L"),
        Input("marker", "mass", "marker", "Added over a time to hold something that leaves only by drag-out.", "1000lb"),
    ),
    answer=_rinse,
    keys=KEYS,
    examples=(
        {"drag-in": "1usgal/h", "water": "99usgal/h", "stages": "1"},
        {"ratio": "5000", "stages": "2"},
        {"still": "10L", "drag-in": "5mL", "racks": "100", "from": "35g/L"},
        {"still": "10L", "drag-in": "5mL", "limit": "0.5g/L", "from": "35g/L"},
        {"marker": "1000lb", "from": "20oz/usgal"},
    ),
    sources=("mass balance, each rinse well mixed",),
    without_measures=("ratio", "water_per_drag_in"),
)
