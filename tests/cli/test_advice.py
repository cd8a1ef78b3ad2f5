"""Advice from the command line: from something due to a plan ticked off, and everything else that is asked."""

from __future__ import annotations

import json
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any

import pytest

from bathkeeper.entries import Addition, Plan
from bathkeeper.workshop import Workshop
from tests.cli.conftest import Run
from tests.due.test_calendar_file import read


def told(run: Run, book: Path, *words: object) -> Any:
    result = run(*words, "--json", book=book)
    assert result.exit_code in (0, 3), result.output
    return json.loads(result.stdout)


@pytest.fixture
def low(run: Run, book: Path) -> Path:
    """The small book with nickel read low twice."""
    for _ in range(2):
        assert run("log", "reading", "electrolyte", "nickel=16g/L", "zinc=32g/L", book=book).exit_code == 0
    return book


def test_from_something_due_to_a_plan_ticked_off(run: Run, low: Path) -> None:
    due = told(run, low, "due")["due"]
    assert any(f["id"] == "electrolyte.low.nickel" for f in due)
    why = run("why", "electrolyte.low.nickel", book=low)
    assert why.exit_code == 0 and "source" in why.stdout.lower()
    offer = told(run, low, "dose", "electrolyte", "--accept")
    assert offer["feasible"] is True
    assert offer["after"]["nickel"]["value"] > 20
    plan = offer["accepted"]
    steps = [s["step"] for s in offer["plan"]]
    assert steps == list(range(1, len(steps) + 1))
    for step in offer["plan"]:
        reason = run("why", f"{plan}.{step['step']}", book=low)
        assert reason.exit_code == 0, reason.output
        words: list[str] = ["--note", "done"]
        if step["action"] == "add" and step["reagent"] == "nickel chloride hexahydrate":
            words = [f"{step['amount'] + 1:g}g"]
        elif step["action"] == "add":
            words = []
        elif step["action"] == "remove":
            words = ["--to", "drum-1"]
        done = run("dose", plan, "--tick", step["step"], *words, book=low)
        assert done.exit_code == 0, done.output
    opened = told(run, low, "dose", plan, "--open")
    assert opened["state"] == "done"
    workshop = Workshop.open(low)
    added = [e for e in workshop.entries() if isinstance(e, Addition) and e.plan == plan]
    salt = [i for e in added for i in e.items if i.reagent == "nickel chloride hexahydrate"]
    planned = [
        s for e in workshop.entries() if isinstance(e, Plan) for s in e.steps if s.reagent == "nickel chloride hexahydrate"
    ]
    assert salt and all(e.step for e in added)
    assert sum(i.amount for i in salt) == pytest.approx(sum(s.amount or 0.0 for s in planned) + len(salt))
    assert not any(f["id"] == "electrolyte.low.nickel" for f in told(run, low, "due")["due"])


def test_what_is_put_off_is_left_out_until_then(run: Run, low: Path) -> None:
    until = (datetime.now(UTC) + timedelta(days=14)).date().isoformat()
    done = run("snooze", "electrolyte.low.nickel", "--until", until, "--reason", "on order", book=low)
    assert done.exit_code == 0, done.output
    answer = told(run, low, "due")
    assert not any(f["id"] == "electrolyte.low.nickel" for f in answer["due"])
    assert answer["snoozed"][0]["reason"] == "on order"


def test_the_calendar_keeps_its_names(run: Run, low: Path, tmp_path: Path) -> None:
    file = tmp_path / "due.ics"
    assert run("due", "--calendar", file, book=low).exit_code == 0
    first = read(file.read_bytes().decode())
    assert any(name.startswith("electrolyte.low.nickel@") for name in first)
    assert run("due", "--calendar", file, book=low).exit_code == 0
    assert set(read(file.read_bytes().decode())) == set(first)


def test_a_plan_is_given_up_with_a_reason(run: Run, low: Path) -> None:
    plan = told(run, low, "dose", "electrolyte", "--accept")["accepted"]
    refused = run("dose", plan, "--tick", "99", book=low)
    assert refused.exit_code == 2 and "99" in refused.stderr
    assert run("dose", plan, "--drop", "bought the wrong salt", book=low).exit_code == 0
    assert told(run, low, "dose", plan, "--open")["state"] == "given up"


def test_the_shelf(run: Run, low: Path) -> None:
    assert run("log", "stock", "nickel chloride hexahydrate", "bought=5kg", "price=90", book=low).exit_code == 0
    listed = told(run, low, "stock", "list")
    assert "nickel chloride hexahydrate" in json.dumps(listed)
    assert run("stock", "reorder", book=low).exit_code == 0
    assert run("stock", "cost", book=low).exit_code == 0
    offer = told(run, low, "dose", "electrolyte")
    assert {s["reagent"] for s in offer["plan"] if s["action"] == "add"} <= {"water", "nickel chloride hexahydrate"}


@pytest.mark.parametrize(
    "words",
    [
        ("anodes", "electrolyte"), ("signs", "pickle"), ("causes", "dull"), ("lay-up", "--days", "21"), ("wake-up",),
        ("forecast",),
        ("dose", "electrolyte", "--make-up"), ("dose", "pickle", "--refresh"), ("dose", "electrolyte", "--treat", "carbon"),
        ("dose", "electrolyte", "--jar", "100mL;6.0mL;0.1"),
    ],
)  # fmt: skip
def test_everything_answers_in_words_and_as_json(run: Run, low: Path, words: tuple[str, ...]) -> None:
    plain = run(*words, book=low)
    assert plain.exit_code == 0, plain.output
    assert plain.stdout.strip()
    for never in ("optimal", "guaranteed", "compliant", "safe to pour", "non-hazardous"):
        assert never not in plain.output.casefold()
    told(run, low, *words)


@pytest.mark.parametrize(
    ("words", "says"),
    [
        (("dose", "nowhere"), "nowhere"),
        (("dose", "electrolyte", "--make-up", "--refresh"), "one of"),
        (("dose", "passivate"), "passivate"),
        (("causes", "glowing"), "glowing"),
        (("why", "no.such.thing"), "no.such.thing"),
        (("snooze", "no.such.thing", "--until", "2999-01-01", "--reason", "x"), "no.such.thing"),
        (("snooze", "electrolyte.low.nickel"), "--until"),
    ],
)
def test_what_cannot_be_is_one_sentence(run: Run, low: Path, words: tuple[str, ...], says: str) -> None:
    result = run(*words, book=low)
    assert result.exit_code == 2, result.output
    assert says in result.stderr
    assert "Traceback" not in result.output


def test_every_due_item_of_the_sample_leads_to_its_reason(run: Run, tmp_path: Path) -> None:
    """Text, and entries, a formula or a source, for each thing that is due; a source for every one."""
    source = next((Path(__file__).parents[2] / "sample_data").glob("*.logbook.jsonl"))
    book = tmp_path / source.name
    book.write_bytes(source.read_bytes())
    due = told(run, book, "due")["due"]
    assert len(due) > 5
    for finding in due:
        because = finding["because"]
        assert because["text"] and because["sources"], finding["id"]
    for finding in due[:4]:
        assert run("why", finding["id"], book=book).exit_code == 0
