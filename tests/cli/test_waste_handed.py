"""Hand-overs from the command line: refused loads, receipts that come later, and fills that a signed paper rests on."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import pytest

from tests.cli.conftest import Run, asked, told, written

HAND = ("container", "can-alk", "handed-over")
WHOM = "to=Council desk"


def handed(run: Run, book: Path) -> list[dict[str, Any]]:
    result = run("waste", "handed", "--json", book=book)
    return json.loads(result.stdout)["handed_over"]


def litres(run: Run, book: Path, name: str) -> float:
    result = run("waste", "show", name, "--json", book=book)
    held = json.loads(result.stdout)["volume_l"]
    return held["value"] if held is not None else 0.0


def last_id(book: Path) -> str:
    return json.loads(book.read_bytes().splitlines()[-1])["id"]


# -- refused loads ---------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("amount", ["volume=0.5L", "all"])
def test_a_load_refused_at_the_gate_stays(run: Run, yard: Path, amount: str) -> None:
    written(run, yard, *HAND, amount, WHOM, "refused=wrong label", "reference=R9")
    assert litres(run, yard, "can-alk") == pytest.approx(3.0)
    said = told(run, yard, "handed")
    assert "refused" in said and "wrong label" in said and "no receipt yet" not in said
    one = handed(run, yard)[0]
    assert one["refused"] == "wrong label" and one["refused_at"] and one["reference"] == "R9"
    account = json.loads(run("waste", "account", "--json", book=yard).stdout)
    assert account["account"]["handed_over_l"] == 0.0 and account["left_over_l"] == pytest.approx(0.0, abs=1e-9)
    assert "refused: R9" in told(run, yard, "status")
    register = run("report", "register", "--json", book=yard).output
    assert "wrong label" in register and "refused" in register


@pytest.mark.parametrize("amount", ["volume=0.5L", "all"])
def test_a_load_refused_later_comes_back(run: Run, yard: Path, amount: str) -> None:
    before = json.loads(run("waste", "show", "can-alk", "--json", book=yard).stdout)
    written(run, yard, *HAND, amount, WHOM, "reference=R1")
    assert litres(run, yard, "can-alk") < 3.0
    written(run, yard, *HAND, "reference=R1", "refused=too alkaline")
    after = json.loads(run("waste", "show", "can-alk", "--json", book=yard).stdout)
    assert after["volume_l"]["value"] == pytest.approx(3.0) and after["origins"] == before["origins"]
    assert after["contents"].keys() == before["contents"].keys() and after["candidate_codes"] == before["candidate_codes"]
    assert "too alkaline" in told(run, yard, "handed")
    account = json.loads(run("waste", "account", "--json", book=yard).stdout)
    assert account["account"]["handed_over_l"] == pytest.approx(0.0, abs=1e-9)
    assert account["left_over_l"] == pytest.approx(0.0, abs=1e-9)
    assert "came back" in run("report", "register", "--json", book=yard).output


def test_one_reference_twice_is_asked_about(run: Run, yard: Path) -> None:
    written(run, yard, *HAND, "volume=0.5L", WHOM, "reference=R9")
    assert "under R9 already" in asked(run, yard, *HAND, "volume=0.5L", WHOM, "reference=R9")
    written(run, yard, *HAND, "volume=0.5L", WHOM, "reference=R10")


# -- what a paper rests on -------------------------------------------------------------------------------------------------


def test_withdrawing_a_fill_asks_and_loses_no_hand_over(run: Run, yard: Path) -> None:
    written(run, yard, "removal", "pickle", "10L", "to=d1")
    fill = last_id(yard)
    written(run, yard, "container", "d1", "handed-over", "all", WHOM, "reference=R1")
    words = ("correction", fill, "withdraw", "reason=logged twice")
    said = asked(run, yard, *words)
    assert "R1" in said and "d1" in said and "no longer be on record" in said
    written(run, yard, *words, "--yes")
    one = handed(run, yard)[0]
    assert one["reference"] == "R1" and one["on_record"] is False and one["litres"] is None
    said = told(run, yard, "handed")
    assert "R1" in said and "amount not known" in said and "what went in is not on record" in said
    assert "not on record" in run("report", "register", "--json", book=yard).output
    written(run, yard, "container", "d1", "opened", "size=20L")
    assert handed(run, yard)[0]["reference"] == "R1"


def test_a_hand_over_of_nothing_known_keeps_the_litres_it_told(run: Run, yard: Path) -> None:
    written(run, yard, "removal", "pickle", "10L", "to=d1")
    fill = last_id(yard)
    written(run, yard, "container", "d1", "handed-over", "volume=9.9L", WHOM, "reference=R1")
    written(run, yard, "correction", fill, "withdraw", "reason=logged twice", "--yes")
    assert handed(run, yard)[0]["litres"]["value"] == pytest.approx(9.9)
    account = json.loads(run("waste", "account", "--json", book=yard).stdout)
    assert account["account"]["handed_over_l"] == pytest.approx(9.9) and account["left_over_l"] == pytest.approx(0.0, abs=1e-9)


def test_another_amount_under_a_signed_paper_is_asked_about(run: Run, yard: Path) -> None:
    written(run, yard, "removal", "pickle", "10L", "to=d1")
    fill = last_id(yard)
    written(run, yard, "container", "d1", "handed-over", "all", WHOM, "reference=R1")
    said = asked(run, yard, "correction", fill, "volume=3L", "reason=misread")
    assert "3 L instead of 10 L" in said and "R1" in said


# -- receipts --------------------------------------------------------------------------------------------------------------


def test_a_receipt_finds_a_hand_over_without_a_reference(run: Run, yard: Path) -> None:
    written(run, yard, *HAND, "all", WHOM)
    id = last_id(yard)
    said = told(run, yard, "handed")
    assert f"log container can-alk handed-over of={id} receipt=" in said and "of today" in said
    written(run, yard, *HAND, "receipt=RC-7")
    one = handed(run, yard)[0]
    assert one["receipt"] == "RC-7" and one["receipt_at"][:10] == json.loads(yard.read_bytes().splitlines()[-1])["at"][:10]


def test_of_several_the_entry_tells_which(run: Run, yard: Path) -> None:
    written(run, yard, *HAND, "volume=1L", WHOM)
    first = last_id(yard)
    written(run, yard, *HAND, "volume=1L", WHOM, "reference=R2")
    said = asked(run, yard, *HAND, "receipt=RC-7")
    assert "several" in said and first in said and "R2" in said
    written(run, yard, *HAND, f"of={first[-8:]}", "receipt=RC-7")
    assert [h["receipt"] for h in handed(run, yard)] == ["RC-7", None]


def test_a_hand_over_is_put_right_though_its_drum_is_empty_by_it(run: Run, yard: Path) -> None:
    written(run, yard, *HAND, "all", WHOM)
    written(run, yard, "correction", last_id(yard), "reference=R5", "reason=forgot the paper's number")
    assert handed(run, yard)[0]["reference"] == "R5"


def test_a_receipt_that_fits_nothing_is_refused(run: Run, yard: Path) -> None:
    written(run, yard, *HAND, "all", WHOM, "reference=R1")
    said = asked(run, yard, *HAND, "reference=R7", "receipt=RC-1", "--yes")
    assert "R7" in said and "open are R1" in said
    said = asked(run, yard, *HAND, "reference=R1", "receipt=RC-1", "--when", "yesterday", "--yes")
    assert "older than its hand-over" in said
    said = asked(run, yard, *HAND, "reference=R1", "receipt=RC-1", "receipt_at=yesterday", "--yes")
    assert "older than its hand-over" in said
    written(run, yard, *HAND, "reference=R1", "receipt=RC-1")
    assert "no hand-over waits" in asked(run, yard, *HAND, "receipt=RC-2")


