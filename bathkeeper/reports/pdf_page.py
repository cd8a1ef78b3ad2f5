"""Sheets of paper: margins, room that is left, upright and turned pages, the head and foot that every page carries."""

from __future__ import annotations

import logging
from datetime import datetime
from typing import Literal

from fpdf import FPDF

from bathkeeper.reports.pdf_text import Ink, direction
from bathkeeper.reports.words import carried, visible

Paper = Literal["a4", "letter"]
Turn = Literal["portrait", "landscape"]

SIDE, TOP, BOTTOM = 20.0, 24.0, 20.0  # mm
BODY, SMALL, FINE = 9.5, 8.0, 7.5  # points
GREY, PALE, FAINT = 95, 200, 232  # 0 is black, 255 white; all of them stay apart on a black and white printer


class Sheets:
    """A PDF that grows downwards: ``y`` is where the next thing goes. ``sub`` stands beside the title on later pages."""

    def __init__(self, title: str, sub: str, made_at: datetime, paper: Paper, *, subject: str = "", author: str = "") -> None:
        self.pdf = FPDF(orientation="portrait", unit="mm", format=paper)
        self.pdf.alias_nb_pages("")  # else a text that holds the alias would become the number of pages
        self.pdf.set_auto_page_break(False)
        self.pdf.set_creation_date(made_at)
        self.pdf.set_title(carried(title))
        self.pdf.set_subject(carried(subject))
        self.pdf.set_author(carried(author))
        self.pdf.set_creator("bathkeeper")
        self.ink = Ink(self.pdf)
        self._title, self._sub = title, sub
        self.turn: Turn = "portrait"
        self.y = TOP
        self.page()

    @property
    def left(self) -> float:
        """The left edge of what may be printed, in mm."""
        return SIDE

    @property
    def width(self) -> float:
        """How wide a line may be, in mm."""
        return float(self.pdf.w) - 2 * SIDE

    @property
    def bottom(self) -> float:
        """The lowest edge of what may be printed, in mm from the top."""
        return float(self.pdf.h) - BOTTOM

    @property
    def room(self) -> float:
        """Height that is left on this page, in mm."""
        return self.bottom - self.y

    @property
    def fresh(self) -> bool:
        """Whether nothing stands on this page yet."""
        return self.y <= TOP

    def width_when(self, turn: Turn) -> float:
        """How wide a line may be on a page so turned."""
        sides = sorted((float(self.pdf.w), float(self.pdf.h)))
        return sides[turn == "landscape"] - 2 * SIDE

    def page(self, turn: Turn | None = None) -> None:
        """A new page, turned as the last one or as asked."""
        self.turn = turn or self.turn
        self.pdf.add_page(orientation=self.turn)
        self.y = TOP

    def turned(self, turn: Turn) -> None:
        """Goes on to a page that is so turned, unless this one is."""
        if self.turn != turn:
            self.page(turn)

    def need(self, height: float) -> None:
        """Goes on to a new page when ``height`` mm are not left here."""
        if self.room < height and not self.fresh:
            self.page()

    def gap(self, height: float) -> None:
        """White space, none at the top of a page."""
        if not self.fresh:
            self.y += height

    def line(self, x1: float, y1: float, x2: float, y2: float, *, width: float = 0.2, grey: int = 0) -> None:
        """A straight line; sizes in mm."""
        self.pdf.set_draw_color(grey)
        self.pdf.set_line_width(width)
        self.pdf.line(x1, y1, x2, y2)

    def write(
        self, text: str, size: float = BODY, *, bold: bool = False, indent: float = 0.0, grey: int = 0, struck: bool = False,
        right: float = 0.0,
    ) -> None:
        """Ready or raw text over as many lines and pages as it takes; ``indent`` and ``right`` in mm from the edges."""
        height = self.ink.height(size)
        for line in self.ink.wrapped(self.ink.ready(text, lines=True), self.width - indent - right, size, bold):
            self.need(height)
            width = self.width - indent - right
            align: Literal["L", "R"] = "R" if runs_left(line) else "L"
            self.ink.draw(self.left + indent, self.y, line, size, width=width, bold=bold, align=align, grey=grey, struck=struck)
            self.y += height

    def finish(self, *, head: bool = True) -> bytes:
        """The PDF, with page numbers on every page and, from the second on, the title; then nothing more can be written."""
        pages = self.pdf.pages_count
        for number in range(1, pages + 1):
            self._open(number)
            ink, right = self.ink, float(self.pdf.w) - SIDE
            foot = float(self.pdf.h) - BOTTOM + 8
            ink.draw(SIDE, foot, f"page {number} of {pages}", SMALL, width=self.width, align="R", grey=GREY)
            ink.draw(SIDE, foot, ink.fitted(ink.ready(self._sub), self.width - 35, SMALL), SMALL, grey=GREY)
            if head and number > 1:
                ink.draw(SIDE, 13, ink.fitted(ink.ready(visible(self._title)), self.width, SMALL), SMALL, grey=GREY)
                self.line(SIDE, 18, right, 18, width=0.15, grey=PALE)
        talk = logging.getLogger("fontTools.subset")  # says on a person's screen which tables it leaves out
        level = talk.level
        talk.setLevel(logging.ERROR)
        try:
            return bytes(self.pdf.output())
        finally:
            talk.setLevel(level)
            self.ink.close()

    def _open(self, number: int) -> None:
        """Goes back to a page to add to it; the file must be told font, colour and line anew there."""
        self.pdf.page = number
        wide, high = self.pdf.pages[number].dimensions()
        self.pdf.w_pt, self.pdf.h_pt = float(wide or self.pdf.w_pt), float(high or self.pdf.h_pt)
        self.pdf.w, self.pdf.h = self.pdf.w_pt / self.pdf.k, self.pdf.h_pt / self.pdf.k
        self.pdf.current_font_is_set_on_page = False
        self.pdf.set_draw_color(1)
        self.pdf.set_line_width(0.99)


def runs_left(line: str) -> bool:
    """Whether a line is of a script that runs from the right."""
    return direction(line) == "rtl"
