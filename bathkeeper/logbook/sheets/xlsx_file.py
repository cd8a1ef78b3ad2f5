"""A workbook as a grid: values as the workbook last computed them, with what number formats add to them.

openpyxl reads both what stands in a cell (its formula) and what was shown (its value); a formula whose value was never stored
is named, not taken for an empty cell. Dates come as dates, error cells as trouble.
"""

from __future__ import annotations

import io
import re
import warnings
import zipfile
from collections.abc import Iterator
from datetime import date, datetime, time, timedelta
from typing import Any, Literal
from xml.etree import ElementTree

from bathkeeper.logbook.errors import BookError
from bathkeeper.logbook.sheets.grid import EMPTY, LONGEST_CELL, MOST_COLUMNS, MOST_ROWS, Cell, Grid, Line, grid_of

MOST_BYTES = 300_000_000  # unpacked; a sheet of 200 000 rows is far smaller
_MAIN = "{http://schemas.openxmlformats.org/spreadsheetml/2006/main}"
_LITERAL = re.compile(r'"([^"]*)"|\\(.)|_.|\*.|\[[^\]]*\]')
_SCALED = re.compile(r"[0#?],+(?![0#?])")


def xlsx_grid(data: bytes, name: str, sheet: str | None = None) -> Grid:
    """The grid of one sheet of a workbook: the one named, else the first that holds anything.

    Raises:
        BookError: no workbook that can be read, or no sheet of that name.
    """
    _sound(data, name)
    try:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")  # openpyxl warns of styles and extensions that it leaves out
            return _grid(data, name, sheet)
    except BookError:
        raise
    except Exception as problem:  # whatever a broken workbook makes the library raise
        raise BookError(
            "The workbook cannot be read",
            f"{name} is damaged or no workbook ({type(problem).__name__}). Open it in a spreadsheet program and save it as "
            ".xlsx or .csv.",
        ) from None


def _sound(data: bytes, name: str) -> None:
    try:
        with zipfile.ZipFile(io.BytesIO(data)) as pack:
            size = sum(part.file_size for part in pack.infolist())
            names = pack.namelist()
    except (zipfile.BadZipFile, ValueError, OSError):
        old = data.startswith(b"\xd0\xcf\x11\xe0")
        what = "is an older or encrypted workbook" if old else "is no workbook"
        raise BookError("Not an .xlsx file", f"{name} {what}. Save it as .xlsx without a password, or as .csv.") from None
    if not any(n.startswith("xl/") for n in names):
        raise BookError("Not an .xlsx file", f"{name} is a zip file of something else. Save the sheet as .xlsx or .csv.")
    if size > MOST_BYTES:
        raise BookError("The workbook is too large", f"{name} unpacks to {size // 1_000_000} MB. Save the one sheet as .csv.")


def _grid(data: bytes, name: str, sheet: str | None) -> Grid:
    from openpyxl import load_workbook  # a fifth of a second, and only workbooks need it

    shown = load_workbook(io.BytesIO(data), read_only=True, data_only=True, keep_links=False)
    written = load_workbook(io.BytesIO(data), read_only=True, data_only=False, keep_links=False)
    try:
        titles = [w.title for w in shown.worksheets]
        chosen = _chosen(titles, sheet, name)
        merged = _merged(data)
        found: Grid | None = None
        for title in chosen:
            lines = list(_lines(shown[title], written[title], name))
            found = grid_of(
                lines, name=title, sheets=tuple(titles), merged=merged.get(titles.index(title), ()), workbook=True,
                day_zero=_day_zero(shown),
            )  # fmt: skip
            if found.lines:
                break
        assert found is not None
        return found
    finally:
        shown.close()
        written.close()


def _day_zero(book: Any) -> Literal["1900", "1904"]:
    return "1904" if book.epoch.year == 1904 else "1900"


def _chosen(titles: list[str], sheet: str | None, name: str) -> list[str]:
    if not titles:
        raise BookError("No sheet", f"{name} holds no sheet with cells.")
    if sheet is None:
        return titles
    exact = [t for t in titles if t == sheet] or [t for t in titles if t.casefold().strip() == sheet.casefold().strip()]
    if not exact:
        raise BookError("No such sheet", f"{name} has no sheet `{sheet}`; there are {', '.join(titles)}.")
    return exact[:1]


def _lines(shown: Any, written: Any, name: str) -> Iterator[Line]:
    for sheet in (shown, written):
        sheet.reset_dimensions()  # what a file says of its own size is often wrong
    rows = zip(shown.iter_rows(max_col=MOST_COLUMNS), written.iter_rows(max_col=MOST_COLUMNS), strict=False)
    for number, (values, formulas) in enumerate(rows, start=1):
        if number > MOST_ROWS and any(c.value is not None for c in values):
            raise BookError("Too many rows", f"{name} has more than {MOST_ROWS} rows. Save them in several sheets.")
        if number > MOST_ROWS:
            continue
        sources = [*formulas, *([None] * (len(values) - len(formulas)))]
        yield Line(number, tuple(_cell(v, f) for v, f in zip(values, sources, strict=False)))


