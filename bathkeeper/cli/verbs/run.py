"""The verb ``run``: setting a load, walking it through the line by timer, feeding a logger in, and the runs that were."""

from __future__ import annotations

import sys
from collections.abc import Callable
from datetime import datetime
from pathlib import Path
from typing import TYPE_CHECKING, Any, TypeVar

import click

from bathkeeper.cli.moments import Moment
from bathkeeper.cli.options import book_option, json_option, open_workshop, tell_damage, when_option
from bathkeeper.cli.stopping import until_stopped
from bathkeeper.cli.talk import answer, answer_json, counted, say

if TYPE_CHECKING:
    from bathkeeper.bench import Bench, LiveRun
    from bathkeeper.workshop import Logged

F = TypeVar("F", bound=Callable[..., object])


@click.group("run")
def verb() -> None:
    """Sets a load, walks it by timer, looks back at runs.

    `set` says the current and time for a load; `start`, `next`, `pause`, `say`, `finish` walk it by timer (the app shows the
    same run); `feed` takes a logger's lines; `list`, `again` and `compare` look back.
    """


def _bench(book: Path | None) -> Bench:
    from bathkeeper.bench import Bench

    return Bench(open_workshop(book))


def _measure(text: str | None, kind: str, bench: Bench, name: str) -> float | None:
    """An option's value in its fixed unit. Raises UnitError."""
    if text is None:
        return None
    from bathkeeper.units.door import UnitError, understand

    try:
        return understand(text, kind, bench.workshop.preferences).value
    except UnitError as problem:
        raise UnitError(f"--{name}: {problem}") from None


def answering(f: F) -> F:
    """``--json`` and ``--book``."""
    return json_option(book_option(f))


def acting(f: F) -> F:
    """The same with ``--when``, for what is done at the bench."""
    return when_option(answering(f))


_load = (
    click.option("--area", metavar="AREA", help="Area of the whole load, such as 3.2dm2; instead of parts in words."),
    click.option("--tank", metavar="TANK", help="The tank with current, where there are several."),
    click.option("--time", "time_text", metavar="TIME", help="Minutes in that tank, such as 45min."),
    click.option("--current", metavar="CURRENT", help="Current, such as 6.5A."),
)


def with_load(f: F) -> F:
    """The options that tell a load and its current."""
    for option in reversed(_load):
        f = option(f)
    return f


@verb.command("set")
@click.argument("parts", nargs=-1)
@with_load
@click.option("--density", metavar="DENSITY", help="Current density, such as 1.5A/dm2; else the recipe's.")
@click.option("--thickness", metavar="THICKNESS", help="Wanted thickness, such as 8um or 0.3mil.")
@click.option("--worst", type=float, metavar="FACTOR", help="Thinnest spot as a part of the average, such as 0.5.")
@click.option(
    "--supply", "supplies", multiple=True, metavar="NAME", help="A supply to use; `NAME=METAL` for its anodes. Repeat."
)
@click.option("--temperature", metavar="TEMPERATURE", help="Temperature of the bath, such as 35C.")
@click.option("--at", type=Moment(end_of_day=True), metavar="WHEN", help="As of a moment.")
@answering
def set_(
    parts: tuple[str, ...],
    area: str | None,
    tank: str | None,
    time_text: str | None,
    current: str | None,
    density: str | None,
    thickness: str | None,
    worst: float | None,
    supplies: tuple[str, ...],
    temperature: str | None,
    at: datetime | None,
    as_json: bool,
    book: Path | None,
) -> None:
    """Current, time and thickness for a load: `run set "20x M8x30 hex bolt" --thickness 8um`."""
    bench = _bench(book)
    found = bench.setting(
        tank,
        parts="; ".join(parts) or None,
        area_dm2=_measure(area, "area", bench, "area"),
        density_a_dm2=_measure(density, "current_density", bench, "density"),
        current_a=_measure(current, "current", bench, "current"),
        thickness_um=_measure(thickness, "thickness", bench, "thickness"),
        minutes=_measure(time_text, "time", bench, "time"),
        worst_spot=worst,
        supplies=supplies,
        temperature_c=_measure(temperature, "temperature", bench, "temperature"),
        at=at,
    )
    if as_json:
        answer_json(found.plain())
    else:
        from bathkeeper.cli.plain import clean, wrapped
        from bathkeeper.cli.tables import screen_cells

        prefs = bench.workshop.preferences
        answer(line for told in found.lines(prefs) for line in wrapped(clean(told, lines=False), screen_cells()))
    tell_damage(bench.workshop)


