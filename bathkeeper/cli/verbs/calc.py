"""The verb ``calc``: questions that need no book. Its verbs, options and help are made from the registry of calculators."""

from __future__ import annotations

from collections.abc import Callable
from datetime import datetime
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from bathkeeper.cli.exits import Exit
from bathkeeper.cli.options import book_option, book_path, json_option, open_workshop, tell_damage, when_option
from bathkeeper.cli.plain import clean
from bathkeeper.cli.talk import answer, answer_json, say
from bathkeeper.refusals import joined

if TYPE_CHECKING:
    from bathkeeper.calculators.registry import Answer, Calculator, Input
    from bathkeeper.catalogue.loader import Catalogue
    from bathkeeper.units.numerals import Preferences
    from bathkeeper.workshop import Workshop


class _Calculators(click.Group):
    """Makes the command of a calculator when it is asked for."""

    def list_commands(self, ctx: click.Context) -> list[str]:
        from bathkeeper.calculators.registry import CALCULATORS

        return list(CALCULATORS)

    def get_command(self, ctx: click.Context, cmd_name: str) -> click.Command | None:
        from bathkeeper.calculators.registry import CALCULATORS

        return _command(CALCULATORS[cmd_name]) if cmd_name in CALCULATORS else None

    def resolve_command(self, ctx: click.Context, args: list[str]) -> tuple[str | None, click.Command | None, list[str]]:
        from bathkeeper.calculators.registry import CalcError, calculator

        try:
            one = calculator(args[0])
        except CalcError as problem:
            say(str(problem))
            raise click.exceptions.Exit(Exit.UNCLEAR) from None
        return one.name, _command(one), args[1:]


@click.group("calc", cls=_Calculators, invoke_without_command=True)
@json_option
@click.pass_context
def verb(ctx: click.Context, as_json: bool) -> None:
    """Ask a calculator; without a name, see which there are.

    Every input takes any unit of its kind. No book is needed; where there is one, its units and definitions are used.
    """
    if ctx.invoked_subcommand is not None:
        return
    from bathkeeper.calculators.registry import CALCULATORS, command_line
    from bathkeeper.cli.tables import Cell, Column, table

    if as_json:
        answer_json([_described(one) for one in CALCULATORS.values()])
        return
    rows: list[list[Cell | str]] = [
        [one.name, f"{one.help}\n{command_line(one, one.examples[0])}"] for one in CALCULATORS.values()
    ]
    answer(table([Column("calc"), Column("what it answers", wraps=True)], rows))


class _Command(click.Command):
    """A calculator's command: help ends with examples that run, and with the keys of its JSON."""

    def __init__(self, one: Calculator, **rest: Any) -> None:
        super().__init__(one.name, help=one.help, **rest)
        self.one = one

    def format_epilog(self, ctx: click.Context, formatter: click.HelpFormatter) -> None:
        from bathkeeper.calculators.registry import command_line

        with formatter.section("Examples"):
            for example in self.one.examples:
                formatter.write(f"  {command_line(self.one, example)}\n")
        with formatter.section("Keys of --json"):
            formatter.write_dl(list(self.one.keys.items()))


def _command(one: Calculator) -> click.Command:
    params: list[click.Parameter] = [_parameter(i) for i in one.inputs]
    command = _Command(one, params=params, callback=_callback(one))
    if any(i.positional for i in one.inputs):
        command.context_settings = {"ignore_unknown_options": True}  # -5 °C is a value, not an option
    decorators: list[Callable[[Any], Any]] = [
        book_option,
        json_option,
        click.option("--why", is_flag=True, help="Say the inputs as understood, the formula and the sources too."),
    ]
    if one.logs:
        decorators += [
            when_option,
            click.option("--yes", is_flag=True, help="With --log: accept a reading that is unlikely."),
            click.option("--lot", metavar="LOT", help="With --log: the lot of titrant."),
            click.option("--log", "tank", metavar="TANK", help="Write the answer into the book as a reading of this tank."),
        ]
    for decorate in decorators:
        decorate(command)
    return command


def _parameter(one: Input) -> click.Parameter:
    if one.positional:
        return click.Argument([_variable(one)], required=False, nargs=-1 if one.repeated else 1, metavar=one.name.upper())
    needed = " Needed." if one.required else f" Else {one.default}." if one.default else ""
    several = " May be repeated." if one.repeated else ""
    choices = f" One of {', '.join(one.choices)}." if one.choices else ""
    return click.Option(
        [f"--{one.name}", _variable(one)], multiple=True, metavar=one.example if " " not in one.example else f"'{one.example}'",
        help=f"{one.help}{choices}{needed}{several}",
    )


def _variable(one: Input) -> str:
    return "input_" + one.name.replace("-", "_")


