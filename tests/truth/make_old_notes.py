"""Writes the sample workshop's old spreadsheet: ``python -m tests.truth.make_old_notes [FOLDER]``.

Four invented months before the book of Lantern Sluice Bench begins, as somebody keeps notes in a spreadsheet: two levels of
headings, a row of units, one row for a load with its reading and its top-up, a few slips. The same code gives the same cells;
``old-notes.mapping.toml`` says how the sheet is read.
"""

from __future__ import annotations

import csv
import io
import random
import sys
import zipfile
from datetime import date, datetime, timedelta
from pathlib import Path
from typing import Any

from openpyxl import Workbook

SHEET, TEXT, MAPPING = "old-notes.xlsx", "old-notes.csv", "old-notes.mapping.toml"
FIRST, LAST = date(2026, 1, 24), date(2026, 5, 22)
TITLE = "Lantern Sluice Bench, what went through the bath (kept by hand until the new book)"
OVER = ["", "", "", "load", "", "", "", "electrolyte", "", "", "put in", "", "", ""]
HEADS = [
    "Date",
    "Time",
    "What",
    "Parts",
    "Area",
    "Amps",
    "Minutes",
    "Zn",
    "Ni",
    "pH",
    "zinc chloride",
    "water",
    "brightener",
    "Notes",
]
UNITS = ["", "", "", "", "dm2", "A", "min", "g/L", "g/L", "", "g", "L", "mL", ""]
PARTS = ("gate latches", "cleats", "loom pins", "hinge plates", "shutter dogs", "garden hooks")
SLIPS = {21: ("Amps", "5-6"), 40: ("Zn", "about 30"), 58: ("pH", "54")}
"""Row of notes -> column and what stands there by mistake; these rows are named and stay out."""
MAPPING_TEXT = f"""# How {SHEET} and {TEXT} are read. Headings stand in rows 3 to 5, the first notes in row 6.
header_rows = [3, 4, 5]
first_row = 6
date = "Date"
time = "Time"
date_order = "dmy"
decimal = "point"
offset = "Z"
tank = "electrolyte"

[[entries]]
kind = "make_up"
only = [{{column = "What", is = ["new bath"]}}]
columns = [
  {{column = "electrolyte / Zn / g/L", as = "zinc", unit = "g/L"}},
  {{column = "electrolyte / Ni / g/L", as = "nickel", unit = "g/L"}},
]

[[entries]]
kind = "run"
only = [{{column = "What", is = ["plated"]}}]
columns = [
  {{column = "load / Parts", as = "description"}},
  {{column = "load / Area / dm2", as = "area", unit = "dm2"}},
  {{column = "load / Amps / A", as = "current", unit = "A"}},
  {{column = "load / Minutes / min", as = "minutes", unit = "min"}},
]

[[entries]]
kind = "reading"
only = [{{column = "What", is_not = ["new bath"]}}]
columns = [
  {{column = "electrolyte / Zn / g/L", as = "zinc", unit = "g/L"}},
  {{column = "electrolyte / Ni / g/L", as = "nickel", unit = "g/L"}},
  {{column = "electrolyte / pH", as = "pH"}},
]

[[entries]]
kind = "addition"
columns = [
  {{column = "put in / zinc chloride / g", as = "zinc chloride", unit = "g"}},
  {{column = "put in / water / L", as = "water", unit = "L"}},
  {{column = "put in / brightener / mL", as = "brightener", unit = "mL"}},
]

[[entries]]
kind = "remark"
columns = [{{column = "Notes", as = "text"}}]
"""


