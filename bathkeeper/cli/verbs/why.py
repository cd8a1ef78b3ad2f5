"""The verb ``why``: what a number or an advice rests on."""

from __future__ import annotations

from datetime import datetime
from pathlib import Path

import click

from bathkeeper.cli.options import answers, open_workshop, tell_damage
from bathkeeper.cli.talk import answer, answer_json


@click.command("why")
@click.argument("id")
@answers
def verb(id: str, as_json: bool, book: Path | None, at: datetime | None) -> None:
    """What a due item or a content rests on: entries, formula, sources.

    ID is one that `due` prints, such as electrolyte.low.nickel, or TANK.SPECIES, such as electrolyte.zinc, or a step of an
    accepted plan, PLANID.STEP.
    """
    from bathkeeper.counsel import Counsel

    workshop = open_workshop(book)
    what, because = Counsel(workshop).why(id, at)
    entries = {e.id: e for e in workshop.entries()}
    resting = [entries[i] for i in because.entries if i in entries]
    if as_json:
        from bathkeeper.entries import plain

        answer_json({
            "id": id, "what": what, "text": because.text, "formula": because.formula, "sources": because.sources,
            "entries": [plain(e) for e in resting],
        })
    else:
        from bathkeeper.cli.entry_text import short
        from bathkeeper.cli.plain import clean, wrapped
        from bathkeeper.cli.tables import screen_cells, styled

        cells = screen_cells()
        lines = wrapped(clean(what), cells) + wrapped(clean(because.text), cells)
        for head, texts in (
            ("formula", [because.formula] if because.formula else []),
            ("sources", list(because.sources)),
            ("entries", [short(e, workshop.preferences) for e in resting]),
        ):
            if texts:
                lines += ["", styled(head, "head")]
                lines += [line for text in texts for line in _indented(wrapped(clean(text, lines=False), cells - 2))]
        answer(lines)
    tell_damage(workshop)


def _indented(lines: list[str]) -> list[str]:
    """A paragraph whose second and later lines stand in."""
    return [line if number == 0 else f"  {line}" for number, line in enumerate(lines)]
