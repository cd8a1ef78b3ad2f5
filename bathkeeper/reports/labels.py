"""Labels for tanks and containers as a PDF: several on a sheet, or one large one on a page.

A label says what is inside and what its hazards are called; it decides nothing. The diamonds are drawn plainly, a frame on its
point with the pictogram's code inside and its name in words below; whoever must use the official pictograms sticks them on.
Text that is longer than its label is set smaller; what still does not fit moves the label to a page of its own, so that
nothing is cut off.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, datetime
from typing import Literal

import msgspec

from bathkeeper.refusals import shorten
from bathkeeper.reports.model import ReportError
from bathkeeper.reports.pdf_page import Paper, Sheets
from bathkeeper.reports.words import visible

Layout = Literal["sheet", "large"]

PICTOGRAMS = {
    "GHS01": "exploding bomb", "GHS02": "flame", "GHS03": "flame over circle", "GHS04": "gas cylinder", "GHS05": "corrosion",
    "GHS06": "skull and crossbones", "GHS07": "exclamation mark", "GHS08": "health hazard", "GHS09": "environment",
}
"""The names of the symbols. Status: memory; source: UN GHS, annex 3, and CLP Regulation (EC) 1272/2008, annex V."""

ASK = "Ask the keeper before moving it, opening it or mixing anything into it."
MARGIN = 12.0  # mm round the sheet
BETWEEN = 3.0  # mm between pictograms
INNER = 4.0  # mm inside a label's edge
SHEET = (2, 4)  # labels across and down
LARGE = 150.0
"""mm, the least height of a large label. The small ones are under 100 by 100 mm, which Spain, for one, asks of the label on
hazardous waste: Ley 7/2022, art. 21, text of 25 Apr 2026. Status: seen. Local rules decide."""
RED = (190, 0, 0)

_CODE = re.compile(r"(EU)?H\d{3}[A-Za-z]{0,3}")


class Label(msgspec.Struct, frozen=True, kw_only=True):
    """What stands on a label. Everything but ``name`` and ``contents`` may be left out; what is left out is not printed.

    ``name``: of the tank or container. ``contents``: what is in it, in words. ``since``: in this tank since; ``opened``: the
    first day that something went into the container. ``word``: the signal word of its sheet (danger, warning). ``pictograms``:
    codes GHS01 to GHS09. ``statements``: hazard statements as codes (H314, EUH071). ``cautions``: short sentences.
    ``producer``: who filled it: name, address, telephone. ``emergency``: whom to call; a blank line to fill in when empty.

    Raises:
        ReportError: a pictogram or statement that is no code of that kind; says what one looks like.
    """

    name: str
    contents: str
    since: date | None = None
    opened: date | None = None
    word: str = ""
    pictograms: tuple[str, ...] = ()
    statements: tuple[str, ...] = ()
    cautions: tuple[str, ...] = ()
    producer: str = ""
    ask: str = ASK
    emergency: str = ""

    def __post_init__(self) -> None:
        if len(set(self.pictograms)) < len(self.pictograms):
            raise ReportError("a pictogram stands twice on one label; name each once")
        for code in self.pictograms:
            if code not in PICTOGRAMS:
                raise ReportError(f"`{shorten(code)}` is no pictogram; there are {', '.join(PICTOGRAMS)}")
        for code in self.statements:
            if not all(_CODE.fullmatch(part) for part in code.split("+")):
                raise ReportError(f"`{shorten(code)}` is no hazard statement; write its code, for example H314 or EUH071")


def labels_pdf(labels: Sequence[Label], made_at: datetime, *, layout: Layout = "sheet", paper: Paper = "a4") -> bytes:
    """The labels as a PDF: ``sheet`` puts eight on a page with lines to cut along, ``large`` one on each page;
    of a sheet's labels those that need a page of their own come last.

    Raises:
        ReportError: there are no labels.
    """
    if not labels:
        raise ReportError("there are no labels to make; name at least one tank or container")
    title = "Labels" if len(labels) > 1 else f"Label: {labels[0].name}"
    sheets = Sheets(title, "", made_at, paper)
    places = _small(sheets) if layout == "sheet" else []
    too_long = []
    used = 0
    for label in labels:
        setting = _setting(sheets, label, places[0], (8.5, 8.0, 7.5, 7.0, 6.5, 6.0)) if places else None
        if setting is None:
            too_long.append(label)
            continue
        if used and used % len(places) == 0:
            sheets.page()
        _draw(sheets, label, places[used % len(places)], setting)
        used += 1
    for number, label in enumerate(too_long):
        if used or number:
            sheets.page()
        _draw_large(sheets, label)
    return sheets.finish(head=False)


@dataclass(frozen=True)
class _Place:
    x: float
    y: float
    width: float
    height: float


@dataclass(frozen=True)
class _Line:
    """One line of a label: its text, size in points, whether bold, and the space above it in mm."""

    text: str
    size: float
    bold: bool = False
    before: float = 0.0


@dataclass(frozen=True)
class _Setting:
    lines: list[_Line]
    diamond: float
    words: dict[str, list[str]]
    rows: list[list[str]]
    word_size: float
    foot: list[_Line]


def _small(sheets: Sheets) -> list[_Place]:
    across, down = SHEET
    wide = (float(sheets.pdf.w) - 2 * MARGIN) / across
    high = (float(sheets.pdf.h) - 2 * MARGIN - 4) / down
    return [_Place(MARGIN + c * wide, MARGIN + r * high, wide, high) for r in range(down) for c in range(across)]


def _setting(sheets: Sheets, label: Label, place: _Place, sizes: Sequence[float]) -> _Setting | None:
    """The largest setting that fits its place, or nothing."""
    for size in sizes:
        made = _set(sheets, label, place.width - 2 * INNER, size)
        if _height(sheets, made) <= place.height - 2 * INNER:
            return made
    return None


def _set(sheets: Sheets, label: Label, width: float, size: float) -> _Setting:
    ink = sheets.ink
    diamond = size * 1.75 if label.pictograms else 0.0
    words = {code: ink.wrapped(PICTOGRAMS[code], diamond * 1.5, size * 0.8) for code in label.pictograms}
    lines: list[_Line] = []

    def say(text: str, points: float, bold: bool = False, before: float = 0.0) -> None:
        for number, line in enumerate(ink.wrapped(ink.ready(visible(text)), width, points, bold)):
            lines.append(_Line(line, points, bold, 0.0 if number else before))

    say(label.name, size * 1.6, bold=True)
    say(label.contents, size * 1.15, before=0.3)
    dates = [f"{word} {day.isoformat()}" for word, day in (("in use since", label.since), ("opened", label.opened)) if day]
    if dates:
        say("; ".join(dates), size, before=0.5)
    if label.word:
        say(label.word.upper(), size * 1.15, bold=True, before=0.6)
    if label.statements:
        say("Hazard statements: " + ", ".join(label.statements), size, before=0.4)
    for caution in label.cautions:
        say(caution, size, before=0.4)
    if label.ask:
        say(label.ask, size, bold=True, before=0.6)
    if label.producer:
        say(f"Filled by: {visible(label.producer)}", size, before=0.4)
    body, lines = lines, []
    say(f"In an emergency call: {visible(label.emergency)}" if label.emergency else "In an emergency call:", size, before=1.0)
    rows = _rows(sheets, words, width, diamond, size * 0.8)
    return _Setting(body, diamond, words, rows, size * 0.8, lines)


def _rows(sheets: Sheets, words: dict[str, list[str]], width: float, diamond: float, size: float) -> list[list[str]]:
    """The codes in as many rows as the width asks for."""
    rows: list[list[str]] = []
    used = width + 1
    for code in words:
        wide = _diamond_width(sheets, words[code], diamond, size) + BETWEEN
        if used + wide > width + BETWEEN:
            rows.append([])
            used = 0.0
        rows[-1].append(code)
        used += wide
    return rows


def _diamond_width(sheets: Sheets, words: list[str], diamond: float, size: float) -> float:
    return max([diamond, *(sheets.ink.width(word, size) for word in words)])


def _height(sheets: Sheets, setting: _Setting) -> float:
    text = sum(sheets.ink.height(line.size) + line.before for line in [*setting.lines, *setting.foot])
    return text + _diamonds_height(sheets, setting)


def _diamonds_height(sheets: Sheets, setting: _Setting) -> float:
    return sum(_row_height(sheets, setting, row) for row in setting.rows)


def _row_height(sheets: Sheets, setting: _Setting, row: Sequence[str]) -> float:
    return setting.diamond + max(len(setting.words[code]) for code in row) * sheets.ink.height(setting.word_size) + 1.5


def _draw(sheets: Sheets, label: Label, place: _Place, setting: _Setting) -> None:
    pdf, ink = sheets.pdf, sheets.ink
    pdf.set_draw_color(120)
    pdf.set_line_width(0.2)
    pdf.set_dash_pattern(dash=1.5, gap=1.5)
    pdf.rect(place.x, place.y, place.width, place.height)
    pdf.set_dash_pattern()
    x, y = place.x + INNER, place.y + INNER
    for line in setting.lines:
        y += line.before
        ink.draw(x, y, line.text, line.size, bold=line.bold)
        y += ink.height(line.size)
    foot = sum(ink.height(line.size) for line in setting.foot)
    bottom = place.y + place.height - INNER
    _diamonds(sheets, setting, x, max(y + 0.8, bottom - foot - 1 - _diamonds_height(sheets, setting)))
    y = bottom - foot
    for line in setting.foot:
        ink.draw(x, y, line.text, line.size, bold=line.bold)
        y += ink.height(line.size)
    if not label.emergency:
        start = x + ink.width(setting.foot[-1].text, setting.foot[-1].size) + 2
        sheets.line(start, y - 0.8, place.x + place.width - INNER, y - 0.8, width=0.2)


def _diamonds(sheets: Sheets, setting: _Setting, left: float, y: float) -> None:
    """The pictograms side by side, each with its name below."""
    for row in setting.rows:
        x = left
        for code in row:
            wide = _diamond_width(sheets, setting.words[code], setting.diamond, setting.word_size)
            _diamond(sheets, code, x + wide / 2, y, setting.diamond)
            for number, word in enumerate(setting.words[code]):
                top = y + setting.diamond + 0.5 + number * sheets.ink.height(setting.word_size)
                sheets.ink.draw(x, top, word, setting.word_size, width=wide, align="C")
            x += wide + BETWEEN
        y += _row_height(sheets, setting, row)


def _diamond(sheets: Sheets, code: str, middle: float, y: float, size: float) -> None:
    half, inset, points = size / 2, size / 20, size * 0.52
    sheets.pdf.set_draw_color(*RED)
    sheets.pdf.set_line_width(size / 16)
    sheets.pdf.polygon([
        (middle, y + inset), (middle + half - inset, y + half), (middle, y + size - inset), (middle - half + inset, y + half),
    ])
    top = y + half - sheets.ink.height(points) / 2
    sheets.ink.draw(middle - half, top, code, points, width=size, bold=True, align="C")


def _draw_large(sheets: Sheets, label: Label) -> None:
    """On a page of its own; as large as it can be, and over several pages when even small letters do not fit one."""
    wide = float(sheets.pdf.w) - 2 * MARGIN
    place = _Place(MARGIN, MARGIN, wide, float(sheets.pdf.h) - 2 * MARGIN - 6)
    setting = _setting(sheets, label, place, (20, 18, 16, 14, 12, 11, 10, 9, 8))
    if setting is not None:
        high = min(place.height, max(LARGE, _height(sheets, setting) + 2 * INNER + 4))
        _draw(sheets, label, _Place(place.x, place.y, place.width, high), setting)
        return
    made = _set(sheets, label, sheets.width, 8)
    sheets.y = MARGIN
    for line in [*made.lines, *made.foot]:
        sheets.need(sheets.ink.height(line.size))
        sheets.ink.draw(sheets.left, sheets.y, line.text, line.size, bold=line.bold)
        sheets.y += sheets.ink.height(line.size)
    sheets.need(_diamonds_height(sheets, made) + 2)
    _diamonds(sheets, made, sheets.left, sheets.y + 1)
