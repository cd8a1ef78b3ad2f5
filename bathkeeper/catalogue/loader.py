"""The catalogue as one frozen object: read once from the TOML files beside this one, extended by a keeper's own definitions."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping
from dataclasses import dataclass, field, replace
from functools import cached_property, lru_cache
from importlib.resources import files
from importlib.resources.abc import Traversable
from typing import Any, TypeVar

import msgspec

from bathkeeper.catalogue import checks
from bathkeeper.catalogue.own import checked
from bathkeeper.catalogue.schema import Metal, Method, Reagent, Recipe, Spread, Template, WaterQuality
from bathkeeper.catalogue.shelf import Overlaid, Shelf, read_toml
from bathkeeper.catalogue.typed import CatalogueError, merged, near, to_struct, with_status
from bathkeeper.entries import DEFINABLE

__all__ = ["Catalogue", "CatalogueError", "load", "read"]

T = TypeVar("T", bound=msgspec.Struct)
OWN_KINDS: dict[str, type[Recipe] | type[Reagent] | type[Method]] = {"recipe": Recipe, "reagent": Reagent, "method": Method}
_LOWERED = str.maketrans("₀₁₂₃₄₅₆₇₈₉", "0123456789")


@dataclass(frozen=True)
class Catalogue:
    """Everything that is known before a book is opened, by name; with :meth:`with_definitions`, what the keeper says otherwise.

    ``defaults``: quantity -> method when a reading names none; ``method_aliases``: everyday word -> method; ``own``: the bodies
    of the keeper's own definitions by kind and name, as they stand in the book; ``shipped``: the catalogue without them.
    """

    recipes: Mapping[str, Recipe]
    reagents: Mapping[str, Reagent]
    methods: Mapping[str, Method]
    metals: Mapping[str, Metal]
    spreads: Mapping[str, Spread]
    templates: Mapping[str, Template]
    water: Mapping[str, WaterQuality]
    defaults: Mapping[str, str]
    method_aliases: Mapping[str, str] = field(default_factory=dict)
    own: Mapping[str, Mapping[str, Mapping[str, Any]]] = field(default_factory=dict)
    shipped: Catalogue | None = field(default=None, repr=False)

    def reagent(self, name: str) -> Reagent:
        """A reagent by name, alias or formula; case, underscores, spaces before % and the kind of hydrate dot do not matter.

        A formula means the one solid of that formula. A word or formula that leaves the strength open names nothing: the error
        lists what it may be, because a wrong guess is a wrong dose.

        Raises:
            CatalogueError: nothing of that name, or the strength is open.
        """
        word = plain_name(name)
        exact = self._reagent_names.get(word)
        if exact is not None:
            return exact
        same = self._reagent_formulas.get(plain_formula(name), ())
        solids = [r for r in same if r.form != "liquid"]
        if len(solids) == 1:
            return solids[0]
        strengths = [r for n, r in self._reagent_names.items() if n.startswith(f"{word} ") and n[len(word) + 1].isdigit()]
        found = dict.fromkeys(r.name for r in [*same, *strengths])
        if found:
            raise CatalogueError(f"`{name}` does not say which or how strong; it may be {', '.join(found)}")
        known = self._reagent_names
        raise CatalogueError(f"no reagent `{name}` in the catalogue{near(word, known)} It can be defined in the book")

    def recipe(self, name: str) -> Recipe:
        """A recipe by name. Raises CatalogueError with the near misses."""
        return _by_name(name, self.recipes, "recipe")

    def method(self, name: str) -> Method:
        """A method by name or everyday word. Raises CatalogueError with the near misses."""
        alias = self.method_aliases.get(plain_name(name))
        return _by_name(alias or name, self.methods, "method")

    def metal(self, name: str) -> Metal:
        """A metal by name or symbol. Raises CatalogueError with the near misses."""
        by_symbol = [m for m in self.metals.values() if m.symbol == name.strip()]
        return by_symbol[0] if by_symbol else _by_name(name, self.metals, "metal")

    def default_method(self, of: str, unit: str | None = None) -> Method:
        """The method taken when a reading of ``of`` (in ``unit``) names none, else that of an unstated analysis.

        A quantity read in two units (level in mm or L, density in g/cm3 or degBe) has a method for each.
        """
        word = plain_name(of)
        in_unit = self.defaults.get(f"{word} in {plain_name(unit)}") if unit is not None else None
        return self.methods[in_unit or self.defaults.get(word, self.defaults["anything else"])]

    def with_definitions(self, definitions: Iterable[tuple[str, str, Mapping[str, Any]]]) -> Catalogue:
        """The catalogue with a keeper's own (kind, name, body) over it; the last of a name holds.

        A body may say ``based_on`` and give only what differs. Numbers without a status are the keeper's own practice.

        Raises:
            CatalogueError: a body that cannot be used; names the definition and the field.
        """
        own = {kind: dict(bodies) for kind, bodies in self.own.items()}
        for kind, name, body in definitions:
            if kind not in DEFINABLE:
                raise CatalogueError(f"definition `{name}`: cannot define a `{kind}`; it may be one of {', '.join(DEFINABLE)}")
            checked(kind, name, body)
            own.setdefault(kind, {})[name] = body
        shipped = self.shipped or self
        made = {kind: _own_structs(own.get(kind, {}), kind, shipped) for kind in OWN_KINDS}
        result = replace(
            shipped,
            recipes=Overlaid(made["recipe"], shipped.recipes) if made["recipe"] else shipped.recipes,
            reagents={**shipped.reagents, **made["reagent"]},
            methods={**shipped.methods, **made["method"]},
            own=own,
            shipped=shipped,
        )
        for fault in result._faults({kind: own.get(kind, {}) for kind in OWN_KINDS}):
            raise CatalogueError(f"definition of {fault}")
        for fault in checks.formula_faults(made["recipe"], made["reagent"]):
            raise CatalogueError(f"definition of {fault}")
        return result

    def check(self) -> list[str]:
        """Every fault that needs the chemistry to see (formulas, groups); empty when all is well."""
        return list(checks.formula_faults(self.recipes, self.reagents))

    def _faults(self, only: Mapping[str, Iterable[str]] | None = None) -> Iterator[str]:
        """Faults between tables, each as ``kind `name`, field: what``; of all, or only of the names given by kind."""
        chosen = only if only is not None else {"reagent": self.reagents, "method": self.methods}
        for name in chosen.get("recipe", ()):
            for fault in checks.recipe_faults(
                self.recipes[name], self.metals, self.reagents.values(), self.recipes, self.water
            ):
                yield f"recipe `{name}`, {fault}"
        for name in chosen.get("reagent", ()):
            for fault in checks.reagent_faults(self.reagents[name]):
                yield f"reagent `{name}`, {fault}"
        for name in chosen.get("method", ()):
            for fault in checks.method_faults(self.methods[name]):
                yield f"method `{name}`, {fault}"

    @cached_property
    def _reagent_names(self) -> dict[str, Reagent]:
        names = {plain_name(a): r for r in self.reagents.values() for a in r.aliases}
        return {**names, **{plain_name(r.name): r for r in self.reagents.values()}}

    @cached_property
    def _reagent_formulas(self) -> dict[str, tuple[Reagent, ...]]:
        formulas: dict[str, tuple[Reagent, ...]] = {}
        for r in self.reagents.values():
            if r.formula and r.form != "additive":
                key = plain_formula(r.formula)
                formulas[key] = (*formulas.get(key, ()), r)
        return formulas


@lru_cache(maxsize=1)
def load() -> Catalogue:
    """The catalogue that comes with the program, read once; a recipe's file is read when the recipe is first asked for.

    Raises:
        CatalogueError: a file that cannot be used; names file and field, and what would be right.
    """
    return _common(files("bathkeeper.catalogue"), _shipped_recipes)


def read(folder: Traversable) -> Catalogue:
    """A catalogue from a folder, every file of it read and checked against the others.

    Raises:
        CatalogueError: as :func:`load`.
    """
    catalogue = _common(folder, None)
    assert isinstance(catalogue.recipes, Shelf)
    catalogue.recipes.read_all()
    for name, template in catalogue.templates.items():
        for fault in checks.template_faults(template, catalogue.recipes):
            raise CatalogueError(f"templates.toml, template `{name}`, {fault}")
    return catalogue


def _shipped_recipes() -> Shelf:
    recipes = load().recipes
    assert isinstance(recipes, Shelf)
    return recipes


def _common(folder: Traversable, again: Callable[[], Shelf] | None) -> Catalogue:
    """Everything but the recipes read and checked; those are on their shelf, unread."""
    methods = read_toml(folder / "methods.toml")
    metals = _structs(read_toml(folder / "metals.toml"), "metal", Metal, "metals.toml")
    reagents = _structs(read_toml(folder / "reagents.toml"), "reagent", Reagent, "reagents.toml")
    water = _structs(read_toml(folder / "water.toml"), "water", WaterQuality, "water.toml")
    catalogue = Catalogue(
        recipes=Shelf(folder, metals, reagents, water, again),
        reagents=reagents,
        methods=_structs({"method": methods.get("method", {})}, "method", Method, "methods.toml"),
        metals=metals,
        spreads=_structs(read_toml(folder / "spreads.toml"), "spread", Spread, "spreads.toml"),
        templates=_structs(read_toml(folder / "templates.toml"), "template", Template, "templates.toml"),
        water=water,
        defaults={plain_name(k): v for k, v in methods.get("default", {}).items()},
        method_aliases={plain_name(k): v for k, v in methods.get("alias", {}).items()},
    )
    for table in ("default", "alias"):
        for what, name in methods.get(table, {}).items():
            if name not in catalogue.methods:
                raise CatalogueError(f"methods.toml, {table}.{what}: no method `{name}`{near(str(name), catalogue.methods)}")
    if "anything else" not in catalogue.defaults:
        raise CatalogueError("methods.toml, default.anything else: is missing; name the method of an unstated analysis")
    _unique_names(catalogue.reagents)
    for fault in catalogue._faults():
        raise CatalogueError(f"{fault.partition(' ')[0]}s.toml, {fault}")
    return catalogue


def plain_name(name: str) -> str:
    """A name as it is compared: lower case, underscores and hyphens as spaces, no space before a percent sign."""
    return " ".join(name.casefold().replace("_", " ").replace("-", " ").split()).replace(" %", "%")


def plain_formula(formula: str) -> str:
    """A formula as it is compared: lower case, one kind of hydrate dot, plain digits, no spaces."""
    text = formula.casefold().translate(_LOWERED)
    for dot in ("·", "*", "•", "∙", "⋅", "×"):
        text = text.replace(dot, ".")
    return "".join(text.split())


def _by_name(name: str, known: Mapping[str, T], kind: str) -> T:
    if name in known:
        return known[name]
    word = plain_name(name)
    for key in known:
        if plain_name(key) == word:
            return known[key]
    raise CatalogueError(f"no {kind} `{name}`{near(name, list(known))} There are {', '.join(known)}")


def _structs(raw: Mapping[str, Any], table: str, kind: type[T], file: str) -> dict[str, T]:
    """``[table.NAME]`` tables as structs by name; the name is the key and is not repeated inside."""
    for other in raw:
        if other != table:
            raise CatalogueError(f"{file}, {other}: no such table; this file holds [{table}.NAME] tables")
    made: dict[str, T] = {}
    for name, body in raw.get(table, {}).items():
        if not isinstance(body, dict):
            raise CatalogueError(f"{file}, {table}.{name}: expected a table, got {body!r}")
        title = {"title": name} if "title" in kind.__struct_fields__ else {}
        made[name] = to_struct({**title, **body, "name": name}, kind, f"{file}, {table} `{name}`")
    return made


def _own_structs(bodies: Mapping[str, Mapping[str, Any]], kind: str, shipped: Catalogue) -> dict[str, Any]:
    """A keeper's own definitions of one kind, each laid over what it is based on."""
    catalogue: Mapping[str, Any] = getattr(shipped, f"{kind}s")
    tables = {n: _own_table(n, bodies, kind, catalogue, ()) for n in bodies}
    return {n: to_struct(t, OWN_KINDS[kind], f"definition of {kind} `{n}`") for n, t in tables.items()}


