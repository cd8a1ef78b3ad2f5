"""How long one append takes at 1 000 and at 100 000 entries, beside a bare write and fsync of the same bytes.

``python -m tests.bench.append`` prints medians and ratios. Nothing is asserted: a shared machine's milliseconds prove nothing.
"""

from __future__ import annotations

import os
import statistics
import tempfile
import time
from datetime import UTC, datetime, timedelta
from pathlib import Path

from bathkeeper.entries import Reading, Value
from bathkeeper.ids import new_id
from bathkeeper.logbook.book import Book

ROUNDS = 300
START = datetime(2026, 1, 1, tzinfo=UTC)


def reading(n: int) -> Reading:
    """An entry of ordinary size."""
    zinc = Value(of="zinc", value=31.5, unit="g/L", spread=0.5)
    ph = Value(of="ph", value=5.4, unit="pH")
    at = START + timedelta(minutes=n)
    return Reading(id=new_id(), at=at, tank="electrolyte", values=(zinc, ph), note="before the first load")


def append_ms(book: Book, n: int) -> float:
    """Median time of one acknowledged append, ms."""
    times = []
    for k in range(ROUNDS):
        entry = reading(n + k)
        began = time.perf_counter()
        book.append(entry)
        times.append(time.perf_counter() - began)
    return statistics.median(times) * 1e3


def bare_ms(place: Path, payload: bytes) -> float:
    """Median time to write the bytes to the end of a file and sync it, ms."""
    times = []
    fd = os.open(place, os.O_WRONLY | os.O_APPEND)
    try:
        for _ in range(ROUNDS):
            began = time.perf_counter()
            os.write(fd, payload)
            os.fsync(fd)
            times.append(time.perf_counter() - began)
    finally:
        os.close(fd)
    return statistics.median(times) * 1e3


def main() -> None:
    """Prints the table."""
    with tempfile.TemporaryDirectory() as folder:
        os.environ["BATHKEEPER_CACHE"] = str(Path(folder) / "cache")
        place = Path(folder) / "bench.logbook.jsonl"
        book = Book.open(place, create=True)
        first = None
        print(f"{'entries':>9}  {'append ms':>9}  {'bare ms':>8}  {'append/bare':>11}  {'to the first':>12}  {'open s':>7}")
        for size in (1_000, 100_000):
            there = len(book.entries())
            book.append_many([reading(n) for n in range(there, size)])
            took = append_ms(book, size)
            bare_file = Path(folder) / f"bare-{size}"
            data = place.read_bytes()
            bare_file.write_bytes(data)
            bare = bare_ms(bare_file, data[data.rindex(b"\n", 0, -1) + 1 :])
            first = first or took
            began = time.perf_counter()
            Book.open(place).entries()
            opened = time.perf_counter() - began
            print(f"{size:>9}  {took:>9.3f}  {bare:>8.3f}  {took / bare:>11.2f}  {took / first:>12.2f}  {opened:>7.2f}")


if __name__ == "__main__":
    main()
