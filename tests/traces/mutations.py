"""Files of the corpus damaged at random, each with what it still comes to.

``python -m tests.traces.mutations 2000`` tries many.

The oracle. A damage that takes rows away leaves the charge of the rows that are left; one that only rewrites the file (columns
in another order, another delimiter, a few bytes changed) leaves the charge as it was. A reading passes when its charge is
that within :data:`TOLERANCE`, or when anything at all was said: a refusal, a question, a doubt. A wrong charge without a word
is a failure; so is any error but a refusal.

A few changed bytes may change single samples by less than can be told from a real change; eight of 240 samples, each by
half its size, are within the tolerance. Bytes of a header's unit are left alone: a file that says `mA` where it holds A lies in
a way that no reader can see without knowing the bench.
"""

from __future__ import annotations

import random
import sys
import traceback
from dataclasses import dataclass

from bathkeeper.traces.asking import Answers, TraceError
from bathkeeper.traces.reading import read_trace
from bathkeeper.traces.zones import zone_named
from tests.traces.making import Case, Sample, charge, every

TOLERANCE = 0.02
MOST_BYTES = 8
UNIT_SIGNS = (b"(", b"[", b"A;", b"m\0A", b"unit")
STRAY = (b"stirred", b'"', b";;;;", b",,,,", b"1,2,3", b"-----", b"9,9,9,9,9", b"\xff\xfe", b"0", b"Time")
UTC_ZONE = zone_named("UTC")


@dataclass(frozen=True)
class Damaged:
    """A damaged file, what was done to it, and the charge that it still tells (Ah)."""

    data: bytes
    how: str
    ah: float


def clean_cases() -> list[Case]:
    """Files that are read without a question, whose charge is known."""
    return [c for c in every() if c.ah is not None and not c.ask and "zone" not in c.answers]


def rows_of(case: Case) -> tuple[list[bytes], int] | None:
    """(lines, index of the first row) where each line from there on is one sample, in order."""
    lines = case.data.split(b"\n")
    if lines and not lines[-1]:
        lines.pop()
    first = len(lines) - len(case.samples or ())
    plain = case.samples is not None and 0 <= first <= 8 and not case.data.startswith(b"\xff\xfe") and b"\0" not in case.data
    return (lines, first) if plain and case.name not in ("notes.csv", "faults.csv", "newest.csv", "date_lines.csv") else None


def damaged(case: Case, rng: random.Random) -> Damaged | None:
    """The file with one kind of damage; None where that kind does not apply to it."""
    assert case.ah is not None
    kind = rng.choice(("bytes", "bytes", "bytes", "drop", "cut", "columns", "delimiter", "swap", "twice", "insert"))
    found = rows_of(case)
    if kind == "bytes":
        return _bytes(case, rng)
    if found is None:
        return None
    lines, first = found
    samples = list(case.samples or ())
    if kind == "drop":
        gone = set(rng.sample(range(len(samples)), rng.randint(1, 30)))
        kept = [line for k, line in enumerate(lines) if k - first not in gone]
        left = [s for k, s in enumerate(samples) if k not in gone]
        return Damaged(b"\n".join(kept) + b"\n", f"drop {len(gone)}", _left(case, left))
    if kind == "cut":
        return _cut(case, lines, first, samples, rng)
    if kind == "swap":
        k = rng.randrange(first, len(lines) - 1)
        lines[k], lines[k + 1] = lines[k + 1], lines[k]
        return Damaged(b"\n".join(lines) + b"\n", "swap", case.ah)
    if kind == "twice":
        k = rng.randrange(first, len(lines) - 1)
        more = lines[k : k + rng.randint(1, 60)]
        return Damaged(b"\n".join([*lines[: k + len(more)], *more, *lines[k + len(more) :]]) + b"\n", "twice", case.ah)
    if kind == "insert":
        k = rng.randrange(first, len(lines))
        lines.insert(k, rng.choice(STRAY))
        return Damaged(b"\n".join(lines) + b"\n", "insert", case.ah)
    return _rewritten(case, lines, first, kind, rng)


def _left(case: Case, samples: list[Sample]) -> float:
    return charge(samples, 3000.0 if case.name in ("late.csv", "two_days.csv") else 60.0)


def _bytes(case: Case, rng: random.Random) -> Damaged:
    assert case.ah is not None
    data = bytearray(case.data)
    for _ in range(rng.randint(1, MOST_BYTES)):
        place = rng.randrange(len(data))
        around = bytes(data[max(0, place - 3) : place + 4])
        if any(sign in around for sign in UNIT_SIGNS) or (place < 80 and data[place : place + 1] in b"mkuA"):
            continue
        data[place] = rng.choice((rng.randrange(256), rng.randrange(48, 58), rng.choice(b',;.\t"\n -:')))
    return Damaged(bytes(data), "bytes", case.ah)


def _cut(case: Case, lines: list[bytes], first: int, samples: list[Sample], rng: random.Random) -> Damaged:
    data = b"\n".join(lines) + b"\n"
    head = len(b"\n".join(lines[:first])) + 1 if first else 0
    place = rng.randrange(head + (len(data) - head) // 2, len(data))
    whole = data[:place].count(b"\n") - first
    left = samples[: max(0, whole)]
    return Damaged(data[:place], f"cut at {place}", _left(case, left))


def _rewritten(case: Case, lines: list[bytes], first: int, kind: str, rng: random.Random) -> Damaged | None:
    assert case.ah is not None
    old = next((d for d in (b"\t", b";", b"|", b",") if lines[-1].count(d)), None)
    if old is None or b'"' in case.data or case.name in ("levels.csv", "unit_before.csv", "unit_row.csv", "ragged.csv"):
        return None
    cells = [line.split(old) for line in lines]
    width = len(cells[-1])
    if any(len(c) != width for c in cells):
        return None
    if kind == "delimiter":
        new = rng.choice([d for d in (b"\t", b";", b"|", b",") if d != old])
        return Damaged(b"\n".join(new.join(c) for c in cells) + b"\n", f"delimiter {old!r} to {new!r}", case.ah)
    order = rng.sample(range(width), width)
    return Damaged(b"\n".join(old.join(c[j] for j in order) for c in cells) + b"\n", f"columns {order}", case.ah)


def verdict(case: Case, hurt: Damaged) -> str:
    """What is wrong with how it was read; empty where nothing is."""
    half = len(hurt.data) // 2
    try:
        got = read_trace(lambda: iter([hurt.data[:half], hurt.data[half:]]), Answers(zone=UTC_ZONE), file_name=case.name)
    except TraceError:
        return ""
    except Exception:
        return f"{case.name}, {hurt.how}: {traceback.format_exc()}"
    if got.questions or got.doubts or got.charge_ah is None:
        return ""
    if abs(got.charge_ah - hurt.ah) <= TOLERANCE * max(hurt.ah, case.ah or 0.0):
        return ""
    return f"{case.name}, {hurt.how}: {got.charge_ah} Ah without a word, right is {hurt.ah}"


def main() -> None:
    """Tries many, and keeps those that fail."""
    cases, failed, silent = clean_cases(), 0, 0
    for seed in range(int(sys.argv[1]) if len(sys.argv) > 1 else 1000):
        rng = random.Random(seed)
        case = rng.choice(cases)
        hurt = damaged(case, rng)
        if hurt is None:
            continue
        wrong = verdict(case, hurt)
        if wrong:
            failed += 1
            print(seed, wrong)
            with open(f"/tmp/mutation-{seed}.csv", "wb") as file:
                file.write(hurt.data)
        silent += 1
    print(f"{silent} tried, {failed} failed")


if __name__ == "__main__":
    main()
