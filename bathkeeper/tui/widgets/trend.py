"""The trend of a content, drawn in braille: estimate with its band, window edges, readings, additions, and what is expected; by
date or by charge."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime
from itertools import pairwise

from textual.app import RenderResult
from textual.content import Content
from textual.widget import Widget

from bathkeeper.tui.ahead import Ahead
from bathkeeper.tui.plain import fit, join, pad, rows, say
from bathkeeper.units.door import figures
from bathkeeper.workshop import Trend

AXIS = 9  # cells of the labels at the left
LEGEND = "⠉ estimate  ⠄ 95 % band  ● reading  × in doubt  ▲ addition  ┄ window"
LEGEND_AHEAD = "⠉ estimate  ⠄ 95 %  ● read  × doubt  ▲ added  ┄ window  │ 4 of 5 futures"
_DOTS = ((0x01, 0x08), (0x02, 0x10), (0x04, 0x20), (0x40, 0x80))  # braille: row by row, left and right


class Dots:
    """A grid of braille cells; each has 2 x 4 dots."""

    def __init__(self, width: int, height: int) -> None:
        self.width, self.height = width, height
        self.cells = [[0] * width for _ in range(height)]

    def put(self, x: int, y: int) -> None:
        if 0 <= x < self.width * 2 and 0 <= y < self.height * 4:
            self.cells[y // 4][x // 2] |= _DOTS[y % 4][x % 2]

    def line(self, x0: int, y0: int, x1: int, y1: int, every: int = 1) -> None:
        """A straight line; ``every`` second, third ... dot of it."""
        steps = max(abs(x1 - x0), abs(y1 - y0), 1)
        for i in range(steps + 1):
            x, y = round(x0 + (x1 - x0) * i / steps), round(y0 + (y1 - y0) * i / steps)
            if every == 1 or x % every == 0:
                self.put(x, y)


class TrendPlot(Widget):
    """Draws the trend that it was last given; ``by_charge`` puts ampere-hours on the lower axis."""

    def __init__(self, id: str | None = None) -> None:
        super().__init__(id=id)
        self.trend: Trend | None = None
        self.by_charge = False
        self.ahead: Sequence[Ahead] = ()

    def show(self, trend: Trend | None, by_charge: bool, ahead: Sequence[Ahead] = ()) -> None:
        self.trend, self.by_charge, self.ahead = trend, by_charge, ahead
        self.refresh()

    def render(self) -> RenderResult:
        width, height = self.size
        if self.trend is None or len(self.trend.points) < 2:
            return say("No trend yet: it begins with the make-up (f) and grows with every run, reading and addition.")
        if width < AXIS + 10 or height < 6:
            return say("Too little room for a plot.")
        return rows(self._drawn(self.trend, width - AXIS, height - 3))

    def _x(self, at: datetime, charge_ah: float) -> float:
        return charge_ah if self.by_charge else at.timestamp()

    def _drawn(self, trend: Trend, width: int, height: int) -> list[Content]:
        points = [(self._x(p.at, p.charge_ah), p.value, p.low, p.high) for p in trend.points]
        readings = [(self._x(at, ah), value, doubtful) for at, ah, value, doubtful in trend.readings]
        fan = [(self._x(a.at, a.charge_ah), a.low, a.middle, a.high) for a in self.ahead]
        today = points[-1][0]
        x0, x1 = points[0][0], max([points[-1][0], points[0][0] + 1e-9, *(f[0] for f in fan)])
        least, most = span(trend, [p[2] for p in points], [p[3] for p in points], [r[1] for r in readings])
        if fan:
            least = max(min(least, min(f[1] for f in fan)), 0.0)
            most = max(most, max(f[3] for f in fan))

        def column(x: float) -> int:
            return round((x - x0) / (x1 - x0) * (width * 2 - 1))

        def row(y: float) -> int:
            return round((most - y) / (most - least) * (height * 4 - 1))

        estimate, band = Dots(width, height), Dots(width, height)
        for (xa, va, la, ha), (xb, vb, lb, hb) in pairwise(points):
            estimate.line(column(xa), row(va), column(xb), row(vb))
            if column(xa) != column(
                xb
            ):  # a step at one moment is told by the estimate; drawn for the band it would only clutter
                band.line(column(xa), row(la), column(xb), row(lb), every=2)
                band.line(column(xa), row(ha), column(xb), row(hb), every=2)
        to_come = Dots(width, height)
        for (xa, la, ma, ha), (xb, lb, mb, hb) in pairwise(fan):
            for ya, yb, every in ((la, lb, 2), (ma, mb, 3), (ha, hb, 2)):
                to_come.line(column(xa), row(ya), column(xb), row(yb), every=every)
        now = column(today) // 2
        signs: list[list[tuple[str, str]]] = []
        for y in range(height):
            line: list[tuple[str, str]] = []
            for x in range(width):
                own, edge = estimate.cells[y][x], band.cells[y][x]
                if own:
                    line.append((chr(0x2800 | own), "$text-primary bold"))
                elif edge:
                    line.append((chr(0x2800 | edge), "$foreground-muted"))
                elif to_come.cells[y][x]:
                    line.append((chr(0x2800 | to_come.cells[y][x]), "$text-warning"))
                elif fan and x == now:
                    line.append(("│", "$foreground-muted"))
                else:
                    line.append((" ", ""))
            signs.append(line)
        labels = [""] * height
        labels[0], labels[-1] = figures(most, (most - least) / 50), figures(least, (most - least) / 50)
        for name in ("low", "target", "high"):
            if name in trend.window and least <= trend.window[name] <= most:
                y = min(row(trend.window[name]) // 4, height - 1)
                labels[y] = f"{name} {figures(trend.window[name])}" if name != "target" else figures(trend.window[name])
                if name != "target":
                    signs[y] = [("┄", "$text-success") if s == " " else (s, style) for s, style in signs[y]]
        for when, value, doubtful in readings:
            y, place = row(value) // 4, column(when) // 2
            if 0 <= y < height and 0 <= place < width:
                signs[y][place] = ("×", "$text-error bold") if doubtful else ("●", "$text-accent bold")
        doses = [(" ", "")] * width
        for at, ah, _ in trend.doses:
            place = column(self._x(at, ah)) // 2
            if 0 <= place < width:
                doses[place] = ("▲", "$text-warning")
        drawn = [
            join([(pad(label, AXIS - 1, "right") + " ", "$foreground-muted"), *line])
            for label, line in zip(labels, signs, strict=True)
        ]
        drawn.append(join([" " * AXIS, *doses]))
        drawn.append(say(" " * AXIS + self._ends(trend, width), "$foreground-muted"))
        drawn.append(say(fit(" " * 2 + (LEGEND_AHEAD if fan else LEGEND), width + AXIS), "$foreground-muted"))
        return drawn

    def _ends(self, trend: Trend, width: int) -> str:
        first, last = trend.points[0], self.ahead[-1] if self.ahead else trend.points[-1]
        if self.by_charge:
            left, middle, right = (
                f"{first.charge_ah:.0f} Ah",
                f"{(first.charge_ah + last.charge_ah) / 2:.0f} Ah",
                f"{last.charge_ah:.0f} Ah",
            )
        else:
            half = first.at + (last.at - first.at) / 2
            left, middle, right = f"{first.at:%d %b %Y}", f"{half:%d %b}", f"{last.at:%d %b %Y}"
        room = width - len(left) - len(right)
        return left + middle.center(room) + right if room > len(middle) else left


def span(trend: Trend, lows: list[float], highs: list[float], readings: list[float]) -> tuple[float, float]:
    """The ends of the upright axis: the estimate with its usual band, and readings and window edges not too far away."""
    values = [p.value for p in trend.points]
    least, most = min(values), max(values)
    tall = sorted(h - lo for lo, h in zip(lows, highs, strict=True))
    usual = tall[len(tall) // 2]  # a band that was wide for a while must not flatten the rest
    least, most = least - usual, most + usual
    room = max(most - least, abs(most) * 1e-3, 1e-9)
    for value in readings:
        if least - room <= value <= most + room:
            least, most = min(least, value), max(most, value)
    for name in ("low", "high"):
        edge = trend.window.get(name)
        if edge is not None and least - room <= edge <= most + room:
            least, most = min(least, edge), max(most, edge)
    least = max(least, 0.0)
    beside = (most - least) * 0.04 or 1.0
    return max(least - beside, 0.0), most + beside
