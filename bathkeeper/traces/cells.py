"""One line to its cells, one cell to its number: delimiters, quotes, decimal marks, units in cells, fault values."""

from __future__ import annotations

import math
import re
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

Delimiter = Literal["\t", ";", ",", "|", "wide", "space", "label"]
DELIMITERS: tuple[Delimiter, ...] = ("\t", ";", ",", "|", "wide", "space", "label")
"""``wide``: two spaces or more; ``space``: any; ``label``: ``name: value`` after ``name: value`` on every line."""
TITLES = {"\t": "tab", ";": "semicolon", ",": "comma", "|": "bar", "wide": "columns of spaces", "space": "spaces",
          "label": "labels"}  # fmt: skip

MISSING = frozenset(
    {"", "-", "--", "---", "----", "n/a", "na", "n.a.", "#n/a", "nan", "-nan", "+nan", "null", "none", "inf", "+inf", "-inf",
     "infinity", "-infinity", "ol", "o.l", "o.l.", "-ol", "+ol", "over", "ovld", "overload", "overrange", "open", "err",
     "error",
     "fault", "invalid", "bad", "?", "??", "???", "*", "****", "#value!", "#div/0!", "#ref!", "1.#inf", "-1.#ind", "1.#qnan"}
)  # fmt: skip
SENTINELS = frozenset({-999.0, -999.9, -999.99, -9999.0, -99.99, -99.9, 9999.0, 99999.0, 9.9e37, -1e10, 2288.9, -2501.0,
32767.0,
                       -32768.0, 65535.0, 6553.5, 3276.7, -3276.8, -127.0})  # fmt: skip
"""What instruments write where they have no reading [memory: seen in public logs of supplies and temperature loggers]."""
BEYOND = 9.9e9  # further out only faults are written, such as 9.9E37 and -1E+10

_NUMBER = re.compile(r"([+-]?)\s?(\d[\d.,' \u00a0\u202f]*|[.,]\d+)([eE][+-]?\d{1,3})?", re.ASCII)
_LABEL = re.compile(
    r"(?<!\w)([^\W\d_][^\s:=,;]{0,24}(?: [^\W\d_][^\s:=,;]{0,24}){0,3}?)\s*[:=]\s*"
    r"(\d{1,4}[-/.]\d{1,2}[-/.]\d{1,4}[ T]\d{1,2}:\d{2}\S*|\d+:\d{2}:\d{2}[^\s,;]*|"
    r"[-+]?[\d.,]*\d(?:[eE][-+]?\d+)?(?: ?(?:[µμumk]?[AVW]h?|°[CF]|℃|deg[CF]|[mµμu]?S/c?m|pH|min|m?s|C)(?![\w:=]))?|[^\s,;]+)"
)
_DATE_TIME = re.compile(r"(\d[-/.]\d{1,4}) (\d{1,2}:\d{2})")
_MERIDIEM = re.compile(r"(\d) ([AaPp]\.?[Mm]\.?)(?=\s|$)")


@dataclass(frozen=True)
class Number:
    """A cell's number, and whatever letters stood behind it."""

    value: float
    unit: str = ""


def split(line: str, delimiter: Delimiter) -> list[str]:
    """The cells of a line, stripped. Quotes count only where they close within the line."""
    if delimiter == "label":
        return [value for _, value in labelled(line)]
    if delimiter in ("wide", "space"):
        held = _MERIDIEM.sub(r"\1\2", _DATE_TIME.sub(r"\1T\2", line.strip()))
        found = [c for c in re.split(r"\t|\s{2,}" if delimiter == "wide" else r"\s+", held) if c]
        return [c.strip('"') for c in found]
    if '"' not in line:
        return [c.strip() for c in line.split(delimiter)]
    cells, cell, quoted, at_start = [], "", False, True
    for place, sign in enumerate(line):
        if quoted:
            if sign == '"':
                quoted = False
            else:
                cell += sign
        elif sign == '"' and at_start and '"' in line[place + 1 :]:
            quoted, at_start = True, False
        elif sign == delimiter:
            cells.append(cell.strip())
            cell, at_start = "", True
        elif sign != '"':
            cell += sign
            at_start = at_start and sign == " "
    if quoted:
        # an opening quote that was never closed is only a sign
        return [c.strip().strip('"') for c in line.split(delimiter)]
    return [*cells, cell.strip()]


