"""The verb ``report``: every kind on the terminal and in files, nothing overwritten, mistakes in a sentence."""

from __future__ import annotations

import json

import pytest

KINDS = [("register",), ("bath", "electrolyte"), ("run", "last"), ("stock",)]


@pytest.mark.parametrize("words", KINDS, ids=lambda w: w[0])
def test_on_the_terminal_and_as_json(run, book, words):
    shown = run("report", *words, book=book)
    assert shown.exit_code == 0 and "Test Bench" in shown.output
    plain = run("report", *words, "--json", book=book)
    assert plain.exit_code == 0 and json.loads(plain.stdout)["report"] == 1


@pytest.mark.parametrize("ending", ["pdf", "csv", "zip", "json", "txt"])
def test_the_ending_names_the_format_and_nothing_is_overwritten(run, book, tmp_path, ending):
    out = tmp_path / f"register.{ending}"
    done = run("report", "register", "--out", out, book=book)
    assert done.exit_code == 0 and str(out) in done.stderr
    before = out.read_bytes()
    again = run("report", "register", "--out", out, book=book)
    assert again.exit_code == 1 and "exists already" in again.stderr and out.read_bytes() == before


def test_a_statement_and_labels_of_a_container(run, book, tmp_path):
    assert run("log", "removal", "pickle", "5 L", "to=drum-1", "--yes", book=book).exit_code == 0
    assert "Content statement: drum-1" in run("report", "statement", "drum-1", book=book).stdout
    out = tmp_path / "labels.pdf"
    assert run("report", "labels", "drum-1", "--out", out, book=book).exit_code == 0
    assert out.read_bytes().startswith(b"%PDF")


@pytest.mark.parametrize(("words", "says"), [
    (("register", "--format", "pdf"), "goes to a file"),
    (("register", "--since", "2090-01-01"), "ends before it begins"),
    (("statement", "drum-77"), "no container is called"),
    (("bath", "nowhere"), "no tank is called"),
    (("run", "zzzzzzzz"), "has the id"),
    (("register", "--format", "csv", "--table", "lits"), "no table"),
    (("register", "--json", "--format", "csv"), "give one of them"),
    (("register", "--out", "register.doc"), "end it in"),
    (("labels", "--out", "labels.png"), "end the file's name in .pdf"),
])  # fmt: skip
def test_mistakes_are_said_and_end_with_2(run, book, words, says):
    done = run("report", *words, book=book)
    assert done.exit_code == 2 and says in done.stderr and "Traceback" not in done.output


def test_a_period_begins_with_its_day(run, book):
    made = json.loads(run("report", "register", "--since", "yesterday", "--json", book=book).stdout)
    assert "T00:00:00" in made["period"]["since"]
