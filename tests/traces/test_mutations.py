"""Damage at random to every clean file: a refusal, a question, a doubt, or the right charge; never a traceback."""

from __future__ import annotations

import random

import pytest

from tests.traces.mutations import clean_cases, damaged, verdict

CASES = clean_cases()


@pytest.mark.parametrize("case", CASES, ids=[c.name for c in CASES])
def test_no_damage_gives_a_wrong_charge_without_a_word(case) -> None:
    tried = 0
    for seed in range(14):
        hurt = damaged(case, random.Random(f"{case.name} {seed}"))
        if hurt is not None:
            tried += 1
            assert verdict(case, hurt) == ""
    assert tried >= 1


def test_the_oracle_can_fail() -> None:
    """A file whose every current is doubled, with nothing to tell it by, is seen as wrong."""
    from dataclasses import replace

    from tests.traces.mutations import Damaged

    case = next(c for c in CASES if c.name == "plain.csv")
    assert case.ah is not None
    wrong = Damaged(case.data, "as it is, held against half of it", case.ah / 2)
    assert "without a word" in verdict(replace(case, ah=case.ah / 2), wrong)
