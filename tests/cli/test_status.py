"""``status``, ``due`` and ``why``: the documented shape, exit codes, and a page that fits."""

from __future__ import annotations

import json
import math
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any

import pytest

from bathkeeper.cli.plain import width
from tests.cli.conftest import START, Run

TEMPLATE = [
    "degreaser", "rust-removal", "rinse-1", "pickle", "rinse-2", "electrolyte", "rinse-3", "acid-dip", "passivate", "rinse-4",
    "dry",
]


def electrolyte(text: str) -> dict[str, Any]:
    return next(t for t in json.loads(text)["tanks"] if t["tank"] == "electrolyte")


def test_json_has_the_documented_shape(run: Run, small_book: Path) -> None:
    result = run("status", "--json", book=small_book)
    assert result.exit_code == 0, result.output
    status = json.loads(result.stdout)
    assert {"book", "as_of", "tanks", "due", "problems"} <= status.keys()
    assert status["book"] == str(small_book)
    assert [t["tank"] for t in status["tanks"]] == TEMPLATE
    tank = electrolyte(result.stdout)
    assert tank["role"] == "plate" and tank["recipe"] == "zinc-nickel-chloride-potassium"
    assert tank["life_days"] == pytest.approx(19, abs=0.1)
    assert {"value", "low", "high"} <= tank["volume_l"].keys()
    assert tank["charge_ah"].keys() == {"since_make_up", "since_addition", "dummy"}
    assert tank["charge_ah"]["since_make_up"] == pytest.approx(6.5 * 45 / 60)
    assert tank["area_dm2"] == {"since_make_up": pytest.approx(3.2)}
    zinc = tank["species"]["zinc"]
    assert zinc["low"] < zinc["value"] < zinc["high"] and zinc["unit"] == "g/L"
    assert {"low", "target", "high"} <= zinc["window"].keys() and zinc["state"] == "in"
    assert zinc["last_reading"]["value"] == 31.5 and zinc["last_reading"]["doubtful"] is False
    assert datetime.fromisoformat(zinc["last_reading"]["at"]) == START + timedelta(days=5)
    assert tank["species"]["nickel"]["state"] == "low"
    assert tank["indicators"]["ph"]["last_reading"]["value"] == 5.4 and "window" in tank["indicators"]["ph"]
    anode = tank["anodes"]["zinc-1"]
    assert anode["mass_g"]["low"] < anode["mass_g"]["value"] < 2000 and 0.9 < anode["left_fraction"] < 1
    learned = tank["learned"]["cathode_efficiency"]
    assert {"value", "low", "high", "prior", "assumed"} <= learned.keys() and learned["assumed"] is True
    item = next(f for f in status["due"] if f["id"] == "electrolyte.low.nickel")
    assert {"id", "tank", "what", "why", "by", "level"} <= item.keys() and item["level"] == "now"


def test_json_holds_finite_numbers_only(run: Run, small_book: Path) -> None:
    def refuse(word: str) -> None:
        raise AssertionError(f"{word} in the output")

    text = run("status", "--json", book=small_book).stdout
    status = json.loads(text, parse_constant=refuse)

    def walk(value: Any) -> None:
        if isinstance(value, float):
            assert math.isfinite(value)
        for item in value.values() if isinstance(value, dict) else value if isinstance(value, list) else ():
            walk(item)

    walk(status)


def test_one_tank_only(run: Run, small_book: Path) -> None:
    result = run("status", "electrolyte", "--json", book=small_book)
    status = json.loads(result.stdout)
    assert [t["tank"] for t in status["tanks"]] == ["electrolyte"]
    assert {f["tank"] for f in status["due"]} == {"electrolyte"}
    assert any("chlorine" in caution for caution in status["cautions"])


def test_no_such_tank_is_unclear_and_says_which_there_are(run: Run, small_book: Path) -> None:
    result = run("status", "elektrolyte", book=small_book)
    assert result.exit_code == 2 and result.stdout == ""
    assert "electrolyte" in result.stderr and "`elektrolyte`" in result.stderr


@pytest.mark.parametrize("words", [("status",), ("status", "electrolyte"), ("due",), ("show",), ("why", "electrolyte.zinc")])
def test_pages_fit_eighty_columns_without_cutting(run: Run, small_book: Path, words: tuple[str, ...]) -> None:
    result = run(*words, book=small_book)
    assert result.exit_code == 0, result.output
    for line in result.stdout.splitlines()[1:]:  # the heading may be longer
        assert width(line) <= 80, line
    assert "…" not in result.stdout and "\x1b" not in result.stdout


