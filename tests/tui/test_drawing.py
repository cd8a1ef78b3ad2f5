"""What is drawn, without an app: filling levels, bars, the trend's axis, the word of a tank's state, entries as sentences."""

from __future__ import annotations

from datetime import UTC, datetime
from typing import Any

import pytest

from bathkeeper.due.words import action, rule_of, standing
from bathkeeper.entries import parse
from bathkeeper.findings import Because, Finding
from bathkeeper.tui import tell
from bathkeeper.tui.field import with_unit
from bathkeeper.tui.widgets.bar import bar, ranged, with_spread
from bathkeeper.tui.widgets.trend import Dots, span
from bathkeeper.tui.widgets.vessel import wall_rows
from bathkeeper.workshop import Trend, TrendPoint
from tests.stories.telling import START, Telling

AT = datetime(2026, 5, 1, 9, 30, tzinfo=UTC)


@pytest.mark.parametrize(
    ("fraction", "rows"),
    [
        (0.0, ["    "]),
        (1.0, ["████"]),
        (0.5, ["  ██"]),
        (0.625, [" ▄██"]),
        (0.001, ["   ▁"]),
        (1.7, ["████"]),
        (-1.0, ["    "]),
    ],
)
def test_a_vessel_is_filled_to_its_level_in_eighths_of_a_row(fraction: float, rows: list[str]) -> None:
    assert "".join(wall_rows(fraction, 4)) == rows[0]


def drawn(window: dict[str, float], value: float, interval: tuple[float, float] | None, width: int = 21) -> str:
    return "".join(sign for sign, _ in bar(window, value, interval, width))


def test_a_bar_puts_edges_target_interval_and_estimate_where_they_are() -> None:
    window = {"low": 20.0, "target": 30.0, "high": 40.0}  # drawn from 13 to 47: 1.7 a cell
    assert drawn(window, 35.0, (33.0, 37.0)) == "····├─────┼─▒◆▒─┤····"
    assert drawn(window, 12.0, (11.0, 12.5)) == "◂···├─────┼─────┤····"
    assert drawn(window, 90.0, (80.0, 100.0)) == "····├─────┼─────┤···▸"
    assert drawn(window, 30.0, (0.0, 200.0)) == "▒▒▒▒├▒▒▒▒▒◆▒▒▒▒▒┤▒▒▒▒"
    assert drawn({"high": 0.1}, 0.0, None)[0] == "◆" and "┤" in drawn({"high": 0.1}, 0.0, None)
    assert drawn({}, 1.0, None).strip() == ""


def test_numbers_have_as_many_figures_as_are_known() -> None:
    assert with_spread(36.47, 35.8, 37.14, "g/L") == "36.5 ±0.67 g/L"
    assert with_spread(0.3867, 0.3838, 0.3896, "fraction") == "38.67 ±0.29 %"
    assert with_spread(0.0001, 0.0, 0.004, "g/L") == "< 0.004 g/L"
    assert ranged(0.3617, 0.26, 0.503, "g/day") == "0.36 (0.26 to 0.5) g/day"


def test_a_number_alone_takes_the_unit_beside_it() -> None:
    assert with_unit("32", "g/L") == "32 g/L" and with_unit("1,5", "L") == "1,5 L"
    for text in ("32 oz/usgal", "6.5A*45min", "32±1", "x", "1h30"):
        assert with_unit(text, "g/L") == text
    assert with_unit("5.4", "") == "5.4"


def test_braille_dots_follow_unicode() -> None:
    dots = Dots(1, 1)  # Unicode 15, block 2800: dot 1 is 0x01, 4 is 0x08, 7 is 0x40, 8 is 0x80
    dots.put(0, 0)
    dots.put(1, 3)
    assert dots.cells == [[0x81]]
    dots.line(0, 0, 1, 3)
    dots.put(5, 5)  # outside is passed over
    assert dots.cells[0][0] & 0x81 == 0x81


def test_the_axis_holds_the_estimate_and_near_edges_and_is_not_flattened_by_a_wild_reading() -> None:
    points = [TrendPoint(START, float(i), 30.0 + i, 29.0 + i, 31.0 + i) for i in range(5)]
    trend = Trend(tank="t", of="zinc", unit="g/L", window={"low": 27.0, "high": 400.0}, points=points, readings=[], doses=[])
    least, most = span(trend, [p.low for p in points], [p.high for p in points], [33.0, 900.0])
    assert 26 < least <= 27 and 36 <= most < 40


def finding(id: str, tank: str, level: Any = "now") -> Finding:
    return Finding(id=id, tank=tank, what="w", why="y", level=level, because=Because(text="b"))


def test_words_of_a_tank() -> None:
    story = Telling()
    story.tank("bath", "plate", 1, "zinc-nickel-chloride-potassium", 40.0)
    story.log("make_up", tank="bath", volume_l=40.0, contents={"iron": 0.5})
    view = story.view("bath")
    for rest, word in {
        "low.level": "water", "low.zinc": "add", "high.zinc": "dilute", "high.iron": "replace", "high.ph": "pH down",
        "low.temperature": "warm", "high.nickel_of_metal": "adjust", "reading.ph": "read", "doubt.nickel": "read again",
        "age.bath": "replace", "anode.zinc-1": "anode", "something.new": "look",
    }.items():  # fmt: skip
        assert action(finding(f"bath.{rest}", "bath"), view) == word, rest
    assert rule_of(finding("a.b.low.zinc", "a.b")) == ("low", "zinc")
    calm = standing(view, [finding("bath.reading.ph", "bath", "later"), finding("other.low.level", "other")])
    assert (calm.word, calm.sign, calm.more) == ("keep", "✓", 1)
    busy = standing(view, [finding("bath.reading.ph", "bath", "soon"), finding("bath.low.level", "bath", "now")])
    assert (busy.word, busy.sign, busy.about, busy.more) == ("water", "!!", "level", 1)


@pytest.mark.parametrize(
    ("fields", "sentence"),
    [
        ({"kind": "reading", "tank": "t", "values": [
            {"of": "ph", "value": 5.4, "unit": "pH"}, {"of": "panel", "unit": "verdict", "word": "good"}]},
         "reading t: pH 5.4, panel good"),
        ({"kind": "addition", "tank": "t", "items": [{"reagent": "water", "amount": 2.0, "unit": "L"}], "note": "n"},
         "addition t: water 2 L (n)"),
        ({"kind": "removal", "tank": "t", "all": True, "to": "drum-1"}, "taken out t: everything to drum-1"),
        ({"kind": "run", "steps": [
            {"tank": "t", "minutes": 30.0, "charge": {"ramp": {"from_a": 1.0, "to_a": 2.0, "minutes": 30.0}}}]},
         "run: load: t 1 A to 2 A over 30 min"),
        ({"kind": "calibration", "what": "scale", "name": "s", "against": "kilo", "result": 1.01},
         "calibration: scale s reads 1.01 times kilo"),
    ],
)  # fmt: skip
def test_entries_as_sentences(fields: dict[str, Any], sentence: str) -> None:
    assert tell.sentence(parse({"id": "sentence-1", "at": AT, **fields})) == f"01 May 2026 09:30  {sentence}"
