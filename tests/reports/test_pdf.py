"""A PDF says everything that its report says, on numbered pages, as text that another program reads back."""

from __future__ import annotations

import io
import re
import unicodedata
from datetime import timedelta

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from pypdf import PdfReader

from bathkeeper.findings import Estimate
from bathkeeper.reports.model import (
    Caution,
    Check,
    Checklist,
    Column,
    Corrected,
    Fact,
    Facts,
    Heading,
    Paragraph,
    SignatureLine,
    Table,
)
from bathkeeper.reports.pdf import pdf
from tests.reports.reading import POINTS_PER_MM, pages, run_together, sign_boxes, sizes, text
from tests.reports.samples import DAY, HOSTILE, LOG, SCRIPTS, chart, log_table, of, whole


def european(char: str) -> bool:
    """Whether a sign is of Latin, Greek or Cyrillic writing, or an ASCII sign."""
    name = unicodedata.name(char)
    return unicodedata.normalize("NFD", char)[0].isascii() or "GREEK" in name or "CYRILLIC" in name


CATEGORIES = ["Lu", "Ll", "Nd", "Pd", "Ps", "Pe", "Po", "Sc", "Zs"]
WRITTEN = st.characters(codec="utf-8", categories=CATEGORIES, max_codepoint=0x4FF).filter(european)


def test_every_piece_is_there():
    said = text(pdf(whole()))
    for words in (
        "Bath report: zinc-nickel tank", "For the yearly look at the line", "Hill Shed Plating",
        "Rules applied: workshop rules of", "What is in the tank",
        "38.6 (37.9 to 39.3) L", "34.5 °C", "2025-11-03", "Nickel in the zinc-nickel tank, g/L",
        "window, low 24", "give up above 34", "80 g of nickel sulfate", "new life: made up anew", "set aside as doubtful",
        "Labels on all containers (done", "Spill tray empty (not done)", "Extraction tested (not known)", "Caution",
        "Nickel salts can cause allergy", "Source: common practice", "as logged", "Added 1500 mL of brightener", "now stands",
        "Added 150 mL of brightener", "a slip of the pen", "Handed over by", "Robin Fell", "Received by", "signature",
        "Limits are set by the local authority",
    ):
        assert words in said, words


def test_a_withdrawn_entry_is_shown_with_what_was_logged():
    piece = Corrected(entry="e1", at=DAY, logged="Added 5 kg of zinc", stands=None, corrected_at=DAY + timedelta(days=1))
    said = text(pdf(of(piece)))
    assert "Added 5 kg of zinc" in said
    assert "withdrawn" in said


def test_the_file_knows_its_title_and_its_date():
    about = PdfReader(io.BytesIO(pdf(whole()))).metadata
    assert about is not None
    assert about.title == "Bath report: zinc-nickel tank"
    assert about.creation_date == whole().made_at


def test_the_same_report_gives_the_same_bytes():
    assert pdf(whole()) == pdf(whole())


def test_every_page_has_its_number_and_later_ones_the_title():
    found = pages(pdf(of(log_table(200), title="Log of the line")))
    assert len(found) > 3
    for number, page in enumerate(found, start=1):
        assert f"page {number} of {len(found)}" in page
        assert "Log of the line" in page
        assert "When" in page
        assert "Charge, Ah" in page


@pytest.mark.parametrize("count", [200, 1000])
def test_long_tables_are_complete_and_in_order(count):
    found = re.findall(r"row-(\d{4})", text(pdf(of(log_table(count)))))
    assert [int(n) for n in found] == list(range(count))


def test_the_total_stands_once_and_last():
    said = text(pdf(of(log_table(200))))
    assert said.count("Total") == 1
    assert said.index("Total") > said.index("row-0199")
    assert "2500.0" in said


@pytest.mark.parametrize("count", range(20, 40))
def test_no_heading_ends_a_page(count):
    """Whatever stands above, a heading and the head of its table are on one page, with a first row."""
    found = pages(pdf(of(*[Paragraph("filling words")] * count, Heading("The head of it"), log_table(30))))
    page = next(page for page in found if "The head of it" in page)
    assert "Charge, Ah" in page
    assert "row-0000" in page


