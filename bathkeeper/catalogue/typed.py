"""Plain tables (from TOML or a keeper's definition) turned into catalogue structs, with errors that name place and field."""

from __future__ import annotations

import difflib
import math
import types
from collections.abc import Mapping
from functools import cache
from typing import Annotated, Any, Literal, TypeVar, Union, get_args, get_origin

import msgspec

from bathkeeper.catalogue.schema import Sourced

T = TypeVar("T", bound=msgspec.Struct)


class CatalogueError(ValueError):
    """Something in the catalogue or in a keeper's own definition that cannot be used: where, what, and what would be right."""


def to_struct(raw: object, kind: type[T], where: str) -> T:
    """A table as a struct of ``kind``.

    Args:
        where: how to name the table in an error: a file and table, or a definition.

    Raises:
        CatalogueError: a field is unknown, missing, of the wrong type or impossible; names ``where`` and the field.
    """
    try:
        made = msgspec.convert(raw, kind, strict=True)
    except (msgspec.ValidationError, ValueError) as problem:
        field, what = _culprit(raw, kind) or ("", str(problem))
        raise CatalogueError(f"{where}{', ' if field else ''}{field}: {what}") from None
    not_finite = _not_finite(raw)
    if not_finite:
        raise CatalogueError(f"{where}, {not_finite}: only finite numbers can be used")
    return made


def with_status(raw: object, kind: Any) -> Any:
    """The table with ``status = "practice"`` and ``source = "keeper's own"`` wherever numbers stand without a status."""
    struct, container = _shape(kind)
    if struct is None:
        return raw
    if container == "dict" and isinstance(raw, Mapping):
        return {k: with_status(v, struct) for k, v in raw.items()}
    if container == "list" and isinstance(raw, (list, tuple)):
        return [with_status(v, struct) for v in raw]
    if container or not isinstance(raw, Mapping):
        return raw
    types_ = _field_types(struct)
    made = {k: with_status(v, types_[k]) if k in types_ else v for k, v in raw.items()}
    if issubclass(struct, Sourced) and "status" not in made:
        made["status"] = "practice"
        made.setdefault("source", "keeper's own")
    return made


ADD_UP = ("cautions", "must_not_meet")
"""Lists that only grow: a hazard does not go away by being left out."""


def merged(base: Mapping[str, Any], changes: Mapping[str, Any], kind: Any, keeper: bool = True) -> dict[str, Any]:
    """``base`` with ``changes`` laid over it, table by table; a null takes something out.

    Lists of named tables merge by name, cautions and what must not meet add up, other lists are replaced. A table whose numbers
    change no longer rests on the old source: it becomes the ``keeper``'s own, or else has to state its status anew.
    """
    struct, container = _shape(kind)
    types_ = _field_types(struct) if struct is not None and not container else {}
    made = dict(base)
    for key, value in changes.items():
        inner = struct if container == "dict" else types_.get(key)
        if value is None:
            made.pop(key, None)
        elif key in ADD_UP and isinstance(value, (list, tuple)):
            made[key] = [*_listed(made.get(key)), *value]
        elif isinstance(value, Mapping) and isinstance(made.get(key), Mapping):
            made[key] = merged(made[key], value, inner, keeper)
        elif _named(value) and (key not in made or _named(made[key])):
            named = {v["name"]: v for v in _listed(made.get(key))}
            for v in value:
                named[v["name"]] = merged(named[v["name"]], v, _shape(inner)[0], keeper) if v["name"] in named else dict(v)
            made[key] = list(named.values())
        else:
            made[key] = value
    words = {"title", "about", "treatment", "source", "status", "aliases", "cautions"}
    numbers_change = any(k not in words and v is not None for k, v in changes.items())
    if struct is not None and not container and issubclass(struct, Sourced) and base and numbers_change:
        if "status" not in changes:
            made.pop("status", None)
            if keeper:
                made.update(status="practice", source=changes.get("source", "keeper's own"))
        if "source" not in changes and "status" in changes:
            made.pop("source", None)
    return made


def _listed(value: object) -> list[Any]:
    return list(value) if isinstance(value, (list, tuple)) else []


def _named(value: object) -> bool:
    rows = _listed(value)
    return bool(rows) and all(isinstance(v, Mapping) and isinstance(v.get("name"), str) for v in rows)


def near(word: str, known: Mapping[str, object] | list[str]) -> str:
    """The end of a sentence about an unknown word: ``. Did you mean `x`?`` when something close is known, else ``.``"""
    holding = [k for k in known if len(word) > 2 and word.casefold() in k.casefold()]
    holding.sort(key=lambda k: not k.casefold().startswith(word.casefold()))
    close = list(dict.fromkeys([*holding, *difflib.get_close_matches(word, list(known), n=3, cutoff=0.6)]))[:3]
    return f". Did you mean {' or '.join(f'`{c}`' for c in close)}?" if close else "."


