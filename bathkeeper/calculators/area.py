"""The area of parts as people name them: ``20x M8x30 hex bolt``, ``plate 120x80x3 mm``, ``wire 0.8 mm 50 g steel``."""

from __future__ import annotations

import math
import re
from collections.abc import Callable
from dataclasses import dataclass

from bathkeeper.calculators import geometry
from bathkeeper.calculators.given import BELIEVED, Given, near, short
from bathkeeper.calculators.model import Answer, CalcError, Calculator, Input, Value
from bathkeeper.units.door import UnitError, figures, show, understand

PLAIN_SPREAD = 0.03
"""95 % half-width of a plain body measured with a rule (practice)."""

FASTENER_SPREAD = 0.05
"""Chamfers, washers faces and tolerances of a real fastener, and the thickness of a wire (practice)."""

OFTEN_PARTLY = 1.6
"""From this many thread lengths on ISO 4014 lists bolts with a plain shank (derived from its table)."""

MOST = 1_000_000
FILLERS = re.compile(r"\b(?:mild|steel|iron|brass|copper|of|long|thick|wide|dia|diameter|od|flat)\b", re.IGNORECASE)
EXAMPLES = '"20x M8x30 hex bolt", "plate 120x80x3 mm", "round bar 4 in x 14 in", "tube 40x2x300 mm", "wire 0.8 mm 50 g steel"'


@dataclass(frozen=True)
class Shape:
    """A plain body: its words, what its measures are (in this order), its area in mm2."""

    words: str
    measures: tuple[str, ...]
    area_mm2: Callable[..., float]
    counted: str


SHAPES: tuple[Shape, ...] = (
    Shape("plate sheet flat_bar flat strip box block bar", ("length", "width", "thickness"), geometry.box, "all six faces"),
    Shape("square_bar", ("side", "length"), lambda a, b: geometry.box(a, a, b), "sides and ends"),
    Shape("hex_bar hexagon_bar", ("across flats", "length"), geometry.hexagon_bar, "sides and ends"),
    Shape("round_bar rod cylinder pin shaft round", ("diameter", "length"), geometry.cylinder, "side and ends"),
    Shape("disc disk", ("diameter", "thickness"), geometry.cylinder, "rim and both faces"),
    Shape("tube pipe", ("outside diameter", "wall", "length"), geometry.tube, "outside, inside and rims"),
    Shape("sphere ball", ("diameter",), geometry.sphere, "all around"),
    Shape("cone", ("base diameter", "height"), geometry.cone, "mantle and base"),
    Shape(
        "ring washer_plain",
        ("outside diameter", "hole", "thickness"),
        lambda d, h, t: geometry.tube(d, (d - h) / 2, t),
        "both faces and both rims",
    ),
)
FASTENERS = {
    "hex bolt": "bolt",
    "hex screw": "bolt",
    "hexagon bolt": "bolt",
    "hexagon screw": "bolt",
    "bolt": "bolt",
    "screw": "bolt",
    "hex head bolt": "bolt",
    "hex head screw": "bolt",
    "hex cap screw": "bolt",
    "hex nut": "nut",
    "hexagon nut": "nut",
    "nut": "nut",
    "washer": "washer",
    "plain washer": "washer",
    "socket head cap screw": "cap",
    "socket cap screw": "cap",
    "socket screw": "cap",
    "cap screw": "cap",
    "allen bolt": "cap",
    "allen screw": "cap",
    "threaded rod": "rod",
    "stud": "rod",
    "studding": "rod",
}

KNOWN_FASTENERS = ("hex bolt", "hex nut", "washer", "socket head cap screw", "threaded rod")


@dataclass(frozen=True)
class PartArea:
    """Parts of one kind: ``each_mm2`` of one, relative 95 % half-width, what was understood, and what to say about it."""

    count: int
    title: str
    each_mm2: float
    spread: float
    notes: tuple[str, ...] = ()
    sources: tuple[str, ...] = ()

    @property
    def area_dm2(self) -> float:
        return self.count * self.each_mm2 / 1e4


