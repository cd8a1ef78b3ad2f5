"""The order of the steps, and hours at temperature on record against what was asked."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta
from zoneinfo import ZoneInfo

import pytest

from bathkeeper.safety.baking import bake_record, order_faults
from bathkeeper.safety.embrittlement import bake
from bathkeeper.safety.schema import SafetyError

WANTED = bake(strength_mpa=1040, rule="ASTM B850")  # 8 h at 190-220 degC, start within 4 h
END = datetime(2024, 5, 1, 12, 0, tzinfo=UTC)


def soak(temperature, start_h, hours):
    start = END + timedelta(hours=start_h)
    return (temperature, start, start + timedelta(hours=hours))


def subjects(faults):
    return [f.subject for f in faults]


def test_bake_between_plate_and_passivate_is_the_order():
    assert (
        order_faults(["degrease", "pickle", "plate", "rinse", "bake", "acid dip", "passivate", "dry"], bake_needed=True) == []
    )


def test_never_bake_passivated_parts():
    (fault,) = order_faults(["pickle", "plate", "passivate", "bake"])
    assert fault.subject == "bake-after-passivate" and fault.level == "now"
    assert "204 degC" in fault.why and "four of five" in fault.why  # finishing.com thread 524/64
    assert "524/64" in fault.source
    finding = fault.finding("passivate", ("run-1",))
    assert finding.id == "passivate.caution.bake-after-passivate" and finding.because.entries == ("run-1",)
    assert finding.because.sources[0].startswith("seen: finishing.com")


def test_a_second_plating_after_stripping_starts_anew():
    assert order_faults(["plate", "passivate", "pickle", "plate", "bake", "passivate"]) == []


def test_hydrogen_put_back_and_a_bake_left_out():
    assert subjects(order_faults(["plate", "bake", "pickle", "passivate"])) == ["pickle-after-bake"]
    assert subjects(order_faults(["plate", "passivate"], bake_needed=True)) == ["no-bake"]
    assert subjects(order_faults(["plate", "bake", "plate"], bake_needed=True)) == ["no-bake"]
    assert order_faults(["plate", "passivate"]) == []


def test_a_word_that_is_no_step():
    with pytest.raises(SafetyError, match="Did you mean `bake`"):
        order_faults(["plate", "bakes"])


def test_enough():
    record = bake_record([soak(200, 1, 8)], WANTED, end_of_plating=END)
    assert record.enough and record.faults == () and record.hours_unbroken == pytest.approx(8)


@pytest.mark.parametrize("temperature", [190, 220])
def test_the_edges_of_the_temperature_count(temperature):
    assert bake_record([soak(temperature, 1, 8)], WANTED).enough


def test_short_late_hot_and_cold():
    assert subjects(bake_record([soak(200, 1, 7.9)], WANTED).faults) == ["bake-short"]
    late = bake_record([soak(200, 5, 8)], WANTED, end_of_plating=END)
    assert subjects(late.faults) == ["bake-late"] and late.enough and late.faults[0].status == "memory"
    assert subjects(bake_record([soak(220.1, 1, 8)], WANTED).faults) == ["bake-hot", "bake-short"]
    assert subjects(bake_record([soak(189.9, 1, 8)], WANTED).faults) == ["bake-cold", "bake-short"]
    assert subjects(bake_record([], WANTED, end_of_plating=END).faults) == ["bake-short"]


def test_pieces_do_not_make_a_soak_but_touching_and_overlapping_ones_do():
    broken = bake_record([soak(200, 1, 4), soak(200, 6, 4)], WANTED)
    assert not broken.enough and broken.hours_together == pytest.approx(8) and "in pieces" in broken.faults[0].why
    assert bake_record([soak(200, 1, 4), soak(210, 5, 4)], WANTED).enough
    doubled = bake_record([soak(200, 1, 5), soak(200, 2, 5)], WANTED)
    assert doubled.hours_together == pytest.approx(6) and not doubled.enough


def test_real_hours_on_the_night_that_clocks_change():
    berlin = ZoneInfo("Europe/Berlin")
    start, end = datetime(2024, 10, 26, 22, 0, tzinfo=berlin), datetime(2024, 10, 27, 5, 0, tzinfo=berlin)
    assert bake_record([(200, start, end)], WANTED).enough  # 7 h on the wall, 8 h in the oven


def test_a_rule_without_hours_judges_none():
    record = bake_record([soak(200, 1, 4)], bake(hardness_hv=400, rule="ISO 4042:2018"))
    assert not record.enough and record.faults == () and record.hours_wanted is None


def test_moments_that_cannot_be():
    with pytest.raises(SafetyError, match="cannot end"):
        bake_record([(200, END, END - timedelta(hours=1))], WANTED)
    with pytest.raises(SafetyError, match="time zone"):
        bake_record([(200, datetime(2024, 5, 1), END)], WANTED)
