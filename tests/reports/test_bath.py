"""A bath's history: every life, readings with their doubts, charts whose points are the estimate's."""

from __future__ import annotations

import pytest

from bathkeeper.answers.shapes import NotFound
from bathkeeper.reports.making import make
from bathkeeper.reports.model import Chart, Corrected
from tests.reports.shops import HOSTILE, NEVER, NOW, book, column, in_every_form, sample, table, tanks, text


@pytest.fixture(scope="module")
def plating():
    return make(sample(), "bath", "electrolyte", until=NOW, made_at=NOW, exact=True)


def charts(report):
    return {p.title: p for p in report.sections if isinstance(p, Chart)}


def test_the_chart_is_the_trend_with_its_window(plating):
    zinc, trend = charts(plating)["zinc"], sample().trend("electrolyte", "zinc", NOW)
    assert [(p.when, p.value, p.low) for p in zinc.estimate] == [(p.at, p.value, p.low) for p in trend.points]
    assert {n: getattr(zinc, n) for n in trend.window} == trend.window
    assert [(r.when, r.value, r.doubtful) for r in zinc.readings] == [(at, v, d) for at, _, v, d in trend.readings]


def test_doubtful_readings_are_hollow_and_ph_has_its_chart(plating):
    assert any(r.doubtful for c in charts(plating).values() for r in c.readings)
    assert charts(plating)["pH"].readings and not charts(plating)["pH"].estimate


def test_every_life_is_there_and_its_curve_too():
    made = make(sample(), "bath", "pickle", until=NOW, made_at=NOW)
    lives = table(made, "lives")
    assert column(lives, "state") == ["emptied", "in use"]
    ended = column(lives, "emptied")[0]
    acid = next(iter(charts(made).values()))
    assert any(p.when < ended for p in acid.estimate) and any(p.when > ended for p in acid.estimate)
    assert sum(e.kind == "new life" for e in acid.events) == 2


def test_every_reading_and_correction_is_there(plating):
    every = [v for e in sample().entries("electrolyte", NOW) if e.kind == "reading" for v in e.values]
    assert len(table(plating, "readings").rows) == len(every)
    assert any(p.reason == "typed without the point" for p in plating.sections if isinstance(p, Corrected))
    assert not [w for w in NEVER if w in text(plating).casefold()]


def test_an_empty_tank_and_an_unknown_one():
    assert "no make-up" in text(make(sample(), "bath", "dry", until=NOW, made_at=NOW))
    with pytest.raises(NotFound, match="there are"):
        make(sample(), "bath", "nowhere")


def test_a_quiet_period_and_hostile_names(tmp_path):
    shop = book(tmp_path, [*tanks(HOSTILE), {"kind": "remark", "tank": HOSTILE, "text": HOSTILE * 50}])
    made = make(shop, "bath", HOSTILE, since=NOW.replace(hour=11), until=NOW, made_at=NOW)
    assert "Nothing was read" in text(made)
    assert "\x1b" not in in_every_form(make(shop, "bath", HOSTILE, until=NOW, made_at=NOW))["text"]
