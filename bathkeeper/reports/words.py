"""What renderers share: cells as people read them, and text of other people made visible so that nothing in it is obeyed."""

from __future__ import annotations

import unicodedata
from datetime import date, datetime
from decimal import ROUND_HALF_EVEN, Decimal

from bathkeeper.findings import Estimate
from bathkeeper.reports.model import Cell, Chart, Column, Corrected, Event, Fact, Report, SignatureLine, State
from bathkeeper.showing import PLAIN, shown_moment
from bathkeeper.units.numerals import figures

NOT_KNOWN = "–"
STATES: dict[State, str] = {"done": "done", "not": "not done", "unknown": "not known"}
BOXES: dict[State, str] = {"done": "[x]", "not": "[ ]", "unknown": "[?]"}
EVENT_WORDS = {"addition": "addition", "new life": "new life", "other": "event"}
LARGEST = 1e300  # beyond it a number is no value of anything, and a chart of it would be no chart
WITHDRAWN = "withdrawn; nothing stands in its place"
NEWLINE = " ↵ "
JOINERS = "\u200c\u200d"
HINTS = "\ufe0e\ufe0f"  # ask for a picture or a plain sign; they have no look of their own
_BREAKS = "\n\r\u2028\u2029\x85\x0b\x0c"
_UNSEEN = {"Cc", "Cf", "Cs", "Co", "Cn", "Zl", "Zp"}


def visible(text: str, *, lines: bool = False) -> str:
    """The text with every sign that a screen or a page would obey made visible as ``⟨U+001B⟩``, so that none is lost.

    Line ends become ``↵``, or stay with ``lines``. Joiners stay, as scripts need them; hints for pictures go.
    """
    out: list[str] = []
    for char in text.replace("\r\n", "\n"):
        if char in _BREAKS:
            out.append("\n" if lines else NEWLINE)
        elif char == "\t":
            out.append(" ")
        elif char in HINTS:
            continue
        elif char not in JOINERS and unicodedata.category(char) in _UNSEEN:
            out.append(escaped(char))
        else:
            out.append(char)
    return "".join(out)


def escaped(char: str) -> str:
    """``⟨U+4E9C⟩``: what stands for a sign that cannot be shown."""
    return f"⟨U+{ord(char):04X}⟩"


def carried(text: str) -> str:
    """The text as UTF-8 can carry it: half of a surrogate pair becomes the replacement sign, two halves their character."""
    return text.encode("utf-16", "surrogatepass").decode("utf-16", "replace")


def moment_text(moment: datetime) -> str:
    """Local time to the minute; at the ends of the calendar, where there is no local time, as it was written."""
    try:
        return shown_moment(moment)
    except OverflowError:
        return moment.isoformat(" ", "minutes")


def local(moment: datetime) -> datetime:
    """The moment in local time, or as it was written where there is no local time."""
    try:
        return moment.astimezone()
    except OverflowError:
        return moment


def day_text(moment: datetime) -> str:
    """The local day, or at the ends of the calendar the day as it was written."""
    return moment_text(moment)[:10]


def unit_text(unit: str) -> str:
    """A unit as people write it: ``°C`` for ``degC``."""
    return PLAIN.get(unit, unit)


def column_head(column: Column) -> str:
    """``Nickel, g/L``."""
    unit = unit_text(column.unit)
    return f"{column.title}, {unit}" if unit and column.title else column.title or unit


def cell_text(cell: Cell, column: Column) -> str:
    """A cell as it is read on paper; what is unknown is a dash."""
    return value_text(cell, column.decimals)


def value_text(value: Cell, decimals: int | None = None) -> str:
    """One value without its unit. An estimate is its value and its interval: ``38.6 (37.9 to 39.3)``."""
    if value is None:
        return NOT_KNOWN
    if isinstance(value, str):
        return visible(value)
    if isinstance(value, datetime):
        return moment_text(value)
    if isinstance(value, date):
        return value.isoformat()
    if isinstance(value, Estimate):
        places = decimals if decimals is not None else _places(value.spread)
        middle, low, high = (_number(v, places) for v in (value.value, value.low, value.high))
        return middle if low == middle == high else f"{middle} ({low} to {high})"
    return _number(value, decimals)


