"""A control chart drawn in lines on paper, readable in black and white: every series has a shape, not only a grey."""

from __future__ import annotations

from datetime import datetime

from bathkeeper.reports.axes import Axes, axes, day_ticks, spaced, value_ticks
from bathkeeper.reports.model import Chart
from bathkeeper.reports.pdf_page import FAINT, FINE, GREY, PALE, SMALL, Sheets
from bathkeeper.reports.words import event_text, moment_text, number_text, unit_text, visible, window_texts

HEIGHT = 68.0  # mm of the field
LEFT, RIGHT = 14.0, 34.0  # mm beside the field, for the values and for the names of the lines
RADIUS = 0.9  # mm of a reading's dot
DASHES = {
    "give up above": (0.4, 3.0, 1.0), "window, high": (0.3, 2.0, 1.5), "target": (0.2, 0.4, 1.2),
    "window, low": (0.3, 2.0, 1.5), "give up below": (0.4, 3.0, 1.0),
}  # line width, dash and gap in mm


def chart_height(chart: Chart) -> float:
    """What a chart needs on one page, in mm, before its lists."""
    return HEIGHT + 36 if axes(chart) else 20.0


def draw_chart(sheets: Sheets, chart: Chart) -> None:
    """Title, field, axes, legend, then the events by number; on one page but for a long list of events."""
    field = axes(chart)
    sheets.need(chart_height(chart))
    unit = visible(unit_text(chart.unit))
    sheets.write(f"{visible(chart.title)}{f', {unit}' if unit else ''}", 10, bold=True)
    if field is None:
        sheets.write("No belief and no reading falls in this time, so there is nothing to draw.", SMALL, grey=GREY)
    else:
        sheets.y += 5
        _Field(sheets, chart, field).draw()
        _legend(sheets, chart, field)
    for number, event in enumerate(chart.events, start=1):
        sheets.write(f"{number}  {event_text(event)}", FINE, indent=LEFT)
    for reading in chart.readings:
        if reading.doubtful or reading.note:
            said = "set aside as doubtful" if reading.doubtful else "reading"
            note = f": {visible(reading.note)}" if reading.note else ""
            sheets.write(f"{moment_text(reading.when)} {said}, {number_text(reading.value)} {unit}{note}", FINE, indent=LEFT)
    if chart.caption:
        sheets.y += 1
        sheets.write(chart.caption, FINE, grey=GREY)


class _Field:
    """The field of a chart: where a moment and a value lie on the page."""

    def __init__(self, sheets: Sheets, chart: Chart, field: Axes) -> None:
        self.sheets, self.chart, self.field = sheets, chart, field
        self.left = sheets.left + LEFT
        self.right = sheets.left + sheets.width - RIGHT
        self.top = sheets.y
        self.bottom = sheets.y + HEIGHT
        self.pdf = sheets.pdf

    def x(self, moment: datetime) -> float:
        return self.left + self.field.across(moment) * (self.right - self.left)

    def v(self, value: float) -> float:
        return self.bottom - self.field.up(value) * HEIGHT

    def draw(self) -> None:
        self._grid()
        self._band()
        self._levels()
        self._events()
        self._belief()
        self._readings()
        for x1, y1, x2, y2 in (
            (self.left, self.top, self.left, self.bottom), (self.left, self.bottom, self.right, self.bottom),
        ):
            self.sheets.line(x1, y1, x2, y2, width=0.25)
        self.sheets.y = self.bottom + 8

    def _grid(self) -> None:
        sheets, ink = self.sheets, self.sheets.ink
        for value in value_ticks(self.field.low, self.field.high):
            y = self.v(value)
            sheets.line(self.left, y, self.right, y, width=0.1, grey=FAINT)
            sheets.line(self.left - 1, y, self.left, y, width=0.2)
            ink.draw(sheets.left, y - 1.8, number_text(value), FINE, width=LEFT - 2, align="R")
        for moment, text in day_ticks(self.field.since, self.field.until, most=6):
            x = self.x(moment)
            sheets.line(x, self.bottom, x, self.bottom + 1, width=0.2)
            ink.draw(x - 15, self.bottom + 1.5, text, FINE, width=30, align="C")

    def _band(self) -> None:
        points = self.field.points
        if len(points) < 2:
            return
        edge = [(self.x(p.when), self.v(p.high)) for p in points] + [(self.x(p.when), self.v(p.low)) for p in reversed(points)]
        self.pdf.set_fill_color(222)
        self.pdf.polygon(edge, style="F")
        self.pdf.set_fill_color(0)
        for ends in ([(self.x(p.when), self.v(p.high)) for p in points], [(self.x(p.when), self.v(p.low)) for p in points]):
            self._path(ends, 0.12, 140)

    def _belief(self) -> None:
        points = self.field.points
        if len(points) == 1:
            p = points[0]
            self.sheets.line(self.x(p.when), self.v(p.low), self.x(p.when), self.v(p.high), width=0.3, grey=140)
            self.sheets.line(self.x(p.when) - 1.2, self.v(p.value), self.x(p.when) + 1.2, self.v(p.value), width=0.45)
        self._path([(self.x(p.when), self.v(p.value)) for p in points], 0.45, 0)

    def _path(self, points: list[tuple[float, float]], width: float, grey: int) -> None:
        if len(points) > 1:
            self.pdf.set_draw_color(grey)
            self.pdf.set_line_width(width)
            self.pdf.polyline(points)

    def _levels(self) -> None:
        levels = window_texts(self.chart)
        places = spaced([self.v(value) for _, value in levels], 3.6, self.bottom)
        for (word, value), place in zip(levels, places, strict=True):
            width, dash, gap = DASHES[word]
            self.pdf.set_dash_pattern(dash=dash, gap=gap)
            self.sheets.line(self.left, self.v(value), self.right, self.v(value), width=width, grey=40)
            self.pdf.set_dash_pattern()
            if abs(place - self.v(value)) > 0.3:
                self.sheets.line(self.right, self.v(value), self.right + 1.5, place, width=0.1, grey=GREY)
            self.sheets.ink.draw(self.right + 2, place - 1.8, f"{word} {number_text(value)}", FINE)

    def _events(self) -> None:
        """A line down from a mark at the top: a triangle for an addition, a square for a new life, a cross line for the rest.
        Numbers stand above the marks, and where they would touch only the first does; the list below has all."""
        last = self.left - 10
        for number, event in sorted(enumerate(self.chart.events, start=1), key=lambda pair: pair[1].when):
            x = self.x(event.when)
            self.pdf.set_dash_pattern(dash=0.5, gap=1.0)
            self.sheets.line(x, self.top, x, self.bottom, width=0.35 if event.kind == "new life" else 0.12, grey=120)
            self.pdf.set_dash_pattern()
            event_mark(self.sheets, event.kind, x, self.top)
            width = self.sheets.ink.width(str(number), FINE)
            if x - width / 2 > last + 0.8:
                self.sheets.ink.draw(x - 5, self.top - 4.8, str(number), FINE, width=10, align="C")
                last = x + width / 2

    def _readings(self) -> None:
        for reading in self.field.readings:
            x, y = self.x(reading.when), self.v(reading.value)
            if reading.spread:
                low, high = self.v(reading.value - reading.spread), self.v(reading.value + reading.spread)
                self.sheets.line(x, low, x, high, width=0.2)
                for end in (low, high):
                    self.sheets.line(x - 0.7, end, x + 0.7, end, width=0.2)
            dot(self.sheets, x, y, hollow=reading.doubtful)


