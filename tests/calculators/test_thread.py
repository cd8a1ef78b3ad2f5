"""Thread fit by ISO 4042's table (fasteners.eu, ISO 4042): 8 um on a standard 6g thread fits from M10 up, 5 um below."""

from __future__ import annotations

import pytest

from bathkeeper.calculators.registry import CalcError, ask, calculator


def answer(**texts: str) -> dict[str, object]:
    return dict(ask(calculator("thread"), {n: (t,) for n, t in texts.items()}).values)


@pytest.mark.parametrize(
    ("thread", "thickness", "fits"),
    [("M8", "8um", False), ("M8", "5um", True), ("M10", "8um", True), ("M16", "8um", True), ("M6", "0.3mil", False)],
)
def test_standard_bolts(thread, thickness, fits):
    assert answer(thread=thread, thickness=thickness)["fits"] is fits


def test_an_e_thread_takes_more():
    assert answer(thread="M8", thickness="8um", position="e") == {
        **answer(thread="M8", thickness="8um", position="e"),
        "fits": True,
        "largest_um": 15.0,
    }


@pytest.mark.parametrize("texts", [{"thread": "8", "thickness": "8um"}, {"thread": "M8", "thickness": "8g"}, {"thread": "M8"}])
def test_refused(texts):
    with pytest.raises((CalcError, ValueError)):
        answer(**texts)