@verb.command("start")
@click.argument("parts", nargs=-1)
@with_load
@click.option(
    "--kind", type=click.Choice(["plate", "rust removal", "dummy"]), default="plate", show_default=True, help="What it is."
)
@click.option("--like", metavar="RUN", help="A run to do again, by id, or `last`.")
@acting
def start(
    parts: tuple[str, ...],
    area: str | None,
    tank: str | None,
    time_text: str | None,
    current: str | None,
    kind: str,
    like: str | None,
    when: datetime | None,
    as_json: bool,
    book: Path | None,
) -> None:
    """Begins a live run: `run start "20x M8x30 hex bolt"`; then `run next` as the parts go into each tank."""
    bench = _bench(book)
    plan = bench.line_plan(
        kind,
        parts="; ".join(parts) or None,
        area_dm2=_measure(area, "area", bench, "area"),
        like=like,
        tank=tank,
        minutes=_measure(time_text, "time", bench, "time"),
        current_a=_measure(current, "current", bench, "current"),
    )
    _tell(bench, bench.start(plan, when), as_json)


def _act(name: str, text: str) -> None:
    """A verb of the live run that takes nothing but the moment."""

    @verb.command(name, help=text)
    @acting
    def act(when: datetime | None, as_json: bool, book: Path | None) -> None:
        bench = _bench(book)
        method = "enter_next" if name == "next" else name
        _tell(bench, getattr(bench, method)(when), as_json)


_act("next", "The parts go into the next tank (out of the one they are in).")
_act("skip", "Leaves the next step out.")
_act("repeat", "The last step once more; its minutes and charge add up.")
_act("pause", "Clock and charge stop: current off, or parts out.")
_act("resume", "Clock and charge go on.")


@verb.command("back")
@click.argument("tank")
@acting
def back(tank: str, when: datetime | None, as_json: bool, book: Path | None) -> None:
    """The parts go into a named tank, back or ahead."""
    bench = _bench(book)
    _tell(bench, bench.enter(tank, when), as_json)


@verb.command("say")
@click.argument("words", nargs=-1, required=True)
@click.option("--supply", metavar="NAME", help="The supply that it was read on.")
@click.option("--tank", metavar="TANK", help="The step that it belongs to, if not the present one.")
@click.option("--drifted", is_flag=True, help="The current went there evenly since it was last told (a ramp).")
@acting
def say_(
    words: tuple[str, ...],
    supply: str | None,
    tank: str | None,
    drifted: bool,
    when: datetime | None,
    as_json: bool,
    book: Path | None,
) -> None:
    """What was read or set: `run say 6.5A`, `12.4Ah` (the supply's counter), `3.2V`, `35C`, `41min`, or a note in words."""
    from bathkeeper.bench.saying import figure
    from bathkeeper.units.door import UnitError

    bench = _bench(book)
    told: dict[str, Any] = {}
    notes = []
    for word in words:
        if not any(c.isdigit() for c in word[:2]):
            notes.append(word)
            continue
        try:
            name, value = figure(word, bench.workshop.preferences)
        except UnitError as problem:
            raise UnitError(f"{problem}; say for example 6.5A, 12.4Ah, 3.2V, 35C, 41min, or a note in words") from None
        told[name] = value
    if notes:
        told["note"] = " ".join(notes)
    _tell(bench, bench.say(when, step=tank, supply=supply, drifted=drifted, **told), as_json)


@verb.command("show")
@answering
def show(as_json: bool, book: Path | None) -> None:
    """Where the live run stands."""
    bench = _bench(book)
    run = bench.live()
    if run is None:
        if as_json:
            answer_json(None)
        say(*bench.told, 'No run is under way. Begin one: bathkeeper run start "20x M8x30 hex bolt", or --like last.')
        return
    _tell(bench, run, as_json)


