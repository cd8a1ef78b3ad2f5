"""PDFs read back by another library than the one that wrote them."""

from __future__ import annotations

import io
import re

from pypdf import PdfReader


def pages(data: bytes) -> list[str]:
    """The text of each page."""
    return [page.extract_text() for page in PdfReader(io.BytesIO(data)).pages]


def text(data: bytes) -> str:
    """All text, page after page."""
    return "\n".join(pages(data))


def run_together(data: bytes) -> str:
    """All text without white space, so that line breaks within a cell do not matter."""
    return re.sub(r"\s", "", text(data))


def sizes(data: bytes) -> list[tuple[int, int]]:
    """Width and height of each page in whole millimetres."""
    boxes = [page.mediabox for page in PdfReader(io.BytesIO(data)).pages]
    return [(round(float(b.width) * 25.4 / 72), round(float(b.height) * 25.4 / 72)) for b in boxes]
