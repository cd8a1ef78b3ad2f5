"""What a definition may start from, as TOML text: the keeper's own, the catalogue's, or the known fields."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

import msgspec

from bathkeeper.catalogue.as_toml import text as _text
from bathkeeper.catalogue.as_toml import toml as toml
from bathkeeper.catalogue.loader import Catalogue
from bathkeeper.catalogue.own import SHAPES
from bathkeeper.catalogue.typed import ADD_UP


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
