"""Letters and digits made of blocks, to be read at arm's length: the clock, the tank, the next tank."""

from __future__ import annotations

import unicodedata

from bathkeeper.tui.plain import clean, fit

# Five rows of dots each; a new drawing of our own. Narrow where a letter allows, wider where it would not be told apart.
_GLYPHS = {
    "A": ".#. #.# ### #.# #.#", "B": "##. #.# ##. #.# ##.", "C": ".## #.. #.. #.. .##", "D": "##. #.# #.# #.# ##.",
    "E": "### #.. ##. #.. ###", "F": "### #.. ##. #.. #..", "G": ".### #... #.## #..# .###", "H": "#.# #.# ### #.# #.#",
    "I": "# # # # #", "J": "..# ..# ..# #.# .#.", "K": "#..# #.#. ##.. #.#. #..#", "L": "#.. #.. #.. #.. ###",
    "M": "#...# ##.## #.#.# #...# #...#", "N": "#..# ##.# #.## #..# #..#", "O": ".##. #..# #..# #..# .##.",
    "P": "##. #.# ##. #.. #..", "Q": ".##. #..# #..# #.## .###", "R": "##. #.# ##. #.# #.#", "S": ".## #.. .#. ..# ##.",
    "T": "### .#. .#. .#. .#.", "U": "#.# #.# #.# #.# ###", "V": "#.# #.# #.# #.# .#.", "W": "#...# #...# #.#.# ##.## #...#",
    "X": "#.# #.# .#. #.# #.#", "Y": "#.# #.# .#. .#. .#.", "Z": "### ..# .#. #.. ###",
    "0": "### #.# #.# #.# ###", "1": ".#. ##. .#. .#. ###", "2": "### ..# ### #.. ###", "3": "### ..# .## ..# ###",
    "4": "#.# #.# ### ..# ..#", "5": "### #.. ### ..# ###", "6": "### #.. ### #.# ###", "7": "### ..# ..# .#. .#.",
    "8": "### #.# ### #.# ###", "9": "### #.# ### ..# ###",
    ":": ". # . # .", "-": ".. .. ## .. ..", "+": "... .#. ### .#. ...", ".": ". . . . #", " ": ".. .. .. .. ..",
    "/": "..# ..# .#. #.. #..", "(": ".# #. #. #. .#", ")": "#. .# .# .# #.", "&": ".#.. #.#. .#.. #.#. .#.#",
}  # fmt: skip
_HALVES = {(False, False): " ", (True, False): "▀", (False, True): "▄", (True, True): "█"}
ROWS = 5


def has_glyphs(text: str) -> bool:
    """Whether every letter can be drawn."""
    return all(c in _GLYPHS for c in _plain(text))


def width_of(text: str, size: int = 1) -> int:
    """Cells that a text takes, without a gap behind it."""
    return sum((len(_GLYPHS[c].split()[0]) + 1) * size for c in _plain(text)) - size if text else 0


def height_of(size: int) -> int:
    """Rows that letters of a size take."""
    return (ROWS * size + 1) // 2


def big(text: str, size: int = 1) -> list[str]:
    """The text in rows of blocks; a dot is ``size`` cells wide and ``size`` half rows high. Raises KeyError without a glyph."""
    dots = ["" for _ in range(ROWS)]
    for char in _plain(text):
        for row, line in enumerate(_GLYPHS[char].split()):
            dots[row] += line + "."
    tall = [row for row in dots for _ in range(size)]
    if len(tall) % 2:
        tall.append("." * len(tall[0]))
    made = []
    for upper, lower in zip(tall[::2], tall[1::2], strict=True):
        cells = (_HALVES[(a == "#", b == "#")] * size for a, b in zip(upper, lower, strict=True))
        made.append("".join(cells)[: -size or None])
    return made


def biggest(text: str, width: int, height: int, largest: int = 4) -> list[str]:
    """The text as large as it fits, at most ``largest``; on one plain line where nothing large fits."""
    line = clean(text)
    if line and has_glyphs(line):
        for size in range(largest, 0, -1):
            if width_of(line, size) <= width and height_of(size) <= height:
                return big(line, size)
    return [fit(line, width)]


def clock(seconds: float) -> str:
    """``12:05`` minutes and seconds, ``1:02:05`` from an hour on; no sign."""
    whole = int(abs(seconds))
    hours, rest = divmod(whole, 3600)
    return f"{hours}:{rest // 60:02d}:{rest % 60:02d}" if hours else f"{rest // 60}:{rest % 60:02d}"


def _plain(text: str) -> str:
    """In capitals without marks; Ä as A."""
    apart = unicodedata.normalize("NFD", text.upper().replace("_", " "))
    return "".join(c for c in apart if not unicodedata.combining(c))