def _culprit(raw: object, kind: Any) -> tuple[str, str] | None:
    """(path of the field, what is wrong with it) for the deepest table that does not convert; None when it converts."""
    struct, container = _shape(kind)
    if struct is None:
        return _plain_culprit(raw, kind)
    if container == "dict" and isinstance(raw, Mapping):
        return _first((str(k), _culprit(v, struct)) for k, v in raw.items())
    if container == "list" and isinstance(raw, (list, tuple)):
        return _first((_item(n, v), _culprit(v, struct)) for n, v in enumerate(raw))
    if container or not isinstance(raw, Mapping):
        return ("", f"expected {'a list of tables' if container == 'list' else 'a table'}, got {_said(raw)}")
    types_ = _field_types(struct)
    for key in raw:
        if key not in types_:
            return (str(key), f"no such field{near(str(key), types_)} Fields here: {', '.join(types_)}")
    for field in msgspec.structs.fields(struct):
        if field.required and field.encode_name not in raw:
            return (field.encode_name, f"is missing; expected {_wanted(field.type)}")
    inner = _first((str(k), _culprit(v, types_[k])) for k, v in raw.items())
    if inner is not None:
        return inner
    try:
        msgspec.convert(raw, struct, strict=True)
    except (msgspec.ValidationError, ValueError) as problem:
        return ("", str(problem))
    return None


def _plain_culprit(raw: object, kind: Any) -> tuple[str, str] | None:
    try:
        msgspec.convert(raw, kind, strict=True)
    except (msgspec.ValidationError, ValueError):
        return ("", f"expected {_wanted(kind)}, got {_said(raw)}")
    return None


def _first(found: Any) -> tuple[str, str] | None:
    for name, culprit in found:
        if culprit is not None:
            path, what = culprit
            return (f"{name}.{path}" if path else name, what)
    return None


def _item(number: int, raw: object) -> str:
    name = raw.get("name", raw.get("what")) if isinstance(raw, Mapping) else None
    return f"`{name}`" if isinstance(name, str) else f"number {number + 1}"


def _said(raw: object) -> str:
    if isinstance(raw, (list, tuple)):
        return "a list"
    return "a table" if isinstance(raw, Mapping) else f"`{raw}`"


_WORDS = {float: "a number", int: "a whole number", str: "a text", bool: "true or false"}


_EDGES = {"ge": "{} or more", "gt": "above {}", "le": "{} at most", "lt": "below {}"}
_LARGE = 1e6  # an edge beyond this only keeps out slips, and is not worth a word


def _bounded(kind: Any) -> str:
    """A number in words with the edges that bound it: ``a number, 0 or more``."""
    told = [
        words.format(f"{edge:g}")
        for meta in get_args(kind)[1:]
        for name, words in _EDGES.items()
        if (edge := getattr(meta, name, None)) is not None and abs(edge) < _LARGE
    ]
    word = _wanted(get_args(kind)[0])
    return ", ".join([word, *told]) if told and not told[0].startswith("above") else " ".join([word, ", ".join(told)]).strip()


def _wanted(kind: Any) -> str:
    if get_origin(kind) is Annotated:
        return _bounded(kind)
    if kind in _WORDS:
        return _WORDS[kind]
    if get_origin(kind) is Literal:
        return "one of " + ", ".join(str(a) for a in get_args(kind))
    if get_origin(kind) in (Union, types.UnionType):
        return " or ".join(_wanted(a) for a in get_args(kind) if a is not type(None))
    origin = get_origin(kind)
    if origin is tuple:
        return "a list of " + _wanted(get_args(kind)[0]).removeprefix("a ") + "s"
    if origin is dict:
        return "a table"
    if isinstance(kind, type) and issubclass(kind, msgspec.Struct):
        return f"a table ({', '.join(_field_types(kind))})"
    return str(kind)


@cache
def _field_types(struct: type[msgspec.Struct]) -> dict[str, Any]:
    return {f.encode_name: f.type for f in msgspec.structs.fields(struct)}


def _shape(kind: Any) -> tuple[type[msgspec.Struct] | None, str]:
    """(struct inside, container around it: dict, list or none) of a field's type; (None, "") for plain values."""
    origin, args = get_origin(kind), get_args(kind)
    if origin in (Union, types.UnionType):
        return next((s for s in (_shape(a) for a in args if a is not type(None)) if s[0] is not None), (None, ""))
    if origin is dict:
        inner, container = _shape(args[1])
        return (inner, "dict") if inner is not None and not container else (None, "")
    if origin is tuple:
        inner, container = _shape(args[0])
        return (inner, "list") if inner is not None and not container else (None, "")
    if isinstance(kind, type) and issubclass(kind, msgspec.Struct):
        return kind, ""
    return None, ""


def _not_finite(raw: object, path: str = "") -> str:
    if isinstance(raw, float):
        return "" if math.isfinite(raw) else path or "value"
    items: Any = raw.items() if isinstance(raw, Mapping) else enumerate(raw) if isinstance(raw, (list, tuple)) else ()
    for key, value in items:
        found = _not_finite(value, f"{path}.{key}" if path else str(key))
        if found:
            return found
    return ""
