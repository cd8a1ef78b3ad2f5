"""Opens the app on a book, where there is a terminal to open it in."""

from __future__ import annotations

import sys
from pathlib import Path

import click


def need_terminal() -> None:
    """Raises click.UsageError where there is no terminal for the app."""
    if not (sys.stdin.isatty() and sys.stdout.isatty()):
        raise click.UsageError("the app needs a terminal; in a script use a verb, such as `bathkeeper status`")


def open_app(path: Path) -> None:
    """Runs the app until it is left. Raises click.UsageError where there is no terminal."""
    need_terminal()
    from bathkeeper.tui.app import run

    run(path)
