"""``forecast`` on the command line: the JSON that the interface names, and sentences for people."""

from __future__ import annotations

import json
import subprocess
import sys
from datetime import datetime
from pathlib import Path

ROOT = Path(__file__).parents[2]
SAMPLE = next((ROOT / "sample_data").glob("*.logbook.jsonl"))


def asked(tmp_path: Path, *words: str) -> subprocess.CompletedProcess[str]:
    book = tmp_path / "a.logbook.jsonl"
    if not book.exists():
        book.write_bytes(SAMPLE.read_bytes())
    command = [sys.executable, "-m", "bathkeeper", "forecast", *words, "--book", str(book), "--at", "2026-11-20T18:00+00:00"]
    return subprocess.run(command, capture_output=True, text=True, cwd=ROOT, check=False)


def test_json_of_one_tank_is_a_list_of_edges(tmp_path: Path) -> None:
    done = asked(tmp_path, "electrolyte", "--json")
    assert done.returncode == 0, done.stderr
    edges = {(c["species"], c["edge"]): c for c in json.loads(done.stdout)}
    ratio = edges["nickel_of_metal", "low"]
    assert ratio["limit"] == 0.38
    assert 0 < ratio["charge_ah"]["p10"] < ratio["charge_ah"]["p50"] < ratio["charge_ah"]["p90"]
    dates = [datetime.fromisoformat(ratio["date"][p]) for p in ("p10", "p50", "p90")]
    assert dates == sorted(dates)
    assert dates[0] > datetime.fromisoformat("2026-11-20T18:00+00:00")
    assert edges["boric acid", "high"]["date"] is None
    assert all(0 <= c["chance"] <= 1 for c in edges.values())


def test_text_of_the_line_says_what_comes_and_on_what_it_rests(tmp_path: Path) -> None:
    done = asked(tmp_path)
    assert done.returncode == 0, done.stderr
    assert "runs a week" in done.stdout
    assert "Free acid reaches its low limit in" in " ".join(done.stdout.split())
    assert max(len(line) for line in done.stdout.splitlines()) <= 110


def test_an_unknown_tank_is_told_which_there_are(tmp_path: Path) -> None:
    done = asked(tmp_path, "pickel")
    assert done.returncode == 2
    assert "pickle" in done.stderr
