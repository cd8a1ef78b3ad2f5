"""What can hurt, told on the command line."""

from __future__ import annotations

import json
from datetime import timedelta
from pathlib import Path

from bathkeeper.answers.hazards import by_tank
from bathkeeper.answers.matrix import grid
from bathkeeper.findings import Because, Finding
from bathkeeper.workshop import Workshop
from tests.cli.conftest import START, Run


def test_findings_stand_by_tank_with_why_and_source(run: Run, book: Path) -> None:
    result = run("safety", book=book)
    assert result.exit_code == 0
    for words in ("pickle", "electrolyte", "source: ", "what must not meet", "X must never meet"):
        assert words in result.stdout, words
    assert all(len(line) <= 80 for line in result.stdout.splitlines())


def test_json_has_the_findings_and_the_whole_matrix(run: Run, book: Path) -> None:
    told = json.loads(run("safety", "--json", book=book).stdout)
    parts = {"substances", "hydrogen", "hydrogen_source", "first_response"}
    assert {"book", "as_of", "findings", "must_not_meet", *parts} == set(told)
    nickel = next(s for s in told["substances"] if s["name"] == "nickel dichloride")
    assert ["H350i", "may cause cancer"] in nickel["statements"] and nickel["where"][0]["vessel"] == "electrolyte"
    assert told["first_response"][0]["status"] == "memory"
    assert all(f["why"] and f["level"] in ("now", "soon", "later") for f in told["findings"])
    matrix = told["must_not_meet"]
    assert matrix["electrolyte"]["acid-dip"] == matrix["acid-dip"]["electrolyte"] == "never"
    assert matrix["rinse-1"]["rinse-2"] is None


def test_before_anything_was_filled_less_is_known(run: Run, book: Path) -> None:
    early = json.loads(run("safety", "--json", "--at", (START + timedelta(hours=1)).isoformat(), book=book).stdout)
    late = json.loads(run("safety", "--json", book=book).stdout)
    assert len(early["findings"]) <= len(late["findings"])


def test_an_empty_book_says_so(run: Run, tmp_path: Path) -> None:
    path = tmp_path / "bare.logbook.jsonl"
    Workshop.open(path, create=True)
    result = run("safety", book=path)
    assert result.exit_code == 0 and "usual care" in result.stderr
    assert "what to do first" in result.stdout and "by substance" not in result.stdout


def test_hostile_names_stay_in_their_columns(run: Run, book: Path) -> None:
    workshop = Workshop.open(book)
    for name in ("[/] \x1b[31mred", "حوض النيكل", "bath 🛁👨‍👩‍👧", "x" * 120):
        raw = {"kind": "tank", "at": START, "tank": name, "role": "acid dip", "order": 40, "recipe": "nitric-acid-dip"}
        try:
            workshop.log(raw)
        except ValueError:
            workshop.log({k: v for k, v in raw.items() if k != "recipe"})
    result = run("safety", book=book)
    assert result.exit_code == 0 and "\x1b" not in result.stdout


def test_the_urgent_tank_comes_first_and_its_urgent_finding_first() -> None:
    def finding(tank: str, level: str) -> Finding:
        return Finding(id=f"{tank}.x.{level}", tank=tank, what="", why="", level=level, because=Because(text=""))  # type: ignore[arg-type]

    order = by_tank([finding("a", "later"), finding("b", "later"), finding("b", "now"), finding("c", "soon")])
    assert [(t, [f.level for f in fs]) for t, fs in order] == [("b", ["now", "later"]), ("c", ["soon"]), ("a", ["later"])]


def test_the_grid_has_each_pair_once() -> None:
    none: dict[str, None] = dict.fromkeys("abcd")
    made = grid({
        "a": {**none, "b": "never"}, "b": {**none, "a": "never", "c": "with care"}, "c": {**none, "b": "with care"}, "d": none,
    })  # fmt: skip
    assert made.names == ("a", "b", "c") and made.apart == ("d",)
    assert made.rows == ("", "X", "· o") and made.heads == ("", "1 2")
    wide = grid({str(n): {str(m): "never" for m in range(12) if m != n} for n in range(12)})
    assert wide.heads[1] == "1 2 3 4 5 6 7 8 9 0 1" and wide.heads[0].index("1") == 18
