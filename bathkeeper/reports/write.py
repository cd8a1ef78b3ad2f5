"""A report in any of its forms, and into a file that was not there before."""

from __future__ import annotations

from pathlib import Path
from typing import Literal, get_args

from bathkeeper.logbook import disk
from bathkeeper.logbook.errors import BookError, from_os
from bathkeeper.refusals import near, shorten
from bathkeeper.reports.model import Report, ReportError

Format = Literal["text", "pdf", "csv", "zip", "json"]
FORMATS: tuple[str, ...] = get_args(Format)


def render(report: Report, format: str, *, table: str | None = None, width: int = 80, paper: str = "a4") -> str | bytes:
    """The report as text for a terminal (``text``), ``pdf``, one table as ``csv``, all tables as a ``zip`` of CSV, or ``json``.

    ``table`` is for csv, ``width`` for text, ``paper`` (a4 or letter) for pdf. CSV begins with the mark of UTF-8.

    Raises:
        ReportError: there is no such format, table or paper; says what there is.
    """
    if format == "pdf":
        from bathkeeper.reports.pdf import pdf

        return pdf(report, paper=_paper(paper))
    if format == "text":
        from bathkeeper.reports.terminal import terminal_text

        return terminal_text(report, width=width)
    if format in ("csv", "zip"):
        from bathkeeper.reports.csv_text import csv_text, csv_zip

        return csv_text(report, table, bom=True) if format == "csv" else csv_zip(report, bom=True)
    if format == "json":
        from bathkeeper.reports.json_text import json_text

        return json_text(report)
    raise ReportError(f"there is no format `{shorten(format)}`{near(format, FORMATS)}")


def format_of(path: Path) -> str:
    """The format that a file's name asks for: by .pdf, .csv, .zip, .json or .txt.

    Raises:
        ReportError: the name ends in something else.
    """
    ending = path.suffix.casefold().removeprefix(".")
    if ending == "txt":
        return "text"
    if ending in FORMATS and ending != "text":
        return ending
    raise ReportError(f"`{shorten(path.name)}` does not say what to make; end it in .pdf, .csv, .zip, .json or .txt")


def write_new(to: Path, content: str | bytes) -> Path:
    """Writes a rendered report to a file that does not exist yet, whole or not at all; returns where it is.

    Raises:
        BookError: the file exists already, or cannot be written; says which and what to do.
    """
    place = Path(to).expanduser()
    data = content.encode() if isinstance(content, str) else content
    try:
        disk.write_new(place, data)
    except FileExistsError:
        raise BookError("The file exists already", f"{place} is left alone. Name a file that does not exist yet.") from None
    except FileNotFoundError:
        raise BookError("No such folder", f"There is no folder {place.parent}. Make it first or name another.") from None
    except ValueError as problem:
        raise BookError("No name for a file", f"{shorten(str(place))}: {problem}.") from None
    except OSError as problem:
        raise from_os(problem, place, "writing") from None
    return place


def _paper(paper: str) -> Literal["a4", "letter"]:
    if paper == "a4":
        return "a4"
    if paper == "letter":
        return "letter"
    raise ReportError(f"there is no paper `{shorten(paper)}`; there are a4 and letter")
