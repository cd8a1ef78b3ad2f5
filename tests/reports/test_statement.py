"""The content statement: one page, ranges, what must not touch it, and never more sure than the book."""

from __future__ import annotations

import io
import json
from datetime import UTC, datetime, timedelta
from pathlib import Path
from tempfile import TemporaryDirectory

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from pypdf import PdfReader

from bathkeeper.answers.shapes import NotFound
from bathkeeper.entries import EntryError
from bathkeeper.ledger import Ledger
from bathkeeper.logbook import BookError
from bathkeeper.reports.making import make
from bathkeeper.reports.model import Corrected, Facts, Paragraph, ReportError
from bathkeeper.reports.write import render
from bathkeeper.tui.waste_words import stood_words
from tests.reports.shops import HOSTILE, NEVER, NOW, book, column, in_every_form, sample, table, tanks, text


def of(name, shop=None):
    return make(shop or sample(), "statement", name, at=NOW, made_at=NOW)


@pytest.mark.parametrize("name", ["drum-1", "drum-2", "drum-3", "drum-4", "tote-1", "rag-bin"])
def test_every_container_of_the_sample_fits_one_page(name):
    made = of(name)
    assert len(PdfReader(io.BytesIO(render(made, "pdf"))).pages) == 1
    assert not [w for w in NEVER if w in text(made).casefold()]


def test_a_spent_pickle_says_what_a_council_asks():
    made = of("drum-1")
    told = text(made)
    for words in ("11 01 05*", "pH, tested", "1 (0.5 to 1.5)", "HP 8", "drum, 60 L", "estimated"):
        assert words in told, words
    assert "Must not touch: drum-3" in text(of("drum-2"))
    iron = dict(zip(column(table(made, "components"), "component"), table(made, "components").rows, strict=True))["iron"]
    assert iron[2].low < iron[2].value < iron[2].high
    mass = sample().at(NOW).containers["drum-1"]
    assert iron[4].value == pytest.approx(100 * mass.gauss.value("mass:iron") / 1000 / mass.mass_kg, rel=1e-6)


def test_unknown_contents_are_said_to_be_unknown(tmp_path):
    shop = book(tmp_path, [
        {"kind": "container", "container": "old", "action": "opened", "what": "bath", "volume_l": 12.0},
    ])  # fmt: skip
    told = text(of("old", shop))
    assert "Something unknown went in" in told and "Nothing is known of its components" in told
    assert "12" in told


def told(report):
    return {f.label: f.value for p in report.sections if isinstance(p, Facts) for f in p.pairs}


def test_why_it_became_waste_and_how_it_looks_stand_in_it_and_blanks_only_where_nobody_said(tmp_path):
    shop = book(tmp_path, [
        *tanks(),
        {"kind": "removal", "tank": "pickle", "volume_l": 8.0, "to": "a", "why": "too much iron"},
        {"kind": "removal", "tank": "pickle", "volume_l": 8.0, "to": "a", "why": "too much iron"},
        {"kind": "removal", "tank": "electrolyte", "volume_l": 1.0, "to": "b"},
    ])  # fmt: skip
    facts = told(of("a", shop))
    assert facts["Why it became waste"] == "too much iron"
    assert facts["Physical form, colour"] == "liquid, by the entries; colour not told"
    shop.log_all([
        {"kind": "container", "at": NOW - timedelta(days=2), "container": "a", "action": "tested",
         "physical_form": "liquid with some sludge", "colour": "brown green",
         "values": [{"of": "ph", "value": 1.0, "unit": "pH"}]},
        {"kind": "container", "at": NOW - timedelta(days=1), "container": "a", "action": "moved", "volume_l": 2.0, "to": "c"},
    ])  # fmt: skip
    for name in ("a", "c"):  # what was poured on looks as it did, and became waste for the same reason
        facts = told(of(name, shop))
        assert facts["Why it became waste"] == "too much iron"
        assert facts["Physical form, colour"] == "liquid with some sludge; brown green"
    assert told(of("b", shop))["Why it became waste"] == "not told"


def test_a_hand_over_keeps_why_and_how_it_looked(tmp_path):
    shop = book(tmp_path, [
        *tanks(),
        {"kind": "removal", "tank": "pickle", "all": True, "to": "a", "why": "too much iron"},
        {"kind": "container", "container": "a", "action": "handed over", "all": True, "to": "desk", "colour": "green"},
        {"kind": "container", "container": "a", "action": "put in", "what": "rags", "mass_kg": 1.0},
    ])  # fmt: skip
    handed = Ledger(shop).hand_overs(NOW)[0]
    assert (handed.why, handed.physical_form, handed.colour) == (("too much iron",), None, "green")
    held = Ledger(shop).container("a", NOW)
    assert (held.why, held.colour) == ((), None)  # what came later is another waste
    row = table(make(shop, "register", until=NOW, made_at=NOW), "handed_over").rows[0]
    assert row[-1].startswith("why it became waste: too much iron; form and colour: green")


