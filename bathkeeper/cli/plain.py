"""Text on its way to a terminal: nothing that a person wrote can move the cursor, change colours or turn the line around."""

from __future__ import annotations

import unicodedata

JOINERS = ("\u200c", "\u200d", "\ufe0e", "\ufe0f")  # parts of emoji and of some scripts; no width of their own


def clean(text: str, *, lines: bool = True) -> str:
    """The text with control and direction signs as spaces; line ends are kept, or are spaces too where ``lines`` is false."""
    return "".join(c if c.isprintable() or c in JOINERS or (lines and c == "\n") else " " for c in text)


def width(text: str) -> int:
    """How many cells of a terminal a clean text takes."""
    if text.isascii():
        return len(text)
    return sum(_cells(c) for c in text)


def _cells(char: str) -> int:
    if char in JOINERS or unicodedata.combining(char):
        return 0
    return 2 if unicodedata.east_asian_width(char) in "WF" else 1


def wrapped(text: str, cells: int) -> list[str]:
    """The text in lines of at most ``cells``, broken at spaces where there are any; at least one line."""
    lines: list[str] = []
    for paragraph in text.split("\n"):
        line = ""
        for word in paragraph.split(" "):
            trial = f"{line} {word}" if line else word
            if width(trial) <= cells:
                line = trial
                continue
            if line:
                lines.append(line)
            pieces = _pieces(word, cells)
            lines.extend(pieces[:-1])
            line = pieces[-1]
        lines.append(line)
    return lines


def _pieces(word: str, cells: int) -> list[str]:
    """A word too long for a line, cut; a shorter one whole."""
    pieces, piece, used = [], "", 0
    for char in word:
        if used + _cells(char) > cells and piece:
            pieces.append(piece)
            piece, used = "", 0
        piece += char
        used += _cells(char)
    return [*pieces, piece]
