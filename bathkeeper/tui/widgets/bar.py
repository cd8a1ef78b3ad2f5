"""A content against its window in one line of signs: ├ low, ┼ target, ┤ high, ▒ the 95 % interval, ◆ the estimate."""

from __future__ import annotations

from collections.abc import Mapping

from textual.content import Content

from bathkeeper.estimate.view import Content as TankContent
from bathkeeper.estimate.view import Indicator
from bathkeeper.findings import Estimate
from bathkeeper.tui.plain import join, pad
from bathkeeper.units.door import figures

Part = tuple[str, str]
STATES: dict[str, tuple[str, str, str]] = {
    "in": ("✓", "in", "$text-success"),
    "low": ("!!", "low", "$text-error bold"),
    "high": ("!!", "high", "$text-error bold"),
    "unknown": ("?", "unsure", "$text-warning"),
    "none": (" ", "", "$foreground-muted"),
}
OUTSIDE_SHARE = 0.35  # of the window's width that is drawn on either side of it


def scale(window: Mapping[str, float], value: float) -> tuple[float, float] | None:
    """The ends of the bar's scale; None where there is no edge to draw against."""
    low, high = window.get("low"), window.get("high")
    if low is None and high is None:
        return None
    if low is None:
        return 0.0, (high or 0.0) * 1.6 or 1.0
    if high is None:
        return 0.0, max(low * 2, window.get("target", 0.0) * 1.3) or 1.0
    beside = (high - low or abs(high) or 1.0) * OUTSIDE_SHARE
    return max(low - beside, 0.0) if low >= 0 else low - beside, high + beside


def bar(window: Mapping[str, float], value: float, interval: tuple[float, float] | None, width: int) -> list[Part]:
    """The bar in ``width`` cells, as (text, style) parts; an estimate off the scale is an arrow at its end."""
    ends = scale(window, value)
    if ends is None or width < 5:
        return [(" " * width, "")]
    least, most = ends

    def cell(x: float) -> int:
        return round((x - least) / (most - least) * (width - 1))

    def clipped(x: float) -> int:
        return min(max(cell(x), 0), width - 1)

    low, high = window.get("low", least), window.get("high", most)
    signs: list[Part] = [
        ("─", "$text-success") if low <= least + i * (most - least) / (width - 1) <= high else ("·", "$foreground-muted")
        for i in range(width)
    ]
    if interval is not None and cell(interval[1]) >= 0 and cell(interval[0]) < width:
        for i in range(clipped(interval[0]), clipped(interval[1]) + 1):
            signs[i] = ("▒", "$text-primary")
    for name, sign in (("target", "┼"), ("low", "├"), ("high", "┤")):
        if name in window and 0 <= cell(window[name]) < width:
            signs[cell(window[name])] = (sign, "bold")
    place = cell(value)
    mark = "◂" if place < 0 else "▸" if place >= width else "◆"
    signs[clipped(value)] = (mark, "$text-accent bold")
    return signs


def with_spread(value: float, low: float, high: float, unit: str) -> str:
    """``36.5 ±1.2 g/L``; a fraction in percent."""
    half = (high - low) / 2
    if low <= 0 < value:  # cut off at zero: the upper half says more
        half = high - value
    if unit == "fraction":
        return f"{figures(value * 100, half * 100)} ±{figures(half * 100, half * 100)} %"
    if low <= 0 and half > 2 * value >= 0 and high > 0:
        return f"< {figures(high, high)} {unit}".rstrip()
    if half <= 0:
        return f"{figures(value)} {unit}".rstrip()
    return f"{figures(value, half)} ±{_short(half)} {unit}".rstrip()


def ranged(value: float, low: float, high: float, unit: str) -> str:
    """``0.36 (0.27 to 0.48) g/(dm2.day)``: for what is not even on both sides; a fraction in percent."""
    by, unit = (100.0, "%") if unit == "fraction" else (1.0, unit)
    half = (high - low) / 2 * by
    return f"{figures(value * by, half)} ({between(low * by, high * by)}) {unit}".rstrip()


def between(low: float, high: float) -> str:
    """``0.27 to 0.48``, in as many figures as tell the ends apart."""
    half = (high - low) / 2
    return f"{figures(low, half)} to {figures(high, half)}"


def edge(value: float | None, unit: str) -> str:
    """The number of a window's edge."""
    return "" if value is None else figures(value * 100 if unit == "fraction" else value)


def content_line(content: TankContent, width: int) -> Content:
    """Title, value, bar between the numbers of its edges, state in a word with its sign."""
    has_window = scale(content.window, content.value) is not None
    sign, word, style = STATES[content.state if has_window else "none"]
    if not has_window and content.dragged_in:
        word = "dragged in"
    value = with_spread(content.value, content.low, content.high, content.unit)
    return _line(
        content.title, value, content.window, content.unit, content.value, (content.low, content.high), sign, word, style, width
    )


def indicator_line(name: str, indicator: Indicator, width: int) -> Content:
    """The same for what is read and not reckoned: the last reading, when and by what."""
    title = "pH" if name == "ph" else name.replace("_", " ")
    last = indicator.last_reading
    if last is None:
        return _line(title, "not read yet", indicator.window, indicator.unit, None, None, " ", "", "$foreground-muted", width)
    sign, word, style = STATES[indicator.state if scale(indicator.window, last.value or 0.0) is not None else "none"]
    if last.doubtful:
        sign, word, style = "?", "in doubt", "$text-warning"
    if last.value is None:
        value = last.word or ""
    else:
        value = f"{figures(last.value)} {'' if last.unit == 'pH' else last.unit.replace('degC', '°C')}".rstrip()
    value += f", {last.at:%d %b}"
    return _line(title, value, indicator.window, indicator.unit, last.value, None, sign, word, style, width)


def _line(
    title: str,
    value: str,
    window: Mapping[str, float],
    unit: str,
    at: float | None,
    interval: tuple[float, float] | None,
    sign: str,
    word: str,
    style: str,
    width: int,
) -> Content:
    name_w, value_w, edge_w, word_w = (15, 16, 4, 10) if width < 100 else (26, 22, 7, 12)
    room = max(width - name_w - value_w - 2 * edge_w - word_w - 6, 8)
    drawn = bar(window, at, interval, room) if at is not None else [(" " * room, "")]
    low, high = edge(window.get("low"), unit), edge(window.get("high"), unit)
    left: list[Part | str] = [
        (pad(title, name_w), "bold"),
        " ",
        pad(value, value_w),
        " ",
        (pad(low, edge_w, "right"), "$foreground-muted"),
        " ",
    ]
    right: list[Part | str] = [
        " ",
        (pad(high, edge_w), "$foreground-muted"),
        " ",
        (pad(f"{sign:<2} {word}" if sign.strip() else word, word_w), style),
    ]
    return join([*left, *drawn, *right])


def left_bar(fraction: float, width: int) -> list[Part]:
    """How much is left of something, as a filled bar."""
    full = min(max(round(fraction * width), 0), width)
    return [("█" * full, "$primary"), ("░" * (width - full), "$foreground-muted")]


def told(estimate: Estimate) -> str:
    """An estimate with its interval in words."""
    return f"{with_spread(estimate.value, estimate.low, estimate.high, estimate.unit)}"


def _short(half: float) -> str:
    return figures(half, half)
