"""Many cells at once: numbers and clocks of one shape read out of a block of bytes by array arithmetic.

Everything here is exact or declines: a cell that is not of a shape known to be right is left for the careful way, one by one.
"""

from __future__ import annotations

import re
from collections.abc import Callable
from dataclasses import dataclass
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from bathkeeper.traces.clocks import Clock

Bytes = NDArray[np.uint8]
Ints = NDArray[np.int64]
Floats = NDArray[np.float64]
Bools = NDArray[np.bool_]

MOST_DIGITS = 15  # up to here a mantissa and its power of ten are exact in a float, so their quotient is correctly rounded
WIDEST = 24
SHAPES_A_BLOCK = 16
_POWERS = 10.0 ** np.arange(MOST_DIGITS + 1)

_TIME = (
    r"(?P<h>\d{1,4}):(?P<m>\d{2})(?::(?P<s>\d{2})(?:[.,](?P<f>\d{1,9}))?)?(?: ?(?P<half>[AaPp][Mm]))?(?:Z|[+-]\d{2}:?\d{2})?"
)
_CLOCKS = tuple(
    re.compile(p)
    for p in (
        rf"(?P<Y>\d{{4}})[-/.](?P<M>\d{{1,2}})[-/.](?P<D>\d{{1,2}})(?:[T ]{_TIME})?",
        rf"(?P<a>\d{{1,2}})[-/.](?P<b>\d{{1,2}})[-/.](?P<c>\d{{4}}|\d{{2}})(?:[T ]{_TIME})?",
        _TIME,
        r"(?P<h>\d{2})(?P<m>\d{2})(?P<s>\d{2})(?:\.(?P<f>\d{1,6}))?",
    )
)


def trimmed(buf: Bytes, starts: Ints, ends: Ints) -> tuple[Ints, Ints]:
    """Cells without spaces at either side, and without one pair of quotes."""
    for _ in range(WIDEST):
        lead = (starts < ends) & (buf[np.minimum(starts, buf.size - 1)] == 32)
        tail = (starts < ends) & (buf[np.maximum(ends - 1, 0)] == 32)
        if not lead.any() and not tail.any():
            break
        starts, ends = starts + lead, np.maximum(ends - tail, starts + lead)
    quoted = (ends - starts >= 2) & (buf[np.minimum(starts, buf.size - 1)] == 34) & (buf[np.maximum(ends - 1, 0)] == 34)
    if quoted.any():
        starts, ends = starts + quoted, ends - quoted
    return starts, ends


def numbers(buf: Bytes, starts: Ints, ends: Ints, point: int) -> tuple[Floats, Bools]:
    """(values, whether each was read): plain decimal numbers with a sign and ``point`` as their mark, up to 15 digits."""
    widths = ends - starts
    known = (widths > 0) & (widths <= WIDEST)
    widest = int(widths[known].max(initial=0))
    mantissa = np.zeros(starts.size, np.int64)
    digits = np.zeros(starts.size, np.int16)
    after = np.zeros(starts.size, np.int16)
    seen = np.zeros(starts.size, bool)
    negative = np.zeros(starts.size, bool)
    for back in range(widest, 0, -1):
        place = ends - back
        inside = place >= starts
        char = buf[np.maximum(place, 0)]
        digit = char - np.uint8(48)
        is_digit = inside & (digit < 10)
        np.multiply(mantissa, 10, out=mantissa, where=is_digit)
        np.add(mantissa, digit, out=mantissa, where=is_digit, casting="unsafe")
        digits += is_digit
        after += is_digit & seen
        other = inside & ~is_digit
        if other.any():
            mark = other & (char == point)
            sign = other & (place == starts) & ((char == 43) | (char == 45))
            known &= ~(other & ~mark & ~sign) & ~(mark & seen)
            seen |= mark
            negative |= sign & (char == 45)
    known &= (digits > 0) & (digits <= MOST_DIGITS)
    values = mantissa / _POWERS[np.minimum(after, MOST_DIGITS)]
    return np.where(negative, -values, values), known


@dataclass(frozen=True)
class Cells:
    """Clocks read from a block: ``day`` (or the open groups of a date), ``seconds``, and which were read."""

    day: Ints
    seconds: Floats
    known: Bools


