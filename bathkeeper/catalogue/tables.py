"""Shipped TOML files turned into tables of structs, with errors that name file, table and field: shared by every data room."""

from __future__ import annotations

import tomllib
from collections.abc import Mapping
from importlib.resources.abc import Traversable
from typing import Any, TypeVar

import msgspec

from bathkeeper.catalogue.typed import CatalogueError, to_struct

T = TypeVar("T", bound=msgspec.Struct)


def tables_of(file: Traversable, tables: tuple[str, ...], of: str) -> dict[str, Any]:
    """The tables of a file, which may hold only those named. ``of``: whose data they are, for the error of a missing file.

    Raises:
        CatalogueError: the file is missing, no TOML, or holds another table.
    """
    try:
        raw = tomllib.loads(file.read_text(encoding="utf-8"))
    except FileNotFoundError:
        raise CatalogueError(f"{file.name}: this file of the {of} data is missing; install the program again") from None
    except (tomllib.TOMLDecodeError, UnicodeDecodeError) as problem:
        raise CatalogueError(f"{file.name}: not readable as TOML: {problem}") from None
    for table in raw:
        if table not in tables:
            raise CatalogueError(f"{file.name}, {table}: no such table; this file holds {', '.join(tables)}")
    return raw


def named(raw: Mapping[str, Any], table: str, kind: type[T], file: str) -> dict[str, T]:
    """``[table.NAME]`` tables as structs by name; the name is the key and is not repeated inside.

    Raises:
        CatalogueError: names file, table and field.
    """
    made: dict[str, T] = {}
    for name, body in raw.get(table, {}).items():
        if not isinstance(body, dict):
            raise CatalogueError(f"{file}, {table}.{name}: expected a table, got {body!r}")
        title = {"title": name} if "title" in kind.__struct_fields__ else {}
        made[name] = to_struct({**title, **body, "name": name}, kind, f"{file}, {table} `{name}`")
    return made


def listed(raw: Mapping[str, Any], table: str, kind: type[T], file: str) -> tuple[T, ...]:
    """``[[table]]`` rows as structs, in order; errors call a row by its name, code or hp where it has one, else by its number.

    Raises:
        CatalogueError: names file, row and field.
    """
    rows = raw.get(table, [])
    if not isinstance(rows, list):
        raise CatalogueError(f"{file}, {table}: expected a list of tables ([[{table}]]), got {rows!r}")
    return tuple(to_struct(row, kind, f"{file}, {table} {_called(row, number)}") for number, row in enumerate(rows, 1))


def _called(row: object, number: int) -> str:
    name = next((row[k] for k in ("name", "code", "hp") if isinstance(row.get(k), str)), "") if isinstance(row, dict) else ""
    return f"`{name}`" if name else f"number {number}"
