"""``import entries`` of a spreadsheet: the mapping shown and asked about, what would come, and the import."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import click

from bathkeeper.cli import sheet_talk
from bathkeeper.cli.exits import Exit
from bathkeeper.cli.options import open_workshop, tell_damage
from bathkeeper.cli.plain import clean
from bathkeeper.cli.talk import answer, answer_json, counted, say

if TYPE_CHECKING:
    from bathkeeper.sheets.taking import Looked, Plan
    from bathkeeper.workshop import Workshop

MOST_NAMED = 20  # refused rows told after an import; --dry-run tells all


def import_sheet(
    file: Path, mapping: str | None, sheet: str | None, answers: tuple[str, ...], encoding: str | None, delimiter: str | None,
    save_map: Path | None, dry_run: bool, yes: bool, unlikely: bool, as_json: bool, book: Path | None,
) -> None:  # fmt: skip
    """Does what ``import entries --help`` says of spreadsheets."""
    from bathkeeper.sheets.taking import look, read, rows_to_come, take
    from bathkeeper.workshop import now

    workshop = open_workshop(book)
    if not dry_run:
        tell_damage(workshop)
    looked = look(workshop, file, given=mapping, sheet=sheet, encoding=encoding, delimiter=delimiter)
    looked = _answered(workshop, looked, answers)
    looked = _agreed(workshop, looked, save_map, dry_run, yes, as_json)
    with sheet_talk.progress(rows_to_come(looked)) as told:
        plan = read(workshop, looked, now(), unlikely=unlikely, told=told)
    if dry_run:
        _tell(plan, done=False, as_json=as_json)
        tell_damage(workshop)
        return
    if looked.origin == "proposed" and not yes and plan.entries:
        say(*sheet_talk.summary(plan, done=False))
        click.confirm("Write them to the book?", abort=True, err=True)
    before = {problem.entry for problem in workshop.problems}
    take(workshop, plan, now(), keep_mapping=bool(plan.entries or plan.already))
    _tell(plan, done=True, as_json=as_json)
    new = [p for p in workshop.problems if p.entry not in before]
    if new:
        say(f"{counted(len(new), 'entry')} could not be used by the estimate; `bathkeeper check` tells them all. The first: "
            f"{new[0].what}. {new[0].right}")  # fmt: skip
    if (plan.refused or plan.unlikely) and not plan.entries and not plan.already:
        raise click.exceptions.Exit(Exit.REFUSED)


def _answered(workshop: Workshop, looked: Looked, answers: tuple[str, ...]) -> Looked:
    from bathkeeper.sheets.asking import answered

    for said in answers:
        key, sign, text = said.rpartition("=")
        if not sign:
            raise click.BadParameter(f"`{clean(said)}` has no `=`; write for example dates=dmy", param_hint="--answer")
        try:
            looked = looked.with_mapping(answered(looked.mapping, key.strip(), text, workshop.vocabulary), workshop.vocabulary)
        except ValueError as problem:
            raise click.BadParameter(clean(str(problem), lines=False), param_hint="--answer") from None
    return looked


def _agreed(workshop: Workshop, looked: Looked, save_map: Path | None, dry_run: bool, yes: bool, as_json: bool) -> Looked:
    """The mapping as it will be used: asked about where there is somebody to ask, else refused while anything is open."""
    asks = not as_json and not yes and not dry_run and sheet_talk.can_ask()
    fresh = looked.origin == "proposed"
    if fresh and not as_json:
        say(*sheet_talk.about_sheet(looked))
        click.echo("\n".join(sheet_talk.mapping_table(looked)), err=True)
    if looked.open and asks:
        looked = sheet_talk.ask_all(looked, workshop.vocabulary)
    if save_map is not None:
        from bathkeeper.logbook.exchange import write_file
        from bathkeeper.sheets.taking import mapping_toml

        write_file(save_map, mapping_toml(looked.mapping).encode())
        say(f"The mapping is in {save_map}; change it as you like and give it back with --map {save_map}")
    if looked.open:
        if as_json:
            answer_json(sheet_talk.open_json(looked))
        say("Nothing was written. This sheet leaves open:", *sheet_talk.told_open(looked))
        raise click.exceptions.Exit(Exit.UNCLEAR)
    if not looked.mapping.entries:
        say("Nothing was written: no column is known. Write a mapping (--save-map FILE.toml), then give it: --map FILE.toml.")
        raise click.exceptions.Exit(Exit.UNCLEAR)
    if fresh and not yes and not dry_run:
        if not asks:
            if as_json:
                answer_json(sheet_talk.open_json(looked))
            say("Nothing was written: the mapping is only proposed. Look at it with --dry-run; --yes takes it as it is.")
            raise click.exceptions.Exit(Exit.UNCLEAR)
        click.confirm("Read the sheet like this? (--save-map FILE.toml writes it down to be changed)", abort=True, err=True)
    return looked


def _tell(plan: Plan, done: bool, as_json: bool) -> None:
    if as_json:
        answer_json(sheet_talk.plan_json(plan, done))
        return
    faults = (*plan.refused, *plan.unlikely, *plan.passed, *plan.left)
    if not done:
        answer(sheet_talk.plan_table(plan))
        if faults:
            answer(["", "Not taken:", *sheet_talk.faults_table(faults)])
        answer(["", *sheet_talk.summary(plan, done)])
        say("Nothing was written.")
        return
    answer(sheet_talk.summary(plan, done))
    if faults:
        shown = faults[:MOST_NAMED]
        more = f" (the first {MOST_NAMED} of {len(faults)}; --dry-run tells all)" if len(faults) > MOST_NAMED else ""
        click.echo("\n".join([f"Not taken{more}:", *sheet_talk.faults_table(shown)]), err=True)
    if plan.dated:
        say(f"{counted(plan.dated, 'row')} with a date alone: they count as of that day's first seconds, in the sheet's order.")