def part_area(text: str, given: Given) -> PartArea:
    """Parts as typed. Raises CalcError: what was not understood, and what would be right."""
    plain = " ".join(text.replace("×", "x").replace("⌀", "").replace("Ø", "").split())
    count, rest = _count(plain, text)
    fastener = re.fullmatch(
        r"(?P<kind1>[A-Za-z ]*?)\s*\bM\s*(?P<size>[0-9]+(?:[.,][0-9]+)?)(?:\s*x\s*(?P<length>[0-9.,]+)\s*(?:mm)?)?\s*"
        r"(?P<kind2>[A-Za-z0-9, ]*)",
        rest,
    )
    if fastener:
        return _fastener(count, fastener, text, given)
    wire = re.match(r"(?:.*\s)?wire\b", rest, re.IGNORECASE)
    if wire:
        return _wire(count, rest, text, given)
    return _plain(count, rest, text, given)


def _count(plain: str, text: str) -> tuple[int, str]:
    """``20x M8…``, ``20 off``, ``3 plates``: how many, and the rest. A number before another number is a measure."""
    match = re.match(
        r"([0-9]+)\s*(?:x|off|pcs?\.?|pieces?|of|\*)?\s+(?=[A-Za-z])(?!(?:mm|cm|m|in|inch|ft)\b)|([0-9]+)\s*x\s*(?=M[0-9])",
        plain,
        re.IGNORECASE,
    )
    if not match or re.match(r"[0-9.,]+\s*x\s*[0-9]", plain):
        return 1, plain
    count = int(match[1] or match[2])
    if not 0 < count <= MOST:
        raise CalcError(
            f"part: `{short(text)}`: {match[1] or match[2]} of them cannot be; write for example 20x M8x30 hex bolt", "part"
        )
    return count, plain[match.end() :]


def _fastener(count: int, match: re.Match[str], text: str, given: Given) -> PartArea:
    size = f"M{match['size'].replace(',', '.')}"
    known = geometry.sizes()
    if size not in known:
        raise CalcError(f"part: `{short(text)}`: {size} is not in the table{near(size, known)}", "part")
    words = f"{match['kind1']} {match['kind2']}".casefold().replace(",", " ")
    partly = re.search(r"\b(?:partly|partially|part)[ -]?thread(?:ed)?\b|\biso 4014\b|\bdin 931\b", words)
    plain = re.sub(
        r"\b(?:fully|partly|partially|part|full)[ -]?thread(?:ed)?\b|\b(?:iso|din) ?[0-9]+\b|\bmm\b|\blong\b|\bsteel\b",
        " ",
        words,
    )
    name = " ".join(plain.split()) or "bolt"
    kind = FASTENERS.get(name) or FASTENERS.get(name.removesuffix("s")) or FASTENERS.get(name.removesuffix("es"))
    if kind is None:
        raise CalcError(f"part: `{short(text)}`: `{name}` is no fastener known here{near(name, KNOWN_FASTENERS)}", "part")
    fastener, diameter = known[size], float(size[1:])
    source = f"sizes of fasteners, {geometry.fasteners().status}: {geometry.fasteners().source}"
    profile = "thread: basic 60° profile of ISO 68-1"
    if kind in ("nut", "washer"):
        if match["length"]:
            raise CalcError(f"part: `{short(text)}`: a {kind} has no length; write for example {size} {kind}", "part")
        area = geometry.hex_nut(diameter, fastener) if kind == "nut" else geometry.washer(fastener)
        standard = "ISO 4032, thread inside counted" if kind == "nut" else "ISO 7089"
        return PartArea(
            count,
            f"{size} {'hex nut' if kind == 'nut' else 'plain washer'} ({standard})",
            area,
            FASTENER_SPREAD,
            sources=(source, profile) if kind == "nut" else (source,),
        )
    if not match["length"]:
        raise CalcError(f"part: `{short(text)}`: how long it is, is missing; write for example {size}x30 {name}", "part")
    length = _length(f"{match['length']} mm", text, given)
    if kind == "rod":
        return PartArea(
            count,
            f"{size} threaded rod, {figures(length)} mm",
            geometry.threaded_rod(diameter, fastener.pitch, length),
            FASTENER_SPREAD,
            sources=(source, profile),
        )
    body = geometry.hex_bolt if kind == "bolt" else geometry.cap_screw
    least = _threaded_mm(fastener, length)
    if partly and least is None:
        raise CalcError(f"part: `{short(text)}`: how much of {size}x{figures(length)} is threaded is not in the table", "part")
    threaded = min(least, length) if partly and least is not None else length
    how = "fully threaded" if threaded == length else f"{figures(threaded)} mm of it threaded"
    notes: tuple[str, ...] = ()
    if not partly and least is not None and length > OFTEN_PARTLY * least:
        other = body(diameter, fastener, length, least) / 100.0
        notes = (
            f"Long bolts are often partly threaded: {size}x{figures(length)} would then have {figures(other)} cm² each; "
            "say partly threaded.",
        )
    name = "hex bolt" if kind == "bolt" else "socket head cap screw"
    return PartArea(
        count,
        f"{size}x{figures(length)} {name}, {how}",
        body(diameter, fastener, length, threaded),
        FASTENER_SPREAD,
        notes,
        (source, profile),
    )


