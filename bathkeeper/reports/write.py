"""A report in any of its forms, and into a file that was not there before."""

from __future__ import annotations

import errno
import os
from pathlib import Path
from typing import Literal, get_args

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
        ReportError: the file exists already, or cannot be written; says which and what to do.
    """
    place = Path(to).expanduser()
    data = content.encode() if isinstance(content, str) else content
    try:
        handle = os.open(place, os.O_WRONLY | os.O_CREAT | os.O_EXCL | getattr(os, "O_BINARY", 0), 0o666)
    except FileExistsError:
        raise ReportError(f"{place} exists already and is left alone; name a file that does not exist yet") from None
    except (OSError, ValueError) as problem:
        raise ReportError(f"{place} cannot be written: {_why(problem)}") from None
    try:
        with os.fdopen(handle, "wb") as file:
            file.write(data)
            file.flush()
            os.fsync(file.fileno())
    except OSError as problem:
        place.unlink(missing_ok=True)
        raise ReportError(f"{place} cannot be written: {_why(problem)} Nothing of it was kept") from None
    return place


def _paper(paper: str) -> Literal["a4", "letter"]:
    if paper == "a4":
        return "a4"
    if paper == "letter":
        return "letter"
    raise ReportError(f"there is no paper `{shorten(paper)}`; there are a4 and letter")


def _why(problem: OSError | ValueError) -> str:
    number = getattr(problem, "errno", None)
    if number == errno.ENOENT:
        return "its folder does not exist; make it first or name another."
    if number in (errno.ENOSPC, errno.EFBIG):
        return "the disk is full; free some space and try again."
    if number in (errno.EACCES, errno.EPERM, errno.EROFS):
        return "writing is not allowed there; name a place of your own."
    return f"{getattr(problem, 'strerror', None) or problem}."
