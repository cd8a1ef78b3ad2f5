"""From a file's bytes to whole lines in UTF-8: the encoding is found from its head, NUL bytes fall out, memory stays flat."""

from __future__ import annotations

import codecs
import re
from collections.abc import Iterable, Iterator
from dataclasses import dataclass

_GB2312 = re.compile(rb"(?:[\x00-\x7f]|[\xa1-\xa9\xb0-\xf7][\xa1-\xfe])*[\xa1-\xf7]?", re.S)
LONGEST_LINE = 1 << 20
"""A line longer than this is no row of a log; it is cut into pieces, which are then passed over."""


@dataclass(frozen=True)
class Encoding:
    """``name`` as the codecs module knows it; ``skip``: bytes of a byte order mark; ``cr_only``: lines end in CR alone."""

    name: str
    skip: int = 0
    cr_only: bool = False

    @property
    def title(self) -> str:
        """For a person."""
        return {"utf-8": "UTF-8", "latin-1": "Latin-1", "gbk": "GBK"}.get(self.name, self.name.upper())


_NO_TEXT = {
    b"PK\x03\x04": "a workbook or an archive; open it and save its sheet as CSV",
    b"\xd0\xcf\x11\xe0": "a workbook of the old kind; open it and save its sheet as CSV",
    b"\x89PNG": "a picture", b"\xff\xd8\xff": "a picture", b"GIF8": "a picture", b"%PDF": "a PDF",
    b"\x1f\x8b": "compressed; unpack it first",
}  # fmt: skip


def what_else(head: bytes) -> str | None:
    """What a file that begins like this is, where it is no text; None where it may be."""
    if not head.strip(b"\0 \r\n\t"):
        return "empty"
    return next((what for sign, what in _NO_TEXT.items() if head.startswith(sign)), None)


def find_encoding(head: bytes) -> Encoding:
    """The encoding of a file that begins like this; what is neither UTF-16, UTF-8 nor GBK is read as Latin-1."""
    name, skip = _named(head)
    text = head[skip:].decode(name, "replace")
    return Encoding(name, skip, "\r" in text.rstrip("\r") and "\n" not in text)


def _named(head: bytes) -> tuple[str, int]:
    if head.startswith(codecs.BOM_UTF8):
        return "utf-8", 3
    if head.startswith(codecs.BOM_UTF16_LE):
        return "utf-16-le", 2
    if head.startswith(codecs.BOM_UTF16_BE):
        return "utf-16-be", 2
    sample = head[:4096]
    if len(sample) >= 8 and sample.count(0) > len(sample) * 0.3:
        # letters and digits have their zero byte second in little endian, first in big endian
        return ("utf-16-le" if sample[1::2].count(0) > sample[0::2].count(0) else "utf-16-be"), 0
    for cut in range(4):  # the head may end within a character
        try:
            head[: len(head) - cut].decode("utf-8")
        except UnicodeDecodeError:
            continue
        return "utf-8", 0
    return ("gbk" if _GB2312.fullmatch(head) else "latin-1"), 0


def blocks(chunks: Iterable[bytes], encoding: Encoding, size: int = 1 << 20) -> Iterator[bytes]:
    """Blocks of whole lines in UTF-8, about ``size`` bytes each, ended by LF but for the last one of the file.

    Never holds more than a chunk and a line.
    """
    rest = bytearray()
    for piece in _in_utf8(chunks, encoding):
        rest += piece
        if len(rest) < size:
            continue
        cut = rest.rfind(b"\n") + 1
        if cut == 0:
            if len(rest) < max(size, LONGEST_LINE):
                continue
            cut = len(rest)
            rest += b"\n"
            cut += 1
        yield bytes(rest[:cut])
        del rest[:cut]
    if rest:
        yield bytes(rest)


def _in_utf8(chunks: Iterable[bytes], encoding: Encoding) -> Iterator[bytes]:
    skip = encoding.skip
    decoder = None if encoding.name == "utf-8" else codecs.getincrementaldecoder(encoding.name)("replace")
    for raw in chunks:
        chunk, skip = raw[skip:], max(0, skip - len(raw))
        if decoder is not None:
            chunk = decoder.decode(chunk).encode("utf-8", "replace")
        if b"\0" in chunk:
            chunk = chunk.replace(b"\0", b"")
        if encoding.cr_only:
            chunk = chunk.replace(b"\r", b"\n")
        if chunk:
            yield chunk
    if decoder is not None and (last := decoder.decode(b"", True)):
        yield last.encode("utf-8", "replace")
