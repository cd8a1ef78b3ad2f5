"""The verb ``recipe``: what a bath should be, every number with its source or standing."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import click

from bathkeeper.cli.options import book_option, book_path, json_option
from bathkeeper.cli.talk import answer, answer_json

if TYPE_CHECKING:
    from collections.abc import Iterable

    from bathkeeper.answers.recipes import Row
    from bathkeeper.catalogue.loader import Catalogue
    from bathkeeper.catalogue.schema import Recipe


@click.group("recipe")
def verb() -> None:
    """What a bath should be, with the standing of every number."""


@verb.command("list")
@json_option
@book_option
def list_(as_json: bool, book: Path | None) -> None:
    """Every recipe by name, the catalogue's and your own."""
    catalogue, _ = _catalogue(book)
    recipes = [catalogue.recipe(n) for n in catalogue.recipes]
    if as_json:
        answer_json([{"recipe": r.name, "title": r.title, "role": r.role, "summary": r.summary} for r in recipes])
        return
    from bathkeeper.cli.tables import Column, table

    rows = [(r.name, r.role, r.summary) for r in sorted(recipes, key=lambda r: (r.role, r.name))]
    answer(table([Column("recipe"), Column("role"), Column("what it is", wraps=True)], rows))


@verb.command("show")
@click.argument("name")
@json_option
@book_option
def show(name: str, as_json: bool, book: Path | None) -> None:
    """A recipe in full, by its NAME or as it holds in a TANK of your book, with what you changed beside the catalogue's."""
    catalogue, tanks = _catalogue(book)
    recipe = tanks.get(name) or catalogue.recipe(name)
    base = catalogue.shipped or catalogue
    shipped = base.recipes.get(recipe.name)
    if as_json:
        from bathkeeper.answers.recipes import recipe_plain

        answer_json(recipe_plain(recipe))
        return
    answer(_text(recipe, shipped))


def _catalogue(book: Path | None) -> tuple[Catalogue, dict[str, Recipe]]:
    """The catalogue with the book's definitions, and the recipes of its tanks; without a book the catalogue alone."""
    place = book_path(book)
    if book is None and not place.exists():
        from bathkeeper.catalogue.loader import load

        return load(), {}
    from bathkeeper.workshop import Workshop

    workshop = Workshop.open(place)
    return workshop.catalogue, {n: s.recipe for n, s in workshop.world.tanks.items() if s.recipe is not None}


def _text(recipe: Recipe, shipped: Recipe | None) -> list[str]:
    from bathkeeper.answers.recipes import make_up_rows, prior_rows, window_rows
    from bathkeeper.cli.plain import clean, wrapped
    from bathkeeper.cli.tables import screen_cells, styled

    cells = screen_cells()
    lines = [styled(clean(recipe.title), "head"), *wrapped(clean(f"{recipe.name}, {recipe.role}: {recipe.summary}"), cells)]
    for head, rows in (
        ("contents", window_rows(recipe.species, shipped.species if shipped else {})),
        ("ratios", window_rows(recipe.ratios, shipped.ratios if shipped else {})),
        ("read", window_rows(recipe.indicators, shipped.indicators if shipped else {})),
        ("believed before it has taught better", prior_rows(recipe, shipped)),
        ("make-up, for each litre of bath", make_up_rows(recipe)),
    ):
        lines += _rows(head, rows, cells)
    treated = [f"{n}: {s.treatment}" for n, s in recipe.species.items() if s.treatment]
    for head, texts in (
        ("against contaminants", treated),
        ("must not meet", [f"{m.what}: {m.why} ({m.status})" for m in recipe.must_not_meet]),
        ("take care", [c.text for c in recipe.cautions]),
    ):
        if texts:
            lines += ["", styled(head, "head"), *(line for t in texts for line in wrapped(clean(t, lines=False), cells))]
    return lines


def _rows(head: str, rows: Iterable[Row], cells: int) -> list[str]:
    from bathkeeper.cli.plain import clean, wrapped
    from bathkeeper.cli.tables import styled

    lines: list[str] = []
    for row in rows:
        own = f" (the catalogue says {row.instead_of})" if row.instead_of else ""
        lines += wrapped(clean(f"{row.name}: {row.number}{own}", lines=False), cells)
        lines += [f"    {line}" for line in wrapped(clean(row.standing, lines=False), cells - 4)]
    return ["", styled(head, "head"), *lines] if lines else []
