"""The verb ``log``: an entry in words, checked, shown as understood, and written."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime
from pathlib import Path
from typing import TYPE_CHECKING

import click

from bathkeeper.cli.exits import Exit
from bathkeeper.cli.options import book_option, json_option, logged_when_option, open_workshop, tell_damage
from bathkeeper.cli.plain import clean
from bathkeeper.cli.talk import answer, answer_json, say
from bathkeeper.refusals import joined

if TYPE_CHECKING:
    from bathkeeper.phrases import Composed
    from bathkeeper.workshop import Workshop


TYPED = "bathkeeper.log.typed"
"""Under which the words stand that were typed, since help is shown before they are read."""


class _WithExamples(click.Command):
    """Help that ends with a line of every kind, as the quick form keeps them; of a container one of each thing done, of a
    definition each kind of waste limit too."""

    def parse_args(self, ctx: click.Context, args: list[str]) -> list[str]:
        ctx.meta[TYPED] = list(args)
        return super().parse_args(ctx, args)

    def format_epilog(self, ctx: click.Context, formatter: click.HelpFormatter) -> None:
        from bathkeeper.catalogue.own_waste import EXAMPLES as WASTE_LIMITS
        from bathkeeper.phrases import examples_of

        kind = next((w for w in ctx.meta.get(TYPED, ()) if not w.startswith("-")), "")
        with formatter.section("Examples"):
            more = WASTE_LIMITS.values() if kind == "definition" else ()
            for example in (*examples_of(kind), *more):
                formatter.write(f"  bathkeeper log {example}\n")


@click.command("log", cls=_WithExamples)
@click.argument("kind")
@click.argument("words", nargs=-1)
@logged_when_option
@click.option("--yes", is_flag=True, help="Accept values that are unlikely.")
@click.option("--dry-run", is_flag=True, help="Show what was understood and what would change; write nothing.")
@json_option
@book_option
def verb(
    kind: str, words: tuple[str, ...], when: datetime | None, yes: bool, dry_run: bool, as_json: bool, book: Path | None
) -> None:
    """Write an entry: KIND, then words as in the examples.

    Prints what was understood and what it changed in the estimate. A correction names the entry by its id.
    """
    from bathkeeper.workshop import now

    workshop = open_workshop(book)
    if not dry_run:
        tell_damage(workshop)
    composed = _composed(workshop, kind, words, when or now())
    doubts = workshop.doubts_about(composed.raw)
    if doubts and not yes and not dry_run:
        say(f"Nothing was written. {joined(doubts)}: add --yes if it is so.")
        raise click.exceptions.Exit(Exit.UNCLEAR)
    cautions = workshop.cautions_about(composed.raw) if dry_run or _worth_caution(composed.raw) else []
    said: dict[str, object] = {"understood": composed.understood, "doubts": doubts, "cautions": cautions, "dry_run": dry_run}
    if dry_run:
        said |= {"entry": composed.raw, "changes": workshop.preview(composed.raw)}
    else:
        logged = workshop.log(composed.raw)
        said |= {"entry": logged.entry, "changes": logged.changes}
    if as_json:
        answer_json(said)
    else:
        _tell(said)
    if dry_run:
        tell_damage(workshop)


def _worth_caution(raw: dict[str, object]) -> bool:
    """Whether cautions are said after the deed too: every time but for everyday runs, or nobody would read them."""
    parts = raw.get("parts", ())
    assert isinstance(parts, (list, tuple))
    return raw["kind"] != "run" or any({"safety_critical", "property_class", "strength_mpa"} & part.keys() for part in parts)


def _composed(workshop: Workshop, kind: str, words: Sequence[str], at: datetime) -> Composed:
    """The entry that the words say. Raises PhraseError, NotFound."""
    from bathkeeper.entries import plain
    from bathkeeper.phrases import compose

    if kind != "correction" or not words or "=" in words[0]:
        return compose(kind, words, workshop.vocabulary, at)
    history = workshop.history(words[0])
    target = history.in_force or history.logged
    return compose(kind, [target.id, *words[1:]], workshop.vocabulary, at, plain(target))


def _tell(said: dict[str, object]) -> None:
    lines: list[str] = []
    changed = "Would change" if said["dry_run"] else "Changed, as it stands now"
    for head, key in (("Understood", "understood"), (changed, "changes")):
        texts = said[key]
        assert isinstance(texts, list)
        if texts:
            lines += [f"{head}:", *(f"  {clean(t, lines=False)}" for t in texts)]
    entry = said["entry"]
    if not isinstance(entry, dict):
        lines.append(f"Written as {getattr(entry, 'id', '')}")
    answer(lines)
    for key, head in (("cautions", "Take care"), ("doubts", "Unlikely")):
        texts = said[key]
        assert isinstance(texts, list)
        say(*(f"{head}: {t}" for t in texts))
    if said["dry_run"]:
        say("Nothing was written.")
