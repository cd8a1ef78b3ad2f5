"""A report as a PDF: quiet pages that an authority or an auditor can file, every piece of the model, nothing cut off.

The same report gives the same bytes (with the same fonts at hand): the date inside is the report's own ``made_at``.
"""

from __future__ import annotations

from bathkeeper.reports.model import (
    Caution,
    Chart,
    Checklist,
    Corrected,
    Facts,
    Heading,
    Paragraph,
    Piece,
    Report,
    SignatureLine,
    State,
    Table,
)
from bathkeeper.reports.pdf_chart import chart_height, draw_chart
from bathkeeper.reports.pdf_page import BODY, GREY, SMALL, Paper, Sheets
from bathkeeper.reports.pdf_table import draw_table
from bathkeeper.reports.words import STATES, corrected_lines, day_text, fact_value, under_head, visible

LABELS = 0.34  # of the width that facts keep for their labels at most
BOX = 2.8  # mm
HEADINGS = {1: 13.0, 2: 11.0}  # points


def pdf(report: Report, *, paper: Paper = "a4") -> bytes:
    """The report as a PDF file on A4 or US letter."""
    sub = " · ".join(visible(part) for part in (report.workshop, f"made {day_text(report.made_at)}") if part)
    sheets = Sheets(report.title, sub, report.made_at, paper, subject=report.subtitle, author=report.workshop)
    _top(sheets, report)
    waiting: list[Heading] = []  # a heading is written with what follows it, so that it never ends a page
    for piece in report.sections:
        if isinstance(piece, Heading):
            waiting.append(piece)
            continue
        _piece(sheets, piece, waiting)
        waiting = []
    _headings(sheets, waiting, 0.0)
    if report.notes:
        sheets.turned("portrait")
        sheets.gap(6)
        sheets.need(14)
        sheets.write("Notes", 10, bold=True)
        sheets.y += 1
        for note in report.notes:
            sheets.write(note, SMALL)
            sheets.y += 1
    return sheets.finish()


def _top(sheets: Sheets, report: Report) -> None:
    sheets.y = 20
    sheets.write(report.title, 17, bold=True)
    if report.subtitle:
        sheets.write(report.subtitle, 11, grey=60)
    sheets.y += 2
    for line in under_head(report):
        sheets.write(line, SMALL, grey=GREY)
    sheets.y += 2
    sheets.line(sheets.left, sheets.y, sheets.left + sheets.width, sheets.y, width=0.4)
    sheets.y += 4


def _headings(sheets: Sheets, headings: list[Heading], more: float) -> None:
    """Headings, on a page that has room for them and ``more`` mm."""
    if headings:
        sheets.gap(6.0 if headings[0].level == 1 else 4.0)
        sheets.need(_headings_height(sheets, headings) + more)
    for heading in headings:
        sheets.write(heading.text, HEADINGS[heading.level], bold=True)
        sheets.y += 1.5


def _headings_height(sheets: Sheets, headings: list[Heading]) -> float:
    return sum(
        len(sheets.ink.wrapped(sheets.ink.ready(h.text, lines=True), sheets.width, HEADINGS[h.level], bold=True))
        * sheets.ink.height(HEADINGS[h.level]) + 1.5
        for h in headings
    )


def _piece(sheets: Sheets, piece: Piece, headings: list[Heading]) -> None:
    if isinstance(piece, Table):
        sheets.gap(0 if headings else 2)
        height = _headings_height(sheets, headings) + 6
        draw_table(sheets, piece, lambda: _headings(sheets, headings, 0.0), height if headings else 0.0)
        sheets.y += 5
        return
    sheets.turned("portrait")
    _headings(sheets, headings, chart_height(piece) if isinstance(piece, Chart) else 26.0)
    if isinstance(piece, Paragraph):
        sheets.write(piece.text, BODY)
        sheets.y += 2.5
    elif isinstance(piece, Facts):
        _facts(sheets, piece)
    elif isinstance(piece, Chart):
        sheets.gap(3)
        draw_chart(sheets, piece)
        sheets.y += 5
    elif isinstance(piece, Checklist):
        _checklist(sheets, piece)
    elif isinstance(piece, Caution):
        _caution(sheets, piece)
    elif isinstance(piece, Corrected):
        _corrected(sheets, piece)
    elif isinstance(piece, SignatureLine):
        _signature(sheets, piece)


