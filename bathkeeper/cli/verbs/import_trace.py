"""``import trace``: a logger's file as it is, shown as understood, asked about where unclear, booked when confirmed."""

from __future__ import annotations

import re
import shlex
import sys
import time
from collections.abc import Callable
from dataclasses import dataclass, field, replace
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from bathkeeper.cli.exits import Exit
from bathkeeper.cli.options import book_option, json_option, open_workshop, tell_damage
from bathkeeper.cli.talk import answer, answer_json, say

if TYPE_CHECKING:
    from bathkeeper.bench.intake import Proposal, TraceIntake, Wanted
    from bathkeeper.entries import AnyEntry
    from bathkeeper.traces.asking import Answers, Question

Command = Callable[..., None]
_OPTIONS = (
    click.option("--run", "run_id", metavar="ID", help="The run that it belongs to; else the one at that time."),
    click.option("--tank", metavar="TANK", help="The tank it was measured in; with current and no run there, a run is made."),
    click.option("--supply", metavar="NAME", help="The supply that gave the current."),
    click.option("--new", is_flag=True, help="A run of its own in --tank, even where one is near in time."),
    click.option("--instead", is_flag=True, help="It takes the place of the trace that --run has."),
    click.option(
        "--columns",
        metavar="WHAT=COLUMN,...",
        multiple=True,
        help="Columns by number or name, such as time=1,current=3,ph=none; date and time as time=1+2.",
    ),
    click.option("--unit", metavar="WHAT=UNIT", multiple=True, help="A unit that the file does not say, such as current=mA."),
    click.option("--day-first", "order", flag_value="dmy", help="Dates are day, month, year."),
    click.option("--month-first", "order", flag_value="mdy", help="Dates are month, day, year."),
    click.option("--year-first", "order", flag_value="ymd", help="Dates are year, month, day."),
    click.option("--decimal", type=click.Choice([".", ","]), help="The decimal mark."),
    click.option(
        "--offset",
        "--timezone",
        "zone",
        metavar="ZONE",
        help="Of the file's clock, such as +02:00 or Europe/Vienna; else this machine's.",
    ),
    click.option(
        "--start",
        metavar="WHEN",
        help="When its first row was, where the file does not say; a date alone leaves the time of day to the file.",
    ),
    click.option("--gap", type=click.FloatRange(0, min_open=True), metavar="SECONDS", help="Longest step that is bridged."),
    click.option(
        "--signs", type=click.Choice(["net", "size"]), help="Reverse current counts against, or the sign means nothing."
    ),
    click.option("--reverse", metavar="WORD", help="Rows whose state is this word count against."),
    click.option("--only", metavar="COLUMN=WORD", help="Of several channels in one column, the rows that count: channel=1."),
    click.option("--back", type=click.Choice(["counted", "repeated"]), help="The clock was set back, or rows are there twice."),
    click.option("--spikes", type=click.Choice(["keep", "drop"]), help="Lone values far off both neighbours."),
    click.option(
        "--between",
        type=click.Choice(["straight", "hold"]),
        help="Between two rows the current went straight from one to the next, or holds at the earlier.",
    ),
    click.option(
        "--counter",
        type=click.Choice(["running", "interval"]),
        help="A counter of charge runs on, or each row tells the charge of its own interval.",
    ),
    click.option("--stretch", metavar="N|all", help="Which stretch of current is the load, where there are several."),
    click.option("--measured", is_flag=True, help="The current was measured, although it looks like a set value."),
)


