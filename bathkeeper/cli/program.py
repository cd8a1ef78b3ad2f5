"""The program as a whole: its verbs, and the edge where every error becomes a sentence and an exit code."""

from __future__ import annotations

import errno
import importlib
import sys
from pathlib import Path
from typing import NoReturn

import click

from bathkeeper import __version__
from bathkeeper.cli.exits import Exit
from bathkeeper.cli.options import book_option
from bathkeeper.cli.talk import say

VERBS = (
    "demo", "new", "status", "due", "snooze", "forecast", "dose", "log", "run", "show", "why", "causes", "signs", "anodes",
    "stock", "waste", "report", "lay-up", "wake-up", "calc", "safety", "recipe", "settings", "check", "import", "export",
    "merge", "salvage",
)  # in the order of the help


class Program(click.Group):
    """Looks verbs up by name, so that each start loads only the verb it runs; turns errors into sentences."""

    def list_commands(self, ctx: click.Context) -> list[str]:
        return list(VERBS)

    def get_command(self, ctx: click.Context, cmd_name: str) -> click.Command | None:
        if cmd_name not in VERBS:
            return None
        name = f"{cmd_name}_" if cmd_name == "import" else cmd_name.replace("-", "_")
        command = importlib.import_module(f"bathkeeper.cli.verbs.{name}").verb
        assert isinstance(command, click.Command)
        return command

    def invoke(self, ctx: click.Context) -> object:
        try:
            return super().invoke(ctx)
        except (click.ClickException, click.exceptions.Exit, click.Abort):
            raise
        except OSError as problem:
            if problem.errno == errno.EPIPE:
                raise  # whoever read our answer has gone away; click ends quietly
            ctx.exit(tell(problem))
        except Exception as problem:
            ctx.exit(tell(problem))


@click.group(cls=Program, invoke_without_command=True, context_settings={"help_option_names": ["-h", "--help"]})
@click.version_option(__version__, prog_name="bathkeeper", message="%(prog)s %(version)s")
@book_option
@click.pass_context
def program(ctx: click.Context, book: Path | None) -> None:
    """A logbook that does the chemistry of a small plating line. Without a verb it opens the app."""
    if ctx.invoked_subcommand is None:
        from bathkeeper.cli.app import open_app
        from bathkeeper.cli.options import book_path

        open_app(book_path(book))


def tell(problem: Exception) -> Exit:
    """Says what went wrong, in a sentence, and gives the code to end with."""
    code = _known(problem)
    if code is not None:
        message = getattr(problem, "message", None)
        say(f"{problem.title}. {message}" if message and hasattr(problem, "title") else str(problem))
        return code
    from bathkeeper.cli.mishap import keep

    say(keep(problem))
    return Exit.REFUSED


def _known(problem: Exception) -> Exit | None:
    """The code of an error that is part of the work; None of one that nobody foresaw."""
    # Imported here: a verb that failed has loaded most of it, and one that did not never comes here.
    from bathkeeper.catalogue.typed import CatalogueError
    from bathkeeper.copies.estimates import CopyError
    from bathkeeper.counsel.shapes import CounselError
    from bathkeeper.entries import EntryError
    from bathkeeper.logbook.errors import BookError
    from bathkeeper.phrases import PhraseError
    from bathkeeper.reports.model import ReportError
    from bathkeeper.runs.again import AgainError
    from bathkeeper.runs.live_events import LiveError
    from bathkeeper.runs.parts import PartError
    from bathkeeper.runs.wish import SettingError
    from bathkeeper.sheets.making import MappingError
    from bathkeeper.units.door import UnitError
    from bathkeeper.workshop import NotFound

    if isinstance(problem, BookError):
        return Exit.REFUSED
    elsewhere = (LiveError, PartError, SettingError, AgainError, CounselError, ReportError, MappingError, CopyError)
    if isinstance(problem, (NotFound, EntryError, UnitError, PhraseError, CatalogueError, *elsewhere)):
        return Exit.UNCLEAR
    return None


def run() -> NoReturn:
    """Runs with the arguments of the process."""
    for stream in (sys.stdout, sys.stderr):
        if hasattr(stream, "reconfigure"):
            stream.reconfigure(errors="replace")  # a terminal that cannot show a sign shows `?`, and the rest of the line
    program(prog_name="bathkeeper")
    raise AssertionError("click ends the process")