@verb.command("feed")
@click.argument("source", type=click.File("r", encoding="utf-8", errors="replace"), default="-")
@click.option("--supply", metavar="NAME", help="The supply that the logger reads.")
@click.option("--tank", metavar="TANK", help="The step that it belongs to, if not the one with current.")
@click.option(
    "--longest-gap", type=float, default=60.0, show_default=True, metavar="SECONDS", help="Longer gaps are not bridged."
)
@answering
def feed(source: Any, supply: str | None, tank: str | None, longest_gap: float, as_json: bool, book: Path | None) -> None:
    """Takes a logger's lines into the live run, from standard input or a file: `time,current[,voltage]`.

    Time is seconds, HH:MM:SS or RFC 3339; current in A, voltage in V. Lines that begin with # and a header line are passed
    over; a line that cannot be is named and not counted. It runs until the input ends or Ctrl-C.
    """
    bench = _bench(book)
    name = getattr(source, "name", "-")
    lines = until_stopped(iter(source.readline, "") if source is sys.stdin else source)
    fed = bench.feed(lines, source="standard input" if name in ("-", "<stdin>") else Path(name).name, supply=supply, step=tank,
                     longest_gap_s=longest_gap)  # fmt: skip
    if as_json:
        told = {"samples": fed.samples, "bad": fed.bad, "tank": fed.tank, "charge_ah": fed.charge_ah, "doubts": fed.doubts}
        answer_json(told)
    else:
        charge = f", {fed.charge_ah:.4g} Ah so far" if fed.charge_ah is not None else ""
        answer([f"{counted(fed.samples, 'sample')} into {fed.tank}{charge}"])
    say(*fed.doubts)
    if fed.bad:
        first = [f"{p.what}; {p.right}" for p in fed.bad[:10]]
        rest = len(fed.bad) - len(first)
        say(f"{counted(len(fed.bad), 'line')} not counted:", *first, *([f"and {rest} more"] if rest else []))


_outcome = (
    click.option("--result", metavar="WORDS", help="good, or what else there is to say."),
    click.option("--defect", metavar="NAME", help="A defect, such as dull or burnt edges."),
    click.option("--rejects", type=click.IntRange(0), metavar="N", help="Pieces that were refused."),
    click.option("--photo", "photos", multiple=True, metavar="FILE", help="A photo, by file name. Repeat."),
)


def with_outcome(f: F) -> F:
    """The options that tell what became of a load."""
    for option in reversed(_outcome):
        f = option(f)
    return f


@verb.command("finish")
@with_outcome
@click.option("--before", metavar="MASS", help="Mass of the parts before.")
@click.option("--after", metavar="MASS", help="Mass of the parts after.")
@click.option("--note", metavar="TEXT", help="What else there is to say.")
@acting
def finish(
    result: str | None,
    defect: str | None,
    rejects: int | None,
    photos: tuple[str, ...],
    before: str | None,
    after: str | None,
    note: str | None,
    when: datetime | None,
    as_json: bool,
    book: Path | None,
) -> None:
    """Ends the live run and writes its one entry for the whole line."""
    bench = _bench(book)
    logged = bench.finish(
        when,
        result=result,
        defect=_defect(defect),
        rejects=rejects,
        photos=photos,
        mass_before_g=_measure(before, "mass", bench, "before"),
        mass_after_g=_measure(after, "mass", bench, "after"),
        note=note,
    )
    _tell_logged(bench, logged, as_json)


@verb.command("abandon")
@click.argument("reason")
@acting
def abandon(reason: str, when: datetime | None, as_json: bool, book: Path | None) -> None:
    """Gives the live run up: what was done is written, with the reason."""
    bench = _bench(book)
    logged = bench.abandon(when, reason)
    if logged is None:
        if as_json:
            answer_json(None)
        say("The parts were in no tank yet: nothing was written.")
        return
    _tell_logged(bench, logged, as_json)


@verb.command("note")
@click.argument("run")
@click.argument("words", nargs=-1)
@with_outcome
@acting
def note_(
    run: str,
    words: tuple[str, ...],
    result: str | None,
    defect: str | None,
    rejects: int | None,
    photos: tuple[str, ...],
    when: datetime | None,
    as_json: bool,
    book: Path | None,
) -> None:
    """Says what became of a run: `run note last --defect dull "matt in the recesses"`."""
    bench = _bench(book)
    if run.casefold() == "last":
        past = bench.runs()
        run = past[0].id if past else run
    logged = bench.note_outcome(
        run, when, result=result, defect=_defect(defect), rejects=rejects, photos=photos, text=" ".join(words)
    )
    _tell_logged(bench, logged, as_json)