@dataclass(frozen=True)
class Said:
    """What was said on the command line, or at a question, by option."""

    columns: dict[str, str] = field(default_factory=dict)
    units: dict[str, str] = field(default_factory=dict)
    plain: dict[str, Any] = field(default_factory=dict)

    @classmethod
    def of(cls, given: dict[str, Any]) -> Said:
        """From options by name. Raises click.UsageError."""
        plain = {k: v for k, v in given.items() if k not in ("columns", "unit") and v not in (None, False)}
        return cls(_pairs(given.get("columns") or (), "columns"), _pairs(given.get("unit") or (), "unit"), plain)

    def with_words(self, words: str) -> Said:
        """With options as they would be typed: ``--unit current=mA``. Raises click.ClickException, ValueError."""
        context = trace.make_context("trace", ["-", *shlex.split(words)], resilient_parsing=False)
        more = Said.of({k: v for k, v in context.params.items() if k in _NAMES})
        return replace(
            self,
            columns={**self.columns, **more.columns},
            units={**self.units, **more.units},
            plain={**self.plain, **more.plain},
        )

    def answers(self) -> Answers:
        """For the reader. Raises click.UsageError."""
        from datetime import date, datetime

        from bathkeeper.moments import moment
        from bathkeeper.traces.asking import Answers

        start, day = None, None
        if "start" in self.plain and re.fullmatch(r"\s*\d{4}-\d{2}-\d{2}\s*", self.plain["start"]):
            try:
                day = date.fromisoformat(self.plain["start"].strip())
            except ValueError as problem:
                raise click.UsageError(f"--start: {problem}") from None
        elif "start" in self.plain:
            try:
                start = moment(self.plain["start"], datetime.now().astimezone())
            except ValueError as problem:
                raise click.UsageError(f"--start: {problem}") from None
        only = self.plain.get("only")
        if only is not None and not all(part.strip() for part in only.rpartition("=")):
            raise click.UsageError("--only takes a column and the word in it, such as 2=1 or channel=B")
        stretch = self.plain.get("stretch")
        if (
            stretch is not None
            and stretch != "all"
            and not (stretch.isascii() and stretch.isdigit() and 0 < int(stretch) < 1000)
        ):
            raise click.UsageError("--stretch takes a number from 1, or all")
        return Answers(
            columns=self.columns,
            units=self.units,
            date_order=self.plain.get("order"),
            decimal=self.plain.get("decimal"),
            start=start,
            start_day=day,
            gap_s=self.plain.get("gap"),
            signs=self.plain.get("signs"),
            reverse=self.plain.get("reverse"),
            only=None if only is None else (only.rpartition("=")[0], only.rpartition("=")[2]),
            back=self.plain.get("back"),
            spikes=self.plain.get("spikes"),
            between=self.plain.get("between"),
            counter=self.plain.get("counter"),
            measured=self.plain.get("measured", False),
            stretch=None if stretch is None else 0 if stretch == "all" else int(stretch),
        )

    def wanted(self) -> Wanted:
        """Where it belongs."""
        from bathkeeper.bench.intake import Wanted

        told = self.plain
        places = told.get("run_id"), told.get("tank"), told.get("supply")
        return Wanted(*places, told.get("new", False), told.get("instead", False), told.get("zone"))


def with_options(f: Command) -> Command:
    """The options that answer what a file leaves open."""
    for option in reversed(_OPTIONS):
        f = option(f)
    return f


@click.command("trace")
@click.argument("file", type=click.Path(path_type=Path))
@with_options
@click.option("--dry-run", is_flag=True, help="Show what was understood; write nothing.")
@click.option("--yes", is_flag=True, help="Book it as understood, without being asked.")
@json_option
@book_option
def trace(file: Path, dry_run: bool, yes: bool, as_json: bool, book: Path | None, **given: Any) -> None:
    """Take in the log of a supply or of a pH or temperature logger, as the file is.

    Shows what was understood and asks before it books. What the file leaves open (which column, mA or A, day or month first)
    is never guessed: an option answers it, and the answer is kept for the next file of the same logger.
    """
    from bathkeeper.bench.intake import TraceIntake
    from bathkeeper.cli.trace_text import proposal_plain, proposal_text
    from bathkeeper.traces.asking import TraceError

    workshop = open_workshop(book)
    if not dry_run:
        tell_damage(workshop)
    intake = TraceIntake(workshop)
    said = Said.of(given)
    talking = not as_json and not yes and not dry_run and sys.stdin.isatty() and sys.stdout.isatty()
    try:
        while True:
            with Progress(file) as progress:
                proposal = intake.propose(file, said.answers(), said.wanted(), seen=progress.seen)
            if not as_json:
                answer(proposal_text(proposal, workshop.preferences))
            if not proposal.questions or not talking:
                break
            said = _asked(proposal.questions[0], said, of_several=len(proposal.questions) > 1)
        booked = not proposal.questions and not dry_run and (yes or (talking and click.confirm("Book it?", err=True)))
        entries = _booked(intake, proposal) if booked else []
    except TraceError as problem:
        say(f"Nothing was written. {problem}")
        raise click.exceptions.Exit(Exit.UNCLEAR) from None
    if as_json:
        answer_json(proposal_plain(proposal, booked=booked, dry_run=dry_run, entries=entries))
    elif entries:
        answer(f"Written as {entry.id} ({entry.kind})" for entry in entries)
    if not booked:
        _left(proposal, dry_run, talking)
    if dry_run:
        tell_damage(workshop)


