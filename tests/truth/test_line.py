"""Laws of the simulated whole line, and the stories that its sample book must hold."""

from __future__ import annotations

import json
from collections import Counter, defaultdict
from datetime import datetime
from itertools import pairwise
from pathlib import Path
from typing import Any

import pytest

from bathkeeper.entries import parse
from tests.truth.line import FIRST, LAST, PLACES, Line, sample
from tests.truth.make_sample import BOOK, TRUTH, rounded, write

Book = tuple[list[dict[str, Any]], dict[str, Any]]


@pytest.fixture(scope="module")
def made() -> Book:
    return sample()


@pytest.fixture(scope="module")
def lived() -> Line:
    line = Line()
    line.live()
    return line


def test_entries_parse_and_lie_in_the_half_year(made: Book) -> None:
    entries = [parse(raw) for raw in made[0]]
    assert 500 <= len(entries) <= 700
    assert len({e.id for e in entries}) == len(entries)
    assert min(e.at for e in entries).date() == FIRST
    assert FIRST <= max(e.at for e in entries).date() <= LAST
    kinds = Counter(e.kind for e in entries)
    assert 140 <= kinds["run"] <= 200
    assert kinds["correction"] == 2
    logged = [e.id for e in entries]
    assert logged == sorted(logged)  # in the order of writing down


def test_the_same_again(made: Book) -> None:
    assert sample() == made


def test_every_tank_conserves_what_it_holds(lived: Line) -> None:
    for tank in (lived.bath, *lived.side.values()):
        assert tank.volume_l == pytest.approx(sum(tank.ledger["litres"].values()), abs=1e-9)
        for species, grams in tank.grams.items():
            assert grams == pytest.approx(sum(tank.ledger[species].values()), abs=1e-6), species


def test_what_a_tank_loses_to_a_load_the_next_one_gets(lived: Line) -> None:
    """Rust removal is left out by some loads, so what it carries on lands in rinse-1 together with the degreaser's."""
    tanks = {**lived.side, "electrolyte": lived.bath}
    wet = [name for name, role, _ in PLACES if role != "dry"]
    for before, after in pairwise(wet[2:]):
        for species in ("litres", "zinc", "nickel", "iron"):
            out = tanks[before].ledger[species].get("drag-out", 0.0)
            assert tanks[after].ledger[species].get("drag-in", 0.0) == pytest.approx(-out, abs=1e-9), (before, species)


def test_zinc_and_nickel_of_the_whole_line_are_accounted_for(lived: Line) -> None:
    """Anodes lost + made up + salts + off parts = deposits + cemented + samples + dumped + run off + on parts + still there."""
    for metal in ("zinc", "nickel"):
        flows: dict[str, float] = defaultdict(float)
        for tank in (*lived.side.values(), lived.bath):
            for account, grams in tank.ledger[metal].items():
                if account not in ("drag-in", "drag-out"):
                    flows[account] += grams
            flows["here"] -= tank.grams.get(metal, 0.0)
        flows["on parts"] = lived.side["rinse-4"].ledger[metal]["drag-out"]
        assert sum(flows.values()) == pytest.approx(0.0, abs=1e-6)
        if metal == "nickel":
            assert flows["anodes"] < 60  # 3.5 % of the current, not 13 %


def test_the_book_holds_its_stories(made: Book) -> None:
    entries, truth = made
    by_id = {e["id"]: e for e in entries}
    replaced, withdrawn = sorted((e for e in entries if e["kind"] == "correction"), key=lambda e: "withdraw" in e)
    wrong, right = by_id[replaced["corrects"]]["values"][0], replaced["replacement"]["values"][0]
    assert wrong["value"] == pytest.approx(10 * right["value"])
    assert withdrawn["withdraw"] is True
    assert by_id[withdrawn["corrects"]]["kind"] == "run"

    of_the_bath = [a for a in truth["analyses"] if a["tank"] == "electrolyte" and "nickel" in a["g_l"]]
    true_nickel = {a["id"]: a["g_l"]["nickel"] for a in of_the_bath}
    off = {}
    for entry_id, nickel in true_nickel.items():
        read = next(v["value"] for v in by_id[entry_id]["values"] if v["of"] == "nickel")
        if abs(read / nickel - 1) > 0.1:
            off[by_id[entry_id]["at"][:10]] = read
    assert list(off) == ["2026-10-02"]
    assert off["2026-10-02"] > 45
    assert not any(e.get("confirms") for e in entries)

    runs = [datetime.fromisoformat(e["at"]) for e in entries if e["kind"] == "run"]
    assert max((b - a).days for a, b in pairwise(sorted(runs))) >= 20  # the holiday
    assert any(e["kind"] == "removal" and e["tank"] == "pickle" and e.get("all") and e["to"] == "drum-1" for e in entries)
    assert any(e["kind"] == "anode" and e["action"] == "retired" for e in entries)


def test_zinc_left_hanging_over_the_holiday_dissolves(lived: Line) -> None:
    """0.36 g/dm2.day on 5 dm2 for three weeks is 38-40 g, in the bath and off the anodes."""
    series = lived.diary.series
    gone = [s for at, s in series if at.isoformat() < "2026-08-01T19:30"][-1]
    back = next(s for at, s in series if at.isoformat() > "2026-08-23T07:32")
    lost = sum(gone["anodes"][n] - back["anodes"][n] for n in ("zinc-1", "zinc-2"))
    assert lost == pytest.approx(0.36 * 5 * 21.5, rel=0.03)
    assert back["zinc_g"] - gone["zinc_g"] == pytest.approx(lost, rel=1e-6)


def test_writing_the_sample(tmp_path: Path, monkeypatch: pytest.MonkeyPatch, made: Book) -> None:
    monkeypatch.setenv("BATHKEEPER_CACHE", str(tmp_path / "cache"))
    book, truth = write(tmp_path / "out")
    assert (book.name, truth.name) == (BOOK, TRUTH)
    lines = [json.loads(line) for line in book.read_text(encoding="utf-8").splitlines()]
    assert [line["id"] for line in lines] == [e["id"] for e in made[0]]
    assert json.loads(truth.read_text(encoding="utf-8")) == rounded(made[1])


def test_the_sample_in_the_repository_is_the_one_that_the_simulation_writes(made: Book) -> None:
    folder = Path(__file__).resolve().parents[2] / "sample_data"
    lines = [json.loads(line) for line in (folder / BOOK).read_text(encoding="utf-8").splitlines()]
    assert [line["id"] for line in lines] == [e["id"] for e in made[0]]
    for line, entry in zip(lines, made[0], strict=True):
        assert parse({n: v for n, v in line.items() if n not in ("prev", "sum")}) == parse(entry)