@verb.command("list")
@click.argument("search", nargs=-1)
@click.option("--tank", metavar="TANK", help="Only runs through this tank.")
@click.option("--result", metavar="WORD", help="good, bad, or words of the result.")
@click.option("--defect", metavar="NAME", help="Only runs with this defect.")
@click.option("--since", type=Moment(end_of_day=False), metavar="WHEN", help="Not before.")
@click.option("--until", type=Moment(end_of_day=True), metavar="WHEN", help="Not after.")
@click.option("--most", type=click.IntRange(1), default=30, show_default=True, metavar="N", help="At most so many.")
@answering
def list_(
    search: tuple[str, ...],
    tank: str | None,
    result: str | None,
    defect: str | None,
    since: datetime | None,
    until: datetime | None,
    most: int,
    as_json: bool,
    book: Path | None,
) -> None:
    """The runs that were, newest first."""
    from bathkeeper.cli.run_text import runs_text

    bench = _bench(book)
    found = bench.runs(" ".join(search), tank=tank, result=result, defect=defect, since=since, until=until)
    if as_json:
        answer_json(found[:most])
    else:
        answer(runs_text(found[:most], bench.workshop.preferences))
        if not found:
            say("No run fits.")
        elif len(found) > most:
            say(f"{len(found) - most} older ones are not shown; --most {len(found)} shows them.")
    tell_damage(bench.workshop)


@verb.command("again")
@click.argument("run", default="last")
@click.argument("parts", nargs=-1)
@click.option("--area", metavar="AREA", help="Another area; currents follow it.")
@click.option("--dry", is_flag=True, help="Only shows what would be written.")
@acting
def again(
    run: str,
    parts: tuple[str, ...],
    area: str | None,
    dry: bool,
    when: datetime | None,
    as_json: bool,
    book: Path | None,
) -> None:
    """Logs a run once more: `run again last --area 4.1dm2`."""
    bench = _bench(book)
    made = bench.repeat_run(run, when, area_dm2=_measure(area, "area", bench, "area"), parts="; ".join(parts) or None)
    if dry:
        if as_json:
            answer_json(made.raw)
        else:
            answer(made.lines)
        return
    say(*made.lines)
    _tell_logged(bench, bench.workshop.log(made.raw), as_json)


@verb.command("compare")
@click.argument("tank", required=False)
@click.option("--defect", metavar="NAME", help="Against loads with this defect alone.")
@answering
def compare(tank: str | None, defect: str | None, as_json: bool, book: Path | None) -> None:
    """Good loads against bad ones: current density, temperature, ratio, additive age at that time."""
    bench = _bench(book)
    found = bench.compare(tank, of=defect)
    if as_json:
        answer_json(found.plain())
    else:
        from bathkeeper.cli.plain import clean, wrapped
        from bathkeeper.cli.tables import screen_cells

        told = found.lines(bench.workshop.preferences)
        answer(line for text in told for line in wrapped(clean(text, lines=False), screen_cells()))
    tell_damage(bench.workshop)


def _defect(name: str | None) -> str | None:
    """A defect by its catalogue name where it is known there. Raises ValueError with what is near."""
    if name is None:
        return None
    from bathkeeper.catalogue.defects import find_defect

    return find_defect(name).name


def _tell(bench: Bench, run: LiveRun, as_json: bool) -> None:
    from bathkeeper.cli.run_text import live_plain, live_text

    now = bench.tick()
    if as_json:
        answer_json(live_plain(run, now))
    else:
        answer(live_text(run, now, bench.workshop.preferences))
    if bench.told:
        say(*bench.told)


def _tell_logged(bench: Bench, logged: Logged, as_json: bool) -> None:
    from bathkeeper.entries import to_plain
    from bathkeeper.headlines import sentence

    if as_json:
        answer_json({"entry": to_plain(logged.entry), "changes": logged.changes})
        return
    answer([sentence(logged.entry, bench.workshop.preferences), *(f"  {line}" for line in logged.changes)])
    say(f"Written as {logged.entry.id}")
