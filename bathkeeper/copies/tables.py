"""A table as CSV or as JSON Lines. Texts that a spreadsheet program would run as a formula get an apostrophe in front.

In CSV an empty cell is a value that is not there, numbers have a decimal point and all their figures, moments are RFC 3339.
The apostrophe stands before texts that begin with ``=``, ``+``, ``-``, ``@`` or an apostrophe (behind spaces too); who reads
the file back takes one off. Control signs are spaces in CSV; JSON Lines hold every text as it is.
"""

from __future__ import annotations

import csv
import io
import unicodedata
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from datetime import datetime
from typing import Any, Literal

import msgspec

Format = Literal["csv", "jsonl"]
FORMATS: tuple[Format, ...] = ("csv", "jsonl")
FORMULA = ("=", "+", "-", "@", "'", "＝", "＋", "－", "＠")  # the wide ones are taken for the plain ones in some countries


@dataclass(frozen=True)
class Table:
    """``columns``: name -> what it is, with its unit, in the order of the table; a row has a value for each or none."""

    columns: Mapping[str, str]
    rows: Sequence[Mapping[str, Any]] = field(default_factory=list)
    about: str = ""

    def as_bytes(self, format: Format, *, mark: bool = False) -> bytes:
        """The file. ``mark``: CSV begins with a byte order mark, by which spreadsheet programs know UTF-8."""
        if format == "jsonl":
            encoder = msgspec.json.Encoder()
            given = ({c: row[c] for c in self.columns if row.get(c) is not None} for row in self.rows)
            return b"".join(encoder.encode(row) + b"\n" for row in given)
        out = io.StringIO(newline="")
        writer = csv.writer(out, lineterminator="\r\n")
        writer.writerow([cell(c) for c in self.columns])
        for row in self.rows:
            writer.writerow([cell(row.get(c)) for c in self.columns])
        return (b"\xef\xbb\xbf" if mark else b"") + out.getvalue().encode("utf-8", "replace")


def cell(value: object) -> str:
    """A value as the text of a CSV cell."""
    if value is None:
        return ""
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, float):
        return repr(value) if not value.is_integer() or abs(value) >= 1e15 else f"{value:.1f}"
    if isinstance(value, int):
        return str(value)
    if isinstance(value, datetime):
        return value.isoformat().replace("+00:00", "Z")
    if isinstance(value, (dict, list, tuple)):
        return harmless(msgspec.json.encode(value).decode())
    return harmless(str(value))


def harmless(text: str) -> str:
    """A text that no spreadsheet program runs, and that moves no cursor."""
    plain = "".join(
        c if c in "\n\t" or unicodedata.category(c) not in ("Cc", "Cs") else " " for c in text.replace("\r\n", "\n")
    )
    return f"'{plain}" if plain.lstrip().startswith(FORMULA) or plain.startswith("\t") else plain


def as_written(text: str) -> str:
    """The way back from :func:`harmless`."""
    return text.removeprefix("'")