def fact_value(fact: Fact) -> str:
    """A fact's value with its unit."""
    unit = fact.unit or (fact.value.unit if isinstance(fact.value, Estimate) else "")
    text = value_text(fact.value, fact.decimals)
    return text if fact.value is None else f"{text} {visible(unit_text(unit))}".rstrip()


def number_text(value: float, decimals: int | None = None) -> str:
    """A number with fixed decimals, or with four figures."""
    return _number(value, decimals)


def _number(value: float, decimals: int | None) -> str:
    if decimals is None or value != value or abs(value) > 1e15:
        return figures(value)
    rounded = Decimal(repr(value)).quantize(Decimal(1).scaleb(-decimals), rounding=ROUND_HALF_EVEN)
    return f"{abs(rounded) if rounded == 0 else rounded.quantize(Decimal(1)) if decimals < 0 else rounded:f}"


def _places(spread: float) -> int | None:
    """Decimals that a 95 % half-width leaves known: to its first figure, or to two when that is 1 to 3; negative for tens."""
    if not 1e-12 < spread < 1e15:
        return None
    width = Decimal(f"{spread:.2g}").normalize()
    return -(width.adjusted() - (1 if str(width.as_tuple().digits[0]) in "123" else 0))


def split_point(text: str) -> tuple[str, str]:
    """A number's text before its decimal point, and from it on; so that points can stand under one another."""
    head, _, tail = text.partition(" ")
    whole, point, rest = head.partition(".")
    return whole, f"{point}{rest}{' ' + tail if tail else ''}"


def under_head(report: Report) -> list[str]:
    """The lines that say what the report is of: workshop, period, state, and when it was made."""
    lines = [visible(report.workshop)] if report.workshop else []
    if report.period is not None:
        lines.append(f"Period: {day_text(report.period[0])} to {day_text(report.period[1])}")
    made = f"made {moment_text(report.made_at)} (local time, {_offset(report.made_at)})"
    lines.append(f"As of {moment_text(report.as_of)}, {made}")
    if report.rule_set is not None:
        lines.append(f"Rules applied: {visible(report.rule_set)}")
    return lines


def _offset(moment: datetime) -> str:
    name = local(moment).strftime("%z")
    return f"UTC{name[:3]}:{name[3:5]}"


def corrected_lines(piece: Corrected) -> tuple[str, str, str]:
    """(what was logged, what stands now, who corrected it when and why)."""
    logged = visible(piece.logged)
    stands = WITHDRAWN if piece.stands is None else visible(piece.stands)
    told = f"Entry {visible(piece.entry)}, {moment_text(piece.at)}; corrected {moment_text(piece.corrected_at)}"
    if piece.by:
        told += f" by {visible(piece.by)}"
    return logged, stands, f"{told}: {visible(piece.reason)}" if piece.reason else f"{told}."


def signature_text(piece: SignatureLine) -> str:
    """``Handed over by: A. Keeper``."""
    return f"{visible(piece.role)}: {visible(piece.name)}" if piece.name else visible(piece.role)


def event_text(event: Event) -> str:
    """``2026-05-01 08:30 addition: 20 mL of brightener``."""
    return f"{moment_text(event.when)} {EVENT_WORDS[event.kind]}: {visible(event.text)}"


def window_texts(chart: Chart) -> list[tuple[str, float]]:
    """The chart's level lines that are there and can be drawn, as (word, value), from the top down."""
    named = [
        ("give up above", chart.give_up_high), ("window, high", chart.high), ("target", chart.target),
        ("window, low", chart.low), ("give up below", chart.give_up_low),
    ]
    return [(word, value) for word, value in named if value is not None and abs(value) < LARGEST]
