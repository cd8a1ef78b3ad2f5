"""Labels made of a workshop: everything that holds something has one, with what must not come to it."""

from __future__ import annotations

import io

import pytest
from pypdf import PdfReader

from bathkeeper.answers.shapes import NotFound
from bathkeeper.reports.builders.ground import Ground
from bathkeeper.reports.builders.tags import labels
from bathkeeper.reports.making import make_labels
from tests.reports.shops import HOSTILE, NEVER, NOW, book, sample, tanks


def test_what_holds_something_has_a_label_and_nothing_else_unless_named():
    made = {one.name: one for one in labels(Ground(sample(), NOW, NOW))}
    world = sample().at(NOW)
    filled = {n for n, c in world.containers.items() if not c.empty} | {n for n, t in world.tanks.items() if t.alive}
    assert set(made) == filled and "drum-4" not in made
    assert labels(Ground(sample(), NOW, NOW), ["drum-4"])[0].contents == "Waste container, empty"


def test_a_pickle_drum_warns():
    drum = labels(Ground(sample(), NOW, NOW), ["drum-1"])[0]
    # sodium hydrogensulfate is harmonised as H318 (CLP annex VI, 016-046-00-X): corrosion, danger
    assert "H318" in drum.statements and "GHS05" in drum.pictograms and drum.word == "danger"
    assert any("tote-1" in c for c in drum.cautions) and drum.opened is not None


def test_what_the_keeper_labelled_stands_on_it_and_nothing_reckoned_is_no_verdict():
    acid = labels(Ground(sample(), NOW, NOW), ["drum-2"])[0]
    assert any("HP 8, 11 01 06*" in c for c in acid.cautions)
    assert not acid.statements and any("no verdict" in c for c in acid.cautions)


def test_no_statement_of_a_nickel_bath_is_left_out():
    bath = labels(Ground(sample(), NOW, NOW), ["electrolyte"])[0]
    # nickel dichloride, CLP annex VI, 028-011-00-6: H350i, H360D, H372, H400, H410 among others
    assert {"H350i", "H360D", "H372", "H410"} <= set(bath.statements) and {"GHS08", "GHS09"} <= set(bath.pictograms)


def test_the_pdf_holds_every_name_and_no_word_that_decides():
    pages = PdfReader(io.BytesIO(make_labels(sample(), at=NOW, made_at=NOW))).pages
    told = "\n".join(p.extract_text() for p in pages)
    for name in ("drum-1", "tote-1", "electrolyte", "rag-bin"):
        assert name in told
    assert not [w for w in NEVER if w in told.casefold()]


def test_unknown_names_nothing_to_label_and_hostile_names(tmp_path):
    with pytest.raises(NotFound, match="neither a container nor a tank"):
        make_labels(sample(), ["drum-77"])
    with pytest.raises(NotFound, match="nothing to label"):
        make_labels(book(tmp_path), at=NOW, made_at=NOW)
    (tmp_path / "h").mkdir()
    shop = book(tmp_path / "h", [*tanks(HOSTILE), {"kind": "removal", "tank": HOSTILE, "volume_l": 5.0, "to": HOSTILE + "2"}])
    assert make_labels(shop, at=NOW, made_at=NOW, layout="large").startswith(b"%PDF")
