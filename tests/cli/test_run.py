"""``run``: a load set, walked, fed and finished from the command line; the runs that were."""

from __future__ import annotations

import json
import signal
import subprocess
import sys
from pathlib import Path
from time import sleep

import pytest

from bathkeeper.logbook.live import live_path
from tests.cli.conftest import Run


def told(run: Run, book: Path, *words: object) -> object:
    result = run("run", *words, "--json", book=book)
    assert result.exit_code == 0, result.output
    return json.loads(result.stdout)


def test_a_load_is_set_from_words(run: Run, book: Path) -> None:
    """3.259 dm2 at the recipe's middle; the area's own spread stands beside it."""
    answer = told(run, book, "set", "20x M8x30 hex bolt", "--thickness", "8um", "--tank", "electrolyte")
    assert isinstance(answer, dict)
    assert answer["area_dm2"] == pytest.approx(3.259, abs=0.002)
    assert answer["current_a"]["value"] == pytest.approx(answer["density_a_dm2"] * 3.259, rel=0.01)
    plain = run("run", "set", "--area", "3.2dm2", book=book)
    assert plain.exit_code == 0
    assert plain.stdout.startswith("current: ")


def test_what_cannot_be_set_is_refused_in_a_sentence(run: Run, book: Path) -> None:
    for words, says in (
        (("set", "M8x30 rivet"), "no fastener known here"),
        (("set", "--area", "3.2kg"), "--area"),
        (("set", "M8x30", "--area", "3dm2"), "not both"),
        (("next",), "no live run"),
        (("start", "--like", "nonsense-id"), "no entry has the id"),
    ):
        result = run("run", *words, book=book)
        assert result.exit_code == 2, result.output
        assert says in result.stderr
        assert "Traceback" not in result.output


def test_a_run_is_walked_and_becomes_one_entry(run: Run, book: Path) -> None:
    assert run("run", "start", "20x M8x30 hex bolt", "--current", "6.5A", book=book).exit_code == 0
    state = told(run, book, "show")
    assert isinstance(state, dict) and state["state"] == "waiting"
    assert run("run", "back", "electrolyte", book=book).exit_code == 0
    assert run("run", "say", "6.5A", "35C", "44min", "looks even", book=book).exit_code == 0
    shown = run("run", "show", book=book)
    assert "now" in shown.stdout and "next: " in shown.stdout
    assert "already" in run("run", "start", "M8x30", book=book).stderr
    done = told(run, book, "finish", "--result", "good", "--photo", "rack.jpg")
    assert isinstance(done, dict)
    entry = done["entry"]
    (step,) = [s for s in entry["steps"] if s["tank"] == "electrolyte"]
    assert step == {"tank": "electrolyte", "minutes": 44.0, "charge": {"current_a": 6.5}, "temperature_c": 35.0}
    assert entry["parts"][0]["count"] == 20
    assert entry["result"] == "good" and entry["photos"] == ["rack.jpg"]
    assert told(run, book, "show") is None
    assert book.read_text().count('"kind":"run"') == 2  # the fixture's own and this one


def test_a_loggers_lines_become_the_charge_and_bad_ones_are_named(run: Run, book: Path, tmp_path: Path) -> None:
    run("run", "start", "M8x30", book=book)
    run("run", "back", "electrolyte", book=book)
    trace = tmp_path / "bench.csv"
    trace.write_text(
        "# bench supply\ntime,current,voltage\n" + "".join(f"{t},6.0,3.1\n" for t in range(0, 601, 10)) + "x,y,z\n"
    )
    fed = run("run", "feed", trace, book=book)
    assert fed.exit_code == 0, fed.output
    assert "61 samples into electrolyte, 1 Ah so far" in fed.stdout
    assert "electrolyte: the logger tells of current for 10 min, parts were in for" in fed.stderr
    assert "1 line not counted" in fed.stderr and "`x` is no time" in fed.stderr


@pytest.mark.skipif(sys.platform == "win32", reason="there is no SIGINT for another process there")
def test_stopping_a_logger_is_no_failure(run: Run, book: Path) -> None:
    """Ctrl-C while it waits for a line: what came before counts, and is told."""
    run("run", "start", "M8x30", book=book)
    run("run", "back", "electrolyte", book=book)
    feeding = subprocess.Popen(
        [sys.executable, "-m", "bathkeeper", "run", "feed"],
        stdin=subprocess.PIPE, stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True,
    )  # fmt: skip
    with feeding:
        assert feeding.stdin is not None
        feeding.stdin.write("".join(f"{t},6.0,3.1\n" for t in range(0, 10_000, 10)))  # more than is held back
        feeding.stdin.flush()
        live = live_path(book)
        while feeding.poll() is None and live.read_bytes().count(b'"kind":"samples"') < 2:
            sleep(0.05)
        feeding.send_signal(signal.SIGINT)
        out, err = feeding.communicate()
    assert feeding.returncode == 0, err
    assert "1000 samples into electrolyte" in out


def test_abandoning_keeps_what_was_done(run: Run, book: Path) -> None:
    run("run", "start", "M8x30", book=book)
    nothing = run("run", "abandon", "no time", book=book)
    assert "nothing was written" in nothing.stderr
    run("run", "start", "M8x30", book=book)
    run("run", "next", book=book)
    done = told(run, book, "abandon", "power cut")
    assert isinstance(done, dict)
    assert "abandoned: power cut" in done["entry"]["note"]


def test_looking_back_again_and_comparing(run: Run, book: Path) -> None:
    listed = told(run, book, "list")
    assert isinstance(listed, list) and len(listed) == 1
    dry = told(run, book, "again", "last", "--area", "6dm2", "--dry")
    assert isinstance(dry, dict) and sum(p["area_dm2"] for p in dry["parts"]) == pytest.approx(6.0)
    assert run("run", "again", "last", "--area", "6dm2", book=book).exit_code == 0
    assert run("run", "note", "last", "--defect", "dull", "matt", book=book).exit_code == 0
    bad = told(run, book, "list", "--result", "bad")
    assert isinstance(bad, list) and [r["defect"] for r in bad] == ["dull"]
    assert "dull" in run("run", "list", book=book).stdout
    refused = run("run", "note", "last", "--defect", "glowing", book=book)
    assert refused.exit_code == 2 and "glowing" in refused.stderr
    assert run("run", "compare", book=book).exit_code == 0