def test_what_is_out_of_its_window_has_a_word_and_a_sign(run: Run, small_book: Path) -> None:
    line = " ".join(run("status", book=small_book).stdout.split())
    assert "! nickel low" in line
    page = run("status", "electrolyte", book=small_book).stdout
    nickel = next(row for row in page.splitlines() if row.startswith("nickel "))
    assert "! low" in nickel and "g/L" in nickel and "20 – 35" in nickel
    assert "zinc-1" in page and "balance per 100 Ah" in page and "assumed" in page and "chlorine" in page


def test_numbers_are_never_cut_however_narrow(run: Run, small_book: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    wide = electrolyte(run("status", "--json", book=small_book).stdout)["anodes"]["zinc-1"]["mass_g"]["value"]
    monkeypatch.setenv("COLUMNS", "40")
    page = run("status", "electrolyte", book=small_book).stdout
    assert f"{wide:.0f}"[:3] in page and "25 – 40" in page


def test_at_a_moment_only_what_had_happened_counts(run: Run, small_book: Path) -> None:
    when = START + timedelta(days=4, hours=12)  # after the run, before the readings
    tank = electrolyte(run("status", "--json", "--at", when.isoformat(), book=small_book).stdout)
    assert tank["species"]["zinc"]["last_reading"] is None
    assert tank["charge_ah"]["since_make_up"] == pytest.approx(4.875)
    before = electrolyte(run("status", "--json", "--at", START.isoformat(), book=small_book).stdout)
    assert before["alive"] is False


def test_a_date_alone_means_the_end_of_that_day_in_local_time(
    run: Run, small_book: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    import time

    monkeypatch.setenv("TZ", "Pacific/Auckland")
    time.tzset()
    try:
        as_of = json.loads(run("status", "--json", "--at", "2026-02-10", book=small_book).stdout)["as_of"]
        assert datetime.fromisoformat(as_of) == datetime(2026, 2, 10, 10, 59, 59, 999999, tzinfo=UTC)  # UTC+13 in summer
    finally:
        monkeypatch.undo()
        time.tzset()


@pytest.mark.parametrize(
    "when", ["2026-13-01", "01/02/2026", "2026-02-30", "20260201", "2026-W05", "", "2026-02-01T25:00"]
)
def test_other_ways_of_writing_a_moment_are_refused_with_examples(run: Run, small_book: Path, when: str) -> None:
    result = run("status", "--at", when, book=small_book)
    assert result.exit_code == 2 and "2026-05-01T14:30" in result.stderr and result.stdout == ""


def test_due_names_what_why_takes(run: Run, small_book: Path) -> None:
    page = run("due", book=small_book)
    assert page.exit_code == 0 and "electrolyte.low.nickel" in page.stdout and "! now" in page.stdout
    reasons = run("why", "electrolyte.low.nickel", book=small_book)
    assert reasons.exit_code == 0 and "reading electrolyte: nickel 18.1 g/L" in reasons.stdout
    data = json.loads(run("why", "electrolyte.nickel", "--json", book=small_book).stdout)
    assert data["formula"] and data["sources"] and {e["kind"] for e in data["entries"]} == {"make_up", "reading", "addition"}


def test_why_at_a_moment_names_no_later_entry(run: Run, small_book: Path) -> None:
    when = (START + timedelta(days=7, hours=1)).isoformat()
    data = json.loads(run("why", "electrolyte.nickel", "--json", "--at", when, book=small_book).stdout)
    values = [v["value"] for e in data["entries"] if e["kind"] == "reading" for v in e["values"]]
    assert values == [18.0]


def test_why_of_nothing_says_what_can_be_asked(run: Run, small_book: Path) -> None:
    result = run("why", "electrolyte.high.copper", book=small_book)
    assert result.exit_code == 2 and "electrolyte.low.nickel" in result.stderr


def test_due_check_exits_three_only_for_what_is_due_now(run: Run, small_book: Path) -> None:
    assert run("due", "--check", book=small_book).exit_code == 3
    assert run("due", book=small_book).exit_code == 0
    early = (START + timedelta(days=1, hours=1)).isoformat()
    assert run("due", "--check", "--at", early, book=small_book).exit_code == 0


def test_no_book_is_refused_with_the_way_on(run: Run, tmp_path: Path) -> None:
    result = run("status", book=tmp_path / "none.logbook.jsonl")
    assert result.exit_code == 1 and "bathkeeper new" in result.stderr and result.stdout == ""


def test_the_book_can_be_named_before_or_after_the_verb(run: Run, small_book: Path, tmp_path: Path) -> None:
    nowhere = tmp_path / "none.logbook.jsonl"
    assert run("--book", small_book, "due", book=nowhere).exit_code == 0
    assert run("due", "--book", small_book, book=nowhere).exit_code == 0
    assert run("--book", nowhere, "due", "--book", small_book, book=nowhere).exit_code == 0