def rows() -> list[list[Any]]:
    """The rows of notes: dates as dates, numbers as numbers."""
    chance = random.Random(19)
    made: list[dict[str, Any]] = [
        {"Date": FIRST, "Time": "08:10", "What": "new bath", "Zn": 31.0, "Ni": 23.5, "Notes": "Filled fresh, forty litres."}
    ]
    day = FIRST + timedelta(days=2)
    while day <= LAST:
        for load in range(chance.choice((0, 1, 1, 2))):
            area = round(chance.uniform(1.8, 4.4), 1)
            row = {
                "Date": day,
                "Time": f"{9 + 3 * load + chance.randint(0, 2):02d}:{chance.choice((0, 15, 30, 45)):02d}",
                "What": "plated",
                "Parts": chance.choice(PARTS),
                "Area": area,
                "Amps": round(area * 1.9, 1),
                "Minutes": chance.choice((35, 40, 45, 50)),
            }
            if chance.random() < 0.25:
                row |= {"pH": round(chance.gauss(5.4, 0.1), 1)}
            if chance.random() < 0.3:
                row |= {"water": chance.choice((0.5, 1.0, 1.5))}
            made.append(row)
        if day.weekday() == 5:
            made.append(
                {
                    "Date": day,
                    "Time": "18:00",
                    "What": "measured",
                    "Zn": round(chance.gauss(31, 1), 1),
                    "Ni": round(chance.gauss(23, 0.8), 1),
                    "pH": round(chance.gauss(5.4, 0.1), 1),
                }
            )
            if chance.random() < 0.6:
                made.append(
                    {
                        "Date": day,
                        "Time": "18:30",
                        "What": "put in",
                        "zinc chloride": chance.choice((60, 80, 100)),
                        "brightener": chance.choice((10, 20)),
                        "Notes": chance.choice(("", "Stirred well.", "Clear.")),
                    }
                )
        day += timedelta(days=chance.choice((1, 2, 2, 3)) if day.weekday() != 4 else 1)
    for number, (column, text) in SLIPS.items():
        place = next(n for n in range(number, len(made)) if made[n].get(column))
        made[place][column] = text
    return [[row.get(name, "") for name in HEADS] for row in made]


def write(folder: Path) -> tuple[Path, Path, Path]:
    """Writes workbook, text and mapping into ``folder``, over what is there; returns their paths."""
    notes = rows()
    book = Workbook()
    sheet = book.active
    assert sheet is not None
    sheet.title = "Notes"
    for line in ([TITLE], [], OVER, HEADS, UNITS):
        sheet.append(line)
    for row in notes:
        sheet.append([datetime.combine(row[0], datetime.min.time()), *(cell if cell != "" else None for cell in row[1:])])
        sheet.cell(sheet.max_row, 1).number_format = "dd/mm/yyyy"
    for area in ("D3:G3", "H3:J3", "K3:M3"):
        sheet.merge_cells(area)
    book.properties.created = book.properties.modified = datetime(2026, 5, 22, 20)
    kept = io.BytesIO()
    book.save(kept)
    (folder / SHEET).write_bytes(_dated(kept.getvalue()))
    out = io.StringIO(newline="")
    writer = csv.writer(out)
    writer.writerows([[TITLE], [], _stretched(OVER), HEADS, UNITS])
    writer.writerows([f"{row[0]:%d/%m/%Y}", *row[1:]] for row in notes)
    (folder / TEXT).write_text(out.getvalue(), encoding="utf-8", newline="")
    (folder / MAPPING).write_text(MAPPING_TEXT, encoding="utf-8")
    return folder / SHEET, folder / TEXT, folder / MAPPING


def _stretched(over: list[str]) -> list[str]:
    """A program that writes text repeats nothing for merged cells; the last column has a heading of its own to end them."""
    return [*over[:-1], "Notes"]


def _dated(data: bytes) -> bytes:
    """The same workbook with fixed times inside, so that the same cells are the same bytes."""
    out = io.BytesIO()
    with zipfile.ZipFile(io.BytesIO(data)) as pack, zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as made:
        for name in pack.namelist():
            part = pack.read(name)
            if name == "docProps/core.xml":  # the library writes the moment of saving whatever it is told
                import re

                part = re.sub(rb"(<dcterms:modified[^>]*>)[^<]*", rb"\g<1>2026-05-22T20:00:00Z", part)
            made.writestr(zipfile.ZipInfo(name, (2026, 5, 22, 20, 0, 0)), part, zipfile.ZIP_DEFLATED)
    return out.getvalue()


def main() -> None:
    folder = Path(sys.argv[1]) if len(sys.argv) > 1 else Path(__file__).resolve().parents[2] / "sample_data"
    for path in write(folder):
        print(path)


if __name__ == "__main__":
    main()