def _facts(sheets: Sheets, piece: Facts) -> None:
    ink = sheets.ink
    sheets.gap(1)
    if piece.title:
        sheets.need(14)
        sheets.write(piece.title, 10, bold=True)
        sheets.y += 0.5
    labels = [ink.ready(visible(fact.label)) for fact in piece.pairs]
    widest = max((ink.width(label, BODY) for label in labels), default=0.0)
    label_width = min(widest, sheets.width * LABELS)
    height = ink.height(BODY)
    for fact, label in zip(piece.pairs, labels, strict=True):
        left = ink.wrapped(label, label_width, BODY)
        right = ink.wrapped(ink.ready(fact_value(fact)), sheets.width - label_width - 5, BODY)
        for number in range(max(len(left), len(right))):
            sheets.need(height)
            if number < len(left):
                ink.draw(sheets.left, sheets.y, left[number], BODY, grey=GREY)
            if number < len(right):
                ink.draw(sheets.left + label_width + 5, sheets.y, right[number], BODY)
            sheets.y += height
        sheets.y += 0.6
    sheets.y += 2


def _checklist(sheets: Sheets, piece: Checklist) -> None:
    """Each point with a box: ticked, empty, or with a question mark; and its state as a word."""
    sheets.gap(1)
    if piece.title:
        sheets.need(14)
        sheets.write(piece.title, 10, bold=True)
        sheets.y += 1
    for item in piece.items:
        sheets.need(sheets.ink.height(BODY))
        _box(sheets, item.state)
        note = f" – {visible(item.note)}" if item.note else ""
        sheets.write(f"{visible(item.text)} ({STATES[item.state]}{note})", BODY, indent=6)
        sheets.y += 0.8
    sheets.y += 2


def _box(sheets: Sheets, state: State) -> None:
    x, y, pdf = sheets.left + 0.3, sheets.y + 0.9, sheets.pdf
    pdf.set_draw_color(0)
    pdf.set_line_width(0.25)
    pdf.rect(x, y, BOX, BOX)
    if state == "done":
        sheets.line(x + 0.6, y + 1.5, x + 1.2, y + 2.2, width=0.4)
        sheets.line(x + 1.2, y + 2.2, x + 2.3, y + 0.6, width=0.4)
    elif state == "unknown":
        sheets.ink.draw(x, y - 0.3, "?", 7, width=BOX, align="C")


def _caution(sheets: Sheets, piece: Caution) -> None:
    """Set off by a heavy line at the left, on every page that it goes over."""
    sheets.gap(1)
    sheets.need(14)
    sheets.write("Caution", BODY, bold=True, indent=5)
    _barred(sheets, piece.text, BODY, again=True)
    if piece.source:
        _barred(sheets, f"Source: {visible(piece.source)}", SMALL, grey=GREY)
    sheets.y += 4


def _barred(sheets: Sheets, text: str, size: float, *, grey: int = 0, again: bool = False) -> None:
    height = sheets.ink.height(size)
    start = sheets.y - (sheets.ink.height(BODY) if again else 0)
    for line in sheets.ink.wrapped(sheets.ink.ready(text, lines=True), sheets.width - 5, size):
        if sheets.room < height:
            sheets.page()
            start = sheets.y
        sheets.ink.draw(sheets.left + 5, sheets.y, line, size, grey=grey)
        sheets.y += height
        sheets.line(sheets.left + 1, start, sheets.left + 1, sheets.y, width=1.0, grey=60)
        start = sheets.y


def _corrected(sheets: Sheets, piece: Corrected) -> None:
    logged, stands, told = corrected_lines(piece)
    sheets.gap(1)
    sheets.need(20)
    sheets.write(told, SMALL, grey=GREY)
    for word, text, struck in (("as logged", logged, True), ("now stands", stands, False)):
        sheets.need(sheets.ink.height(BODY))
        sheets.ink.draw(sheets.left + 5, sheets.y, word, SMALL, grey=GREY)
        sheets.write(text, BODY, indent=25, struck=struck)
    sheets.y += 3


def _signature(sheets: Sheets, piece: SignatureLine) -> None:
    sheets.gap(2)
    sheets.need(26)
    third = sheets.width / 3
    sheets.write(piece.role, BODY, bold=True)
    sheets.y += 11
    sheets.need(8)
    if piece.name:
        name = sheets.ink.wrapped(sheets.ink.ready(visible(piece.name)), third - 6, BODY)
        for number, line in enumerate(name):
            sheets.ink.draw(sheets.left, sheets.y - sheets.ink.height(BODY) * (len(name) - number) - 0.5, line, BODY)
    for number, word in enumerate(("name", "signature", "date")):
        x = sheets.left + number * third
        sheets.line(x, sheets.y, x + third - 6, sheets.y, width=0.2)
        sheets.ink.draw(x, sheets.y + 0.8, word, SMALL, grey=GREY)
    sheets.y += 9
