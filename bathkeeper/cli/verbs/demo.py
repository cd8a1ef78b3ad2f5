"""The verb ``demo``: the sample book, dated so that it ends today, to play with."""

from __future__ import annotations

import tempfile
from pathlib import Path

import click

from bathkeeper.cli.options import quoted
from bathkeeper.cli.talk import answer, answer_json, say


@click.command("demo")
@click.option(
    "--book", type=click.Path(path_type=Path), metavar="PATH", help="Where to put the copy; else among temporary files."
)
@click.option("--no-app", is_flag=True, help="Print where the copy is and how it stands, instead of opening the app.")
@click.option("--json", "as_json", is_flag=True, help="Answer as JSON; opens no app.")
def verb(book: Path | None, no_app: bool, as_json: bool) -> None:
    """Open a copy of the sample book: half a year of an invented line.

    It is dated to end today. Whatever you do to the copy, the sample stays as it is.
    """
    from bathkeeper.cli.app import need_terminal, open_app
    from bathkeeper.sample import copy_dated, sample_path
    from bathkeeper.workshop import Workshop, now

    if not (as_json or no_app):
        need_terminal()
    source = sample_path()
    if book is None:
        book = Path(tempfile.mkdtemp(prefix="bathkeeper-demo-")) / source.name
    place = book.expanduser().absolute()
    copy_dated(source, place, now())
    if as_json or no_app:
        workshop = Workshop.open(place)
        if as_json:
            answer_json(workshop.status())
        else:
            from bathkeeper.cli.line_text import line_text

            answer([str(place), "", *line_text(workshop.status(), workshop.preferences)])
        return
    open_app(place)
    say(f"The copy stays at {place}; `bathkeeper --book {quoted(place)}` opens it again.")