def dot(sheets: Sheets, x: float, y: float, *, hollow: bool) -> None:
    """A reading: filled, or hollow when it was set aside."""
    sheets.pdf.set_draw_color(0)
    sheets.pdf.set_line_width(0.25)
    sheets.pdf.set_fill_color(255 if hollow else 0)
    sheets.pdf.circle(x, y, RADIUS, style="DF")
    sheets.pdf.set_fill_color(0)


def event_mark(sheets: Sheets, kind: str, x: float, y: float) -> None:
    """The mark of an event, its lowest point at ``y``."""
    pdf = sheets.pdf
    pdf.set_draw_color(0)
    pdf.set_fill_color(0)
    pdf.set_line_width(0.2)
    if kind == "addition":
        pdf.polygon([(x - 1, y - 1.7), (x + 1, y - 1.7), (x, y)], style="F")
    elif kind == "new life":
        pdf.rect(x - 0.9, y - 1.8, 1.8, 1.8, style="F")
    else:
        pdf.line(x - 0.9, y - 0.9, x + 0.9, y - 0.9)
        pdf.line(x, y - 1.8, x, y)


def _legend(sheets: Sheets, chart: Chart, field: Axes) -> None:
    """One or two lines of marks with their words."""
    x = sheets.left + LEFT
    right = sheets.left + sheets.width
    kinds = {event.kind for event in chart.events}
    doubtful = [reading.doubtful for reading in field.readings]
    spread = any(r.spread for r in field.readings)
    wanted = [
        ("line", "believed, with its 95 % band", bool(field.points)),
        ("dot", "reading, with its 95 % spread" if spread else "reading", not all(doubtful)),
        ("hollow", "reading set aside as doubtful", any(doubtful)),
        ("addition", "addition", "addition" in kinds), ("new life", "new life of the bath", "new life" in kinds),
        ("other", "other event", "other" in kinds),
    ]
    for mark, word, there in wanted:
        if not there:
            continue
        wide = 7 + sheets.ink.width(word, FINE)
        if x + wide > right:
            x = sheets.left + LEFT
            sheets.y += 4.2
        middle = sheets.y + 1.9
        if mark == "line":
            sheets.pdf.set_fill_color(222)
            sheets.pdf.rect(x, middle - 1.2, 5, 2.4, style="F")
            sheets.pdf.set_fill_color(0)
            sheets.line(x, middle, x + 5, middle, width=0.45)
        elif mark in ("dot", "hollow"):
            dot(sheets, x + 3.5, middle, hollow=mark == "hollow")
        else:
            event_mark(sheets, mark, x + 3.5, middle + 0.9)
        sheets.ink.draw(x + 6, sheets.y, word, FINE)
        x += wide + 5
    sheets.y += 5.5
    sheets.line(sheets.left + LEFT, sheets.y - 0.6, sheets.left + sheets.width - RIGHT, sheets.y - 0.6, width=0.1, grey=PALE)
