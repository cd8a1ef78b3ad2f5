"""Labels say what their tank or container holds, eight on a sheet or one on a page, with nothing cut off."""

from __future__ import annotations

import io
from datetime import date

import pytest
from pypdf import PdfReader

from bathkeeper.reports.labels import ASK, PICTOGRAMS, Label, labels_pdf
from bathkeeper.reports.model import ReportError
from tests.reports.reading import pages, run_together, sizes, text
from tests.reports.samples import DAY, HOSTILE

PICKLE = Label(
    name="Spent pickle 3", contents="Spent hydrochloric acid pickle with iron and zinc", opened=date(2026, 2, 3), word="danger",
    pictograms=("GHS05", "GHS07"), statements=("H290", "H314", "H335"), cautions=("Never together with bleach.",),
    producer="Hill Shed Plating, 4 Quarry Lane, Otherby, 555-0142",
)


@pytest.mark.parametrize("layout", ["sheet", "large"])
def test_everything_on_the_label(layout):
    said = run_together(labels_pdf([PICKLE], DAY, layout=layout))
    for words in (
        "Spent pickle 3", "Spent hydrochloric acid pickle with iron and zinc", "opened 2026-02-03", "DANGER", "GHS05",
        "corrosion", "GHS07", "exclamation mark", "H290, H314, H335", "Never together with bleach.",
        "Filled by: Hill Shed Plating", ASK, "In an emergency call:",
    ):
        assert words.replace(" ", "") in said, words


def test_eight_on_a_sheet_and_one_on_a_large_page():
    labels = [Label(name=f"Drum {n}", contents="rinse water") for n in range(17)]
    small, large = pages(labels_pdf(labels, DAY)), pages(labels_pdf(labels, DAY, layout="large"))
    assert [page.count("Drum") for page in small] == [8, 8, 1]
    assert [page.count("Drum") for page in large] == [1] * 17
    assert "page 2 of 3" in small[1]


def test_in_use_since_and_who_to_call():
    label = Label(name="Zinc tank", contents="zinc bath", since=date(2025, 11, 3), emergency="555-0100")
    said = text(labels_pdf([label], DAY))
    assert "in use since 2025-11-03" in said
    assert "In an emergency call: 555-0100" in said


def test_nothing_is_lost_when_a_label_says_too_much():
    long = Label(name="n" * 300, contents=" ".join(f"w{n}" for n in range(800)), pictograms=tuple(PICTOGRAMS))
    data = labels_pdf([PICKLE, long, PICKLE], DAY)
    said = run_together(data)
    assert "".join(f"w{n}" for n in range(800)) in said
    assert "n" * 300 in said
    assert all(code in said for code in PICTOGRAMS)
    assert len(pages(data)) > 1


def test_all_nine_pictograms_stay_on_their_label():
    label = Label(name="All", contents="of them", pictograms=tuple(PICTOGRAMS))
    page = PdfReader(io.BytesIO(labels_pdf([label], DAY))).pages[0]
    places: dict[str, float] = {}

    def keep(said, _, where, *rest):
        if said.strip() in PICTOGRAMS:
            places[said.strip()] = where[4]

    page.extract_text(visitor_text=keep)
    assert len(places) == 9
    assert max(places.values()) < float(page.mediabox.width) / 2  # the label is the left one of two


@pytest.mark.parametrize("hostile", HOSTILE)
def test_hostile_text_is_only_text(hostile):
    label = Label(name=f"A{hostile}", contents=hostile * 3, cautions=(hostile,), producer=hostile, emergency=hostile)
    assert "page 1 of 1" in text(labels_pdf([label], DAY))


def test_codes_that_are_none_are_refused_with_what_one_looks_like():
    with pytest.raises(ReportError, match="GHS05"):
        Label(name="a", contents="b", pictograms=("GHS10",))
    with pytest.raises(ReportError, match="H314"):
        Label(name="a", contents="b", statements=("very bad",))
    with pytest.raises(ReportError, match="twice"):
        Label(name="a", contents="b", pictograms=("GHS05", "GHS05"))
    assert Label(name="a", contents="b", statements=("H350i", "H360FD", "EUH071", "H300+H310")).statements
    with pytest.raises(ReportError, match="no labels"):
        labels_pdf([], DAY)


def test_the_same_labels_give_the_same_bytes_on_either_paper():
    assert labels_pdf([PICKLE], DAY) == labels_pdf([PICKLE], DAY)
    assert sizes(labels_pdf([PICKLE], DAY, paper="letter")) == [(216, 279)]
