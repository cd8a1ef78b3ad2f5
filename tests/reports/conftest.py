"""The tests of this room see the packaged fonts alone, whatever this machine has."""

from __future__ import annotations

import pytest

from bathkeeper.reports import pdf_fonts


@pytest.fixture(autouse=True)
def no_system_fonts(monkeypatch):
    monkeypatch.setattr(pdf_fonts, "_places", list)
    for known in (pdf_fonts.system_faces, pdf_fonts.face_for):
        known.cache_clear()
    yield
    for known in (pdf_fonts.system_faces, pdf_fonts.face_for):
        known.cache_clear()