def _own_table(
    name: str, bodies: Mapping[str, Mapping[str, Any]], kind: str, catalogue: Mapping[str, Any], on_the_way: tuple[str, ...]
) -> dict[str, Any]:
    where = f"definition of {kind} `{name}`"
    body = dict(bodies[name])
    based_on = body.pop("based_on", None)
    said = body.pop("name", name)
    if said != name:
        raise CatalogueError(f"{where}, name: the body says `{said}`; leave the name to the definition")
    if based_on is None:
        made = {"title": name, **body, "name": name}
        if kind == "recipe":
            made.setdefault("summary", made["title"])
        if kind == "reagent":
            made = _like_its_formula(made, catalogue)
        missing = [
            f.encode_name
            for f in msgspec.structs.fields(OWN_KINDS[kind])
            if f.required and f.encode_name not in made and f.encode_name != "status"
        ]
        if missing and name in catalogue:
            raise CatalogueError(
                f'{where}, {missing[0]}: is missing; to change only some fields of the catalogue\'s, add based_on = "{name}"'
            )
        return dict(with_status(made, OWN_KINDS[kind]))
    if not isinstance(based_on, str):
        raise CatalogueError(f"{where}, based_on: expected the name of a {kind}, got {based_on!r}")
    if based_on in on_the_way:
        raise CatalogueError(f"{where}, based_on: goes round in a circle ({' > '.join((*on_the_way, name, based_on))})")
    if based_on in bodies and based_on != name:
        base = _own_table(based_on, bodies, kind, catalogue, (*on_the_way, name))
    elif based_on in catalogue:
        base = msgspec.to_builtins(catalogue[based_on])
    else:
        raise CatalogueError(f"{where}, based_on: there is no {kind} `{based_on}`{near(based_on, [*catalogue, *bodies])}")
    made = {**merged(base, body, OWN_KINDS[kind]), "name": name}
    if name != based_on:
        made["title"] = body.get("title", name)
        if kind == "reagent":
            made["aliases"] = body.get("aliases", ())
    return dict(with_status(made, OWN_KINDS[kind]))


def _like_its_formula(body: dict[str, Any], catalogue: Mapping[str, Any]) -> dict[str, Any]:
    """A keeper's own reagent with what a known one of its formula brings, acid and hazards too: no bottle changes those."""
    formula = plain_formula(str(body.get("formula") or "none"))
    known = next((r for r in catalogue.values() if r.formula and plain_formula(r.formula) == formula), None)
    if known is None:
        return body
    own = body.get("cautions", [])
    cautions = [*known.cautions, *own] if isinstance(own, (list, tuple)) else own
    return {"brings": dict(known.brings), "acid_equivalents": known.acid_equivalents, **body, "cautions": cautions}


def _unique_names(reagents: Mapping[str, Reagent]) -> None:
    taken: dict[str, str] = {}
    for reagent in reagents.values():
        for word in (reagent.name, *reagent.aliases):
            other = taken.setdefault(plain_name(word), reagent.name)
            if other != reagent.name:
                raise CatalogueError(f"reagents.toml, reagent `{reagent.name}`, aliases: `{word}` already means {other}")
