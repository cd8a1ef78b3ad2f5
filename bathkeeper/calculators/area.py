"""The area of parts as people name them: ``20x M8x30 hex bolt``, ``plate 120x80x3 mm``, ``wire 0.8 mm 50 g steel``."""

from __future__ import annotations

import math
from dataclasses import replace

from bathkeeper.calculators.given import BELIEVED, Given
from bathkeeper.calculators.model import Answer, CalcError, Calculator, Input, Value
from bathkeeper.runs.parts import PartArea, PartError, understand_part
from bathkeeper.units.door import figures, show


def part_area(text: str, given: Given) -> PartArea:
    """Parts as typed. Raises CalcError: what was not understood, and what would be right."""
    try:
        return understand_part(text, given.prefs, given.catalogue)
    except PartError as problem:
        raise CalcError(f"part: {problem}", "part") from None


def _area(given: Given) -> Answer:
    parts = [part_area(text, given) for text in given.texts("part")]
    if given.has("count"):
        if len(parts) > 1:
            raise CalcError("count: several parts are named; write the count before each, as in 20x M8x30 hex bolt", "count")
        parts = [replace(parts[0], count=parts[0].count * given.count("count"))]
    for part in parts:
        given.note(f"{part.count} x {part.title}")
    total = sum(p.area_dm2 for p in parts)
    if total > BELIEVED["area"][1]:
        raise CalcError(f"part: {figures(total)} dm² cannot be meant; check count and units", "part")
    half = math.sqrt(sum((p.spread * p.area_dm2) ** 2 for p in parts))  # errors of different parts are taken as independent
    each = [p.each_mm2 / 100.0 for p in parts]
    listed: Value = [
        {"part": p.title, "counted": p.counted, "count": p.count, "each_cm2": p.each_mm2 / 100.0, "area_dm2": p.area_dm2}
        for p in parts
    ]
    return Answer(
        values={
            "area_dm2": total,
            "low": total - half,
            "high": total + half,
            "each_cm2": each[0] if len(each) == 1 else list(each),
            "parts": listed,
        },
        lines=(
            *(
                f"{p.count} x {p.title}: {figures(p.each_mm2 / 100.0)} cm² each, {show(p.area_dm2, 'area', given.prefs)}"
                + (f" ({p.counted})" if p.counted else "")
                for p in parts
            ),
            f"area: {show(total, 'area', given.prefs)} ({show(total - half, 'area', given.prefs)} to "
            f"{show(total + half, 'area', given.prefs)})",
        ),
        formula="plain bodies; thread = plain cylinder x (1.625 - 0.947 pitch/diameter); wire by mass = 4 m / (density x d)",
        sources=(
            "geometry",
            "spreads 3 % of plain bodies, 5 % of fasteners and wire: practice",
            *dict.fromkeys(s for p in parts for s in p.sources),
        ),
        cautions=tuple(n for p in parts for n in p.notes),
    )


AREA = Calculator(
    name="area",
    title="Area of parts",
    help="Wetted area of parts named in words: bolts, nuts, washers, plates, bars, tubes, wire by mass; several may follow.",
    inputs=(
        Input(
            "part",
            "text",
            "parts",
            "What the parts are, with a count before them where there are several.",
            "20x M8x30 hex bolt",
            required=True,
            repeated=True,
            positional=True,
        ),
        Input("count", "count", "how many", "Count of the parts, where it is not written before them.", "20"),
    ),
    answer=_area,
    keys={
        "area_dm2": "dm² in all",
        "low": "low end of the area, dm²",
        "high": "high end of the area, dm²",
        "each_cm2": "cm² of one; a list where several parts are named",
        "parts": "the same part by part",
    },
    examples=(
        {"part": ("20x M8x30 hex bolt",)},
        {"part": ("plate 120x80x3 mm", "round bar 4 in x 14 in", "tube 40x2x300 mm")},
        {"part": ("wire 0.8 mm 50 g steel",)},
    ),
)
