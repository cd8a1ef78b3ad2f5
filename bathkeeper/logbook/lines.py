"""One line of the book and back: the content of an entry, the sum of the line before, and the line's own sum.

A line is compact JSON in UTF-8 without its newline::

    {"kind":"remark","schema":1,"id":"...","at":"...",...,"prev":"1f0c9a3e","sum":"86e2b1d0"}

``prev`` is next to last: the ``sum`` of the line before it in the file, empty on the first line. ``sum`` is last: the CRC-32
(as in zlib, 8 lower-case hexadecimal digits) of the bytes of the line from its first up to, but not including, ``,"sum"``.
The *content* of a line is the same JSON object without ``prev`` and ``sum``; its bytes are never rewritten.
"""

from __future__ import annotations

import math
import re
import zlib
from typing import Any, NamedTuple

import msgspec

_END = re.compile(rb',"prev":"([0-9a-f]{8}|)","sum":"([0-9a-f]{8})"\}\Z')
_END_LENGTH = len(',"prev":"00000000","sum":"00000000"}')
_SUM_LENGTH = len(',"sum":"00000000"}')
START = b'{"kind":"'
RESERVED = ("prev", "sum")


class LineError(ValueError):
    """A line that does not verify; the message completes "line 7 ..."."""


class Line(NamedTuple):
    """A line that verifies. ``number`` counts from 1, ``content`` is the entry's JSON without ``prev`` and ``sum``."""

    number: int
    id: str
    content: bytes
    prev: str
    sum: str

    def plain(self) -> dict[str, Any]:
        """The content as plain values, a fresh copy each time."""
        return plain(self.content)


def plain(content: bytes) -> dict[str, Any]:
    """Content as plain values.

    Raises:
        LineError: it is not a JSON object with text in ``id`` and ``kind``.
    """
    try:
        value = msgspec.json.decode(content)
    except (msgspec.DecodeError, UnicodeDecodeError, RecursionError) as problem:
        raise LineError(f"is not JSON in UTF-8 ({problem})") from None
    if not isinstance(value, dict) or not isinstance(value.get("id"), str) or not isinstance(value.get("kind"), str):
        raise LineError("is not an entry: it needs an `id` and a `kind`")
    return value


def encode_content(entry: dict[str, Any]) -> bytes:
    """Plain values as content: compact JSON, characters as they are.

    Raises:
        LineError: the values have no place in JSON (NaN, half a surrogate pair, thousands of digits, endless nesting).
    """
    _refuse_not_finite(entry, "entry")
    try:
        return msgspec.json.encode({key: value for key, value in entry.items() if key not in RESERVED})
    except (TypeError, ValueError, OverflowError, RecursionError, msgspec.MsgspecError) as problem:
        raise LineError(f"cannot be written as JSON in UTF-8 ({problem})") from None


def encode(content: bytes, prev: str) -> tuple[bytes, str]:
    """The line for a content after the line whose sum is ``prev`` ("" for the first), and its own sum."""
    body = content[:-1] + b',"prev":"' + prev.encode() + b'"'
    own = f"{zlib.crc32(body):08x}"
    return body + b',"sum":"' + own.encode() + b'"}', own


def decode(raw: bytes, number: int) -> Line:
    """Verifies a line and takes it apart.

    Raises:
        LineError: it does not verify; the message says what is wrong with it.
    """
    end = _END.search(raw, max(0, len(raw) - _END_LENGTH))
    if end is None:
        raise LineError(_what_ails(raw))
    computed = f"{zlib.crc32(raw[:-_SUM_LENGTH]):08x}"
    stated = end[2].decode()
    if computed != stated:
        raise LineError(f"was changed after it was written: it states the sum {stated}, its bytes give {computed}")
    content = raw[: end.start()] + b"}"
    return Line(number, plain(content)["id"], content, end[1].decode(), stated)


def stated_sum(raw: bytes) -> str | None:
    """The sum that a line states, verified or not; None when it states none."""
    end = _END.search(raw, max(0, len(raw) - _END_LENGTH))
    return end[2].decode() if end else None


def looks_like_ours(raw: bytes) -> bool:
    """Whether bytes that do not verify are still more likely a hurt line of a book than another kind of file."""
    if stated_sum(raw) is not None or not raw.strip(b"\0"):
        return True
    try:
        msgspec.json.decode(raw)
    except (msgspec.DecodeError, UnicodeDecodeError, RecursionError):
        return START.startswith(raw[: len(START)])
    return False  # whole JSON without a sum: rows to import, or somebody else's


def same_content(one: bytes, other: bytes) -> bool:
    """Whether two contents say the same; blanks and the order of names do not count."""
    if one == other:
        return True
    return _canonical(one) == _canonical(other)


def compact(value: Any) -> bytes:
    """Plain values as the book writes JSON: no blanks, characters as they are."""
    return msgspec.json.encode(value)


def canonical(value: Any) -> bytes:
    """Plain values as JSON with names in order, for comparing and hashing."""
    return msgspec.json.encode(value, order="deterministic")


def _refuse_not_finite(value: Any, where: str) -> None:
    # JSON has no NaN, and the encoder would put null in its place without a word.
    if isinstance(value, float):
        if not math.isfinite(value):
            raise LineError(f"holds {value} in `{where}`; only finite numbers can be kept")
    elif isinstance(value, dict):
        for key, item in value.items():
            _refuse_not_finite(item, str(key))
    elif isinstance(value, (list, tuple)):
        for item in value:
            _refuse_not_finite(item, where)


def _canonical(content: bytes) -> bytes:
    return canonical(msgspec.json.decode(content))


def _what_ails(raw: bytes) -> str:
    if not raw.strip():
        return "is empty"
    if raw.endswith(b"\r"):
        return "ends in a carriage return: a program has rewritten the line ends"
    if not raw.strip(b"\0"):
        return "is filled with zero bytes"
    if raw.startswith(b"\xef\xbb\xbf"):
        return "starts with a byte order mark: an editor has rewritten the file"
    return "is cut short or rewritten: it does not end in its `prev` and `sum`"
