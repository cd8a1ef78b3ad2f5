"""A line and back; its sum against a CRC-32 worked out bit by bit."""

from __future__ import annotations

import json

import pytest
from hypothesis import given
from hypothesis import strategies as st

from bathkeeper.logbook import lines

CONTENT = '{"kind":"remark","schema":1,"id":"0123456789","at":"2026-05-01T08:00:00Z","text":"é [/] 5,4"}'.encode()


def crc32_bit_by_bit(data: bytes) -> str:
    """CRC-32 from its definition: reflected polynomial EDB88320, start and final inversion FFFFFFFF (ISO 3309)."""
    register = 0xFFFFFFFF
    for byte in data:
        register ^= byte
        for _ in range(8):
            register = (register >> 1) ^ (0xEDB88320 if register & 1 else 0)
    return f"{register ^ 0xFFFFFFFF:08x}"


def test_the_reference_itself_gives_the_published_check_value() -> None:
    assert crc32_bit_by_bit(b"123456789") == "cbf43926"  # check value of CRC-32/ISO-HDLC; memory


def test_sum_is_the_crc_of_the_bytes_before_it() -> None:
    raw, own = lines.encode(CONTENT, "1f0c9a3e")
    assert raw.endswith(b',"prev":"1f0c9a3e","sum":"' + own.encode() + b'"}')
    assert own == crc32_bit_by_bit(raw[: raw.index(b',"sum"')])
    assert list(json.loads(raw))[-2:] == ["prev", "sum"]


@given(st.dictionaries(st.text(st.characters(exclude_categories=["Cs"])), st.text(st.characters(exclude_categories=["Cs"]))))
def test_any_content_comes_back_to_the_byte(more: dict[str, str]) -> None:
    entry = {**more, "id": "0123456789", "kind": "remark"}
    content = lines.encode_content(entry)
    raw, own = lines.encode(content, "")
    line = lines.decode(raw, 3)
    assert (line.content, line.sum, line.prev, line.number) == (content, own, "", 3)
    assert line.plain() == {key: value for key, value in entry.items() if key not in ("prev", "sum")}
    assert b"\n" not in raw


@given(st.data())
def test_no_flipped_bit_goes_unnoticed(data: st.DataObject) -> None:
    raw = bytearray(lines.encode(CONTENT, "1f0c9a3e")[0])
    raw[data.draw(st.integers(0, len(raw) - 1))] ^= 1 << data.draw(st.integers(0, 7))
    with pytest.raises(lines.LineError):
        lines.decode(bytes(raw), 1)


@pytest.mark.parametrize(
    ("raw", "reason"),
    [
        (b"", "is empty"),
        (b"\0\0\0\0", "zero bytes"),
        (CONTENT, "does not end in its `prev` and `sum`"),
        (lines.encode(CONTENT, "")[0] + b"\r", "carriage return"),
        (b"\xef\xbb\xbf" + CONTENT, "byte order mark"),
        (lines.encode(CONTENT.replace(b"5,4", b"5.4"), "")[0].replace(b"5.4", b"6.4"), "was changed after it was written"),
        (lines.encode(b'{"kind":"remark"}', "")[0], "needs an `id`"),
        (lines.encode(b'["kind"]', "")[0], "not JSON"),
    ],
)
def test_the_reason_names_what_ails_the_line(raw: bytes, reason: str) -> None:
    with pytest.raises(lines.LineError, match=reason.replace("(", r"\(")):
        lines.decode(raw, 1)


def repr_short(value: object) -> str:
    return type(value).__name__


@pytest.mark.parametrize(
    "value", [float("nan"), float("inf"), {"deep": [1.0, float("-inf")]}, "\ud800", object(), 10**5000], ids=repr_short
)
def test_what_has_no_place_in_json_is_refused(value: object) -> None:
    with pytest.raises(lines.LineError):
        lines.encode_content({"kind": "remark", "id": "0123456789", "x": value})


def test_contents_are_compared_by_meaning_of_json() -> None:
    assert lines.same_content(b'{"a":1,"b":2}', b'{ "b": 2, "a": 1 }')
    assert not lines.same_content(b'{"a":1}', b'{"a":1.5}')
    assert not lines.same_content(b'{"a":1}', b'{"a":true}')
