"""Which font draws which sign: packaged ones first, then one of the system's for Chinese, Japanese and Korean, else an escape.

The packaged fonts are open ones and come with pymupdf-fonts: Noto Sans (Latin, Greek, Cyrillic), FiraGO (Arabic, Hebrew,
Thai, Devanagari, Georgian), Noto Sans Symbols and Math. A sign in none of them is looked for in a few fonts that systems are
known to bring, and in the package of fonts that ``bathkeeper[cjk]`` installs; what nobody can draw is written ``⟨U+4E9C⟩``,
so that nothing is lost silently. Only the glyphs that are used go into the file.
"""

from __future__ import annotations

import importlib
import importlib.util
import io
import os
import sys
from dataclasses import dataclass
from functools import cache
from pathlib import Path

from fontTools.ttLib import TTFont, TTLibError

PACKAGED: dict[str, tuple[str, str]] = {
    "sans": ("NotoSans_Regular", "NotoSans_Bold"),
    "scripts": ("FiraGO_Regular", "FiraGO_Bold"),
    "marks": ("NotoSansSymbols2_Regular", ""),
    "maths": ("NotoSansMath_Regular", ""),
    "symbols": ("NotoSansSymbols_Regular", ""),
}
"""Family -> (regular, bold) modules of pymupdf_fonts, in the order in which they are asked."""

SYSTEM = (
    "NotoSansCJK-Regular.ttc", "NotoSansCJKsc-Regular.otf", "NotoSansCJKjp-Regular.otf", "DroidSansFallbackFull.ttf",
    "DroidSansFallback.ttf", "wqy-microhei.ttc", "wqy-zenhei.ttc", "msyh.ttc", "YuGothR.ttc", "malgun.ttf", "msgothic.ttc",
    "Hiragino Sans GB.ttc", "AppleSDGothicNeo.ttc", "Arial Unicode.ttf",
)
"""Files that systems are known to bring for East Asian scripts; the first that has the sign draws it. From memory."""
OPTIONAL = "mplfonts"
"""A package that brings Noto Sans CJK, an open font. It is only looked into, never imported."""


@dataclass(frozen=True)
class Face:
    """A font file's signs. ``path`` is empty for a packaged font, whose bytes are written where the PDF needs them."""

    family: str
    signs: frozenset[int]
    path: str = ""


@cache
def packaged(family: str) -> Face:
    """The signs of a packaged family."""
    with TTFont(io.BytesIO(font_bytes(PACKAGED[family][0])), lazy=True) as font:
        return Face(family, frozenset(font.getBestCmap() or {}))


@cache
def font_bytes(module: str) -> bytes:
    """A packaged font file."""
    data: bytes = importlib.import_module(f"pymupdf_fonts.{module}").fontbuffer
    return bytes(data)


@cache
def system_faces() -> tuple[Face, ...]:
    """The system's fonts of :data:`SYSTEM` that are there and can be read, in that order."""
    there: dict[str, Path] = {}
    for place in _places():
        for folder, _, names in os.walk(place):
            for name in names:
                if name in SYSTEM:
                    there.setdefault(name, Path(folder, name))
    faces: list[Face] = []
    for name in (n for n in SYSTEM if n in there):
        try:
            with TTFont(there[name], lazy=True, fontNumber=0) as font:
                if "glyf" in font or "CFF " in font:
                    faces.append(Face(f"system{len(faces)}", frozenset(font.getBestCmap() or {}), str(there[name])))
        except (OSError, TTLibError, KeyError, AssertionError):
            continue  # a font that cannot be read draws nothing; the next may
    return tuple(faces)


def _places() -> list[Path]:
    """Folders of fonts: the optional package's, then the system's and the keeper's own."""
    found = importlib.util.find_spec(OPTIONAL)
    return [*(Path(p) for p in (found.submodule_search_locations or () if found is not None else ())), *_of_system()]


def _of_system() -> list[Path]:
    home = Path(os.path.expanduser("~"))
    if sys.platform == "win32":
        return [Path(os.environ.get("WINDIR", r"C:\Windows"), "Fonts")]
    if sys.platform == "darwin":
        return [Path("/System/Library/Fonts"), Path("/Library/Fonts"), home / "Library/Fonts"]
    return [Path("/usr/share/fonts"), Path("/usr/local/share/fonts"), home / ".local/share/fonts", home / ".fonts"]


@cache
def face_for(sign: str) -> Face | None:
    """The face that draws one sign, or nothing."""
    code = ord(sign)
    for family in PACKAGED:
        if code in packaged(family).signs:
            return packaged(family)
    return next((face for face in system_faces() if code in face.signs), None)
