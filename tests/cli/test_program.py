"""The program as a whole: help, hygiene of imports, the app, and what nobody foresaw."""

from __future__ import annotations

import json
import os
import subprocess
import sys
from pathlib import Path

import click
import pytest

from bathkeeper.cli.program import VERBS, program
from tests.cli.conftest import Run

HEAVY = ("textual", "textual_plot", "pint", "scipy", "rich")


def python(*words: str, encoding: str = "utf-8", **env: str) -> subprocess.CompletedProcess[str]:
    env = {**os.environ, "PYTHONIOENCODING": encoding, **env}
    return subprocess.run(
        [sys.executable, *words], capture_output=True, encoding=encoding, env=env, check=False, timeout=60,
        stdin=subprocess.DEVNULL,
    )


@pytest.mark.parametrize(
    "words", [["status", "--json"], ["status"], ["status", "electrolyte"], ["due"], ["--help"], ["--version"]]
)
def test_starting_up_loads_nothing_heavy(small_book: Path, words: list[str]) -> None:
    code = (
        "import sys\nfrom bathkeeper.cli.program import program\n"
        f"program({words!r}, standalone_mode=False)\n"
        f"print(*[m for m in {HEAVY!r} if m in sys.modules], file=sys.stderr)"
    )
    result = python("-c", code, BATHKEEPER_BOOK=str(small_book))
    assert result.returncode == 0 and result.stdout, result.stderr
    assert result.stderr.strip() == ""


def test_version_and_help_need_neither_the_book_nor_numpy() -> None:
    code = (
        "import sys\nfrom bathkeeper.cli.program import program\nprogram(['--help'], standalone_mode=False)\n"
        "print(*[m for m in ('numpy', 'tinydb', 'bathkeeper.workshop') if m in sys.modules], file=sys.stderr)"
    )
    result = python("-c", code)
    assert result.returncode == 0 and result.stderr.strip() == ""


def test_module_and_pipe(small_book: Path) -> None:
    result = python("-m", "bathkeeper", "status", "--json", BATHKEEPER_BOOK=str(small_book))
    assert result.returncode == 0 and json.loads(result.stdout)["tanks"]
    version = python("-m", "bathkeeper", "--version")
    assert version.returncode == 0 and version.stdout.startswith("bathkeeper ")


def test_a_terminal_that_lacks_some_signs_still_gets_its_page(small_book: Path) -> None:
    result = python("-m", "bathkeeper", "status", "electrolyte", encoding="latin-1", BATHKEEPER_BOOK=str(small_book))
    assert result.returncode == 0 and "25 ? 40" in result.stdout, result.stderr


def test_every_verb_has_a_line_of_help_that_fits(run: Run) -> None:
    page = run("--help").stdout
    for name in VERBS:
        row = next(line for line in page.splitlines() if line.strip().startswith(f"{name} "))
        assert len(row.split(maxsplit=1)[1]) > 10 and "..." not in row
    context = click.Context(program)
    for name in VERBS:
        command = program.get_command(context, name)
        assert command is not None
        children = command.commands.values() if isinstance(command, click.Group) else [command]
        for child in children:
            assert child.help and all(p.help for p in child.params if isinstance(p, click.Option))


def test_every_verb_that_answers_has_json(run: Run) -> None:
    groups = {
        "import": "entries", "recipe": "show", "report": "register", "run": "show", "stock": "list", "waste": "status",
    }  # fmt: skip
    for words in [[v] for v in VERBS if v not in (*groups, "export")] + [[g, c] for g, c in groups.items()]:
        assert "--json" in run(*words, "--help").stdout, words
    for name in ("status", "due", "show", "why"):
        page = run(name, "--help").stdout
        assert "--at" in page and "--book" in page


def test_an_unknown_verb_is_wrong_usage(run: Run) -> None:
    result = run("statsu")
    assert result.exit_code == 2 and "statsu" in result.stderr


def test_without_a_terminal_the_app_does_not_start(run: Run, book: Path) -> None:
    for words in ((), ("demo",)):
        result = run(*words, book=book)
        assert result.exit_code == 2 and "terminal" in result.stderr


def test_alone_it_opens_the_app_on_the_book(run: Run, book: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    opened: list[Path] = []
    monkeypatch.setattr("bathkeeper.cli.app.open_app", opened.append)
    assert run(book=book).exit_code == 0
    assert run("--book", "elsewhere.jsonl", book=book).exit_code == 0
    assert opened == [book, Path("elsewhere.jsonl")]


def test_what_nobody_foresaw_is_kept_in_a_file_and_said_in_a_sentence(
    run: Run, book: Path, shut_off: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def burst(*_: object) -> None:
        raise ZeroDivisionError("secret note")

    monkeypatch.setattr("bathkeeper.workshop.Workshop.status", burst)
    result = run("status", book=book)
    assert result.exit_code == 1 and result.stdout == ""
    assert "Traceback" not in result.stderr and "ZeroDivisionError" in result.stderr
    log = next((shut_off / "state").rglob("errors.log"))
    assert str(log) in result.stderr and "Traceback" in log.read_text() and log.stat().st_mode & 0o077 == 0


def test_when_not_even_the_log_can_be_written_it_is_said_on_stderr(
    run: Run, book: Path, shut_off: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    (shut_off / "state").write_text("a file where a folder should be")
    monkeypatch.setattr("bathkeeper.workshop.Workshop.status", lambda *_: 1 / 0)
    result = run("status", book=book)
    assert result.exit_code == 1 and "ZeroDivisionError" in result.stderr and "could not be kept" in result.stderr
