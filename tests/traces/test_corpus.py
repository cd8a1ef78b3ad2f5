"""Every file of the corpus: what must be asked is asked, and with the answers it comes to the right charge."""

from __future__ import annotations

import json
from datetime import UTC, datetime
from typing import Any

import pytest

from bathkeeper.traces.asking import Bench, TraceError
from bathkeeper.traces.reading import TraceReading, read_trace
from tests.traces.making import FOLDER, answers, every

TABLE: dict[str, dict[str, Any]] = json.loads((FOLDER / "table.json").read_text())
ABOUT_BOOKING = ("start",)  # asked when it is booked, of the file alone it shows as no start


def read(name: str, told: dict[str, Any], **more: Any) -> TraceReading:
    data = (FOLDER / name).read_bytes()
    return read_trace(lambda: iter([data[:700], data[700:]]), answers(told), file_name=name, **more)


def asked(reading: TraceReading) -> set[str]:
    return {q.about for q in reading.questions} | ({"start"} if reading.start is None and reading.rows else set())


def test_the_corpus_is_as_its_maker_writes_it() -> None:
    for made in every():
        assert (FOLDER / made.name).read_bytes() == made.data, made.name
    assert len(TABLE) >= 40 and set(TABLE) == {c.name for c in every()}


@pytest.mark.parametrize("name", TABLE)
def test_what_must_be_asked_is_asked_and_nothing_else(name: str) -> None:
    told = TABLE[name]
    zone = {"zone": told["answers"]["zone"]} if "zone" in told["answers"] else {}
    zone = {"zone": None} if "offset" in told["ask"] and name != "hour_twice.csv" else zone
    without = read(name, {} if name == "hour_twice.csv" else zone)
    assert asked(without) == set(told["ask"]), [q.text for q in without.questions]
    for question in without.questions:
        assert question.text and (question.choices or question.example or "Save each part" in question.text)


@pytest.mark.parametrize("careful", [False, True], ids=["fast", "careful"])
@pytest.mark.parametrize("name", TABLE)
def test_with_the_answers_the_charge_is_right(name: str, careful: bool) -> None:
    told = TABLE[name]
    got = read(name, told["answers"], careful=careful)
    if told["ah"] is None:
        assert got.charge_ah is None or got.questions
        return
    assert not [q for q in got.questions if q.about not in ABOUT_BOOKING], [q.text for q in got.questions]
    assert got.charge_ah == pytest.approx(told["ah"], rel=1e-6)
    for doubt in told["doubts"]:
        assert any(doubt in d for d in got.doubts), got.doubts
    if told["start"] is not None:
        assert got.start is not None
        assert abs((got.start - datetime.fromisoformat(told["start"]).replace(tzinfo=UTC)).total_seconds()) < 0.01
    if told["temperature"] is not None:
        middle = next(m for m in got.middles if m.quantity == "temperature")
        assert middle.median == pytest.approx(told["temperature"], abs=0.11)


def test_files_without_doubt_have_none() -> None:
    for name in ("plain.csv", "bom.csv", "apart.csv", "utf16.txt", "padded.csv", "counter.csv", "irregular.csv"):
        assert read(name, {}).doubts == (), name


@pytest.mark.parametrize(
    ("bench", "asks"),
    [(Bench(), False), (Bench(reach_a=10.0), False), (Bench(reach_a=3.0), True), (Bench(seen_a=6.0), False),
     (Bench(seen_a=0.2), True), (Bench(seen_a=900.0), True)],
)  # fmt: skip
def test_a_current_that_the_bench_never_gave_is_asked_about(bench: Bench, asks: bool) -> None:
    assert ("unit.current" in asked(read("plain.csv", {}, bench=bench))) == asks


@pytest.mark.parametrize("head", ["current density (A/dm2)", "Stromdichte [A/dm²]", "primary mains current (A)", "I (ASF)"])
def test_what_does_not_flow_in_the_tank_is_not_taken_for_its_current(head: str) -> None:
    rows = "\n".join(f"2026-05-13 08:{k // 60:02d}:{k % 60:02d};{2 + k % 7 / 100:.2f}" for k in range(0, 600, 10))
    data = f"Time;{head}\n{rows}\n".encode()
    try:
        told = read_trace(lambda: iter([data]), answers({}), file_name="other.csv")
    except TraceError:
        return
    assert told.charge_ah is None or told.questions


def test_two_channels_in_one_column_are_asked_about() -> None:
    lines = ["Time,Current (A)"]
    for k in range(240):
        lines.append(f"2026-05-13 08:{k // 6:02d}:{k % 6 * 10:02d},{6.5 + k % 7 / 100 if k % 2 else 1.2:.2f}")
    data = "\n".join(lines).encode()
    told = read_trace(lambda: iter([data]), answers({}), file_name="two.csv")
    assert "spikes" in asked(told)
    assert "spikes" not in asked(read_trace(lambda: iter([data]), answers({"spikes": "keep"}), file_name="two.csv"))
