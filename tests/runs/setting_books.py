"""Small tanks to set a load in."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from bathkeeper.catalogue.loader import Catalogue
from bathkeeper.entries import Run
from bathkeeper.estimate.state import TankState
from bathkeeper.runs.setting import Setting, Wish, set_run
from tests.estimate.helpers import BATH, Book

AT_REFERENCE = {"zinc": 34.8, "nickel": 25.2, "chloride": 150.0, "boric acid": 25.0}
"""Nickel 0.42 of the metal, where the recipe's 13 % nickel in the deposit hold."""


def zinc_nickel(contents: Mapping[str, float] = AT_REFERENCE, anodes: bool = True, **fields: Any) -> Book:
    """A 40 L zinc-nickel bath named ``bath``, 5 dm2 of zinc and 2.5 dm2 of nickel hung."""
    book = Book()
    book.tank("bath", "plate", 5, BATH, 40.0, **fields)
    book.make_up("bath", 40.0, contents)
    if anodes:
        book.anode("zinc-1", "hung", metal="zinc", mass_g=4000.0, area_dm2=5.0)
        book.anode("nickel-1", "hung", metal="nickel", mass_g=1500.0, area_dm2=2.5)
    return book


def bath_of(recipe: str, role: str = "plate", contents: Mapping[str, float] | None = None) -> Book:
    """A 20 L tank named ``bath`` of any recipe, made up at its targets unless said."""
    book = Book()
    book.tank("bath", role, 5, recipe, 20.0)
    book.make_up("bath", 20.0, contents)
    return book


def define(book: Book, kind: str, name: str, **body: Any) -> None:
    """Logs a keeper's own definition."""
    book.log("definition", of=kind, name=name, body=body)


def known(book: Book) -> tuple[TankState, Catalogue, list[Run]]:
    """(tank, catalogue with the book's definitions, runs)."""
    world = book.world()
    return world.tanks["bath"], world.catalogue, [e for e in book.entries if isinstance(e, Run)]


def set_in(book: Book, drag_out_l_per_ah: float | None = None, rule: str | None = None, **wish: Any) -> Setting:
    """The setting for a wish in the book's bath, with its runs as the past."""
    state, catalogue, past = known(book)
    return set_run(state, catalogue, Wish(**wish), past, drag_out_l_per_ah, rule=rule)
