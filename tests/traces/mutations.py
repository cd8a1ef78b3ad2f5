"""Files of the corpus damaged at random, read with the answers of the whole ones, each with what it still comes to.

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

from bathkeeper.traces.asking import TraceError
from bathkeeper.traces.reading import read_trace
from tests.traces.making import Case, Sample, answers, charge, every

TOLERANCE = 0.02
MOST_BYTES = 8
UNIT_SIGNS = (b"(", b"[", b"A;", b"m\0A", b"unit")
STRAY = (b"stirred", b'"', b";;;;", b",,,,", b"1,2,3", b"-----", b"9,9,9,9,9", b"\xff\xfe", b"0", b"Time")


@dataclass(frozen=True)
class Damaged:
    """A damaged file, what was done to it, and the charge that it still tells (Ah); ``or_ah``: what is as right."""

    data: bytes
    how: str
    ah: float
    or_ah: float | None = None


def told_cases() -> list[Case]:
    """Files whose charge is known, once what they leave open is answered."""
    return [c for c in every() if c.ah is not None]


def rows_of(case: Case) -> tuple[list[bytes], int] | None:
    """(lines, index of the first row) where each line from there on is one sample, in order."""
    lines = case.data.split(b"\n")
    if lines and not lines[-1]:
        lines.pop()
    first = len(lines) - len(case.samples or ())
    told = bool(case.samples) and any(48 <= c < 58 for c in lines[-1])
    plain = told and 0 <= first <= 8 and not case.data.startswith(b"\xff\xfe") and b"\0" not in case.data
    return (lines, first) if plain and case.name not in ("notes.csv", "faults.csv", "newest.csv", "date_lines.csv") else None


def damaged(case: Case, rng: random.Random) -> Damaged | None:
    """The file with one kind of damage; None where that kind does not apply to it."""
    assert case.ah is not None
    kind = rng.choice(
        ("bytes", "bytes", "bytes", "drop", "cut", "columns", "delimiter", "swap", "twice", "insert", "marks", "joined")
    )
    found = rows_of(case)
    if kind == "bytes":
        return _bytes(case, rng)
    if kind == "marks":
        old, new = rng.choice([(b",", b";"), (b";", b","), (b";", b"\t"), (b"\t", b";"), (b".", b",")])
        return Damaged(case.data.replace(old, new), f"every {old!r} to {new!r}", case.ah)
    if kind == "joined":  # of two logs of one load the fuller one is as right
        other = rng.choice(told_cases())
        return Damaged(case.data + other.data, f"{other.name} behind it", case.ah, other.ah)
    if found is None:
        return None
    lines, first = found
    samples = list(case.samples or ())
    if kind == "drop":
        gone = set(rng.sample(range(len(samples)), rng.randint(1, min(30, len(samples) // 2))))
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
    if kind == "columns" and {"columns", "only"} & case.answers.keys():
        return None  # the answer names a column: a person would name another one of this file
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
        got = read_trace(lambda: iter([hurt.data[:half], hurt.data[half:]]), answers(case.answers), file_name=case.name)
    except TraceError:
        return ""
    except Exception:
        return f"{case.name}, {hurt.how}: {traceback.format_exc()}"
    if got.questions or got.doubts or got.charge_ah is None:
        return ""
    right = [ah for ah in (hurt.ah, hurt.or_ah) if ah is not None]
    if any(abs(got.charge_ah - ah) <= TOLERANCE * max(ah, case.ah or 0.0) for ah in right):
        return ""
    return f"{case.name}, {hurt.how}: {got.charge_ah} Ah without a word, right is {hurt.ah}"


def main() -> None:
    """Tries many, and keeps those that fail."""
    cases, failed, silent = told_cases(), 0, 0
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
