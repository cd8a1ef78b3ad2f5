"""Plain bodies by words: plates, bars, tubes, sections, brackets with holes; and wire, sheet and balls by their mass."""

from __future__ import annotations

import math
import re
from collections.abc import Callable
from dataclasses import dataclass
from itertools import pairwise

from bathkeeper.catalogue.loader import Catalogue, CatalogueError
from bathkeeper.refusals import near
from bathkeeper.runs import geometry
from bathkeeper.runs.part_text import NOT_SAYING, NUMBER, UNIT, length_mm, refused
from bathkeeper.units.door import Preferences, UnitError, figures, understand

PLAIN_SPREAD = 0.03  # 95 % half-width of a plain body measured with a rule [practice]
BRACKET_SPREAD = 0.06  # bends and rounded corners of a sum of plates [practice]
MASS_SPREAD = 0.05  # thickness of a wire or sheet as sold, edges neglected [practice]
EXAMPLES = (
    '"20x M8x30 hex bolt", "plate 120x80x3 mm", "round bar 4 in x 14 in", "tube 40x2x300 mm", "wire 0.8 mm 50 g steel", '
    '"bracket 100x60x3 + 60x40x3 mm with 4 holes 8.5 mm"'
)


@dataclass(frozen=True)
class Shape:
    """A plain body: its words, what its measures are (in this order), its area in mm2, and what is counted.

    ``one_face``: the area of one face alone (plates) or of the outside alone (tubes), for parts that lie or are stopped off.
    """

    words: tuple[str, ...]
    measures: tuple[str, ...]
    area_mm2: Callable[..., float]
    counted: str
    one_face: Callable[..., float] | None = None
    face_words: str = ""
    thickness: int | None = None


@dataclass(frozen=True)
class Body:
    """One plain part as understood: mm2 of one, what it is, what is counted, 95 % half-width (relative), remarks, sources."""

    title: str
    area_mm2: float
    counted: str
    spread: float
    notes: tuple[str, ...] = ()
    sources: tuple[str, ...] = ("geometry",)


SHAPES: tuple[Shape, ...] = (
    Shape(
        ("plate", "sheet", "flat bar", "flat", "strip", "box", "block", "bar"),
        ("length", "width", "thickness"),
        geometry.box,
        "all six faces",
        lambda a, b, c: a * b,
        "one face, no edges",
        thickness=2,
    ),
    Shape(("square bar",), ("side", "length"), lambda a, b: geometry.box(a, a, b), "sides and ends"),
    Shape(("hex bar", "hexagon bar"), ("across flats", "length"), geometry.hexagon_bar, "sides and ends"),
    Shape(
        ("round bar", "rod", "cylinder", "pin", "shaft", "round"), ("diameter", "length"), geometry.cylinder, "side and ends"
    ),
    Shape(
        ("disc", "disk"), ("diameter", "thickness"), geometry.cylinder, "rim and both faces",
        lambda d, t: geometry.disc(d), "one face, no rim", thickness=1,
    ),
    Shape(
        ("tube", "pipe"), ("outside diameter", "wall", "length"), geometry.tube, "outside, inside and rims",
        lambda d, w, h: math.pi * d * h, "outside only, no rims",
    ),
    Shape(
        ("square tube", "box section", "rectangular tube", "shs", "rhs"), ("side", "side", "wall", "length"),
        geometry.box_section, "outside, inside and rims", lambda a, b, w, h: 2.0 * (a + b) * h, "outside only, no rims",
    ),
    Shape(("angle", "l section", "angle iron"), ("leg", "leg", "thickness", "length"), geometry.angle, "all around and ends",
          thickness=2),
    Shape(("channel", "u section"), ("web", "flange", "thickness", "length"), geometry.channel, "all around and ends",
          thickness=2),
    Shape(("sphere", "ball"), ("diameter",), geometry.sphere, "all around"),
    Shape(("cone",), ("base diameter", "height"), geometry.cone, "mantle and base"),
    Shape(
        ("ring", "spacer", "bush", "washer plain"), ("outside diameter", "hole", "thickness"),
        lambda d, h, t: geometry.tube(d, (d - h) / 2.0, t), "both faces and both rims",
    ),
)  # fmt: skip
BY_WORD = {word: shape for shape in SHAPES for word in shape.words}
BY_MASS: dict[str, tuple[Callable[[float, float, float], float], str]] = {
    "wire": (geometry.wire_by_mass, "the side; ends neglected"),
    "rod": (geometry.wire_by_mass, "the side; ends neglected"),
    "sheet": (geometry.sheet_by_mass, "both faces; edges neglected"),
    "clip": (geometry.sheet_by_mass, "both faces; edges neglected"),
    "pressing": (geometry.sheet_by_mass, "both faces; edges neglected"),
    "stamping": (geometry.sheet_by_mass, "both faces; edges neglected"),
    "small part": (geometry.sheet_by_mass, "both faces; edges neglected"),
    "ball": (geometry.balls_by_mass, "all around"),
}
HOLES = re.compile(
    rf"(?:\bwith\b|\band\b|,|;|\bless\b)?\s*(\d+)\s*(?:x\s*)?holes?\s*(?:of|x|dia\.?|diameter|d|=)?\s*({NUMBER}\s*(?:{UNIT})?)",
    re.IGNORECASE,
)
ONE_FACE = re.compile(r"\b(?:one|1|single)[ -](?:face|side)(?:\s+only)?\b|\boutside only\b|\bouter side only\b", re.IGNORECASE)