def test_the_plans_record_has_what_was_told(tmp_path):
    shop = book(tmp_path, [
        *tanks(), {"kind": "removal", "tank": "pickle", "all": True, "to": "a", "why": "too much iron"},
        {"kind": "container", "container": "a", "action": "tested", "colour": "green",
         "physical_form": "sludge", "values": [{"of": "ph", "value": 1.0, "unit": "pH"}]},
    ])  # fmt: skip
    record = {r.field: r.known for r in Ledger(shop).plan("a", NOW).hand_over}
    assert next(k for f, k in record.items() if "why it was dumped" in f).endswith("; too much iron")
    looks = next(k for f, k in record.items() if "colour" in f)
    assert looks.startswith("pH 1") and looks.endswith("; sludge, green")


def test_how_it_looks_needs_something_that_looks_so(tmp_path):
    with pytest.raises((EntryError, BookError), match="already"):
        book(tmp_path, [{"kind": "container", "container": "a", "action": "opened", "colour": "green"}])


def full_site(tmp_path):
    """A very small generator of the United States: 86 kg of sludge on the first of each month, 1,032 kg since May."""
    days = [*(datetime(2025, month, 1, 12, tzinfo=UTC) for month in range(6, 13)),
            *(datetime(2026, month, 1, 12, tzinfo=UTC) for month in range(1, 6))]  # fmt: skip
    drums = [
        {"kind": "container", "at": day, "container": f"drum-{n}", "action": "put in", "what": "sludge", "mass_kg": 86.0}
        for n, day in enumerate(days, start=1)
    ]
    settings = {"country": "United States", "keeper": "business"}
    return book(tmp_path, drums, **settings)


def test_the_clock_of_a_full_site_is_told_wherever_a_drum_is(tmp_path):
    """40 CFR 262.14(a)(4): 180 days for all of it from the day on which 1,000 kg were passed, here the 1st of May."""
    shop = full_site(tmp_path)
    held = Ledger(shop).container("drum-1", NOW)
    assert round(held.storage.stood_days) == 365 and round(held.storage_days_left) == 149 and held.storage.level == "later"
    assert Ledger(shop).status(NOW).generator.clock_since == NOW - timedelta(days=31)
    assert stood_words(held.storage) == "31 of 180 days"
    assert "stands 365 days; limit 180 days from 2026-05-01 on" in text(of("drum-1", shop))
    register = make(shop, "register", until=NOW, made_at=NOW, exact=True)
    assert all("limit counts from 2026-05-01" in doubt for doubt in column(table(register, "ages"), "doubt")[:11])
    assert "2026-05-01" in table(register, "ages").caption


def test_what_does_not_fit_one_page_says_so(tmp_path):
    shop = book(tmp_path, [
        {"kind": "container", "container": "old", "action": "opened", "what": "bath", "volume_l": 12.0,
         "place": "y" * 100},
        *[{"kind": "container", "container": "old", "action": "put in", "what": "rags", "mass_kg": 1.0} for _ in range(2)],
    ], address="long lane " * 49, email="z" * 450, phone="p" * 450)  # fmt: skip
    fits = of("old", shop)
    for _ in range(14):
        shop.correct(shop.last_logged().id, "word " * 60, {"kind": "container", "container": "old", "action": "put in",
                     "what": "rags", "mass_kg": 1.5, "note": "n" * 300})  # fmt: skip
        fits = of("old", shop)
    over = len(PdfReader(io.BytesIO(render(fits, "pdf"))).pages)
    assert over > 1
    assert any(isinstance(p, Paragraph) and "more than one page" in p.text for p in fits.sections)


def test_a_correction_of_a_fill_is_shown(tmp_path):
    shop = book(tmp_path, [*tanks(), {"kind": "removal", "tank": "pickle", "volume_l": 50.0, "to": "drum-9"}])
    fill = shop.last_logged()
    shop.correct(fill.id, "5 it was", {"kind": "removal", "tank": "pickle", "volume_l": 5.0, "to": "drum-9"}, at=NOW)
    mended = [p for p in of("drum-9", shop).sections if isinstance(p, Corrected)]
    assert len(mended) == 1 and "50 L" in mended[0].logged and "5 L" in mended[0].stands


def test_hostile_names_survive_every_form(tmp_path):
    shop = book(tmp_path, [*tanks(HOSTILE), {"kind": "removal", "tank": HOSTILE, "all": True, "to": HOSTILE + "2"}])
    made = in_every_form(of(HOSTILE + "2", shop))
    assert "\x1b" not in made["text"] and "亜鉛" in made["text"]


@settings(max_examples=8, deadline=None, derandomize=True)
@given(st.text(min_size=1, max_size=60).map(str.strip).filter(lambda t: t and t not in ("sample", "spill", "sewer")))
def test_any_name_at_all_comes_back_whole(name):
    with TemporaryDirectory() as folder:
        try:
            shop = book(Path(folder), [
                {"kind": "container", "container": name, "action": "opened", "what": "bath", "volume_l": 3.0, "place": name},
            ])  # fmt: skip
        except (EntryError, BookError):
            return  # the book refuses it
        made = in_every_form(of(name, shop))
        assert json.loads(made["json"])["title"] == f"Content statement: {name}"


def test_what_is_asked_wrongly_is_said():
    with pytest.raises(NotFound, match="there are"):
        of("drum-77")
    with pytest.raises(ReportError, match="say which"):
        make(sample(), "statement")
    with pytest.raises(ReportError, match="no report"):
        make(sample(), "registr")
    with pytest.raises(ReportError, match="ends before it begins"):
        make(sample(), "register", since=NOW, until=NOW)