def clocks(
    buf: Bytes,
    starts: Ints,
    ends: Ints,
    read: Callable[[str], Clock | None],
    day_of: Callable[[tuple[int, int, int]], int | None],
) -> Cells:
    """Clocks of up to :data:`SHAPES_A_BLOCK` shapes. ``read`` reads the first cell of each shape carefully, and its shape is
    only used when it gives the same; ``day_of`` gives the day of three numbers as they stand in a date of open order.

    Clocks that tell their own offset are taken to UTC.
    """
    n = starts.size
    day, seconds, known = np.zeros(n, np.int64), np.zeros(n), np.zeros(n, bool)
    widths = ends - starts
    tried = np.zeros(n, bool)
    for _ in range(SHAPES_A_BLOCK):
        left = np.flatnonzero(~tried & ~known)
        if left.size == 0:
            break
        first = int(left[0])
        tried[first] = True
        width = int(widths[first])
        if not 0 < width <= 40:
            continue
        text = bytes(buf[starts[first] : ends[first]]).decode("ascii", "replace")
        match = next((m for p in _CLOCKS if (m := p.fullmatch(text)) is not None), None)
        careful = read(text)
        if match is None or careful is None:
            continue
        rows = left[widths[left] == width]
        plain = buf[starts[rows, None] + np.arange(width)]
        wild = np.zeros(width, bool)
        for name in match.groupdict():
            if name != "half" and match[name] is not None:
                wild[match.start(name) : match.end(name)] = True
        template = np.frombuffer(text.encode("ascii", "replace"), np.uint8)
        fits = (plain[:, ~wild] == template[~wild]).all(axis=1) & ((plain[:, wild] - np.uint8(48)) < 10).all(axis=1)
        rows, plain = rows[fits], plain[fits]
        if rows.size == 0 or rows[0] != first:
            continue
        told, total, good = _read(plain, match, day_of)
        if careful.offset_s is not None:
            total = total - careful.offset_s
        expected = careful.seconds - (careful.offset_s or 0.0)
        if not good[0] or abs(total[0] - expected) > 1e-9 * max(1.0, abs(expected)):
            continue
        if careful.day is not None and careful.day != told[0]:
            continue
        day[rows], seconds[rows] = told, total
        known[rows] = good
        tried[rows] = True
    return Cells(day, seconds, known)


def _read(
    plain: Bytes, match: re.Match[str], day_of: Callable[[tuple[int, int, int]], int | None]
) -> tuple[Ints, Floats, Bools]:
    """(day, seconds, whether it can be) of the rows of one shape."""
    given = {n: v for n, v in match.groupdict().items() if v is not None}

    def part(name: str) -> Ints:
        if name not in given:
            return np.zeros(len(plain), np.int64)
        span = plain[:, match.start(name) : match.end(name)]
        found = np.zeros(len(plain), np.int64)
        for k in range(span.shape[1]):
            found = found * 10 + (span[:, k] - np.uint8(48))
        return found

    h, m, s = part("h"), part("m"), part("s")
    good = (m < 60) & (s < 61)
    if "half" in given:
        good &= (h >= 1) & (h <= 12)
        h = h % 12 + (12 if given["half"][0] in "Pp" else 0)
    total: Floats = h * 3600.0 + m * 60.0 + s
    if "f" in given:
        total = total + part("f") / 10.0 ** len(given["f"])
    day = np.zeros(len(plain), np.int64)
    names = ("Y", "M", "D") if "Y" in given else ("a", "b", "c") if "a" in given else ()
    if names:
        good &= total <= 86_400
        x, y, z = (part(n) for n in names)
        code = (x * 10_000 + y) * 10_000 + z
        cuts = np.flatnonzero(np.diff(code)) + 1
        spans = np.concatenate(([0], cuts, [len(code)]))
        for a, b in pairwise(spans.tolist()):
            found = day_of((int(x[a]), int(y[a]), int(z[a])))
            if found is None:
                good[a:b] = False
            else:
                day[a:b] = found
    return day, total, good


def texts(buf: Bytes, starts: Ints, ends: Ints) -> tuple[list[str], Ints]:
    """(the different short words in cells, the number of each cell's word)."""
    width = int(min((ends - starts).max(initial=1), WIDEST)) or 1
    place = starts[:, None] + np.arange(width)
    plain = np.where(place < ends[:, None], buf[np.minimum(place, buf.size - 1)], 0).astype(np.uint8)
    words, number = np.unique(np.ascontiguousarray(plain).view(f"S{width}").ravel(), return_inverse=True)
    return [w.decode("utf-8", "replace") for w in words], number.astype(np.int64)
