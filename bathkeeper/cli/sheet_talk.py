"""A spreadsheet on the command line: the mapping as a table, what is asked about it, and what an import does or would do."""

from __future__ import annotations

import sys
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from typing import TYPE_CHECKING, Any

import click

from bathkeeper.cli.plain import clean
from bathkeeper.cli.tables import Cell, Column, table
from bathkeeper.cli.talk import counted, say

if TYPE_CHECKING:
    from bathkeeper.phrases import Vocabulary
    from bathkeeper.sheets.asking import Question
    from bathkeeper.sheets.making import Fault
    from bathkeeper.sheets.taking import Looked, Plan

LONG = 300  # rows; reading them takes about a second


def can_ask() -> bool:
    """Whether there is somebody to ask."""
    return sys.stdin.isatty() and sys.stderr.isatty()


def mapping_table(looked: Looked) -> list[str]:
    """Every column with its first cells and what it is taken as."""
    from bathkeeper.sheets.roles import role_words

    rows: list[list[Cell | str]] = []
    for place, name in enumerate(looked.heads.names):
        role = role_words(looked.mapping, name)
        style = "faint" if role == "not taken" else ""
        rows.append([_short(name, 40), _short(" · ".join(examples(looked, place)), 60), Cell(role, style)])
    return table([Column("column", wraps=True), Column("such as", wraps=True), Column("is taken as", wraps=True)], rows)


def examples(looked: Looked, place: int, most: int = 3) -> list[str]:
    """The first few different cells of a column."""
    cells = (line.cell(place) for line in looked.grid.lines if line.number >= looked.mapping.first_row)
    texts = dict.fromkeys(f"{_short(c.text, 24)}{' ' + c.unit if c.unit else ''}" for c in cells if c.filled)
    return list(texts)[:most]


def about_sheet(looked: Looked) -> list[str]:
    """How the sheet is read, apart from its columns."""
    mapping = looked.mapping
    order = {"dmy": "day first", "mdy": "month first", "ymd": "year first"}.get(mapping.date_order or "", "")
    told = [
        f"headings in row {', '.join(str(r) for r in mapping.header_rows)}, notes from row {mapping.first_row}",
        f"dates {order}" if order else "",
        f"decimal {mapping.decimal}" if mapping.decimal else "",
        f"tank {mapping.tank}" if mapping.tank else "",
        f"offset {mapping.offset}" if mapping.offset else "times are this computer's local time",
    ]
    conditions = [f"{e.kind.replace('_', '-')} only where {r.words}" for e in mapping.entries for r in e.only]
    return [clean(line, lines=False) for line in ["; ".join(t for t in told if t), *conditions, *looked.notes]]


def ask_all(looked: Looked, vocabulary: Vocabulary) -> Looked:
    """Asks what is open, one after the other. Raises click.Abort when the person stops."""
    from bathkeeper.sheets.asking import answered

    while looked.open:
        question = looked.open[0]
        while True:
            answer = _ask(question)
            try:
                looked = looked.with_mapping(answered(looked.mapping, question.key, answer, vocabulary), vocabulary)
                break
            except ValueError as problem:
                say(f"  {problem}")
        if any(q.key == question.key for q in looked.open):
            raise click.UsageError(f"{question.key} is still open after the answer; give a mapping (--map FILE.toml)")
    return looked


def _ask(question: Question) -> str:
    say(question.text)
    for number, (_, words) in enumerate(question.choices, start=1):
        say(f"  {number} {words}")
    said = str(click.prompt("  answer" if not question.choices else "  number", err=True)).strip()
    if question.choices and said.isdecimal() and 1 <= int(said) <= len(question.choices):
        return question.choices[int(said) - 1][0]
    return said


def told_open(looked: Looked) -> list[str]:
    """What is open, with the option that answers it."""
    lines = []
    for q in looked.open:
        first = q.choices[0][0] if q.choices else "UNIT"
        others = f" (or {', '.join(c for c, _ in q.choices[1:])})" if q.choices[1:] else ""
        lines.append(f'{q.text}\n  say --answer "{q.key}={first}"{others}')
    return lines


def plan_table(plan: Plan) -> list[str]:
    """What would be written, row by row."""
    from bathkeeper.headlines import sentence

    columns = [Column("row", right=True), Column("when"), Column("entry", wraps=True)]
    rows = [[str(n), f"{e.at:%Y-%m-%d %H:%M:%S}", _short(sentence(e), 400)] for n, e in plan.entries]
    return table(columns, rows) if rows else []


def faults_table(faults: tuple[Fault, ...]) -> list[str]:
    """What is not taken, by row and column, why, and what would be right."""
    heads = ("column", "why not", "what would be right")
    columns = [Column("row", right=True), *(Column(head, wraps=True) for head in heads)]
    return table(columns, [[str(f.row), _short(f.column, 40), _short(f.what, 300), _short(f.right, 300)] for f in faults])


def summary(plan: Plan, done: bool) -> list[str]:
    """In a few lines what came, or would."""
    came = "came" if done else "would come"
    said = f"{counted(len(plan.entries), 'entry')} {came} in from {counted(plan.taken_rows, 'row')}"
    lines = [f"{said}, {plan.already} were there already"]
    for count, what in (
        (plan.refused_rows, "cannot be read and {} left out"),
        (len({f.row for f in plan.unlikely}), "{} unlikely and left out (--unlikely takes them)"),
        (len(plan.passed), "make{s} no entry"),
        (len({f.row for f in plan.left}), "ha{ve} cells that go into no entry"),
    ):
        if count:
            one = count == 1
            told = what.format("is" if one else "are", s="s" if one else "", ve="s" if one else "ve")
            lines.append(f"{counted(count, 'row')} {told}")
    return lines


def plan_json(plan: Plan, done: bool) -> dict[str, Any]:
    """The same for scripts."""
    from bathkeeper.sheets.taking import mapping_body

    looked = plan.looked

    def plain(faults: tuple[Fault, ...]) -> list[dict[str, Any]]:
        return [{"row": f.row, "column": f.column, "cell": f.cell, "what": f.what, "right": f.right} for f in faults]

    return {
        "added": len(plan.entries), "already": plan.already, "dated": plan.dated, "dry_run": not done,
        "sheet": looked.grid.name, "rows": plan.rows, "rows_taken": plan.taken_rows,
        "refused": plain(plan.refused), "unlikely": plain(plan.unlikely), "passed": plain(plan.passed),
        "left_over": plain(plan.left),
        "mapping": {"name": looked.name, "origin": looked.origin, **mapping_body(looked.mapping)},
        "entries": [] if done else [{"row": n, "entry": e} for n, e in plan.entries],
    }  # fmt: skip


def open_json(looked: Looked) -> dict[str, Any]:
    """What is asked, for scripts."""
    from bathkeeper.sheets.taking import mapping_body

    return {
        "questions": [{"key": q.key, "text": q.text, "choices": [c for c, _ in q.choices]} for q in looked.open],
        "mapping": {"name": looked.name, "origin": looked.origin, **mapping_body(looked.mapping)},
    }


@contextmanager
def progress(rows: int) -> Iterator[Callable[[int], None] | None]:
    """A bar on stderr for long sheets, only on a terminal."""
    if rows < LONG or not sys.stderr.isatty():
        yield None
        return
    with click.progressbar(length=rows, label="Reading rows", file=sys.stderr, update_min_steps=25) as bar:
        yield lambda _: bar.update(1)


def _short(text: str, most: int) -> str:
    plain = clean(text, lines=False)
    return plain if len(plain) <= most else plain[: most - 1] + "…"
