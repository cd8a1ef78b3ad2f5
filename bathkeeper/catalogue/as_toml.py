"""Plain tables as TOML text, for a person to read and to change."""

from __future__ import annotations

import json
import re
import unicodedata
from collections.abc import Mapping
from typing import Any


def toml(table: Mapping[str, Any]) -> str:
    """A table as TOML; as JSON where it holds a null, which TOML cannot say."""
    if _has_null(table):
        return json.dumps(table, indent=2)
    return "\n".join(_lines(table, "")).strip()


def _lines(table: Mapping[str, Any], path: str) -> list[str]:
    plain = {k: v for k, v in table.items() if not isinstance(v, Mapping) and not _is_tables(v)}
    lines = [f"{_key(k)} = {_value(v)}" for k, v in plain.items()]
    for key, value in table.items():
        place = f"{path}.{_key(key)}" if path else _key(key)
        if isinstance(value, Mapping):
            inner = _lines(value, place)
            bare = value and all(isinstance(v, Mapping) for v in value.values())
            lines += ["", *([] if bare else [f"[{place}]"]), *inner] if value else ["", f"[{place}]"]
        elif _is_tables(value):
            for row in value:
                lines += ["", f"[[{place}]]", *_lines(row, place)]
    return [line for n, line in enumerate(lines) if line or (n and lines[n - 1])]


def _is_tables(value: object) -> bool:
    return isinstance(value, (list, tuple)) and bool(value) and all(isinstance(v, Mapping) for v in value)


def _key(key: str) -> str:
    return key if re.fullmatch(r"[A-Za-z0-9_-]+", key) else text(key)


def _value(value: object) -> str:
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, (int, float)):
        return repr(value)
    if isinstance(value, (list, tuple)):
        return "[" + ", ".join(_value(v) for v in value) + "]"
    if isinstance(value, Mapping):
        return "{" + ", ".join(f"{_key(k)} = {_value(v)}" for k, v in value.items()) + "}"
    return text(str(value))


def text(said: str) -> str:
    """A basic string, signs that draw nothing as escapes; JSON and TOML write those the same way, up to four digits."""
    quoted = json.dumps(said, ensure_ascii=False)
    return "".join(c if unicodedata.category(c)[0] != "C" else _escaped(c) for c in quoted)


def _escaped(char: str) -> str:
    return f"\\u{ord(char):04x}" if ord(char) <= 0xFFFF else f"\\U{ord(char):08x}"


def _has_null(value: object) -> bool:
    if isinstance(value, Mapping):
        return any(_has_null(v) for v in value.values())
    return value is None or (isinstance(value, (list, tuple)) and any(_has_null(v) for v in value))