def test_a_row_taller_than_a_page_is_shown_whole():
    words = " ".join(f"w{n}" for n in range(4000))
    table = Table(
        name="remarks", title="Remarks", columns=(Column("at", "When", kind="moment"), Column("text", "Remark")),
        rows=((DAY, "before"), (DAY, words), (DAY, "x" * 5000), (DAY, "after")),
    )
    data = pdf(of(table))
    assert len(pages(data)) > 2
    found = re.findall(r"\bw(\d+)\b", text(data))
    assert [int(n) for n in found] == list(range(4000))
    said = run_together(data)
    assert sum(len(run) for run in re.findall("x{20,}", said)) == 5000
    assert said.index("before") < said.index("after")


def test_a_word_of_5000_signs_wraps_everywhere():
    long = "m" * 5000
    report = of(
        Heading(long), Paragraph(long), Facts((Fact(long, long),)), Checklist((Check(long, "done", long),)),
        Caution(long, long),
        Corrected(entry=long, at=DAY, logged=long, stands=long, corrected_at=DAY, by=long, reason=long), title=long,
    )
    data = pdf(report)
    assert sum(len(run) for run in re.findall("m{3,}", run_together(data))) >= 13 * 5000


def test_every_sign_lies_within_the_margins():
    """Boxes as another program draws them: no line runs over the edge, however long its words are."""
    columns = (Column("what", "What"), *(Column(f"c{n}", f"Concentration {n}", "g/L", "number") for n in range(30)))
    rows = tuple((f"row {n} " + "word " * 20, *(n + 1000.5 * k for k in range(30))) for n in range(20))
    long = [sign * 1000 for sign in ("W", "ح", "ज", "a\u0301", "\u093e", "\x1b", "อ", "(א", "x-", "i")]
    table = Table(name="long", title="Long", columns=(Column("n", "N"), Column("x", "X")), rows=tuple((x[:9], x) for x in long))
    report = of(
        Table(name="wide", title="Wide", columns=columns, rows=rows), chart(), table, *(Paragraph(x) for x in long),
        *(Facts((Fact(x[:99], x),)) for x in long), SignatureLine("a " * 300, "W" * 90), title="W" * 400,
    )
    for boxes, width, height in sign_boxes(pdf(report)):
        assert boxes
        assert min(left for left, _, _, _ in boxes) > 15 * POINTS_PER_MM
        assert max(right for _, _, right, _ in boxes) < width - 15 * POINTS_PER_MM
        assert min(bottom for _, bottom, _, _ in boxes) > 5 * POINTS_PER_MM
        assert max(top for _, _, _, top in boxes) < height - 5 * POINTS_PER_MM


def test_wide_tables_turn_the_page_and_the_next_piece_turns_it_back():
    columns = tuple(Column(f"c{n}", f"Reading {n}", "g/L", "number") for n in range(12))
    data = pdf(of(Table(name="wide", title="Wide", columns=columns, rows=((100.5,) * 12,)), Paragraph("afterwards")))
    assert (297, 210) in sizes(data)
    assert sizes(data)[-1] == (210, 297)
    assert "afterwards" in pages(data)[-1]
    assert "part 1" not in text(data)


def test_tables_too_wide_for_any_page_come_in_parts_with_whole_numbers():
    columns = (Column("what", "What"), *(Column(f"c{n}", f"Concentration {n}", "g/L", "number") for n in range(40)))
    rows = tuple((f"row-{n}", *(10000.0 + 100 * n + k for k in range(40))) for n in range(3))
    said = text(pdf(of(Table(name="wide", title="Wide", columns=columns, rows=rows, caption="That is all."))))
    for n in range(3):
        for k in range(40):
            assert str(10000 + 100 * n + k) in said
        assert said.count(f"row-{n}") > 1  # named again in every part
    assert said.count("That is all.") == 1


def test_letter_paper():
    assert sizes(pdf(whole(), paper="letter"))[0] == (216, 279)
    assert sizes(pdf(whole()))[0] == (210, 297)


def test_an_empty_table_says_so():
    said = text(pdf(of(Table(name="log", title="Runs", columns=LOG, rows=(), empty="No run in this time."))))
    assert "No run in this time." in said
    assert "Charge, Ah" in said


@pytest.mark.parametrize("script", sorted(set(SCRIPTS) - {"cjk", "emoji", "thai", "devanagari"}))
def test_other_scripts_are_drawn_and_read_back(script):
    assert SCRIPTS[script] in text(pdf(of(Paragraph(SCRIPTS[script]))))


