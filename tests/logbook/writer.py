"""A program that logs and acknowledges: ``python -m tests.logbook.writer BOOK WHO COUNT`` prints each id once it is logged."""

from __future__ import annotations

import os
import sys
from pathlib import Path

from bathkeeper.logbook.book import Book

from .helpers import remark


def main(place: Path, who: str, count: int) -> None:
    book = Book.open(place)
    for n in range(count):
        id = f"{who}-{n:06d}"
        # Lengths vary, so that a kill can fall at any place within a page.
        book.append(remark("x" * (37 * n % 900 + 1), n, id=id))
        os.write(1, f"{id}\n".encode())


if __name__ == "__main__":
    main(Path(sys.argv[1]), sys.argv[2], int(sys.argv[3]))
