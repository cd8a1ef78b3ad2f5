"""Coating on threads against the table of ISO 4042 as copied at fasteners.eu and boltport.com."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from bathkeeper.safety.loader import load
from bathkeeper.safety.schema import SafetyError
from bathkeeper.safety.threads import fit

# thread, deviation g, local g, batch means by length, (deviation f, local f), (deviation e, local e): fasteners.eu
TABLE = [
    ("M2.5", 20, 5, (5, 3, 3), (35, 8), None),
    ("M3", 20, 5, (5, 3, 3), (36, 8), (50, 12)),
    ("M4", 22, 5, (5, 3, 3), (38, 8), (56, 12)),
    ("M5", 24, 5, (5, 3, 3), (38, 8), (60, 15)),
    ("M6", 26, 5, (5, 3, 3), (40, 10), (60, 15)),
    ("M8", 28, 5, (5, 5, 3), (42, 10), (63, 15)),
    ("M10", 32, 8, (8, 5, 5), (45, 10), (67, 15)),
    ("M12", 34, 8, (8, 5, 5), (48, 12), (71, 15)),
    ("M14", 38, 8, (8, 5, 5), (52, 12), None),
    ("M16", 38, 8, (8, 5, 5), (52, 12), None),
]


@pytest.mark.parametrize(("thread", "deviation", "local", "batch", "f", "e"), TABLE)
def test_the_printed_table(thread, deviation, local, batch, f, e):
    assert load().threads[thread].deviation_um["g"] == deviation
    assert fit(thread, "g", local).largest_um == local
    for length, largest in zip((5, 10, 15), batch, strict=True):
        made = fit(thread, "6g", largest, length)
        assert made.fits and made.largest_um == largest
        assert not fit(thread, "g", largest + 0.5, length).fits
    for position, printed in (("f", f), ("e", e)):
        if printed is None:
            with pytest.raises(SafetyError, match="no position"):
                fit(thread, position, 5)
        else:
            assert load().threads[thread].deviation_um[position] == printed[0]
            assert fit(thread, position, 5).largest_um == printed[1]


def test_8_um_on_6g_fits_from_m10_up_and_5_um_below():
    fits = {t: fit(t, "6g", 8).fits for t, *_ in TABLE}
    assert [t for t, ok in fits.items() if ok] == ["M10", "M12", "M14", "M16"]
    assert all(fit(t, "6g", 5).fits for t, *_ in TABLE)
    assert "32 um" in fit("M8", "g", 8).why and "28 um" in fit("M8", "g", 8).why  # 4 x 8 against the deviation


def test_the_printed_m6_row_is_used_and_its_quarrel_with_the_rule_told():
    made = fit("M6", "g", 5, 8)
    assert made.fits is False and made.largest_um == 3 and made.room_um == pytest.approx(26 / 5)
    assert "prints 3 um" in made.why and "gives 5 um" in made.why
    odd = [t for t, dev, _, batch, *_ in TABLE for k, b in zip((4, 5, 6), batch, strict=True) if b != step(dev / k)]
    assert odd == ["M6"]  # every other printed value follows from the rule


def step(room):
    return max(s for s in load().steps_um.um if s <= room)


def test_the_rule_of_4_5_and_6():  # boltport.com: 5 um needs 20, 20, 25, 30 um of deviation; 8 um 32, 32, 40, 48
    assert [c.times * 5 for c in load().clearances] == [20, 25, 30]
    assert [c.times * 8 for c in load().clearances] == [32, 40, 48]
    assert fit("M10", "g", 8, 5).room_um == 8
    assert fit("M10", "e", 10, 10).largest_um == 12  # 67 um / 5 = 13.4, the step below


def test_a_fine_thread_goes_by_its_pitch():
    made = fit("M8x1", "g", 5)
    assert made.fits and "as M6" in made.why and "derived" in made.source
    assert fit("M8x1.25", "g", 5) == fit("m8", "g", 5)


def test_beyond_15_diameters_nothing_is_said():
    made = fit("M8", "g", 5, 15.1)
    assert (made.fits, made.largest_um) == (None, None) and "ends at 15" in made.why


@pytest.mark.parametrize(
    ("asked", "said"),
    [
        (("M20", "g", 5), "not in the table"),
        (("1/4-20", "g", 5), "no metric thread"),
        (("M8x30", "g", 5), "not a pitch"),
        (("M8", "h", 5), "no room"),
        (("M8", "z", 5), "one of g, f, e"),
        (("M8", "g", 0), "above 0"),
        (("M8", "g", 5, -1), "above 0"),
        (("M8", "g", float("inf")), "above 0"),
    ],
)
def test_what_cannot_be_asked(asked, said):
    with pytest.raises(SafetyError, match=said):
        fit(*asked)


@given(
    row=st.sampled_from(TABLE),
    thickness=st.floats(0.5, 40),
    more=st.floats(0, 10),
    length=st.floats(0.5, 15),
    longer=st.floats(0, 10),
)
def test_more_coating_or_a_longer_thread_never_fits_better(row, thickness, more, length, longer):
    made, worse = fit(row[0], "g", thickness, length), fit(row[0], "g", thickness + more, min(length + longer, 15))
    assert made.fits >= worse.fits
    assert not made.fits or thickness <= made.room_um  # what fits by the table fits by the rule too