def _threaded_mm(fastener: geometry.Fastener, length: float) -> float | None:
    """The threaded length of ISO 4014 for a bolt so long; None where the table has none."""
    place = 0 if length <= 125 else 1 if length <= 200 else 2
    return fastener.threaded[place] if place < len(fastener.threaded) else None


def _wire(count: int, rest: str, text: str, given: Given) -> PartArea:
    """Diameter, then either a mass with its metal or a length."""
    body = re.sub(r"\bwire\b", " ", rest, flags=re.IGNORECASE).strip()
    found = re.fullmatch(r"([0-9.,]+\s*[A-Za-z\"'µ]+)\s*(?:x|,)?\s*([0-9.,]+\s*[A-Za-z\"']+)\s*(?:of\s+)?([A-Za-z()I ]*)", body)
    if not found:
        raise CalcError(
            f"part: `{short(text)}`: a wire needs its diameter, and its mass with the metal or its length; write for "
            "example wire 0.8 mm 50 g steel",
            "part",
        )
    diameter = _length(found[1], text, given)
    try:
        second = understand(found[2], ("mass", "length"), given.prefs)
    except UnitError as problem:
        raise CalcError(f"part: `{short(text)}`: {problem}", "part") from None
    if second.value <= 0:
        raise CalcError(f"part: `{short(text)}`: {found[2]} is not above zero", "part")
    if second.kind == "length":
        area = geometry.cylinder(diameter, second.value)
        return PartArea(count, f"wire {figures(diameter)} mm, {figures(second.value)} mm long", area, FASTENER_SPREAD)
    metal_name = found[3].strip() or "steel"
    try:
        metal = given.catalogue.metal(metal_name)
    except ValueError as problem:
        raise CalcError(f"part: `{short(text)}`: {problem}", "part") from None
    area = geometry.wire_by_mass(diameter, second.value, metal.density_g_cm3)
    title = f"wire {figures(diameter)} mm, {figures(second.value)} g of {metal.title or metal.name}"
    source = f"density of {metal.name}, {metal.status}: {metal.source or 'an editable default'}"
    return PartArea(count, title, area, FASTENER_SPREAD, ("Ends of the wire are neglected.",), (source,))