def body(rest: str, text: str, prefs: Preferences, catalogue: Catalogue) -> Body:
    """A plain part from its words (count taken off). Raises PartError: what was not understood and what would be right."""
    if re.search(r"\b(?:hook|contact)s?\b", rest, re.IGNORECASE):
        return _hook(rest, text, prefs)
    massy = _by_mass(rest, text, prefs, catalogue)
    if massy is not None:
        return massy
    if re.search(r"\bbrackets?\b", rest, re.IGNORECASE):
        return _bracket(rest, text, prefs)
    for word in sorted(BY_WORD, key=lambda w: -len(w)):
        if re.search(rf"\b{word}(?:s|es)?\b", rest, re.IGNORECASE):
            return _plain(rest, word, BY_WORD[word], text, prefs)
    names = [s.words[0] for s in SHAPES] + ["wire", "bracket"]
    raise refused(text, f"not understood; write for example {EXAMPLES}, or one of {', '.join(names)}")


def _plain(rest: str, word: str, shape: Shape, text: str, prefs: Preferences) -> Body:
    said, one_face = _faces(rest)
    said, holes = _holes(said)
    said = NOT_SAYING.sub(" ", re.sub(rf"\b{word}(?:s|es)?\b", " ", said, count=1, flags=re.IGNORECASE))
    measures = _measures(said, word, shape.measures, text, prefs)
    _possible(shape, measures, text)
    area, counted, title = shape.area_mm2(*measures), shape.counted, f"{word} {_said(measures)} mm"
    if one_face:
        if shape.one_face is None:
            raise refused(text, f"one face alone of a {word} is not worked out; say its area instead, for example area=1.2dm2")
        area, counted = shape.one_face(*measures), shape.face_words
    if holes:
        if shape.thickness is None:
            raise refused(text, f"holes in a {word} are not worked out; they are in a plate, disc, angle, channel or bracket")
        added, note = _of_holes(holes, measures[shape.thickness], one_face, text, prefs)
        area, counted = area + added, f"{counted}, {note}"
        if area <= 0:
            raise refused(text, "the holes take more than the part has; check their number and size")
    return Body(title, area, counted, PLAIN_SPREAD)


