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

LONGEST = 300
"""Signs that no line holds, however narrow they are."""

Align = Literal["L", "R", "C"]


class Ink:
    """Draws text on one PDF; keeps the font files it needs until :meth:`close`."""

    def __init__(self, pdf: FPDF) -> None:
        self.pdf = pdf
        self._folder = tempfile.TemporaryDirectory(prefix="bathkeeper-fonts-", ignore_cleanup_errors=True)
        self._families: list[str] = []
        self._widths: dict[tuple[str, bool], float] = {}
        self._shaped: dict[tuple[str, bool], float] = {}
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
        if not is_shaped(text):
            return self._plain_width(text, bold) * size
        known = self._shaped.get((text, bold))
        if known is None:
            self._shape(text, 10, bold)
            known = self._shaped[(text, bold)] = float(self.pdf.get_string_width(text)) / 10
        return known * size

    def wrapped(self, text: str, width: float, size: float, bold: bool = False) -> list[str]:
        """A ready text in lines of at most ``width`` mm, broken at spaces, and within words that are longer than a line."""
        lines: list[str] = []
        for paragraph in text.split("\n"):
            line, used = "", 0.0
            for word in re.findall("[^ ]+ *| +", paragraph):
                if used + self.width(word.rstrip(" "), size, bold) <= width:
                    line += word
                    used += self.width(word, size, bold)
                    continue
                if line.strip(" "):
                    lines.append(line.rstrip(" "))
                *whole, line = self._pieces(word, width, size, bold)
                lines.extend(whole)
                used = self.width(line, size, bold)
            lines.append(line.rstrip(" "))
        return lines

    def fitted(self, text: str, width: float, size: float, bold: bool = False) -> str:
        """A ready line, with an ellipsis when it had to be cut; only for what stands in full elsewhere."""
        if len(text) <= LONGEST and self.width(text, size, bold) <= width:
            return text
        text = text[:LONGEST]
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
        """A word in pieces that fit; the last may have room left.

        Pieces are measured sign by sign; shaping makes a text narrower, seldom wider, and then the piece is cut again.
        """
        if self.width(word.rstrip(" "), size, bold) <= width:
            return [word]
        pieces: list[str] = []
        piece, used = "", 0.0
        for char in word:
            more = self._advance(char, bold) * size * MM_PER_POINT / 1000
            clings = used + more < 1.1 * width and (_clings(char) or piece[-1:] == "\u200d")  # none clings for ever
            if piece and used + more > width and not clings:
                cut = max((piece.rfind(sign) + 1 for sign in _AFTER), default=0)
                cut = cut if cut > len(piece) / 2 else len(piece)
                pieces.append(piece[:cut])
                piece = piece[cut:]
                used = self._plain_width(piece, bold) * size
            piece += char
            used += more
        if not is_shaped(word):
            return [*pieces, piece]
        return [short for long in [*pieces, piece] for short in self._shorter(long, width, size, bold)]

    def _shorter(self, piece: str, width: float, size: float, bold: bool) -> list[str]:
        """A shaped piece, in halves where it came out wider than its signs."""
        if len(piece) < 2 or self.width(piece, size, bold) <= 1.1 * width:
            return [piece]
        half = len(piece) // 2
        return [*self._shorter(piece[:half], width, size, bold), *self._shorter(piece[half:], width, size, bold)]

    def _plain_width(self, text: str, bold: bool) -> float:
        """Of signs one after another, in mm at one point."""
        return sum(self._advance(char, bold) for char in text) * MM_PER_POINT / 1000


def is_shaped(text: str) -> bool:
    """Whether a text holds signs of scripts that join, stack or run from the right."""
    return not text.isascii() and bool(_RTL.search(text) or _SHAPED.search(text))


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
