"""Damage at random to every file: a refusal, a question, a doubt, or the right charge; never a traceback."""

from __future__ import annotations

import random
from dataclasses import replace

import pytest

from bathkeeper.traces.reading import read_trace
from tests.traces.making import Case, answers, charge, every
from tests.traces.mutations import Damaged, damaged, rows_of, told_cases, verdict

CASES = told_cases()
NOT_TO_BOOK = [c for c in every() if c.name in ("journal.csv", "zeros.csv", "rounded.csv", "percent.csv", "warm.csv")]
JOURNALS = [c for c in every() if c.name in ("journal.csv", "journal_few.csv", "journal_steps.csv")]


@pytest.mark.parametrize("case", CASES, ids=[c.name for c in CASES])
def test_no_damage_gives_a_wrong_charge_without_a_word(case: Case) -> None:
    tried = 0
    for seed in range(14):
        hurt = damaged(case, random.Random(f"{case.name} {seed}"))
        if hurt is not None:
            tried += 1
            assert verdict(case, hurt) == ""
    assert tried >= 1


@pytest.mark.parametrize("case", NOT_TO_BOOK + JOURNALS, ids=lambda c: c.name)
def test_what_is_no_log_of_a_current_is_not_booked_when_damaged_either(case: Case) -> None:
    """With no answers: nothing may be booked of it, whole or short of some of its lines."""
    lines = case.data.split(b"\n")
    rng = random.Random(case.name)
    for _ in range(20):
        gone = set(rng.sample(range(1, len(lines)), rng.randint(0, min(len(lines) // 3, 8))))
        data = b"\n".join(line for k, line in enumerate(lines) if k not in gone)
        got = read_trace(lambda data=data: iter([data]), answers({}), file_name=case.name)  # type: ignore[misc]
        assert got.questions or got.charge_ah is None, (sorted(gone), got.charge_ah)


@pytest.mark.parametrize("case", [c for c in CASES if c.samples and rows_of(c) and not c.doubts], ids=lambda c: c.name)
def test_with_lines_dropped_the_rest_is_summed_exactly(case: Case) -> None:
    found = rows_of(case)
    assert case.samples is not None and found is not None
    lines, first = found
    rng = random.Random(case.name)
    for _ in range(4):
        gone = set(rng.sample(range(1, len(case.samples) - 1), 3))
        kept = [s for n, s in enumerate(case.samples) if n not in gone]
        data = b"\n".join(line for n, line in enumerate(lines) if n - first not in gone) + b"\n"
        got = read_trace(lambda data=data: iter([data]), answers(case.answers), file_name=case.name)  # type: ignore[misc]
        if not got.questions and got.charge_ah is not None:
            assert got.charge_ah == pytest.approx(charge(kept, got.gap_bound_s), rel=1e-6)


def test_the_oracle_can_fail() -> None:
    """A file whose every current is doubled, with nothing to tell it by, is seen as wrong."""
    case = next(c for c in CASES if c.name == "plain.csv")
    assert case.ah is not None
    wrong = Damaged(case.data, "as it is, held against half of it", case.ah / 2)
    assert "without a word" in verdict(replace(case, ah=case.ah / 2), wrong)
