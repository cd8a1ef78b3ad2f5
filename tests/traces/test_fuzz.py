"""The corpus mutated: never a traceback, and never a number that is wrong in silence.

A mutated file has a right answer only where what was done to it is known: lines that were dropped leave the exact sum over
those that are left. Elsewhere the file may rightly be read as it now stands; then a charge that is far from the first one
has to come with a question or a doubt. ``python -m tests.traces.test_fuzz 200`` does as many rounds as told over all files.
"""

from __future__ import annotations

import random
import sys
from collections.abc import Callable

import pytest

from bathkeeper.traces.asking import TraceError
from bathkeeper.traces.reading import TraceReading, read_trace
from tests.traces.making import Case, charge, every
from tests.traces.test_corpus import answers

CASES = [c for c in every() if c.ah]
FAR = 0.03  # one flipped digit of 240 samples moves the charge by less than this
ROUNDS = 12


def read(case: Case, data: bytes) -> TraceReading | None:
    """The mutated file with the answers of the first; None where it is refused in words."""
    try:
        return read_trace(lambda: iter([data]), answers(case.answers), file_name=case.name)
    except TraceError as problem:
        assert len(str(problem)) > 10 and "Traceback" not in str(problem)
        return None


def quiet(reading: TraceReading | None) -> float | None:
    """The charge that would be booked without a word; None where something is asked or doubted, or nothing is booked."""
    if reading is None or reading.questions or reading.doubts:
        return None
    return reading.charge_ah


def flipped(data: bytes, rng: random.Random) -> bytes:
    made = bytearray(data)
    for _ in range(rng.choice([1, 1, 2, 5])):
        made[rng.randrange(len(made))] = rng.choice(b"0123456789,.;\t -+eE\x00\xff\n\"A")
    return bytes(made)


def truncated(data: bytes, rng: random.Random) -> bytes:
    return data[: rng.randrange(1, len(data))]


def line_dropped(data: bytes, rng: random.Random) -> bytes:
    lines = data.split(b"\n")
    del lines[rng.randrange(len(lines))]
    return b"\n".join(lines)


def lines_swapped(data: bytes, rng: random.Random) -> bytes:
    lines = data.split(b"\n")
    a, b = rng.randrange(len(lines)), rng.randrange(len(lines))
    lines[a], lines[b] = lines[b], lines[a]
    return b"\n".join(lines)


def line_doubled(data: bytes, rng: random.Random) -> bytes:
    lines = data.split(b"\n")
    n = rng.randrange(len(lines))
    return b"\n".join([*lines[:n], lines[n], *lines[n:]])


def columns_swapped(data: bytes, rng: random.Random) -> bytes:
    if b'"' in data:
        return data  # a sign inside quotes parts no columns: swapped there, it would write a log that truly says something else
    for sign in (b";", b"\t", b","):
        lines = data.split(b"\n")
        width = max(line.count(sign) for line in lines) + 1
        if width > 2:
            a, b = rng.sample(range(width), 2)
            made = []
            for line in lines:
                cells = line.split(sign)
                if len(cells) > max(a, b):
                    cells[a], cells[b] = cells[b], cells[a]
                made.append(sign.join(cells))
            return b"\n".join(made)
    return data


def delimiters_swapped(data: bytes, rng: random.Random) -> bytes:
    old, new = rng.choice([(b",", b";"), (b";", b","), (b";", b"\t"), (b"\t", b";"), (b".", b",")])
    return data.replace(old, new)


def joined(data: bytes, rng: random.Random) -> bytes:
    """Another file of the corpus behind it."""
    return data + rng.choice(CASES).data


MUTATIONS: list[Callable[[bytes, random.Random], bytes]] = [
    flipped, truncated, line_dropped, lines_swapped, line_doubled, columns_swapped, delimiters_swapped, joined,
]  # fmt: skip


@pytest.mark.parametrize("case", CASES, ids=lambda c: c.name)
def test_a_mutated_log_is_right_or_asked_about(case: Case) -> None:
    mutated(case, ROUNDS)


def mutated(case: Case, rounds: int) -> None:
    """So many mutations of one file, each held against what it may come to."""
    assert case.ah is not None
    rng = random.Random(case.name)
    for number in range(rounds):
        mutation = MUTATIONS[number % len(MUTATIONS)]
        if mutation is columns_swapped and "columns" in case.answers:
            continue  # the answer names a column: a person would name another one of this file
        data = mutation(case.data, rng)
        booked = quiet(read(case, data))
        if booked is None or mutation is truncated:  # a shorter log is a shorter log: its charge may be any part of the whole
            assert booked is None or booked <= case.ah * (1 + FAR) + 0.02
            continue
        right = [case.ah]
        if mutation is joined:  # of two logs of one load the fuller one is as right
            right += [c.ah for c in CASES if c.ah is not None and data.endswith(c.data)]
        assert any(booked == pytest.approx(ah, rel=FAR, abs=0.02) for ah in right), (mutation.__name__, number, booked, right)


def body_of(case: Case) -> list[int]:
    """The lines that are the samples in their order, where they stand one a line at the end; else nothing."""
    lines = case.data.split(b"\n")
    body = [i for i, line in enumerate(lines) if line.strip()][-len(case.samples or ()) :]
    for i, (_, amps) in zip(body, case.samples or (), strict=False):
        text = f"{amps:.2f}".encode()
        if text not in lines[i] and text.replace(b".", b",") not in lines[i]:
            return []
    return body if len(body) == len(case.samples or ()) else []


@pytest.mark.parametrize("case", [c for c in CASES if c.samples and body_of(c)], ids=lambda c: c.name)
def test_with_lines_dropped_the_rest_is_summed_exactly(case: Case) -> None:
    assert case.samples is not None
    lines, body = case.data.split(b"\n"), body_of(case)
    rng = random.Random(case.name)
    for _ in range(4):
        gone = set(rng.sample(range(1, len(case.samples) - 1), 3))
        kept = [s for n, s in enumerate(case.samples) if n not in gone]
        data = b"\n".join(line for i, line in enumerate(lines) if i not in {body[n] for n in gone})
        reading = read(case, data)
        if reading is not None and not reading.questions and reading.charge_ah is not None:
            assert reading.charge_ah == pytest.approx(charge(kept, reading.gap_bound_s), rel=1e-6)


if __name__ == "__main__":
    for one in CASES:
        mutated(one, int(sys.argv[1]) if len(sys.argv) > 1 else 200)
    print(f"{len(CASES)} files: never a traceback, never wrong in silence")
