"""A cell as a value that the quick form takes: one number with its unit. What could be ten times wrong is refused.

The decimal mark belongs to the sheet. Where it is not stated, ``1,500`` and ``1.500`` might part thousands and are refused with
both readings; where it is, the other mark parts thousands or is a mistake. Numbers of a workbook are numbers already.
"""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Iterable
from typing import Literal

from bathkeeper.logbook.sheets import Cell
from bathkeeper.refusals import shorten

Decimal = Literal["point", "comma"]
CLOCK_UNITS = {"h:mm": (60.0, 1.0), "hh:mm": (60.0, 1.0), "m:ss": (1.0, 1 / 60), "mm:ss": (1.0, 1 / 60)}
"""Units of a time column whose cells have a colon -> minutes of what stands before it and behind it."""

_SPACES = re.compile(r"[\s\u00a0\u2007\u2009\u202f]+")
_NUMBER = r"[+-]?(?:[0-9](?:[0-9.,'’ ]*[0-9])?[.,]?|[.,][0-9]+)(?:[eE][+-]?[0-9]{1,3}(?![0-9]))?"
_LEADING = re.compile(rf"(?P<number>{_NUMBER})\s*(?P<rest>.*)", re.DOTALL)
_FRACTION = re.compile(
    r"(?P<number>(?:[0-9]{1,5}[ -])?[0-9]{1,3}[/\u2044][0-9]{1,3}|[0-9]{0,5} ?[\u00bc-\u00be\u2150-\u215e])\s*(?P<rest>.*)"
)
_UNIT = re.compile(r"[A-Za-zµμ°º²³℃℉%/·.^\"'″′() 0-9-]{0,40}")
_PLUS_MINUS = re.compile(r"(.*?)\s*(?:±|\+/-|\+-)\s*(.+)")
_AMBIGUOUS = re.compile(r"[+-]?[1-9][0-9]{0,2}([.,])[0-9]{3}")
_DECIDES = re.compile(r"[+-]?(?:[0-9]*([.,])(?:[0-9]{1,2}|[0-9]{4,})|0?([.,])[0-9]+|[0-9]{4,}([.,])[0-9]+)")
_GROUPED = {
    "point": re.compile(r"[0-9]{1,3}(?:([ ,'’])[0-9]{3})(?:\1[0-9]{3})*(?:\.[0-9]+)?"),
    "comma": re.compile(r"[0-9]{1,3}(?:([ .'’])[0-9]{3})(?:\1[0-9]{3})*(?:,[0-9]+)?"),
}
_PLAIN = {"point": re.compile(r"[0-9]*\.?[0-9]+|[0-9]+\."), "comma": re.compile(r"[0-9]*,?[0-9]+|[0-9]+,")}
MARKS = {"point": ".", "comma": ","}


class CellError(ValueError):
    """A cell that cannot be read: what is wrong, and ``right``, what would be right."""

    def __init__(self, what: str, right: str = "") -> None:
        super().__init__(f"{what}. {right}" if right else what)
        self.what, self.right = what, right


def numeral(text: str, decimal: Decimal | None) -> str:
    """A number in text as one with a decimal point and nothing else, by the sheet's decimal mark.

    Raises:
        CellError: it is no number, or could be read in two ways.
    """
    plain = _SPACES.sub(" ", text).strip().replace("\u2212", "-")
    sign = "-" if plain.startswith("-") else ""
    body, _, power = re.sub(r"^[+-] ?", "", plain).partition("e" if "e" in plain else "E")
    if len(body) > 40 or (power and not re.fullmatch(r"[+-]?[0-9]{1,3}", power)):
        raise CellError(f"`{shorten(text)}` is not a number", "Write digits with one decimal mark.")
    ending = f"e{power}" if power else ""
    if decimal is None:
        if _AMBIGUOUS.fullmatch(body):
            whole = re.sub("[.,]", "", body)
            raise CellError(
                f"`{shorten(text)}` could be {_tidy(body.replace(',', '.'))} or {whole}",
                "Say which sign is the decimal mark of this sheet: point or comma.",
            )
        if re.fullmatch(r"[0-9]*[.,]?[0-9]+|[0-9]+[.,]", body):
            return f"{sign}{_pointed(body.replace(',', '.'))}{ending}"
        raise CellError(f"`{shorten(text)}` is not a number", "Write digits, or say which is the decimal mark of this sheet.")
    if _PLAIN[decimal].fullmatch(body):
        return f"{sign}{_pointed(body.replace(MARKS[decimal], '.'))}{ending}"
    if _GROUPED[decimal].fullmatch(body):
        whole, _, part = body.partition(MARKS[decimal])
        return f"{sign}{re.sub('[^0-9]', '', whole)}{'.' + part if part else ''}{ending}"
    other = "," if decimal == "point" else "."
    if other in body and re.fullmatch(r"[0-9]*[.,][0-9]+", body):
        has = "comma" if other == "," else "point"
        raise CellError(
            f"`{shorten(text)}` has a decimal {has}, and this sheet's decimal mark is the {decimal}",
            f"Write {shorten(body.replace(other, MARKS[decimal]))}, or state the other mark.",
        )
    raise CellError(f"`{shorten(text)}` is not a number", f"Write digits with one decimal {decimal}.")


