"""Text for a terminal: within its width, whole, and never anything that a terminal obeys."""

from __future__ import annotations

import re

import pytest
from rich.cells import cell_len

from bathkeeper.reports.model import Caution, Chart, Check, Checklist, Column, Fact, Facts, Heading, Paragraph, Table
from bathkeeper.reports.terminal import terminal_text
from tests.reports.samples import HOSTILE, SCRIPTS, chart, log_table, of, whole

WIDTHS = [40, 48, 80, 120]


def squeezed(text: str) -> str:
    return re.sub(r"\s", "", text)


@pytest.mark.parametrize("width", WIDTHS)
def test_no_line_is_wider_than_the_terminal(width):
    for line in terminal_text(whole(), width=width).splitlines():
        assert cell_len(line) <= width


@pytest.mark.parametrize("width", WIDTHS)
def test_everything_is_said_at_any_width(width):
    said = squeezed(terminal_text(whole(), width=width))
    for words in (
        "Bath report: zinc-nickel tank", "Rules applied: workshop rules of 2026-01-15", "38.6 (37.9 to 39.3) L", "34.5 °C",
        "80 g of nickel sulfate", "window, low 24", "give up above 34", "set aside as doubtful", "row-0011 rack of brackets",
        "1.6 (1.2 to 2.0)", "150.0", "[x]Labels on all containers (done", "[ ]Spill tray empty (not done)",
        "[?]Extraction tested (not known)", "CAUTION Nickel salts", "Added 1500 mL of brightener", "Added 150 mL of brightener",
        "Handed over by: Robin Fell", "Limits are set by the local authority",
    ):
        assert squeezed(words) in said, words


def test_numbers_stand_with_their_points_under_one_another():
    columns = (Column("what", "What"), Column("x", "Mass", "g", "number"))
    table = Table(name="t", title="T", columns=columns, rows=(("a", 1.25), ("b", 100), ("c", -20.5)))
    lines = [line for line in terminal_text(of(table)).splitlines() if re.match("[abc] ", line)]
    places = {line.index("1.25") + 1 if "1.25" in line else line.index("20.5") + 2 if "20.5" in line else line.index("100") + 3
              for line in lines}
    assert len(places) == 1


@pytest.mark.parametrize("width", WIDTHS)
def test_a_table_of_many_columns_keeps_every_number_whole(width):
    columns = (Column("what", "What"), *(Column(f"c{n}", f"Concentration {n}", "g/L", "number") for n in range(20)))
    table = Table(name="t", title="T", columns=columns, rows=(("row", *(12345.5 + n for n in range(20))),))
    text = terminal_text(of(table), width=width)
    assert all(cell_len(line) <= width for line in text.splitlines())
    for n in range(20):
        assert f"{12345 + n}" in text or f"{12346 + n}" in text


@pytest.mark.parametrize("width", WIDTHS)
def test_words_of_5000_signs_wrap(width):
    long = "m" * 5000
    table = Table(name="t", title=long, columns=(Column("a", long, kind="number"), Column("b", "B")), rows=((1, long),))
    pieces = of(
        Heading(long), Paragraph(long), Facts((Fact(long, long),)), table, Checklist((Check(long, "not", long),)),
        Caution(long, long), Chart(name="c", title=long, unit="g", estimate=chart().estimate),
    )
    text = terminal_text(pieces, width=width)
    assert all(cell_len(line) <= width for line in text.splitlines())
    assert text.count("m") >= 11 * 5000


def test_hostile_text_is_only_text():
    rows = tuple((text,) for text in HOSTILE)
    table = Table(name="t", title="[bold]T[/bold]", columns=(Column("x", "[red]X"),), rows=rows)
    text = terminal_text(of(Paragraph("[link=x]y[/link] :smile:"), table, title="[b]t"))
    for words in ("[bold]T[/bold]", "[red]X", "[red]x[/red]", "[link=x]y[/link] :smile:", "[b]t", "⟨U+001B⟩[31mred",
                  "a⟨U+0000⟩b", "abc⟨U+202E⟩def", "line one ↵ line two"):
        assert words in text, words
    assert all(char.isprintable() or char == "\n" for char in text)


def test_other_scripts_stay():
    text = terminal_text(of(*(Paragraph(said) for said in SCRIPTS.values())))
    for said in SCRIPTS.values():
        assert said in text


def test_without_colour_there_are_no_codes_and_with_colour_the_words_are_the_same():
    plain, styled = terminal_text(whole()), terminal_text(whole(), colour=True)
    assert "\x1b" not in plain
    assert "\x1b[" in styled
    bare = re.sub(r"\x1b\[[0-9;]*m", "", styled)
    assert [line.rstrip() for line in bare.splitlines()] == plain.splitlines()


def test_the_chart_shows_readings_doubts_and_levels():
    text = terminal_text(of(chart()))
    assert text.count("●") == 6 + 1  # and the legend's own
    assert text.count("○") == 1 + 1
    for words in ("window, high 30", "target 27", "▼ addition", "■ new life", "2026-03-03"):
        assert words in text


def test_a_chart_of_nothing_says_so():
    assert "nothing to draw" in terminal_text(of(Chart(name="c", title="Nickel", unit="g/L")))


def test_an_empty_table_says_so():
    assert "Nothing to list." in terminal_text(of(Table(name="t", title="T", columns=(Column("a", "A"),), rows=())))


def test_long_tables_are_complete_and_in_order():
    found = re.findall(r"row-(\d{4})", terminal_text(of(log_table(300))))
    assert [int(n) for n in found] == list(range(300))
