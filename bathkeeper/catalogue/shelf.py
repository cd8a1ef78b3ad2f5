"""The recipes by name, each read from its file, put together from its pieces and checked when it is first asked for.

A recipe file may name ``pieces``: tables of the files in ``pieces/`` that hold what several recipes have in common. They are
laid down in the order named, the recipe's own fields over them; lists of named tables (wear) merge by name, cautions and
meetings add up, other lists are replaced.
"""

from __future__ import annotations

import tomllib
from collections.abc import Callable, Iterator, Mapping
from importlib.resources.abc import Traversable
from typing import Any

from bathkeeper.catalogue import checks
from bathkeeper.catalogue.schema import Metal, Piece, Reagent, Recipe, WaterQuality
from bathkeeper.catalogue.typed import CatalogueError, merged, near, to_struct

PIECES = "pieces"


class Shelf(Mapping[str, Recipe]):
    """Recipes by name, one a file of ``recipes/``; the file is named as the recipe, with underscores.

    Raises CatalogueError at the look-up of a recipe that cannot be used; names file and field, and what would be right.
    """

    def __init__(
        self,
        folder: Traversable,
        metals: Mapping[str, Metal],
        reagents: Mapping[str, Reagent],
        water: Mapping[str, WaterQuality],
        again: Callable[[], Shelf] | None = None,
    ) -> None:
        """``again``: finds the same shelf in another process, so that a pickle need not hold it."""
        self._folder, self._metals, self._reagents, self._water, self._again = folder, metals, reagents, water, again
        files = sorted(_toml_files(folder / "recipes"), key=lambda f: f.name)
        self._files = {f.name.removesuffix(".toml").replace("_", "-"): f for f in files}
        self._pieces: dict[str, tuple[str, dict[str, Any]]] | None = None
        self._sound: set[str] = set()
        self._read: dict[str, Recipe] = {}

    def __getitem__(self, name: str) -> Recipe:
        if name not in self._read:
            self._read[name] = self._recipe(self._files[name], name)
            for fault in checks.recipe_faults(self._read[name], self._metals, self._reagents.values(), self, self._water):
                del self._read[name]
                raise CatalogueError(f"recipes/{self._files[name].name}, recipe `{name}`, {fault}")
        return self._read[name]

    def __contains__(self, name: object) -> bool:
        return name in self._files

    def __iter__(self) -> Iterator[str]:
        return iter(self._files)

    def __len__(self) -> int:
        return len(self._files)

    def __reduce__(self) -> Any:
        if self._again is not None:
            return self._again, ()
        return Shelf, (self._folder, self._metals, self._reagents, self._water)

    def read_all(self) -> None:
        """Reads every recipe and every piece. Raises CatalogueError for the first that cannot be used, and for unused
        pieces."""
        used = {piece for file in self._files.values() for piece in read_toml(file, "recipes/").get("pieces", ())}
        for name in self:
            self[name]
        for piece, (file, _) in self._all_pieces().items():
            self._piece(piece, file)
            if piece not in used:
                raise CatalogueError(
                    f"{file}, piece `{piece}`: no recipe uses it; name it under `pieces` of one, or leave it out"
                )

    def _recipe(self, file: Traversable, name: str) -> Recipe:
        where = f"recipes/{file.name}"
        raw = read_toml(file, "recipes/")
        said = raw.get("name", name)
        if said != name:
            raise CatalogueError(f"{where}, name: is `{said}`, but the file's own name says `{name}`; make them the same")
        pieces = raw.pop("pieces", [])
        if not isinstance(pieces, list) or not all(isinstance(p, str) for p in pieces):
            raise CatalogueError(f"{where}, pieces: expected a list of names of pieces, got `{pieces}`")
        base: dict[str, Any] = {}
        for piece in pieces:
            base = merged(base, self._piece(piece, f"{where}, pieces"), Piece, keeper=False)
        return to_struct(merged(base, raw, Recipe, keeper=False), Recipe, where)

    def _piece(self, name: str, where: str) -> dict[str, Any]:
        known = self._all_pieces()
        if name not in known:
            raise CatalogueError(f"{where}: there is no piece `{name}`{near(name, list(known))}")
        file, raw = known[name]
        if name not in self._sound:
            piece = to_struct(raw, Piece, f"{file}, piece `{name}`")
            for fault in checks.piece_faults(piece, self._metals, self._reagents.values(), self, self._water):
                raise CatalogueError(f"{file}, piece `{name}`, {fault}")
            self._sound.add(name)
        return raw

    def _all_pieces(self) -> dict[str, tuple[str, dict[str, Any]]]:
        if self._pieces is None:
            found: dict[str, tuple[str, dict[str, Any]]] = {}
            for file in sorted(_toml_files(self._folder / PIECES), key=lambda f: f.name):
                place = f"{PIECES}/{file.name}"
                for table, tables in read_toml(file, f"{PIECES}/").items():
                    if table != "piece":
                        raise CatalogueError(f"{place}, {table}: no such table; this file holds [piece.NAME] tables")
                    for name, raw in tables.items():
                        if name in found:
                            raise CatalogueError(f"{place}, piece `{name}`: the name is taken by {found[name][0]}")
                        found[name] = (place, raw)
            self._pieces = found
        return self._pieces


class Overlaid(Mapping[str, Recipe]):
    """A keeper's own recipes over a shelf; of one name, the keeper's."""

    def __init__(self, own: Mapping[str, Recipe], shelf: Mapping[str, Recipe]) -> None:
        self._own, self._shelf = own, shelf

    def __getitem__(self, name: str) -> Recipe:
        return self._own[name] if name in self._own else self._shelf[name]

    def __contains__(self, name: object) -> bool:
        return name in self._own or name in self._shelf

    def __iter__(self) -> Iterator[str]:
        return iter(dict.fromkeys([*self._shelf, *self._own]))

    def __len__(self) -> int:
        return len(dict.fromkeys([*self._shelf, *self._own]))


def read_toml(file: Traversable, folder: str = "") -> dict[str, Any]:
    """A file's tables. Raises CatalogueError when it is missing or cannot be read; ``folder`` is how the error places it."""
    try:
        return tomllib.loads(file.read_text(encoding="utf-8"))
    except FileNotFoundError:
        raise CatalogueError(f"{folder}{file.name}: this file of the catalogue is missing; install the program again") from None
    except (tomllib.TOMLDecodeError, UnicodeDecodeError) as problem:
        raise CatalogueError(f"{folder}{file.name}: not readable as TOML: {problem}") from None


def _toml_files(folder: Traversable) -> list[Traversable]:
    try:
        return [f for f in folder.iterdir() if f.name.endswith(".toml")]
    except FileNotFoundError:
        raise CatalogueError(f"{folder.name}/: this folder of the catalogue is missing; install the program again") from None
