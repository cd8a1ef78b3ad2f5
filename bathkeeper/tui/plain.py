"""The one door for text of other people onto a screen: never markup, no control signs, no more room than there is.

Textual reads ``[...]`` in plain strings as markup in most places, and a terminal obeys escape codes. So every text that a
person or a file has written goes through here and comes out as :class:`Content`, which is never parsed again.
"""

from __future__ import annotations

import unicodedata
from collections.abc import Iterable

from rich.cells import cell_len, set_cell_size
from textual.content import Content

_DROPPED = {"Cc", "Cf", "Cs", "Co", "Cn"}
"""Unicode categories that draw nothing of their own: control signs, direction overrides, lone surrogates, private use."""


def clean(text: object, *, lines: bool = False) -> str:
    """The text without what a terminal would obey. Line breaks become a sign, or stay with ``lines``."""
    out: list[str] = []
    for char in str(text).replace("\r\n", "\n"):
        if char in "\n\r\u2028\u2029\x85":
            out.append("\n" if lines else " ↵ ")
        elif char == "\t":
            out.append(" ")
        elif unicodedata.category(char) not in _DROPPED:
            out.append(char)
    return "".join(out)


def fit(text: object, width: int) -> str:
    """One cleaned line of at most ``width`` cells; an ellipsis says that there is more."""
    line = clean(text)
    if width <= 0:
        return ""
    return line if cell_len(line) <= width else set_cell_size(line, width - 1).rstrip() + "…"


def pad(text: object, width: int, align: str = "left") -> str:
    """One cleaned line of exactly ``width`` cells; ``align``: left, right or centre."""
    line = fit(text, width)
    room = max(width - cell_len(line), 0)
    before = {"left": 0, "right": room, "centre": room // 2}[align]
    return " " * before + line + " " * (room - before)


def say(text: object, style: str = "", *, lines: bool = False) -> Content:
    """Cleaned text as content, in one style."""
    return Content.styled(clean(text, lines=lines), style) if style else Content(clean(text, lines=lines))


def join(parts: Iterable[Content | tuple[object, str] | str]) -> Content:
    """One line or block of parts: contents as they are, (text, style) and texts cleaned of all but line breaks."""
    made: list[Content] = []
    for part in parts:
        if isinstance(part, Content):
            made.append(part)
        elif isinstance(part, tuple):
            made.append(say(part[0], part[1], lines=True))
        else:
            made.append(say(part, lines=True))
    return Content("").join(made)


def rows(lines: Iterable[Content]) -> Content:
    """Contents one under the other."""
    return Content("\n").join(list(lines))
