"""The verb ``settings``: how this workshop writes numbers and units, and which rules hold in it."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from bathkeeper.cli.exits import Exit
from bathkeeper.cli.options import book_option, json_option, open_workshop, tell_damage, when_option
from bathkeeper.cli.talk import answer, answer_json, say
from bathkeeper.refusals import joined

if TYPE_CHECKING:
    from collections.abc import Sequence
    from datetime import datetime

    from bathkeeper.workshop import Workshop


@click.command("settings")
@click.argument("changes", nargs=-1, metavar="[KEY=VALUE]...")
@when_option
@click.option("--yes", is_flag=True, help="Accept values that are unlikely.")
@json_option
@book_option
def verb(changes: tuple[str, ...], when: datetime | None, yes: bool, as_json: bool, book: Path | None) -> None:
    """Units, decimal comma, dates and rules of this workshop.

    KEY=VALUE changes one. An empty value takes a setting back: gallon= . Units to show are set by kind: units.volume=usgal
    """
    workshop = open_workshop(book)
    if changes:
        tell_damage(workshop)
        wanted, typed = _wanted(workshop, changes)
        doubts = [] if yes else _doubts(workshop, wanted, when)
        if doubts:
            say(f"Nothing was written. {joined(doubts)}: add --yes if it is so.")
            raise click.exceptions.Exit(Exit.UNCLEAR)
        workshop.change_settings(wanted, when, typed)
    settings = workshop.settings()
    if as_json:
        answer_json(settings)
    else:
        _tell(settings)
        if changes:
            say("Changed.")
    tell_damage(workshop)


def _doubts(workshop: Workshop, wanted: dict[str, Any], when: datetime | None) -> list[str]:
    from bathkeeper.answers.settings import changed
    from bathkeeper.workshop import now

    raw = changed(workshop.world.workshop, wanted, {})
    return workshop.doubts_about({"name": workshop.name, **raw, "at": when or now()})


def _wanted(workshop: Workshop, changes: Sequence[str]) -> tuple[dict[str, Any], dict[str, str]]:
    """The settings that the words name, None of those that are taken back; and what was typed. Raises PhraseError."""
    from bathkeeper.phrases import PhraseError, compose
    from bathkeeper.phrases.shop import setting_field
    from bathkeeper.phrases.words import keyed
    from bathkeeper.workshop import now

    sides = [keyed(word, "gallon=us") for word in changes]
    twice = next((key for number, (key, _) in enumerate(sides) if key in [k for k, _ in sides[:number]]), None)
    if twice is not None:
        raise PhraseError(f"{twice} is there twice; write the one that holds")
    if any(setting_field(key) == "name" and not text for key, text in sides):
        raise PhraseError('name: a workshop keeps a name; write for example name="Back shed"')
    # which gallon and ounce are meant is said before the units to show
    said = [f"{key}={text}" for key, text in sorted(sides, key=lambda side: side[0].startswith("units.")) if text]
    name = [] if any(key == "name" for key, _ in sides) else [f"name={workshop.name}"]
    raw = compose("workshop", [*name, *said], workshop.vocabulary, now()).raw
    units: dict[str, str] = dict(workshop.settings()["units"])
    wanted: dict[str, Any] = {}
    for key, text in sides:
        field = setting_field(key)
        if field.startswith("units."):
            kind = field.removeprefix("units.")
            units.pop(kind, None)
            units |= {kind: raw["units"][kind]} if text else {}
            wanted["units"] = units
        else:
            wanted[field] = raw[field] if text else None
    return wanted, raw.get("typed", {})


def _tell(settings: dict[str, Any]) -> None:
    from bathkeeper.answers.settings import HELP
    from bathkeeper.cli.plain import clean
    from bathkeeper.cli.tables import Cell, Column, table
    from bathkeeper.phrases.shop import setting_key
    from bathkeeper.phrases.spoken import field_text

    rows: list[list[Cell | str]] = []
    help_of = {setting_key(f): h for f, h in HELP.items()}
    for field, value in settings.items():
        if field == "units":
            rows += [[f"units.{kind}", clean(unit, lines=False)] for kind, unit in value.items()] or [["units.KIND", "–"]]
        else:
            rows.append([setting_key(field), clean(field_text(field, value) or "–", lines=False)])
    told = [[*row, help_of.get(str(row[0]), HELP["units"] if str(row[0]).startswith("units.") else "")] for row in rows]
    answer(table([Column("key"), Column("value", wraps=True), Column("what it says", wraps=True)], told))
