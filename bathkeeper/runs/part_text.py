"""Parts as people type them, made plain: signs, counts, lengths, materials and standards that say nothing about size."""

from __future__ import annotations

import re

from bathkeeper.refusals import shorten
from bathkeeper.units.door import Preferences, UnitError, understand

SMALLEST_MM, LARGEST_MM = 1e-3, 1e6  # of a measure that can be meant
MOST = 1_000_000
NUMBER = r"(?:\d+\s+\d+/\d+|\d+/\d+|\d+(?:[.,]\d+)?|[.,]\d+)"
UNIT = r"(?:\"|''|'|inch(?:es)?\b|in\b\.?|mm\b|cm\b|ft\b|m\b|thou\b|mil\b)"
COUNT_WORDS = r"(?:off|of|pcs?\.?|pieces?|nos?\.?|x)"
INCH_SIZE = r"(?:#\s?\d{1,2}|\d{1,2}/\d{1,2}|\d)"
PROPERTY_CLASS = re.compile(
    r"\b(?:class|cl\.?|grade|gr\.?)?\s*(4\.6|4\.8|5\.6|5\.8|6\.8|8\.8|9\.8|10\.9|12\.9|14\.9)\b", re.IGNORECASE
)
GRADE = re.compile(r"\b(?:grade|gr\.?|sae)\s*([258])\b", re.IGNORECASE)
NOT_SAYING = re.compile(
    r"\b(?:mild|carbon|zinc plated|steel|iron|brass|copper|black|bright|long|thick|wide|dia|diameter|od|id|"
    r"flat(?!\s+(?:bar|head|washer))|"
    r"(?:iso|din|asme|ansi|en|bs)\s?-?[a-z]?\d[\d.]*|of|the|a|with|each)\b",
    re.IGNORECASE,
)


class PartError(ValueError):
    """Words that name no part: what was not understood, and what would be right."""


def refused(text: str, what: str) -> PartError:
    return PartError(f"`{shorten(text)}`: {what}")


def made_plain(text: str) -> str:
    """Signs that mean the same made one: × and * between numbers, curly quotes, diameter signs, spaces."""
    plain = "".join(c if c.isprintable() else " " for c in text)
    plain = plain.replace("×", "x").replace("✕", "x").replace("”", '"').replace("“", '"').replace("″", '"').replace("’", "'")
    plain = re.sub(r"[⌀Øø∅]\s*", " ", plain)
    plain = re.sub(r"(?<=\d)\s*\*\s*(?=[\d.#])", " x ", plain)
    plain = re.sub(r"\bX(?=\s|\d)|(?<=\d)X\b", "x", plain)
    plain = re.sub(r"(?<=\d)-inch\b", " inch", plain)
    return " ".join(plain.split())


def counted(plain: str, text: str) -> tuple[int, str]:
    """How many, and the rest: ``20x M8``, ``20 off``, ``3 plates``, ``M8 nut, 20 off``, ``(12)``, ``qty 4``. A number before
    another number is a measure unless a word such as `off` parts them.

    Raises:
        PartError: none of them, or too many.
    """
    before = re.match(
        r"(\d+)\s*(?:(?:off|pcs?\.?|pieces?|nos?\.?)(?![a-z])\s*(?:of\s+)?|(?:x|of)\s*(?=[A-Za-z(])|x\s*(?=#|\d{1,2}/\d{1,2}\s*(?:\"|in\b|-|UN)|\d\"?-\d)"
        r"|(?=\s[A-Za-z]))\s*(?!(?:mm|cm|m|in|inch|inches|ft|x)\b)",
        plain,
        re.IGNORECASE,
    )
    behind = re.search(
        r"(?:,|;|\s)\s*(?:(?:qty|quantity|count)\.?:?\s*(\d+)|(\d+)\s*(?:off|pcs?\.?|pieces?|nos?\.?)"
        r"|\((\d+)(?:\s*(?:off|x|pcs))?\)|(?<=[a-z]{3}\s)x\s*(\d+)|(?<=[a-z]{3}\s)\s*x\s+(\d+))\s*$",
        plain,
        re.IGNORECASE,
    )
    found = None
    if before and not re.match(r"\d+\s*x\s*\d+(?:[.,]\d+)?\s*(?:x|mm|cm|in|\")", plain[: before.end() + 12]):
        found, rest = int(before[1]), plain[before.end() :]
    elif behind:
        found, rest = int(next(g for g in behind.groups() if g)), plain[: behind.start()]
    if found is None:
        return 1, plain
    if not 0 < found <= MOST:
        raise refused(text, f"{found} of them cannot be; write for example 20x M8x30 hex bolt")
    return found, rest.strip(" ,;:")


def length_mm(said: str, text: str, prefs: Preferences) -> float:
    """A measure with its unit in mm. Raises PartError."""
    plain = said.replace("''", '"').strip()
    if plain.endswith("in."):
        plain = plain[:-1]
    try:
        value = understand(plain, "length", prefs).value
    except UnitError as problem:
        raise refused(text, str(problem)) from None
    if value == 0:
        raise refused(text, f"{said} is zero, and a measure has to be above zero")
    if value < 0:
        raise refused(text, f"{said} is below zero, and a measure cannot be")
    if not SMALLEST_MM <= value <= LARGEST_MM:
        raise refused(text, f"{said} cannot be meant; parts from {SMALLEST_MM:g} mm to {LARGEST_MM:g} mm are taken")
    return value


def strength_said(plain: str) -> tuple[str | None, str]:
    """(property class or grade said, the rest): ``10.9``, ``class 8.8``, ``grade 8``."""
    found = PROPERTY_CLASS.search(plain)
    if found and not re.search(r"x\s*$", plain[: found.start()]) and not re.match(r"\s*(?:x|mm|in\b|\")", plain[found.end() :]):
        return found[1], f"{plain[: found.start()]} {plain[found.end() :]}"
    grade = GRADE.search(plain)
    if grade:
        return f"grade {grade[1]}", f"{plain[: grade.start()]} {plain[grade.end() :]}"
    return None, plain
