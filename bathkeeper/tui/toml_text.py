"""Plain tables as TOML text, and what a definition may start from: the keeper's own, the catalogue's, or the known fields."""

from __future__ import annotations

import json
import re
import unicodedata
from collections.abc import Mapping
from typing import Any

import msgspec

from bathkeeper.catalogue.loader import Catalogue
from bathkeeper.catalogue.own import SHAPES
from bathkeeper.catalogue.typed import ADD_UP


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
    return key if re.fullmatch(r"[A-Za-z0-9_-]+", key) else _text(key)


def _value(value: object) -> str:
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, (int, float)):
        return repr(value)
    if isinstance(value, (list, tuple)):
        return "[" + ", ".join(_value(v) for v in value) + "]"
    if isinstance(value, Mapping):
        return "{" + ", ".join(f"{_key(k)} = {_value(v)}" for k, v in value.items()) + "}"
    return _text(str(value))


def _text(text: str) -> str:
    """A basic string, signs that draw nothing as escapes; JSON and TOML write those the same way, up to four digits."""
    said = json.dumps(text, ensure_ascii=False)
    return "".join(c if unicodedata.category(c)[0] != "C" else _escaped(c) for c in said)


def _escaped(char: str) -> str:
    return f"\\u{ord(char):04x}" if ord(char) <= 0xFFFF else f"\\U{ord(char):08x}"


def _has_null(value: object) -> bool:
    if isinstance(value, Mapping):
        return any(_has_null(v) for v in value.values())
    return value is None or (isinstance(value, (list, tuple)) and any(_has_null(v) for v in value))


def starting_point(catalogue: Catalogue, of: str, name: str) -> str:
    """A body to start from, as TOML."""
    own = catalogue.own.get(of, {}).get(name)
    if own is not None:
        return f"# your own, as it holds now\n{toml(own)}"
    shipped = catalogue.shipped or catalogue
    shelf: Mapping[str, Any] = {"recipe": shipped.recipes, "reagent": shipped.reagents, "method": shipped.methods}.get(of, {})
    if name in shelf:
        plain = msgspec.to_builtins(shelf[name])
        values = {k: v for k, v in plain.items() if v not in (None, "", [], {}, ()) and k not in ("name", *ADD_UP)}
        head = f"# The catalogue's. Leave out what stays as it is.\nbased_on = {_text(name)}\n\n"
        return head + toml(_without_null(values))
    if of in SHAPES:
        return "\n".join(["# fields that it may have", *(_field_line(f) for f in msgspec.structs.fields(SHAPES[of]))])
    known = ", ".join(list(shelf)[:40])
    return f"# Nothing in the catalogue has this name.\n# To start from one: based_on = \"…\"\n# There are: {known}"


def _field_line(info: msgspec.structs.FieldInfo) -> str:
    kind = str(info.type)
    words = {"bool": "true", "dict": "[{ … }]", "float": "1.0"}
    example = next((text for word, text in words.items() if word in kind), '"…"')
    needed = "needed" if info.required else "may be left out"
    return f"# {info.encode_name} = {example}  ({needed})"


def _without_null(value: Any) -> Any:
    if isinstance(value, Mapping):
        return {k: _without_null(v) for k, v in value.items() if v is not None}
    return [_without_null(v) for v in value] if isinstance(value, (list, tuple)) else value
