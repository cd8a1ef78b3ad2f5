"""The sample workshop's trace: it is what its maker writes, and comes to what the maker put in."""

from __future__ import annotations

from itertools import pairwise
from pathlib import Path

from tests.cli.conftest import Run
from tests.truth.make_trace import EVERY_S, TRACE, rows, text

SAMPLE = Path(__file__).parents[2] / "sample_data"


def test_the_file_is_as_its_maker_writes_it() -> None:
    assert (SAMPLE / TRACE).read_text(encoding="utf-8") == text()


def test_it_becomes_the_charge_of_the_last_load(run: Run, tmp_path: Path) -> None:
    book = tmp_path / "copy.logbook.jsonl"
    book.write_bytes((SAMPLE / "lantern-sluice.logbook.jsonl").read_bytes())
    done = run("import", "trace", str(SAMPLE / TRACE), "--yes", book=book)
    assert done.exit_code == 0, done.output
    amps = [round(a, 2) for _, a, _, _ in rows()]
    charge = sum((a + b) / 2 * EVERY_S for a, b in pairwise(amps)) / 3600
    told = " ".join(done.stdout.split())
    assert f"{charge:.3f} Ah" in told and "Becomes the charge of run a00a9802" in told
