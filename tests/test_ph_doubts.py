"""The pH of a container that cannot be, or that belies its contents: asked about before it is written."""

from __future__ import annotations

import pytest

from bathkeeper.answers.tested import ph_doubts
from bathkeeper.catalogue.loader import load
from bathkeeper.estimate.fold import Fold
from tests.test_filling import BOOK, entry

LYE = [
    entry("tank", 0, tank="cleaner", role="degrease", recipe="alkaline-degreaser", working_volume_l=20.0),
    entry("make_up", 0, tank="cleaner", volume_l=20.0),
    entry("removal", 2, tank="cleaner", volume_l=5.0, to="jar"),
]
LIMED = [
    entry("container", 3, container="drum-1", action="treated", treatment="neutralised",
          items=[{"reagent": "sodium hydroxide", "amount": 4000.0, "unit": "g"}]),
]  # fmt: skip


def doubts_of(container: str, ph: float, *more) -> list[str]:
    tested = entry("container", 4, container=container, action="tested", values=[{"of": "ph", "value": ph, "unit": "pH"}])
    return ph_doubts(tested, Fold(load()).take([*BOOK, *LYE, *more]))


@pytest.mark.parametrize("ph", [14.5, 15.0])
def test_beyond_the_scale(ph: float) -> None:
    assert any("beyond what strips and meters show" in d for d in doubts_of("drum-2", ph))


@pytest.mark.parametrize("ph", [0.0, 1.0, 2.0, 4.5])
def test_a_pickle_that_is_sour(ph: float) -> None:
    assert doubts_of("drum-1", ph) == []


@pytest.mark.parametrize("ph", [6.0, 9.0, 13.0])
def test_a_pickle_that_is_not(ph: float) -> None:
    (said,) = doubts_of("drum-1", ph)
    assert "drum-1" in said and "free acid" in said


def test_a_pickle_that_was_treated_may_be_anything() -> None:
    assert doubts_of("drum-1", 9.0, *LIMED) == []


def test_a_degreaser() -> None:
    assert doubts_of("jar", 12.5) == []
    (said,) = doubts_of("jar", 3.0)
    assert "of alkali" in said


def test_an_empty_drum_says_nothing() -> None:
    assert doubts_of("drum-2", 7.0) == [] == doubts_of("nosuch", 7.0)
