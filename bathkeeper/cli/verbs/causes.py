"""The verb ``causes``: what may be behind a defect, by what this bath is believed to hold."""

from __future__ import annotations

from datetime import datetime
from pathlib import Path

import click

from bathkeeper.cli.options import answers, open_workshop, tell_damage
from bathkeeper.cli.talk import answer, answer_json


@click.command("causes")
@click.argument("defect", required=False)
@click.option("--run", "run", metavar="ID", help="The load that shows it; its defect is taken where none is named.")
@click.option("--tank", metavar="TANK", help="Where it arose, if not where the run or the line says.")
@click.option("--most", type=click.IntRange(1, 30), default=5, show_default=True, help="How many causes to tell.", metavar="N")
@answers
def verb(
    defect: str | None, run: str | None, tank: str | None, most: int, as_json: bool, book: Path | None, at: datetime | None
) -> None:
    """Likely causes of a defect, and the cheapest test.

    DEFECT is a word such as dull, burnt, pitting, blisters. Ranked by how often each is behind it and by what the estimate of
    this bath says, now and at that run.
    """
    from bathkeeper.advice.causes import sentences
    from bathkeeper.counsel import Counsel

    workshop = open_workshop(book)
    if run is not None and run.startswith("last"):
        from bathkeeper.phrases.loads import one_load
        from bathkeeper.phrases.words import Form

        run = one_load(Form(workshop.vocabulary), "--run", run)
    found = Counsel(workshop).causes(defect, run=run, tank=tank, at=at)
    if as_json:
        answer_json({
            "defect": found.defect.name, "tank": found.tank, "run": found.run,
            "causes": [
                {"name": c.name, "title": c.title, "prior": c.prior, "weight": c.weight,
                 "evidence": [e.text for e in c.evidence],
                 "unknown": c.unknown, "test": c.test, "remedy": c.remedy, "caution": c.caution, "because": c.because}
                for c in found.causes
            ],
        })  # fmt: skip
    else:
        from bathkeeper.cli.advice_text import paragraphs

        for line in sentences(found, most):
            answer(paragraphs([line.strip()], len(line) - len(line.lstrip())))
    tell_damage(workshop)
