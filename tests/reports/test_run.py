"""A run's certificate: steps as logged, an average with its spread, the bake held against the rule, no verdict."""

from __future__ import annotations

from datetime import timedelta

import pytest

from bathkeeper.answers.shapes import NotFound
from bathkeeper.reports.making import make
from bathkeeper.reports.model import Caution, Corrected, Facts
from tests.reports.shops import NEVER, NOW, START, book, column, in_every_form, sample, table, tanks, text

AT = START + timedelta(days=10)


def plated(part, *, bake_after_h=None, hours=24.0, rule="ASTM B850", tmp_path=None):
    shop = book(tmp_path, tanks(), embrittlement_rule=rule)
    run = shop.log({
        "kind": "run", "at": AT, "parts": [{"description": "bolts", "count": 6, "area_dm2": 4.0, **part}],
        "steps": [{"tank": "pickle", "minutes": 5.0},
                  {"tank": "electrolyte", "minutes": 45.0, "charge": {"current_a": 6.0}, "temperature_c": 35.0}],
    }).entry  # fmt: skip
    if bake_after_h is not None:
        shop.log({"kind": "treatment", "what": "bake", "run": run.id, "at": AT + timedelta(hours=bake_after_h),
                  "minutes": hours * 60, "temperature_c": 200.0})  # fmt: skip
    return make(shop, "run", run.id, at=NOW, made_at=NOW), run, shop


def facts(report):
    return {f.label: f.value for p in report.sections if isinstance(p, Facts) for f in p.pairs}


def test_steps_charge_and_thickness(tmp_path):
    made, _, _ = plated({}, tmp_path=tmp_path)
    steps = table(made, "steps")
    assert column(steps, "tank") == ["pickle", "electrolyte"]
    assert column(steps, "charge") == [None, pytest.approx(4.5)]  # 6 A x 45 min
    thickness = facts(made)["Thickness, average"]
    # 4.5 Ah over 4 dm2; pure zinc at full efficiency would be 17.1 um per Ah/dm2 (1.220 g/Ah over 7.14 g/cm3)
    assert thickness.low < thickness.value < thickness.high and 0.7 * 19.2 < thickness.value < 1.05 * 19.2
    thin = next(v for k, v in facts(made).items() if k.startswith("Thin spot"))
    assert thin.value < thickness.value and "a thin spot is thinner" in text(made)


@pytest.mark.parametrize(("after", "hours", "words"), [
    (1.0, 24.0, "begun in time"), (30.0, 24.0, "begun too late"), (1.0, 2.0, "unbroken at temperature on record"),
])  # fmt: skip
def test_the_bake_is_held_against_the_rule(tmp_path, after, hours, words):
    made, _, _ = plated({"strength_mpa": 1300.0}, bake_after_h=after, hours=hours, tmp_path=tmp_path)
    bake = table(made, "bake")
    assert column(bake, "hours") == [hours] and column(bake, "after") == [after]
    assert words in text(made) and facts(made)["It asks for a bake"] == "yes"
    assert any(isinstance(p, Caution) and "free of hydrogen" in p.text for p in made.sections)


def test_no_bake_is_said_and_safety_critical_parts_get_no_verdict(tmp_path):
    made, _, _ = plated({"strength_mpa": 1300.0}, tmp_path=tmp_path / "a" if (tmp_path / "a").mkdir() is None else tmp_path)
    assert "No bake is on record" in text(made) and "none is on record" in text(made)
    made, _, _ = plated({"strength_mpa": 1300.0, "safety_critical": True}, bake_after_h=1.0,
                        tmp_path=tmp_path / "b" if (tmp_path / "b").mkdir() is None else tmp_path)  # fmt: skip
    told = text(made)
    assert "no verdict from this program" in told and "begun in time" not in told


def test_without_a_rule_or_an_area_it_says_so(tmp_path):
    made, _, _ = plated({"strength_mpa": 1300.0}, rule=None, tmp_path=tmp_path)
    assert "No rule for baking is named" in text(made)


def test_outcome_and_corrections(tmp_path):
    _, run, shop = plated({}, tmp_path=tmp_path)
    late = NOW - timedelta(days=1)
    shop.log({"kind": "remark", "run": run.id, "at": late, "text": "two dull", "result": "dull", "rejects": 2})
    shop.correct(run.id, "the other counter", {**_plain(run), "result": "good"}, at=NOW - timedelta(hours=1))
    made = make(shop, "run", run.id[-8:], at=NOW, made_at=NOW)
    assert facts(made)["Rejects"] == 2 and "not good" in facts(made)["Outcome"]
    assert any(isinstance(p, Corrected) and p.reason == "the other counter" for p in made.sections)


def _plain(run):
    from bathkeeper.entries import to_plain

    return {k: v for k, v in to_plain(run).items() if k not in ("id", "at", "schema")}


def test_every_run_of_the_sample_can_be_certified_and_says_nothing_it_must_not():
    shop = sample()
    for run in [e for e in shop.entries(at=NOW) if e.kind == "run"][::25]:
        assert not [w for w in NEVER if w in text(make(shop, "run", run.id, at=NOW, made_at=NOW)).casefold()]
    in_every_form(make(shop, "run", "last", at=NOW, made_at=NOW))


def test_no_run(tmp_path):
    with pytest.raises(NotFound, match="no run"):
        make(book(tmp_path), "run", "last")
    with pytest.raises(NotFound, match="not a run"):
        make(sample(), "run", sample().last_logged().id if sample().last_logged().kind != "run" else
             next(e.id for e in sample().entries() if e.kind == "reading"))  # fmt: skip