def _pointed(body: str) -> str:
    whole, point, part = body.partition(".")
    return f"{whole or '0'}{point + part if part else ''}"


def _tidy(text: str) -> str:
    return text.rstrip("0").rstrip(".") if "." in text else text


def value_text(cell: Cell, unit: str, decimal: Decimal | None, *, band: bool = False) -> str:
    """The cell as ``number unit`` (with ``±spread``) for the quick form. ``unit`` is the column's, for a number without one;
    ``band``: two numbers with a hyphen are a strip read between two colours.

    Raises:
        CellError: no number, several, or something beside number and unit.
    """
    if cell.kind == "trouble":
        raise CellError(f"the cell {cell.text}")
    if cell.kind in ("day", "moment"):
        raise CellError(
            f"the cell holds the date {cell.text}, where a number is wanted",
            "The spreadsheet program may have taken a number for a date; type it anew as a number.",
        )
    if cell.kind == "clock":
        return _minutes_of(cell.text, unit)
    if cell.kind == "number":
        return f"{cell.text} {cell.unit or unit}".strip()
    if unit in CLOCK_UNITS and re.fullmatch(r"[0-9]{1,3}:[0-9]{2}(:[0-9]{2})?", cell.text):
        return _minutes_of(cell.text, unit)
    return _from_text(cell.text, unit, decimal, band)


def _minutes_of(clock: str, unit: str) -> str:
    parts = [int(p) for p in clock.split(":")]
    if unit not in CLOCK_UNITS:
        first, second = parts[0], parts[1]
        raise CellError(
            f"`{clock}` is a clock and could be {first} h {second} min or {first} min {second} s",
            "Write minutes as a number, or give the column the unit h:mm or m:ss.",
        )
    big, small = CLOCK_UNITS[unit]
    if unit in ("m:ss", "mm:ss") and len(parts) == 3 and parts[2] == 0:
        parts = parts[:2]  # a workbook takes 12:30 for hours and minutes and adds the seconds itself
    minutes = parts[0] * big + parts[1] * small if len(parts) == 2 else parts[0] * 60 + parts[1] + parts[2] / 60
    return f"{minutes:.12g} min"


def _from_text(text: str, unit: str, decimal: Decimal | None, band: bool) -> str:
    plain = _SPACES.sub(" ", text).strip().replace("\u2212", "-")
    if band:
        plain = re.sub(r"^pH\s*[:=]?\s*", "", plain, flags=re.IGNORECASE)
    if len(plain) > 120:
        raise CellError(f"`{shorten(text)}` is too long for a value", "Put notes into a column of their own.")
    match = _FRACTION.fullmatch(plain) or _LEADING.fullmatch(plain)
    if match is None:
        raise CellError(f"`{shorten(text)}` does not begin with a number", "Write a number, with its unit behind it or not.")
    fraction = match.re is _FRACTION
    first = match["number"].replace("\u2044", "/") if fraction else numeral(match["number"], decimal)
    rest = match["rest"].strip()
    if band and (two := re.fullmatch(rf"[-–]\s*({_NUMBER})", rest)):
        return f"{first}-{numeral(two[1], decimal)}"
    spread = ""
    if wide := _PLUS_MINUS.fullmatch(rest):
        rest = wide[1].strip()
        about = _LEADING.fullmatch(wide[2])
        if about is None or not _UNIT.fullmatch(about["rest"]):
            raise CellError(f"`{shorten(text)}` has no number behind its plus-minus sign", "Write for example 32±0.5.")
        spread = f"±{numeral(about['number'], decimal)}{about['rest']}"
        if not rest and about["rest"] and not about["rest"].startswith("%"):
            rest = about["rest"]
    if not _UNIT.fullmatch(rest) or re.match(r"[-–]\s*[0-9]|[.^]", rest) or re.search(r"[0-9]{2}|\s[0-9]", rest):
        raise CellError(f"`{shorten(text)}` is more than one number and its unit", "Write one number; notes go elsewhere.")
    return f"{first} {rest or unit}".strip() + spread


def decimal_marks(texts: Iterable[str]) -> tuple[Counter[str], list[str]]:
    """What texts of number columns tell of the decimal mark: how many can only be read with a point or a comma, and those
    that could be read in two ways."""
    found: Counter[str] = Counter()
    open_: list[str] = []
    for text in texts:
        match = _LEADING.match(_SPACES.sub(" ", text).strip())
        if match is None:
            continue
        body = re.sub("[ '’]", "", re.split("[eE]", match["number"])[0].lstrip("+-"))
        if _AMBIGUOUS.fullmatch(body):
            open_.append(text)
        elif decides := _DECIDES.fullmatch(body):
            found["point" if "." in (decides[1], decides[2], decides[3]) else "comma"] += 1
        elif "," in body and "." in body:
            found["point" if body.rfind(".") > body.rfind(",") else "comma"] += 1
    return found, open_
