"""The verb ``salvage``: the way on from a damaged book."""

from __future__ import annotations

from pathlib import Path

import click

from bathkeeper.cli.options import quoted
from bathkeeper.cli.talk import answer, answer_json, counted, say


@click.command("salvage")
@click.argument("old", type=click.Path(path_type=Path))
@click.argument("new", type=click.Path(path_type=Path))
@click.option("--json", "as_json", is_flag=True, help="Answer as JSON.")
def verb(old: Path, new: Path, as_json: bool) -> None:
    """Copy what verifies of a damaged book into a new one.

    OLD stays as it is; NEW must not exist yet.
    """
    from bathkeeper.logbook import salvage
    from bathkeeper.logbook.book import dropped

    left = dropped(old) if old.is_file() else []
    count = salvage(old, new)
    if as_json:
        rest = [{"line": n, "text": text} for n, text in left]
        answer_json({"from": str(old), "to": str(new), "entries": count, "left_out": rest})
    else:
        answer([f"{counted(count, 'entry')} copied to {new}"])
        if left:
            say("Left out, because it does not verify (log it again from what can be read):")
            say(*(f"  line {n}: {text[:300]}" for n, text in left))
        say(
            "Compare what is missing with your notes. Then use it: "
            f"bathkeeper --book {quoted(new)}, or keep {old} under another name and put the new book in its place."
        )