def _callback(one: Calculator) -> Callable[..., None]:
    def run(
        as_json: bool, why: bool, book: Path | None, tank: str | None = None, lot: str | None = None, yes: bool = False,
        when: datetime | None = None, **given: Any,
    ) -> None:
        from bathkeeper.calculators.registry import CalcError

        texts = {i.name: tuple(v) for i in one.inputs if (v := _listed(given[_variable(i)]))}
        try:
            _run(one, texts, as_json, why, book, tank, lot, yes, when)
        except CalcError as problem:
            say(str(problem))
            raise click.exceptions.Exit(Exit.UNCLEAR) from None

    return run


def _listed(value: Any) -> tuple[str, ...]:
    if value is None:
        return ()
    return (value,) if isinstance(value, str) else tuple(value)


def _run(
    one: Calculator, texts: dict[str, tuple[str, ...]], as_json: bool, why: bool, book: Path | None, tank: str | None,
    lot: str | None, yes: bool, when: datetime | None,
) -> None:
    from bathkeeper.calculators.registry import CalcError, ask

    if tank is None and (lot or yes or when is not None):
        raise CalcError("lot, when and yes go with --log TANK, which writes the answer into the book")
    workshop = _workshop(book, needed=tank is not None)
    prefs, catalogue = _habits(workshop)
    found = ask(one, texts, prefs, catalogue)
    said = _plain(found, why)
    if tank is not None:
        assert workshop is not None
        said |= _log(workshop, found, tank, lot, yes, when)
    if as_json:
        answer_json(said)
    else:
        _tell(found, said, why)


def _workshop(book: Path | None, *, needed: bool) -> Workshop | None:
    """The workshop whose units hold. None where nobody named a book that can be opened, unless one is needed."""
    from bathkeeper.logbook.errors import BookError

    path = book_path(book)
    if needed:
        workshop = open_workshop(book)
        tell_damage(workshop)
        return workshop
    if not path.exists():
        if book is not None:
            say(f"There is no book at {path}; units are read without a workshop's habits.")
        return None
    try:
        return open_workshop(book)
    except BookError as problem:
        say(f"The book at {path} could not be opened ({problem.title}); units are read without a workshop's habits.")
        return None


def _habits(workshop: Workshop | None) -> tuple[Preferences, Catalogue | None]:
    from bathkeeper.units.numerals import Preferences

    return (Preferences(), None) if workshop is None else (workshop.preferences, workshop.catalogue)


def _plain(found: Answer, why: bool) -> dict[str, object]:
    said: dict[str, object] = {**found.values, "cautions": list(found.cautions), "open": list(found.open)}
    if why:
        said["inputs"] = list(found.inputs_understood)
        said["formula"] = found.formula
        said["sources"] = list(found.sources)
    return said


def _log(
    workshop: Workshop, found: Answer, tank: str, lot: str | None, yes: bool, when: datetime | None
) -> dict[str, object]:
    """Writes the reading, after the same doubts as ``log`` has."""
    from bathkeeper.calculators.reading import as_reading, fitting
    from bathkeeper.workshop import NotFound, now

    if tank not in workshop.world.tanks:
        raise NotFound(f"no tank is called `{tank}`; there are {', '.join(workshop.world.tanks) or 'none yet'}")
    fitting(found, workshop.recipe(tank), tank)
    raw = {**as_reading(found, tank, lot), "at": when or now()}
    doubts = workshop.doubts_about(raw)
    if doubts and not yes:
        say(f"Nothing was written. {joined(doubts)}: add --yes if it is so.")
        raise click.exceptions.Exit(Exit.UNCLEAR)
    logged = workshop.log(raw)
    return {"entry": logged.entry, "changes": logged.changes}


def _tell(found: Answer, said: dict[str, object], why: bool) -> None:
    lines = [clean(line, lines=False) for line in found.lines]
    if why:
        lines += ["Inputs:", *(f"  {clean(i, lines=False)}" for i in found.inputs_understood)]
        lines += ["Formula:", f"  {found.formula}", "Sources:", *(f"  {s}" for s in found.sources)]
    if "entry" in said:
        changes = said["changes"]
        assert isinstance(changes, list)
        lines += ["Changed:", *(f"  {clean(c, lines=False)}" for c in changes)] if changes else []
        lines.append(f"Written as {getattr(said['entry'], 'id', '')}")
    answer(lines)
    say(*(f"Open: {o}" for o in found.open))
    say(*(f"Take care: {c}" for c in found.cautions))


def _described(one: Calculator) -> dict[str, object]:
    """A calculator as a form or a script needs it."""
    return {
        "name": one.name,
        "title": one.title,
        "help": one.help,
        "inputs": [
            {
                "name": i.name, "kind": i.kind, "label": i.label, "help": i.help, "example": i.example, "default": i.default,
                "optional": i.optional, "repeated": i.repeated, "choices": list(i.choices),
            }
            for i in one.inputs
        ],
        "keys": dict(one.keys),
        "examples": [dict(e) for e in one.examples],
    }
