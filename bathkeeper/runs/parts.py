"""Parts as people name them, to their area: ``20x M8x30 hex bolt``, ``plate 120x80x3 mm``, ``wire 0.8 mm 50 g steel``.

One parser for the calculator, the command line and every form. The area counts every surface that the solution wets; which
those are is said (``counted``), and how sure it is (``spread``).
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass

from bathkeeper.catalogue.loader import Catalogue
from bathkeeper.refusals import near
from bathkeeper.runs import fasteners
from bathkeeper.runs.fasteners import KINDS, WORDS, FastenerTable, Kind, Size
from bathkeeper.runs.library import KnownPart
from bathkeeper.runs.part_text import (
    INCH_SIZE,
    NOT_SAYING,
    NUMBER,
    PartError,
    counted,
    length_mm,
    made_plain,
    refused,
    strength_said,
)
from bathkeeper.runs.shapes import body
from bathkeeper.units.door import Preferences, figures

__all__ = ["PartArea", "PartError", "understand_part", "understand_parts"]

FASTENER_SPREAD = 0.05  # chamfers, washer faces and tolerances of a real fastener, 95 % [practice]
OFTEN_PARTLY = 1.6  # from this many thread lengths on ISO 4014 lists bolts with a plain shank (derived from its table)
PARTLY = re.compile(r"\b(?:partly|partially|part)[ -]?thread(?:ed)?\b|\biso ?4014\b|\bdin ?931\b", re.IGNORECASE)
FULLY = re.compile(r"\b(?:fully|full)[ -]?thread(?:ed)?\b", re.IGNORECASE)
METRIC = re.compile(r"\bM\s?(\d+(?:[.,]\d+)?)((?:\s*x\s*\d+(?:[.,]\d+)?\s*(?:mm\b)?)*)(?![\d/])", re.IGNORECASE)
INCH = re.compile(
    rf"(?<![\d.,/])(?P<size>{INCH_SIZE})\s*(?P<mark>\"|in\b\.?|inch\b)?\s*(?:-\s*(?P<tpi>\d{{1,2}})\b(?!/))?\s*(?P<series>UN[CF]\b)?"
    rf"(?:\s*x\s*(?P<length>{NUMBER})\s*(?P<unit>\"|in\b\.?|inch(?:es)?\b|mm\b)?)?(?:\s*x\s*(?P<count>\d+)\b)?",
    re.IGNORECASE,
)


@dataclass(frozen=True)
class PartArea:
    """Parts of one kind: ``each_mm2`` of one, relative 95 % half-width, what was understood, which surfaces are counted.

    ``known``: one of the workshop's own parts rather than worked out from its words.
    """

    count: int
    title: str
    each_mm2: float
    spread: float
    counted: str = ""
    notes: tuple[str, ...] = ()
    sources: tuple[str, ...] = ()
    property_class: str | None = None
    strength_mpa: float | None = None
    safety_critical: bool = False
    known: bool = False

    @property
    def area_dm2(self) -> float:
        """Of all of them."""
        return self.count * self.each_mm2 / 1e4

    @property
    def half_dm2(self) -> float:
        """95 % half-width of the area of all of them; their errors are taken as the same for all."""
        return self.spread * self.area_dm2


def understand_part(
    text: str, prefs: Preferences, catalogue: Catalogue, known: Mapping[str, KnownPart] | None = None
) -> PartArea:
    """Parts of one kind as typed; ``known``: parts of this workshop by name, which come before everything else.

    Raises:
        PartError: what was not understood, and what would be right.
    """
    plain = made_plain(text)
    if not plain:
        raise PartError("no part is named; write for example 20x M8x30 hex bolt")
    count, rest = counted(plain, text)
    own = _known(rest, known or {}) or _known(plain, known or {})
    if own is not None:
        count = count if _known(rest, known or {}) is not None else 1
        return _of_library(own, count)
    strength, said = strength_said(rest)
    metric = METRIC.search(said)
    if metric is not None:
        return _metric(count, metric, said, text, prefs, strength)
    inch = _inch_match(said)
    if inch is not None:
        return _inch(count, inch, said, text, prefs, strength)
    if count == 1:
        again, less = _count_within(rest)
        count, rest = again, less
    found = body(rest, text, prefs, catalogue)
    return PartArea(count, found.title, found.area_mm2, found.spread, found.counted, found.notes, found.sources)


def understand_parts(
    text: str, prefs: Preferences, catalogue: Catalogue, known: Mapping[str, KnownPart] | None = None
) -> list[PartArea]:
    """Several parts, parted by a semicolon or a new line. Raises PartError."""
    pieces = [p.strip() for p in re.split(r"[;\n]", text) if p.strip()]
    if not pieces:
        raise PartError("no part is named; write for example 20x M8x30 hex bolt; plate 120x80x3 mm")
    return [understand_part(p, prefs, catalogue, known) for p in pieces]


def _known(rest: str, known: Mapping[str, KnownPart]) -> KnownPart | None:
    key = " ".join(rest.casefold().split())
    names = {" ".join(n.casefold().split()): p for n, p in known.items()}
    return names.get(key) or names.get(key.removesuffix("s"))


def _of_library(part: KnownPart, count: int) -> PartArea:
    how = "as defined" if part.defined else f"from {part.times} run{'s' if part.times != 1 else ''} before"
    return PartArea(
        count, part.name, part.area_dm2 * 1e4, part.spread_dm2 / part.area_dm2, how, (), ("this workshop's own parts",),
        part.property_class, part.strength_mpa, part.safety_critical, known=True,
    )  # fmt: skip


def _count_within(rest: str) -> tuple[int, str]:
    """``plate 4 x 120x80x3 mm``: a whole number, x and a space before as many measures as the shape needs."""
    several = re.search(r"(?<![\d.,/])([1-9]\d{0,5})\s*x\s+(?=\d+(?:[.,]\d+)?\s?x\s?\d)", rest)
    shape_measures = len(re.findall(rf"{NUMBER}", rest))
    if (
        several is None
        or shape_measures != 4
        or not re.search(r"\b(?:plate|sheet|flat|strip|block|tube|pipe|ring)", rest, re.I)
    ):
        return 1, rest
    return int(several[1]), rest[: several.start()] + rest[several.end() :]


# -- fasteners ---------------------------------------------------------------------------------------------------------


def _metric(count: int, match: re.Match[str], said: str, text: str, prefs: Preferences, strength: str | None) -> PartArea:
    table = fasteners.table("metric")
    name = f"M{match[1].replace(',', '.')}"
    size = table.size.get(name)
    if size is None:
        raise refused(text, f"{name} is not in the table{near(name, table.size)}")
    numbers = [n.replace(",", ".") for n in re.findall(r"x\s*(\d+(?:[.,]\d+)?)", match[2])]
    words = f"{said[: match.start()]} {said[match.end() :]}"
    apart = re.search(rf"(?<![x\d])\s({NUMBER})\s*mm\b", words)  # M10 threaded rod 1000 mm
    if apart and not numbers:
        numbers, words = [apart[1].replace(",", ".")], words.replace(apart[0], " ")
    kind = _kind(words, text)
    pitch = size.coarse_mm
    if numbers and len(numbers) > 1 and size.coarse_mm < float(numbers[0]) < 2 * size.coarse_mm:
        raise refused(text, f"{numbers[0]} is no pitch of {name} ({size.coarse_mm:g} mm or finer) and too short for a length")
    if numbers and float(numbers[0]) <= size.coarse_mm and (len(numbers) > 1 or not kind.has_length):
        pitch = float(numbers.pop(0))
        if pitch <= 0:
            raise refused(text, f"a pitch of {pitch:g} mm cannot be; {name} has {size.coarse_mm:g} mm")
    length = numbers.pop(0) if numbers and kind.has_length else None
    if numbers and re.fullmatch(r"[1-9]\d{0,5}", numbers[-1]) and kind.has_length:
        count = _one_count(count, int(numbers.pop()), text)
    if numbers:
        said_of = "has no length" if not kind.has_length else "has one length"
        raise refused(
            text, f"a {kind.title} {said_of}; write for example {name}{'x30' if kind.has_length else ''} {kind.title}"
        )
    fine = "" if pitch == size.coarse_mm else f"x{pitch:g}"
    told = None if length is None else length_mm(f"{length} mm", text, prefs)
    return _fastener(count, f"{name}{fine}", kind, size, pitch, told, PARTLY.search(said) is not None, table, text, strength)


def _inch_match(said: str) -> re.Match[str] | None:
    """An inch thread: it has its threads an inch, UNC or UNF, or stands beside the name of a fastener."""
    named = bool(_fastener_word(said))
    for match in INCH.finditer(said):
        if match["tpi"] or match["series"] or match["size"].startswith("#"):
            return match
        if named and (match["mark"] or "/" in match["size"]):
            return match
    return None


def _inch(count: int, match: re.Match[str], said: str, text: str, prefs: Preferences, strength: str | None) -> PartArea:
    table = fasteners.table("inch")
    name = match["size"].replace(" ", "")
    size = table.size.get(name)
    if size is None:
        raise refused(text, f"{name} is not in the table{near(name, table.size)}")
    series = _series(said, match)
    tpi = int(match["tpi"]) if match["tpi"] else size.unf if series == "UNF" else size.unc
    allowed = {"UNC": size.unc, "UNF": size.unf}
    if tpi not in allowed.values() or (series and match["tpi"] and allowed[series] != tpi):
        raise refused(
            text,
            f"{name} has {size.unc} threads an inch as UNC and {size.unf} as UNF, not {tpi}{' ' + series if series else ''}",
        )
    assert tpi is not None
    rest = f"{said[: match.start()]} {said[match.end() :]}"
    kind = _kind(re.sub(r"\bUN[CF]\b", " ", rest, flags=re.IGNORECASE), text)
    if match["count"]:
        count = _one_count(count, int(match["count"]), text)
    told = None
    if match["length"]:
        if not kind.has_length:
            raise refused(text, f"a {kind.title} has no length; write for example {name}-{tpi} {kind.title}")
        told = length_mm(f"{match['length']} {'mm' if (match['unit'] or '').casefold() == 'mm' else 'in'}", text, prefs)
    title = f"{name}-{tpi} {'UNC' if tpi == size.unc else 'UNF'}" if kind.threaded else name
    notes = () if match["tpi"] or series or not kind.threaded else (f"UNC thread taken, {tpi} an inch; say UNF if it is fine.",)
    made = _fastener(
        count, title, kind, size, 25.4 / tpi, told, PARTLY.search(said) is not None, table, text, strength, inch=True
    )
    return made if not notes else _with_notes(made, notes)


def _series(said: str, match: re.Match[str]) -> str | None:
    found = match["series"] or (re.search(r"\bUN[CF]\b", said, re.IGNORECASE) or [None])[0]
    return found.upper() if found else None


def _with_notes(part: PartArea, notes: tuple[str, ...]) -> PartArea:
    return PartArea(
        part.count, part.title, part.each_mm2, part.spread, part.counted, (*part.notes, *notes), part.sources,
        part.property_class, part.strength_mpa, part.safety_critical,
    )  # fmt: skip


def _one_count(before: int, behind: int, text: str) -> int:
    if before != 1 and before != behind:
        raise refused(text, f"is it {before} or {behind} of them? Write the count once, as in 20x M8x30 hex bolt")
    return behind


def _fastener(
    count: int,
    name: str,
    kind: Kind,
    size: Size,
    pitch: float,
    length: float | None,
    partly: bool,
    table: FastenerTable,
    text: str,
    strength: str | None,
    *,
    inch: bool = False,
) -> PartArea:
    if getattr(size, kind.field) is None:
        made = [n for n, s in table.size.items() if getattr(s, kind.field) is not None]
        raise refused(text, f"no {kind.title} of that size is on record; there are {', '.join(made)}")
    if kind.has_length and length is None:
        example = '5/16-18 x 1 1/4" hex bolt' if inch else f"{name}x30 {kind.title}"
        raise refused(text, f"how long it is, is missing; write for example {example}")
    source = f"sizes of fasteners, {table.status}: {table.source}"
    sources = (source, f"thread: {table.thread}") if kind.threaded else (source,)
    if not kind.has_length or length is None:
        return PartArea(
            count, f"{name} {kind.title}", kind.area_mm2(size, pitch, 0.0, 0.0), FASTENER_SPREAD, kind.counted, (), sources,
            strength,
        )  # fmt: skip
    shown = f"{name} x {figures(length / 25.4)} in" if inch else f"{name}x{figures(length)}"
    cone = (size.countersunk[0] - size.diameter) / 2 * size.cone_slope if size.countersunk else 0.0
    if kind.field == "countersunk" and length <= cone:
        raise refused(text, f"{shown} is shorter than its head; a countersunk screw is measured over all")
    if kind.title in ("threaded rod", "set screw"):
        return PartArea(
            count, f"{shown} {kind.title}", kind.area_mm2(size, pitch, length, length), FASTENER_SPREAD, kind.counted, (),
            sources, strength,
        )  # fmt: skip
    least = size.least_threaded_cap_mm() if kind.field in ("cap", "countersunk") else size.least_threaded_mm(length)
    if partly and least is None:
        raise refused(text, f"how much of {shown} is threaded is not in the table")
    threaded = min(least, length) if partly and least is not None else length
    how = "fully threaded" if threaded == length else f"{figures(threaded)} mm of it threaded"
    notes: tuple[str, ...] = ()
    if not partly and least is not None and length > OFTEN_PARTLY * least:
        other = kind.area_mm2(size, pitch, length, least) / 100.0
        notes = (
            f"Long bolts are often partly threaded: {shown} would then have {figures(other)} cm² each; say partly threaded.",
        )
    area = kind.area_mm2(size, pitch, length, threaded)
    return PartArea(count, f"{shown} {kind.title}, {how}", area, FASTENER_SPREAD, kind.counted, notes, sources, strength)


def _kind(words: str, text: str) -> Kind:
    """Which fastener is meant; bare sizes are bolts."""
    plain = FULLY.sub(" ", PARTLY.sub(" ", words.replace(",", " ").replace("-", " ")))
    plain = re.sub(r"\bmm\b|[()]", " ", NOT_SAYING.sub(" ", plain))
    name = " ".join(plain.casefold().split()) or "bolt"
    for said in (name, name.removesuffix("s"), name.removesuffix("es"), " ".join(w.removesuffix("s") for w in name.split())):
        if said in WORDS:
            return KINDS[WORDS[said]]
    raise refused(text, f"`{name}` is no fastener known here{near(name, [k.title for k in KINDS.values()])}")


def _fastener_word(said: str) -> str | None:
    """The last word of a fastener's name in a text, if there is one."""
    found = re.search(r"\b(bolt|screw|nut|washer|stud|studding|threaded rod|setscrew|grub)s?\b", said, re.IGNORECASE)
    return found[1].casefold() if found else None