def _cell(shown: Any, written: Any) -> Cell:
    value = shown.value
    if value is None:
        if written is not None and getattr(written, "data_type", "") == "f":
            formula = str(getattr(written.value, "text", written.value))[:60]
            return Cell(f"holds the formula {formula}, whose value was never stored; open the file in a spreadsheet program "
                        "and save it", "trouble")  # fmt: skip
        return EMPTY
    if isinstance(value, bool):
        return Cell("yes" if value else "no")
    if shown.data_type == "e" or (isinstance(value, str) and re.fullmatch(r"#[A-Z/0!?]+[!?]?", value)):
        return Cell(f"holds the error {value}; mend its formula", "trouble")
    pattern = str(getattr(shown, "number_format", "") or "")
    if isinstance(value, (int, float)):
        return _number(float(value), pattern)
    if isinstance(value, datetime):
        if value.time() == time():  # programs write plain dates as midnight, whatever their format shows
            return Cell(value.date().isoformat(), "day")
        return Cell(value.isoformat(timespec="seconds"), "moment")
    if isinstance(value, date):
        return Cell(value.isoformat(), "day")
    if isinstance(value, time):
        return Cell(value.isoformat(timespec="seconds"), "clock")
    if isinstance(value, timedelta):
        seconds = round(value.total_seconds())
        return Cell(f"{seconds // 3600:02d}:{seconds // 60 % 60:02d}:{seconds % 60:02d}", "clock")
    text = str(value)
    if len(text) > LONGEST_CELL:
        return Cell(f"has {len(text)} signs; {LONGEST_CELL} can be read", "trouble")
    return Cell(text.strip())


def _number(value: float, pattern: str) -> Cell:
    """A number with the unit that its format shows: a percent sign, or a text in quotes behind the digits."""
    if value != value or value in (float("inf"), float("-inf")):
        return Cell("is not a finite number", "trouble")
    positive = pattern.split(";")[0]
    bare = _LITERAL.sub("", positive)
    if "%" in bare:
        return Cell(f"{value * 100:.15g}", "number", "%")
    if _SCALED.search(bare):
        return Cell(f"holds {value:.15g}, but its format shows it in thousands; give it a plain number format", "trouble")
    digits = re.search(r"[0#?]", bare)
    last = max((positive.rfind(c) for c in "0#?"), default=-1)
    behind = positive[last + 1 :] if digits else ""
    if "general" in bare.casefold():
        behind = re.split("general", positive, flags=re.IGNORECASE)[-1]
    unit = "".join(m[1] or m[2] or "" for m in re.finditer(r'"([^"]*)"|\\(.)', behind)).strip()
    return Cell(f"{value:.15g}", "number", unit)


def _merged(data: bytes) -> dict[int, tuple[tuple[int, int, int, int], ...]]:
    """Merged ranges by the place of their sheet. openpyxl does not tell them when it only reads."""
    found: dict[int, tuple[tuple[int, int, int, int], ...]] = {}
    try:
        with zipfile.ZipFile(io.BytesIO(data)) as pack:
            targets = {
                r.get("Id"): str(r.get("Target")) for r in ElementTree.fromstring(pack.read("xl/_rels/workbook.xml.rels"))
            }
            sheets = ElementTree.fromstring(pack.read("xl/workbook.xml")).iter(f"{_MAIN}sheet")
            for place, sheet in enumerate(sheets):
                ids = [v for k, v in sheet.attrib.items() if k.endswith("}id")]
                target = targets.get(ids[0] if ids else "", "").lstrip("/")
                path = target if target.startswith("xl/") else f"xl/{target}"
                if path in pack.namelist():
                    with pack.open(path) as part:
                        found[place] = tuple(_ranges(part))
    except (KeyError, ElementTree.ParseError, zipfile.BadZipFile):
        return {}
    return found


def _ranges(part: Any) -> Iterator[tuple[int, int, int, int]]:
    for _, element in ElementTree.iterparse(part, events=("end",)):
        if element.tag == f"{_MAIN}mergeCell":
            match = re.fullmatch(r"([A-Z]{1,3})([0-9]{1,7}):([A-Z]{1,3})([0-9]{1,7})", element.get("ref", ""))
            if match:
                yield int(match[2]), _place(match[1]), int(match[4]), _place(match[3])
        elif element.tag == f"{_MAIN}row":
            element.clear()  # the rows are read elsewhere; here they would only fill the memory


def _place(letters: str) -> int:
    number = 0
    for letter in letters:
        number = number * 26 + ord(letter) - 64
    return number - 1
