"""The command line: parse, ask the workshop, print a table or JSON."""

from __future__ import annotations


def main() -> None:
    """Runs the program with the arguments of the process; never returns."""
    from bathkeeper.cli.program import run

    run()