@settings(derandomize=True, deadline=None, max_examples=60)
@given(st.text(WRITTEN, min_size=1, max_size=60), st.text(WRITTEN, min_size=1, max_size=300))
def test_whatever_is_written_in_latin_greek_or_cyrillic_is_read_back(name, remark):
    table = Table(name="t", title="T", columns=(Column("a", "A"), Column("b", "B")), rows=(("first", name), ("second", remark)))
    said = run_together(pdf(of(Paragraph(remark), table)))
    assert said.count(re.sub(r"\s", "", remark)) >= 2
    assert re.sub(r"\s", "", name) in said


@pytest.mark.parametrize("script", ["thai", "devanagari"])
def test_stacked_scripts_are_told_to_readers_as_they_were_written(script):
    """Their glyphs stand for more or less than a letter; the text itself goes along (ISO 32000-1, 14.9.4, ActualText)."""
    data = pdf(of(Paragraph(SCRIPTS[script])))
    stream = PdfReader(io.BytesIO(data)).pages[0].get_contents().get_data().decode("latin-1")
    told = [bytes.fromhex(found).decode("utf-16") for found in re.findall(r"/ActualText <([0-9A-F]+)>", stream)]
    assert SCRIPTS[script] in told
    assert "⟨U+" not in text(data)


def test_what_no_font_has_is_told_by_its_number():
    said = run_together(pdf(of(Paragraph(SCRIPTS["cjk"]), Paragraph(SCRIPTS["emoji"]))))
    for sign in SCRIPTS["cjk"] + "🔥":
        assert f"⟨U+{ord(sign):04X}⟩" in said


def test_hostile_text_is_only_text():
    rows = tuple((f"h{n}", hostile) for n, hostile in enumerate(HOSTILE))
    table = Table(name="t", title="{nb} [b]", columns=(Column("n", "No"), Column("x", "**Text**")), rows=rows)
    said = text(pdf(of(Paragraph("<b>{nb}</b> **x**"), table, title="(a\\ {nb} <i>")))
    for words in (
        "<b>{nb}</b> **x**", "{nb} [b]", "**Text**", "(a\\ {nb} <i>", "**bold** __u__ --x--", "[red]x[/red]", "{nb} pages",
        "(unbalanced \\ )", "⟨U+001B⟩[31mred", "a⟨U+0000⟩b", "line one ↵ line two", "abc⟨U+202E⟩def", "⟨U+D800⟩half",
        "=1+1", "-2",
    ):
        assert words in said, words


def test_a_line_end_in_a_cell_makes_no_second_row():
    columns = (Column("a", "A"), Column("b", "B"))
    table = Table(name="t", title="T", columns=columns, rows=(("x\nforged", "1"),))
    line = next(line for line in text(pdf(of(table))).splitlines() if "forged" in line)
    assert "x ↵ forged" in line


def test_fonts_are_embedded_and_the_file_stays_small():
    data = pdf(of(log_table(200), Paragraph(" ".join(SCRIPTS.values()))))
    assert len(data) < 200_000
    fonts = PdfReader(io.BytesIO(data)).pages[0]["/Resources"]["/Font"]
    for font in fonts.values():
        descriptor = font.get_object()["/DescendantFonts"][0].get_object()["/FontDescriptor"].get_object()
        assert "/FontFile2" in descriptor


def test_nothing_is_written_on_the_screen_while_a_pdf_is_made(capfd, caplog):
    pdf(whole())
    assert capfd.readouterr() == ("", "")
    assert not caplog.records


def test_numbers_are_rounded_to_what_is_known():
    facts = Facts((
        Fact("a", Estimate(38.613, 37.9, 39.32, "L")), Fact("b", Estimate(384.2, 334.0, 434.0, "g")), Fact("c", 1 / 3, "A", 3),
        Fact("d", -0.0001, "V", 1), Fact("e", float("nan"), "V"),
    ))
    said = text(pdf(of(facts)))
    for words in ("38.6 (37.9 to 39.3) L", "380 (330 to 430) g", "0.333 A", "0.0 V", "unknown V"):
        assert words in said, words
    assert "-0.0" not in said
    assert "nan" not in said


def test_rows_with_many_columns_keep_their_order():
    first = next(line for line in text(pdf(of(log_table(3)))).splitlines() if "row-0001" in line)
    assert first.endswith("row-0001 rack of brackets 13.5 0.1 (-0.3 to 0.5)")
