"""The options that verbs share, and the book that they mean."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING, TypeVar

import click

from bathkeeper.cli.exits import Exit
from bathkeeper.cli.moments import Moment
from bathkeeper.cli.talk import say

if TYPE_CHECKING:
    from bathkeeper.findings import Problem
    from bathkeeper.workshop import Workshop

F = TypeVar("F", bound=Callable[..., object])


def _book(ctx: click.Context, param: click.Parameter, value: Path | None) -> Path | None:
    return value or ctx.find_root().params.get("book")  # given before the verb


book_option = click.option(
    "--book", type=click.Path(path_type=Path), callback=_book, metavar="PATH", is_eager=True,  # moments are read by its habits
    help="The book to use; else BATHKEEPER_BOOK, else the one in your data folder.",
)
json_option = click.option("--json", "as_json", is_flag=True, help="Answer as JSON.")
at_option = click.option(
    "--at", type=Moment(end_of_day=True), metavar="WHEN",
    help="As of a moment, from the entries up to it; a date means the end of that day.",
)
_WHEN = "When it happened, if not now; a date means noon of that day."
when_option = click.option("--when", type=Moment(end_of_day=False), metavar="WHEN", help=_WHEN)
logged_when_option = click.option("--when", "--at", "when", type=Moment(end_of_day=False), metavar="WHEN", help=_WHEN)
"""For verbs that only write: ``--at`` means there what it means elsewhere, a moment."""


def answers(f: F) -> F:
    """``--json``, ``--book`` and ``--at``, for a verb that answers."""
    return json_option(book_option(at_option(f)))


def book_path(given: Path | None) -> Path:
    """The book's place."""
    if given is not None:
        return given.expanduser()
    from bathkeeper.logbook import default_path

    return default_path()


def open_workshop(given: Path | None) -> Workshop:
    """The workshop of the book that is meant. Raises BookError."""
    from bathkeeper.workshop import Workshop

    return Workshop.open(book_path(given))


def tell_damage(workshop: Workshop) -> None:
    """Says so and ends with its exit code when the book is damaged; for the end of a verb that has printed what it could."""
    damage = workshop.book.damage
    if damage is not None:
        say(*damage_lines(workshop.book.path, damage))
        raise click.exceptions.Exit(Exit.DAMAGED)


def damage_lines(path: Path, damage: Problem) -> list[str]:
    """What is wrong with a damaged book and how to go on."""
    return [
        f"The book is damaged and open for reading only: {path}",
        f"  {damage.what}",
        f"  {damage.right}",
        f"To go on: bathkeeper salvage {quoted(path)} NEW, then use NEW with --book or put it in the place of the old one.",
    ]


def quoted(path: Path) -> str:
    """A path as it can be pasted into a shell."""
    import shlex

    return shlex.quote(str(path))
