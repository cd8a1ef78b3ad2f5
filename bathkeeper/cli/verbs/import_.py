"""The verb ``import``: rows from elsewhere become entries."""

from __future__ import annotations

from pathlib import Path

import click

from bathkeeper.cli.options import book_option, json_option, open_workshop, tell_damage
from bathkeeper.cli.talk import answer, answer_json, counted, say
from bathkeeper.cli.verbs.import_trace import trace


@click.group("import")
def verb() -> None:
    """Take in entries from a file."""


verb.add_command(trace)


@verb.command("entries")
@click.argument("file", type=click.Path(path_type=Path))
@click.option("--map", "mapping", metavar="NAME|FILE.toml", help="How a sheet is read: by a mapping in the book or in a file.")
@click.option("--sheet", metavar="NAME", help="Which sheet of a workbook; else the first that is known or can be read.")
@click.option("--answer", "answers", multiple=True, metavar="KEY=ANSWER", help="What a sheet leaves open, as dates=dmy.")
@click.option("--encoding", metavar="NAME", help="Of a text file, where it is not found out.")
@click.option("--delimiter", metavar="SIGN", help="Of a text file, where it is not found out; tab is written as tab.")
@click.option("--save-map", type=click.Path(path_type=Path), metavar="FILE.toml", help="Write the mapping to a file.")
@click.option("--dry-run", is_flag=True, help="Say what would be taken in and what not, and why; write nothing.")
@click.option("--yes", is_flag=True, help="Take a proposed mapping as it is.")
@click.option("--unlikely", is_flag=True, help="Take also rows with values that are unlikely.")
@json_option
@book_option
def entries(
    file: Path, mapping: str | None, sheet: str | None, answers: tuple[str, ...], encoding: str | None, delimiter: str | None,
    save_map: Path | None, dry_run: bool, yes: bool, unlikely: bool, as_json: bool, book: Path | None,
) -> None:  # fmt: skip
    """Take in a file of entries: JSON Lines, a CSV file, or a workbook (.xlsx).

    JSON Lines, one entry a line, come all or none; rows need `kind` and `at`, not id, schema or sum.

    Of a spreadsheet a mapping is proposed and asked about once; it is kept in the book, and the next sheet of that layout
    needs no answers. Rows that can be read are taken, the others are named with their reasons. What was taken in before is not
    taken in again.
    """
    if _is_lines(file):
        _json_lines(file, dry_run, as_json, book)
        return
    from bathkeeper.cli.verbs.import_sheet import import_sheet

    sign = "\t" if delimiter is not None and delimiter.casefold() in ("tab", "\\t") else delimiter
    if sign is not None and len(sign) != 1:
        raise click.BadParameter("a delimiter is one sign, for example ; or tab", param_hint="--delimiter")
    import_sheet(file, mapping, sheet, answers, encoding, sign, save_map, dry_run, yes, unlikely, as_json, book)


def _is_lines(file: Path) -> bool:
    """JSON Lines by its ending, or where another ending says nothing, by its first sign."""
    ending = file.suffix.casefold()
    if ending in (".jsonl", ".json", ".ndjson"):
        return True
    if ending in (".csv", ".tsv", ".txt", ".xlsx", ".xlsm", ".xls"):
        return False
    try:
        with file.expanduser().open("rb") as opened:
            start = opened.read(200)
    except OSError:
        return True  # the reader of lines says what is wrong with the file
    return not start.strip() or start.removeprefix(b"\xef\xbb\xbf").lstrip()[:1] in (b"{", b"[")


def _json_lines(file: Path, dry_run: bool, as_json: bool, book: Path | None) -> None:
    from bathkeeper.logbook.exchange import import_entries

    workshop = open_workshop(book)
    if not dry_run:
        tell_damage(workshop)
    before = {problem.entry for problem in workshop.problems}
    result = import_entries(workshop.book, file, dry_run=dry_run)
    workshop.take_up()
    new = [p for p in workshop.problems if p.entry not in before]
    if as_json:
        answer_json({
            "added": result.added, "already": result.already, "dated": result.dated, "dry_run": dry_run, "problems": new,
        })
    else:
        came = "would come" if dry_run else "came"
        answer([f"{counted(result.added, 'entry')} {came} in, {result.already} were there already"])
        if result.dated:
            say(f"{counted(result.dated, 'row')} with a date alone: they count as of that day in UTC, in file order.")
        say(*(f"{p.what}. {p.right}" for p in new))
    if dry_run:
        tell_damage(workshop)


