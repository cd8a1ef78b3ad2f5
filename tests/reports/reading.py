"""PDFs read back by another library than the one that wrote them."""

from __future__ import annotations

import io
import re

import pypdfium2
from pypdf import PdfReader

POINTS_PER_MM = 72 / 25.4


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


def sign_boxes(data: bytes) -> list[tuple[list[tuple[float, float, float, float]], float, float]]:
    """For each page the boxes (left, bottom, right, top) of the signs that leave ink, and its width and height; in points
    from the lower left corner."""
    found = []
    with pypdfium2.PdfDocument(data) as document:
        for page in document:
            words = page.get_textpage()
            boxes = [words.get_charbox(i) for i in range(words.count_chars()) if words.get_text_range(i, 1).strip()]
            found.append(([box for box in boxes if box[2] > box[0]], *page.get_size()))
    return found
