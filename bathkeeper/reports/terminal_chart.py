"""A control chart in the cells of a terminal: dots for belief and its band, signs for readings, lines for the window."""

from __future__ import annotations

from datetime import datetime

from bathkeeper.reports.axes import Axes, axes, day_ticks
from bathkeeper.reports.model import Chart
from bathkeeper.reports.words import number_text, window_texts

ROWS = 14
AXIS = 9  # cells for the values at the left
WIDE = 76
NAMES = 22  # cells for the names of the lines at the right, where there is room
_DOTS = ((0x01, 0x08), (0x02, 0x10), (0x04, 0x20), (0x40, 0x80))
LEVELS = {"give up above": "═", "window, high": "─", "target": "·", "window, low": "─", "give up below": "═"}
MARKS = {"addition": "▼", "new life": "■", "other": "+"}


def chart_lines(chart: Chart, width: int) -> list[str]:
    """The chart in lines of at most ``width`` cells."""
    field = axes(chart)
    if field is None:
        return ["No belief and no reading falls in this time, so there is nothing to draw."]
    names = NAMES if width >= WIDE else 0
    canvas = _Canvas(field, width - AXIS - 1 - names)
    canvas.levels(chart)
    canvas.belief()
    canvas.readings()
    lines = [" " * AXIS + " " + canvas.events(chart)]
    beside = {_row(field, value): f" {word} {number_text(value)}" for word, value in window_texts(chart)}
    marked = {0, ROWS // 2, ROWS - 1}
    for row, drawn in enumerate(canvas.lines()):
        value = field.high - (row + 0.5) / ROWS * (field.high - field.low)
        label = number_text(float(f"{value:.3g}"))[: AXIS - 1] if row in marked else ""
        name = beside.get(row, "")
        lines.append(f"{label:>{AXIS}}│{drawn}{name if len(name) <= names else ''}")
    lines.append(" " * AXIS + "└" + "─" * canvas.cells)
    lines.append(" " * (AXIS + 1) + canvas.days())
    return lines


def legend_lines(chart: Chart, width: int) -> list[str]:
    """What the signs of :func:`chart_lines` mean; the lines' names too where they had no room beside the chart."""
    field = axes(chart)
    if field is None:
        return []
    rows = [_row(field, value) for _, value in window_texts(chart)]
    whole = all(len(f" {word} {number_text(value)}") <= NAMES for word, value in window_texts(chart))
    return _legend(chart, field, width >= WIDE and whole and len(set(rows)) == len(rows))


def _row(field: Axes, value: float) -> int:
    """The row of cells in which a value stands, the top one 0."""
    return min(max(int((1 - field.up(value)) * ROWS), 0), ROWS - 1)


class _Canvas:
    """Cells to draw on; each holds two by four dots, or one sign."""

    def __init__(self, field: Axes, cells: int) -> None:
        self.field, self.cells = field, max(cells, 10)
        self._dots = [[0] * self.cells for _ in range(ROWS)]
        self._signs = [[""] * self.cells for _ in range(ROWS)]
        self._under = [[" "] * self.cells for _ in range(ROWS)]

    def column(self, moment: datetime) -> int:
        return min(max(int(self.field.across(moment) * self.cells), 0), self.cells - 1)

    def levels(self, chart: Chart) -> None:
        for word, value in window_texts(chart):
            self._under[_row(self.field, value)] = [LEVELS[word]] * self.cells

    def belief(self) -> None:
        points = self.field.points
        for first, second in zip(points, points[1:] or points, strict=False):
            a, b = (self.field.across(p.when) * (self.cells * 2 - 1) for p in (first, second))
            for x in range(round(a), round(b) + 1):
                share = (x - a) / (b - a) if b > a else 0.0
                share = min(max(share, 0.0), 1.0)
                value, low, high = (u + share * (v - u) for u, v in (
                    (first.value, second.value), (first.low, second.low), (first.high, second.high)))
                self._dot(x, value)
                if x % 4 == 0:  # the band as a sparser line of dots
                    self._dot(x, low)
                    self._dot(x, high)

    def readings(self) -> None:
        for reading in self.field.readings:
            self._signs[_row(self.field, reading.value)][self.column(reading.when)] = "○" if reading.doubtful else "●"

    def events(self, chart: Chart) -> str:
        line = [" "] * self.cells
        for event in chart.events:
            line[self.column(event.when)] = MARKS[event.kind]
        return "".join(line).rstrip()

    def days(self) -> str:
        line = " " * self.cells
        for moment, text in day_ticks(self.field.since, self.field.until, most=max(self.cells // 14, 2)):
            at = min(self.column(moment), self.cells - len(text))
            if at >= 0 and not line[max(at - 1, 0) : at + len(text)].strip():
                line = line[:at] + text + line[at + len(text) :]
        return line.rstrip()

    def lines(self) -> list[str]:
        return ["".join(self._cell(row, column) for column in range(self.cells)) for row in range(ROWS)]

    def _cell(self, row: int, column: int) -> str:
        dots = self._dots[row][column]
        return self._signs[row][column] or (chr(0x2800 + dots) if dots else self._under[row][column])

    def _dot(self, x: int, value: float) -> None:
        y = round((1 - self.field.up(value)) * (ROWS * 4 - 1))
        if 0 <= y < ROWS * 4 and 0 <= x < self.cells * 2:
            self._dots[y // 4][x // 2] |= _DOTS[y % 4][x % 2]


def _legend(chart: Chart, field: Axes, named: bool) -> list[str]:
    words = ["dots: believed, with its 95 % band above and below"] if field.points else []
    if any(not r.doubtful for r in field.readings):
        words.append("● reading")
    if any(r.doubtful for r in field.readings):
        words.append("○ set aside as doubtful")
    words += [f"{sign} {kind}" for kind, sign in MARKS.items() if any(e.kind == kind for e in chart.events)]
    if not named:
        words += [f"{LEVELS[word]} {word} {number_text(value)}" for word, value in window_texts(chart)]
    return words