_NAMES = {p.name for p in trace.params if isinstance(p, click.Option)} - {"dry_run", "yes", "as_json", "book"}


def _booked(intake: TraceIntake, proposal: Proposal) -> list[AnyEntry]:
    """Writes it. Stopped by the keeper in the middle, it says whether the entries are in the book: they are all or none."""
    try:
        return intake.book(proposal)
    except KeyboardInterrupt:
        there = intake.holds(proposal)
        say(
            "Stopped, but all of it is in the book already: `show` lists its entries, `log correction` withdraws one."
            if there
            else "Stopped. Nothing was written."
        )
        raise click.exceptions.Exit(Exit.DONE if there else Exit.REFUSED) from None


def _left(proposal: Proposal, dry_run: bool, talking: bool) -> None:
    """Says why nothing was written, and ends with its code unless that was asked for."""
    if proposal.questions:
        say("Nothing was written. What is asked above has to be answered first.")
        raise click.exceptions.Exit(Exit.UNCLEAR)
    if dry_run or talking:
        say("Nothing was written.")
        return
    say("Nothing was written. Add --yes if this is right.")
    raise click.exceptions.Exit(Exit.UNCLEAR)


def _asked(question: Question, said: Said, *, of_several: bool) -> Said:
    """One question put to the person at the terminal: the number of a choice, or options as they would be typed."""
    which = "To the first question: a number" if of_several else "A number"
    while True:
        text = click.prompt(f"{which}, other options, or nothing to stop", default="", show_default=False, err=True).strip()
        if not text:
            say("Nothing was written.")
            raise click.exceptions.Exit(Exit.UNCLEAR)
        try:
            if text.isascii() and text.isdigit() and 1 <= int(text) <= len(question.choices):
                return said.with_words(question.choices[int(text) - 1].option)
            return said.with_words(text)
        except (click.ClickException, ValueError) as problem:
            say(str(problem) or "that is no option; write for example --unit current=A")


def _pairs(texts: tuple[str, ...], name: str) -> dict[str, str]:
    """``current=3,time=1`` as pairs. Raises click.UsageError."""
    from bathkeeper.traces.asking import QUANTITIES

    known = (*QUANTITIES, "time", "date", "counter", "power")
    made = {}
    for text in texts:
        for part in text.split(","):
            key, sign, value = part.partition("=")
            key = key.strip().casefold()
            if not sign or key not in known or not value.strip():
                raise click.UsageError(f"--{name} {part}: write WHAT=..., where WHAT is one of {', '.join(known)}")
            made[key] = value.strip()
    return made


class Progress:
    """A bar on the terminal once reading takes longer than a second; nothing elsewhere."""

    def __init__(self, file: Path) -> None:
        from bathkeeper.logbook.text_files import size_of

        self._size, self._read, self._began, self._shown = size_of(file), 0, time.monotonic(), False

    def __enter__(self) -> Progress:
        return self

    def seen(self, count: int) -> None:
        """So many more bytes were read."""
        self._read += count
        if sys.stderr.isatty() and time.monotonic() - self._began > 1.0 and self._size:
            self._shown = True
            before, read = divmod(self._read - 1, self._size)  # some files show only late how they are to be read
            part = (read + 1) / self._size
            again = " once more" if before else ""
            click.echo(f"\r[{'#' * int(30 * part):<30}] {100 * part:3.0f} %{again}", err=True, nl=False)

    def __exit__(self, *_: object) -> None:
        if self._shown:
            click.echo(f"\r{' ' * 50}\r", err=True, nl=False)
