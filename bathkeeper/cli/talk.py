"""stdout is data, stderr is talk: the two doors, and nothing else prints."""

from __future__ import annotations

import os
from collections.abc import Iterable

import click
import msgspec

from bathkeeper.cli.plain import clean


def answer(lines: Iterable[str]) -> None:
    """Lines of data, already clean; styles are taken off where there is no terminal."""
    color = False if "NO_COLOR" in os.environ else None
    for line in lines:
        click.echo(line, color=color)


def answer_json(value: object) -> None:
    """Data as JSON: numbers as numbers, moments as RFC 3339, what is not finite as null; UTF-8 whatever the terminal."""
    click.echo(msgspec.json.format(msgspec.json.encode(value), indent=2))


def counted(count: int, thing: str) -> str:
    """``1 entry``, ``2 entries``."""
    return f"{count} {thing if count == 1 else thing.removesuffix('y') + 'ies' if thing.endswith('y') else thing + 's'}"


def say(*lines: str) -> None:
    """Talk, one or more lines; whatever a person wrote in them is made harmless."""
    for line in lines:
        click.echo(clean(line), err=True)
