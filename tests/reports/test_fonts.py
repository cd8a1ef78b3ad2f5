"""Fonts of the system: used when nothing packaged has a sign, passed over when they are broken."""

from __future__ import annotations

import io

from fontTools import subset
from fontTools.ttLib import TTFont

from bathkeeper.reports import pdf_fonts
from bathkeeper.reports.model import Paragraph
from bathkeeper.reports.pdf import pdf
from tests.reports.reading import text
from tests.reports.samples import of

SIGN = "\u4e9c"


def system_with(monkeypatch, folder):
    monkeypatch.setattr(pdf_fonts, "_places", lambda: [folder, folder / "nowhere"])
    pdf_fonts.system_faces.cache_clear()
    pdf_fonts.face_for.cache_clear()


def font_with(sign: str) -> bytes:
    """A packaged font whose A stands at another place, as a system's font would have that sign."""
    font = TTFont(io.BytesIO(pdf_fonts.font_bytes("NotoSans_Regular")))
    cutter = subset.Subsetter(subset.Options(drop_tables=["TTFA", "GSUB", "GPOS", "GDEF"]))
    cutter.populate(unicodes=[ord("A")])
    cutter.subset(font)
    for table in font["cmap"].tables:
        table.cmap = {ord(sign): "A"}
    to = io.BytesIO()
    font.save(to)
    return to.getvalue()


def test_the_optional_package_is_looked_into_and_never_imported(tmp_path, monkeypatch):
    package = tmp_path / pdf_fonts.OPTIONAL
    (package / "fonts").mkdir(parents=True)
    (package / "__init__.py").write_text("raise RuntimeError('imported')\n")
    (package / "fonts" / "NotoSansCJKsc-Regular.otf").write_bytes(font_with(SIGN))
    monkeypatch.undo()  # the real places
    monkeypatch.setattr(pdf_fonts, "_of_system", list)
    monkeypatch.syspath_prepend(tmp_path)
    pdf_fonts.system_faces.cache_clear()
    pdf_fonts.face_for.cache_clear()
    assert SIGN in text(pdf(of(Paragraph(f"drum {SIGN}"))))


def test_a_broken_system_font_is_passed_over(tmp_path, monkeypatch):
    (tmp_path / "msgothic.ttc").write_bytes(b"no font at all")
    (tmp_path / "wqy-microhei.ttc").write_bytes(b"")
    (tmp_path / "malgun.ttf").write_bytes(font_with(SIGN))
    system_with(monkeypatch, tmp_path)
    assert [face.path for face in pdf_fonts.system_faces()] == [str(tmp_path / "malgun.ttf")]


def test_a_system_font_draws_what_no_packaged_one_has(tmp_path, monkeypatch):
    assert "⟨U+4E9C⟩" in text(pdf(of(Paragraph(f"a {SIGN} b"))))
    (tmp_path / "deep").mkdir()
    (tmp_path / "deep" / "malgun.ttf").write_bytes(font_with(SIGN))
    system_with(monkeypatch, tmp_path)
    said = text(pdf(of(Paragraph(f"a {SIGN} b"))))
    assert f"a {SIGN} b" in said
    assert "⟨U+" not in said


def test_other_files_of_the_system_are_left_alone(tmp_path, monkeypatch):
    (tmp_path / "unknown.ttf").write_bytes(font_with(SIGN))
    system_with(monkeypatch, tmp_path)
    assert pdf_fonts.system_faces() == ()