def labelled(line: str) -> list[tuple[str, str]]:
    """(label, value) pairs of a line such as ``V: 3.10 V  I: 6.48 A`` or ``CURR:DC +6.4800E+00``."""
    scpi = re.findall(r"([A-Z]{3,8}:[A-Z]{2,4}) ([-+]?[\d.]+(?:E[-+]?\d+)?)", line)
    if scpi:
        clock = line.partition(scpi[0][0])[0].strip(" ,;\t")
        return [("time", clock), *scpi] if clock else scpi
    marks = list(_LABEL.finditer(line))
    if not marks:
        return []
    lead = line[: marks[0].start()].strip(" ,;\t")
    return [*([("time", lead)] if lead else []), *((m[1].strip(), m[2].strip(" ,;\t")) for m in marks)]


def is_missing(text: str) -> bool:
    """Whether a cell says that there is no reading."""
    plain = text.strip().casefold()
    return plain in MISSING or (len(plain) > 1 and not plain.strip("-*#"))


def number_of(text: str, decimal: str = ".") -> Number | None:
    """The number in a cell with ``decimal`` as its mark, thousands taken out; None where there is none.

    Letters behind it come back as its unit. What is not written as a number is written (``1,2,3``) gives None.
    """
    plain = text.strip().replace("\u2212", "-")
    match = _NUMBER.match(plain)
    if match is None:
        return None
    sign, body, power = match[1], match[2].rstrip(" \u00a0\u202f"), match[3] or ""
    tail = plain[match.end() :].strip()
    if tail and (len(tail) > 12 or tail[0] in "-/.,'" or re.search(r"[\d:;]", tail)):
        return None
    whole = _without_thousands(body, decimal)
    if whole is None:
        return None
    try:
        value = float(sign + whole + power)
    except ValueError:
        return None
    return Number(value, tail) if math.isfinite(value) else None


def _without_thousands(body: str, decimal: str) -> str | None:
    other = "," if decimal == "." else "."
    if body.count(decimal) > 1:
        return None
    whole, mark, part = body.partition(decimal)
    if mark and not part.isdigit() and part:
        return None
    if any(c in whole for c in (other, " ", "'", "\u00a0", "\u202f")):
        if not re.fullmatch(r"\d{1,3}(?:[ ,.'\u00a0\u202f]\d{3})+", whole):
            return None
        whole = re.sub(r"\D", "", whole)
    return f"{whole or '0'}.{part}" if mark else whole


def decimal_of(columns: Sequence[Sequence[str]]) -> Literal[".", ",", "unclear"] | None:
    """The decimal mark that cells show; ``unclear`` where it could part thousands, None where none has any mark.

    ``columns``: cells of each column that holds numbers. A mark before other than three digits, or after a lone zero, is the
    decimal mark; of two marks in one cell it is the last. A column that writes some numbers with three digits behind a point
    and others with no point, ``0`` or ``648``, may part its thousands by it: who writes decimals writes them everywhere.
    """
    comma = point = comma3 = point3 = mixed = 0
    for cells in columns:
        whole, before = 0, point3
        for text in cells:
            body = text.strip().lstrip("+-")
            body = re.match(r"[\d.,]*", body)[0]  # type: ignore[index]
            if not body:
                continue
            if "," in body and "." in body:
                if body.rindex(",") > body.rindex("."):
                    comma += 1
                else:
                    point += 1
                continue
            for mark in ",.":
                if mark not in body:
                    continue
                left, _, right = body.rpartition(mark)
                sure = body.count(mark) == 1 and (len(right) != 3 or left in ("", "0") or len(left) > 3 or left[0] == "0")
                if mark == ",":
                    comma, comma3 = comma + sure, comma3 + (not sure)
                else:
                    point, point3 = point + sure, point3 + (not sure)
            whole += body.isdigit()
        mixed += bool(whole and point3 > before)
    if comma and point:
        return "unclear"
    if comma or point:
        return "," if comma else "."
    if comma3:
        return "unclear"
    if point3:
        return "unclear" if mixed else "."
    return None