def _bracket(rest: str, text: str, prefs: Preferences) -> Body:
    """A sum of plates joined edge to edge: each joint hides its face twice."""
    said, one_face = _faces(re.sub(r"\bbrackets?\b", " ", rest, flags=re.IGNORECASE))
    if one_face:
        raise refused(text, "one face of a bracket is not worked out; say its area instead, for example area=1.2dm2")
    said, holes = _holes(said)
    pieces = [p for p in re.split(r"\s*\+\s*", NOT_SAYING.sub(" ", said).strip(" ,:")) if p.strip()]
    if not pieces:
        raise refused(text, "a bracket is a sum of plates; write for example bracket 100x60x3 + 60x40x3 mm")
    unit = re.search(rf"({UNIT})\s*$", pieces[-1])
    plates = []
    for piece in pieces:
        with_unit = piece if re.search(UNIT, piece) or unit is None else f"{piece} {unit[1]}"
        plates.append(_measures(with_unit, "bracket", ("length", "width", "thickness"), text, prefs))
    area = sum(geometry.box(*p) for p in plates)
    for before, after in pairwise(plates):
        area -= 2.0 * min(before[1], after[1]) * min(before[2], after[2])
    counted = "all faces of its plates less the joints"
    if holes:
        added, note = _of_holes(holes, plates[0][2], False, text, prefs)
        area, counted = area + added, f"{counted}, {note}"
    if area <= 0:
        raise refused(text, "the holes take more than the part has; check their number and size")
    title = "bracket " + " + ".join(_said(p) for p in plates) + " mm"
    return Body(title, area, counted, BRACKET_SPREAD, sources=("geometry: sum of plates, joints taken off",))


def _hook(rest: str, text: str, prefs: Preferences) -> Body:
    """A hook or contact wire: the side of what is under the surface."""
    said = re.sub(
        r"\b(?:hooks?|contacts?|wires?|submerged|immersed|under|wet|rod|of|steel|copper)\b", " ", rest, flags=re.IGNORECASE
    )
    diameter, under = _measures(said, "hook", ("wire diameter", "length submerged"), text, prefs)
    area = math.pi * diameter * under
    return Body(
        f"hook {figures(diameter)} mm, {figures(under)} mm submerged", area, "the side of what is under the surface",
        MASS_SPREAD, ("Hooks and contacts take current and metal like parts do.",),
    )  # fmt: skip


def _by_mass(rest: str, text: str, prefs: Preferences, catalogue: Catalogue) -> Body | None:
    """``wire 0.8 mm 50 g steel``, ``clips 0.8 mm 250 g``: a diameter or thickness, then a mass with its metal (or a length of
    wire)."""
    word = next((w for w in BY_MASS if re.search(rf"\b{w}s?\b", rest, re.IGNORECASE)), None)
    massy = re.search(rf"({NUMBER})\s*(kg|g|oz|lbs?)\b", rest)
    if word is None or (massy is None and word != "wire"):
        return None
    said = re.sub(rf"\b(?:{word}s?|of)\b", " ", rest, flags=re.IGNORECASE).strip(" ,")
    found = re.fullmatch(
        rf"({NUMBER}\s*(?:{UNIT}))\s*(?:x|,|thick|dia\.?)?\s*({NUMBER}\s*[A-Za-z\"']+)\s*,?\s*([A-Za-z()I ]*)", said
    )
    if not found:
        example = f"{word} 0.8 mm 50 g steel"
        what = (
            "its thickness, and its mass with the metal"
            if word != "wire"
            else "its diameter, and its mass with the metal or its length"
        )
        raise refused(text, f"a {word} needs {what}; write for example {example}")
    first = length_mm(found[1], text, prefs)
    try:
        second = understand(found[2], ("mass", "length"), prefs)
    except UnitError as problem:
        raise refused(text, str(problem)) from None
    if second.value <= 0:
        raise refused(text, f"{found[2]} is not above zero")
    if second.kind == "length":
        if word != "wire":
            return None
        title = f"wire {figures(first)} mm, {figures(second.value)} mm long"
        return Body(title, geometry.cylinder(first, second.value), "side and ends", MASS_SPREAD)
    name = found[3].strip() or "steel"
    try:
        metal = catalogue.metal(name)
    except CatalogueError as problem:
        raise refused(text, str(problem)) from None
    area_of, counted = BY_MASS[word]
    area = area_of(first, second.value, metal.density_g_cm3)
    title = f"{word} {figures(first)} mm, {figures(second.value)} g of {metal.title or metal.name}"
    source = f"density of {metal.name}, {metal.status}: {metal.source or 'an editable default'}"
    note = ("Ends of the wire are neglected.",) if word == "wire" else ()
    return Body(title, area, counted, MASS_SPREAD, note, (source,))


