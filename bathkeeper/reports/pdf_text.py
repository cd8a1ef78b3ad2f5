"""Text onto a PDF page: signs that can be drawn, lines that fit a width, and no word of it ever read as anything but text.

Lines are broken here and drawn one by one, so that what is written can be counted and split at a page's end. Scripts that join,
stack or run from the right are shaped by HarfBuzz; the rest is drawn sign by sign, which any reader extracts as it was.
"""

from __future__ import annotations

import re
import tempfile
import unicodedata
from pathlib import Path
from typing import Literal

from fpdf import FPDF

from bathkeeper.reports.pdf_fonts import PACKAGED, Face, face_for, font_bytes
from bathkeeper.reports.words import JOINERS, carried, escaped, visible

MM_PER_POINT = 25.4 / 72
LEADING = 1.35
"""Height of a line in heights of its letters."""

_RTL = re.compile("[\u0590-\u08ff\ufb1d-\ufdff\ufe70-\ufeff]")
_SHAPED = re.compile("[\u0300-\u036f\u0900-\u109f\u1780-\u17ff\u200c\u200d]")
_AFTER = "-/_,;.·⟩)]"
"""Signs after which a word that is longer than its line is broken by preference."""

Align = Literal["L", "R", "C"]


class Ink:
    """Draws text on one PDF; keeps the font files it needs until :meth:`close`."""

    def __init__(self, pdf: FPDF) -> None:
        self.pdf = pdf
        self._folder = tempfile.TemporaryDirectory(prefix="bathkeeper-fonts-", ignore_cleanup_errors=True)
        self._families: list[str] = []
        self._widths: dict[tuple[str, bool], float] = {}
        pdf.c_margin = 0
        self._add(face_for("a") or Face("sans", frozenset()))

    def close(self) -> None:
        """Lets the font files go; after the PDF was written."""
        self._folder.cleanup()

    def ready(self, text: str, *, lines: bool = False) -> str:
        """The text with everything that cannot be drawn, or that would be obeyed, as a visible escape."""
        out = []
        for char in visible(carried(text), lines=lines):
            if char == "\n" or char in JOINERS:
                out.append(char)
                continue
            face = face_for(char)
            if face is None:
                out.append(escaped(char))
            else:
                self._add(face)
                out.append(char)
        made = "".join(out)
        for char in "⟨⟩":
            if char in made and (face := face_for(char)):
                self._add(face)
        return made

    def width(self, text: str, size: float, bold: bool = False) -> float:
        """How wide a ready line is, in mm."""
        if _RTL.search(text) or _SHAPED.search(text):
            self._shape(text, size, bold)
            return float(self.pdf.get_string_width(text))
        return sum(self._advance(char, bold) for char in text) * size * MM_PER_POINT / 1000

    def wrapped(self, text: str, width: float, size: float, bold: bool = False) -> list[str]:
        """A ready text in lines of at most ``width`` mm, broken at spaces, and within words that are longer than a line."""
        lines: list[str] = []
        for paragraph in text.split("\n"):
            line = ""
            for word in re.findall("[^ ]+ *| +", paragraph):
                if self.width((line + word).rstrip(), size, bold) <= width:
                    line += word
                    continue
                if line.strip():
                    lines.append(line.rstrip())
                *whole, line = self._pieces(word, width, size, bold)
                lines.extend(whole)
            lines.append(line.rstrip())
        return lines

    def fitted(self, text: str, width: float, size: float, bold: bool = False) -> str:
        """A ready line, with an ellipsis when it had to be cut; only for what stands in full elsewhere."""
        if self.width(text, size, bold) <= width:
            return text
        while text and self.width(text + "…", size, bold) > width:
            text = text[:-1]
        return text.rstrip() + "…"

    def draw(
        self, x: float, y: float, text: str, size: float, *, width: float = 0.0, bold: bool = False, align: Align = "L",
        grey: int = 0, struck: bool = False,
    ) -> None:
        """One ready line, its top at ``y``; ``width`` is what ``align`` refers to. ``grey``: 0 is black, 255 white."""
        if not text:
            return
        pdf = self.pdf
        shaped = self._shape(text, size, bold)
        wide = self.width(text, size, bold)
        left = x + {"L": 0.0, "R": width - wide, "C": (width - wide) / 2}[align]
        pdf.set_xy(left, y)
        pdf.set_text_color(grey)
        told = shaped and not _RTL.search(text)
        if told:  # glyphs of stacking scripts have no sign of their own each; readers are told the text itself
            pdf._out(f"/Span <</ActualText <FEFF{text.encode('utf-16-be').hex().upper()}>>> BDC")
        pdf.cell(wide + 1, size * MM_PER_POINT * LEADING, text, markdown=False)
        if told:
            pdf._out("EMC")
        pdf.set_text_color(0)
        if struck:
            pdf.set_draw_color(grey)
            pdf.set_line_width(0.2)
            middle = y + size * MM_PER_POINT * LEADING * 0.55
            pdf.line(left, middle, left + wide, middle)

    def height(self, size: float) -> float:
        """Of one line, in mm."""
        return size * MM_PER_POINT * LEADING

    def _shape(self, text: str, size: float, bold: bool) -> bool:
        """Sets the font for a line; true when it must be shaped."""
        rtl, stacked = bool(_RTL.search(text)), bool(_SHAPED.search(text))
        base = "scripts" if (rtl or stacked) and "scripts" in self._families else "sans"
        self.pdf.set_font(base, "B" if bold else "", size)
        if rtl or stacked:
            self.pdf.set_text_shaping(True, direction=direction(text))
        else:
            self.pdf.set_text_shaping(False)
        return rtl or stacked

    def _advance(self, char: str, bold: bool) -> float:
        known = self._widths.get((char, bold))
        if known is None:
            face = face_for(char)
            family = face.family if face else "sans"
            key = family + ("B" if bold else "")
            font = self.pdf.fonts.get(key) or self.pdf.fonts[family]
            known = self._widths[(char, bold)] = float(font.cw[ord(char)])  # type: ignore[index]
        return known

    def _add(self, face: Face) -> None:
        if face.family in self._families:
            return
        if face.path:
            self.pdf.add_font(face.family, "", face.path)
        else:
            for style, module in zip(("", "B"), PACKAGED[face.family], strict=True):
                if module:
                    path = Path(self._folder.name, f"{module}.ttf")
                    path.write_bytes(font_bytes(module))
                    self.pdf.add_font(face.family, style, path)
        order = [*PACKAGED, *sorted({face.family, *self._families} - set(PACKAGED))]
        self._families = [family for family in order if family == face.family or family in self._families]
        self.pdf.set_fallback_fonts(self._families, exact_match=False)

    def _pieces(self, word: str, width: float, size: float, bold: bool) -> list[str]:
        """A word in pieces that fit; the last may have room left."""
        if self.width(word.rstrip(), size, bold) <= width:
            return [word]
        pieces: list[str] = []
        piece, used, shaped = "", 0.0, bool(_RTL.search(word) or _SHAPED.search(word))
        for char in word:
            more = self._advance(char, bold) * size * MM_PER_POINT / 1000
            wide = self.width(piece + char, size, bold) if shaped else used + more
            if piece and wide > width and not _clings(char) and piece[-1] != "\u200d":
                cut = max((piece.rfind(sign) + 1 for sign in _AFTER), default=0)
                cut = cut if cut > len(piece) / 2 else len(piece)
                pieces.append(piece[:cut])
                piece = piece[cut:]
                used = sum(self._advance(c, bold) for c in piece) * size * MM_PER_POINT / 1000
            piece += char
            used += more
        return [*pieces, piece]


def direction(text: str) -> Literal["ltr", "rtl"]:
    """The way of the first sign that has one."""
    for char in text:
        way = unicodedata.bidirectional(char)
        if way in ("L", "R", "AL"):
            return "ltr" if way == "L" else "rtl"
    return "ltr"


def _clings(char: str) -> bool:
    """Whether a sign belongs to the one before it and cannot begin a line."""
    return char in JOINERS or unicodedata.category(char) in ("Mn", "Mc", "Me") or char == " "
