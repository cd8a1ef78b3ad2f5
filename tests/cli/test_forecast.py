"""``forecast`` on the command line: the JSON that the interface names, and sentences for people."""

from __future__ import annotations

import json
from datetime import datetime
from pathlib import Path

import pytest

from tests.cli.conftest import Run

SAMPLE = next((Path(__file__).parents[2] / "sample_data").glob("*.logbook.jsonl"))
WHEN = "2026-11-20T18:00+00:00"


@pytest.fixture
def sample(tmp_path: Path) -> Path:
    book = tmp_path / "a.logbook.jsonl"
    book.write_bytes(SAMPLE.read_bytes())
    return book


def test_json_of_one_tank_is_a_list_of_edges(run: Run, sample: Path) -> None:
    done = run("forecast", "electrolyte", "--json", "--at", WHEN, book=sample)
    assert done.exit_code == 0, done.stderr
    edges = {(c["species"], c["edge"]): c for c in json.loads(done.stdout)}
    ratio = edges["nickel_of_metal", "low"]
    assert ratio["limit"] == 0.38
    assert 0 < ratio["charge_ah"]["p10"] < ratio["charge_ah"]["p50"] < ratio["charge_ah"]["p90"]
    dates = [datetime.fromisoformat(ratio["date"][p]) for p in ("p10", "p50", "p90")]
    assert dates == sorted(dates)
    assert dates[0] > datetime.fromisoformat(WHEN)
    assert edges["boric acid", "high"]["date"] is None
    assert all(0 <= c["chance"] <= 1 for c in edges.values())


def test_text_of_the_line_says_what_comes_and_on_what_it_rests(run: Run, sample: Path) -> None:
    done = run("forecast", "--at", WHEN, book=sample)
    assert done.exit_code == 0, done.stderr
    words = " ".join(done.stdout.split())
    assert "runs a week of 5.2 Ah" in words
    assert "Free acid reaches its low limit in" in words
    assert all(len(line) <= 80 for line in done.stdout.splitlines())


def test_an_unknown_tank_is_told_which_there_are(run: Run, sample: Path) -> None:
    done = run("forecast", "pickel", book=sample)
    assert done.exit_code == 2
    assert "pickle" in done.stderr