def _faces(rest: str) -> tuple[str, bool]:
    found = ONE_FACE.search(rest)
    return (ONE_FACE.sub(" ", rest), True) if found else (rest, False)


def _holes(rest: str) -> tuple[str, list[tuple[int, str]]]:
    holes = [(int(m[1]), m[2]) for m in HOLES.finditer(rest)]
    return HOLES.sub(" ", rest), holes


def _of_holes(
    holes: list[tuple[int, str]], thickness: float, one_face: bool, text: str, prefs: Preferences
) -> tuple[float, str]:
    added, told = 0.0, []
    for number, said in holes:
        with_unit = said if re.search(UNIT, said) else f"{said} mm"
        diameter = length_mm(with_unit, text, prefs)
        added += number * (-geometry.disc(diameter) if one_face else geometry.hole(diameter, thickness))
        told.append(f"{number} hole{'s' if number != 1 else ''} of {figures(diameter)} mm")
    return added, f"{' and '.join(told)} {'taken off' if one_face else 'taken off, their walls counted'}"


def _measures(said: str, word: str, wanted: tuple[str, ...], text: str, prefs: Preferences) -> tuple[float, ...]:
    """Numbers parted by x, by, or spaces with units; the last unit holds for those without one. Raises PartError."""
    pieces = _pieces(said)
    example = f"{word} {'x'.join(str(n) for n in (120, 80, 3, 300)[: len(wanted)])} mm"
    if len(pieces) != len(wanted):
        raise refused(text, f"{word} needs {', '.join(wanted)}; write for example {example}")
    found = re.fullmatch(rf"-?{NUMBER}\s*(.*)", pieces[-1].strip())
    unit = (found[1] if found else re.sub(r"^[-+0-9.,/ ]+", "", pieces[-1])).strip()
    if not unit:
        raise refused(text, f"the unit is missing; write for example {example}")
    return tuple(length_mm(p if re.search(r"[A-Za-z\"'µ]", p) else f"{p} {unit}", text, prefs) for p in pieces)


def _pieces(said: str) -> list[str]:
    parts = re.split(r"\s*(?:(?<=[\s0-9\"'mnt.])[x*](?=[\s0-9.,-])|\bby\b)\s*", said.strip(" ,:"))
    parts = [p.strip(" ,;") for p in parts if p.strip(" ,;")]
    if len(parts) == 1:  # "2 mm 150 mm": measures that stand behind one another, each with its unit
        several = re.findall(rf"{NUMBER}\s*{UNIT}", parts[0])
        if len(several) > 1 and not re.sub(rf"{NUMBER}\s*{UNIT}|[\s,]", "", parts[0]):
            return several
    return parts


def _possible(shape: Shape, measures: tuple[float, ...], text: str) -> None:
    if shape.area_mm2 is geometry.tube and 2 * measures[1] >= measures[0]:
        raise refused(
            text, f"a wall of {figures(measures[1])} mm leaves no inside in {figures(measures[0])} mm; a tube is outside "
            "diameter x wall x length",
        )  # fmt: skip
    if shape.area_mm2 is geometry.box_section and 2 * measures[2] >= min(measures[:2]):
        raise refused(
            text, f"a wall of {figures(measures[2])} mm leaves no inside; a square tube is side x side x wall x length"
        )
    if shape.area_mm2 in (geometry.angle, geometry.channel) and measures[2] >= min(measures[:2]):
        raise refused(text, f"{figures(measures[2])} mm is as thick as a leg is wide; the thickness stands third")
    if shape.words[0] == "ring" and measures[1] >= measures[0]:
        raise refused(text, "the hole is not smaller than the ring")


def _said(measures: tuple[float, ...]) -> str:
    return " x ".join(figures(m) for m in measures)


def unknown(name: str) -> str:
    """What might have been meant by a word that is no shape."""
    return near(name, [*BY_WORD, *BY_MASS, "bracket"])