def _plain(count: int, rest: str, text: str, given: Given) -> PartArea:
    words = [(w.replace("_", " "), shape) for shape in SHAPES for w in shape.words.split()]
    for word, shape in sorted(words, key=lambda w: -len(w[0])):
        pattern = re.compile(rf"\b{word}(?:s|es)?\b", re.IGNORECASE)
        if pattern.search(rest):
            body = FILLERS.sub(" ", pattern.sub(" ", rest, count=1))
            several = re.match(r"([1-9][0-9]{0,5})\s*x\s+(?=[0-9])", body.strip())
            if several and count == 1 and len(_pieces(body)) == len(shape.measures) + 1:
                count, body = int(several[1]), body.strip()[several.end() :]
            measures = _measures(body, word, shape, text, given)
            _possible(shape, measures, text)
            said = " x ".join(f"{figures(m)}" for m in measures)
            return PartArea(count, f"{word} {said} mm ({shape.counted})", shape.area_mm2(*measures), PLAIN_SPREAD)
    names = [w.split()[0].replace("_", " ") for w in (s.words for s in SHAPES)]
    raise CalcError(
        f"part: `{short(text)}` is not understood; write for example {EXAMPLES}, or one of {', '.join(names)}", "part"
    )


def _pieces(body: str) -> list[str]:
    parts = re.split(r"\s*(?:(?<=[\s0-9\"'m])[x*](?=[\s0-9.-])|\bby\b)\s*", body.strip(" ,:"))
    return [p.strip() for p in parts if p.strip()]


def _measures(body: str, word: str, shape: Shape, text: str, given: Given) -> list[float]:
    """Numbers parted by x; the last unit holds for those without one."""
    pieces = _pieces(body)
    wanted = ", ".join(shape.measures)
    example = "x".join(str(n) for n in (120, 80, 3)[: len(shape.measures)])
    if len(pieces) != len(shape.measures):
        raise CalcError(
            f"part: `{short(text)}`: {word} needs {wanted}; write for example {word} {example} mm",
            "part",
        )
    unit = re.sub(r"^[-+0-9.,/ ]+", "", pieces[-1]).strip()
    if not unit:
        raise CalcError(
            f"part: `{short(text)}`: the unit is missing; write for example {word} {example} mm",
            "part",
        )
    return [_length(p if re.search(r"[A-Za-z\"'µ]", p) else f"{p} {unit}", text, given) for p in pieces]


def _length(text: str, whole: str, given: Given) -> float:
    try:
        value = understand(text, "length", given.prefs).value
    except UnitError as problem:
        raise CalcError(f"part: `{short(whole)}`: {problem}", "part") from None
    low, high = BELIEVED["length"]
    if value <= 0:
        raise CalcError(f"part: `{short(whole)}`: {text} is zero, and a measure has to be above zero", "part")
    if not low <= value <= high:
        raise CalcError(
            f"part: `{short(whole)}`: {text} cannot be meant; parts from {low:g} mm to {high:g} mm are taken", "part"
        )
    return value


def _possible(shape: Shape, measures: list[float], text: str) -> None:
    if shape.area_mm2 is geometry.tube and 2 * measures[1] >= measures[0]:
        raise CalcError(
            f"part: `{short(text)}`: a wall of {figures(measures[1])} mm leaves no inside in {figures(measures[0])} mm; a "
            "tube is outside diameter x wall x length",
            "part",
        )
    if shape.words.startswith("ring") and measures[1] >= measures[0]:
        raise CalcError(f"part: `{short(text)}`: the hole is not smaller than the ring", "part")


def _area(given: Given) -> Answer:
    parts = [part_area(text, given) for text in given.texts("part")]
    if given.has("count"):
        if len(parts) > 1:
            raise CalcError("count: several parts are named; write the count before each, as in 20x M8x30 hex bolt", "count")
        one = parts[0]
        parts = [PartArea(one.count * given.count("count"), one.title, one.each_mm2, one.spread, one.notes, one.sources)]
    for part in parts:
        given.note(f"{part.count} x {part.title}")
    total = sum(p.area_dm2 for p in parts)
    if total > BELIEVED["area"][1]:
        raise CalcError(f"part: {figures(total)} dm² cannot be meant; check count and units", "part")
    half = math.sqrt(sum((p.spread * p.area_dm2) ** 2 for p in parts))  # errors of different parts are taken as independent
    each = [p.each_mm2 / 100.0 for p in parts]
    listed: Value = [{"part": p.title, "count": p.count, "each_cm2": p.each_mm2 / 100.0, "area_dm2": p.area_dm2} for p in parts]
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
