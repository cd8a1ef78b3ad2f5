"""Numbers people type: a decimal comma is read, a thousands separator refused, and nothing is ever ten times wrong."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from bathkeeper.units.door import Preferences, UnitError, number, understand

COMMA = Preferences(decimal_comma=True)
POINT = Preferences(decimal_comma=False)


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        ("1.5", 1.5), ("1,5", 1.5), (" 1.5 ", 1.5), ("+1.5", 1.5), ("-1.5", -1.5), ("\u22121.5", -1.5), (".5", 0.5),
        (",5", 0.5),
        ("5.", 5.0), ("1e3", 1000.0), ("1.5E-3", 0.0015),
        ("1,5e3", 1500.0), ("1.500", 1.5), ("0,125", 0.125),
        ("1234,500", 1234.5), ("1,50", 1.5), ("1,5000", 1.5), ("3/8", 0.375), ("1 1/4", 1.25), ("1-1/4", 1.25), ("½", 0.5),
        ("1½", 1.5), ("2 ¾", 2.75), ("3⁄8", 0.375), ("007", 7.0), ("1500", 1500.0),
    ],
)
def test_numbers_that_are_read(text: str, expected: float) -> None:
    assert number(text) == expected
    assert number(text, POINT) == expected


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ("", "no number"), ("   ", "no number"), ("1_5", "not a number"), ("1_500", "thousands.*write 1500"),
        ("１５", "0-9; write 15"), ("٣", "0-9"), ("nan", "not a number"), ("inf", "not a number"),
        ("-inf", "not a number"), ("0x10", "not a number"),
        ("9**9**9", "not a number"), ("1e400", "too large"),
        ("1e16", "too large"), ("1e-16", "too small"), ("1,500", "1.5 or 1500"), ("12,345", "12.345 or 12345"),
        ("1.500,5", "thousands.*write 1500.5"), ("1,500.5", "thousands.*write 1500.5"), ("1 500", "thousands.*write 1500"),
        ("1\u00a0500", "thousands.*write 1500"), ("1'500", "thousands.*write 1500"),
        ("1,500,000", "thousands.*write 1500000"),
        ("1.500.000", "thousands.*write 1500000"), ("1 500,25", "thousands.*write 1500.25"),
        ("1,", "not a number"),
        ("1,,5", "not a number"), ("1.2.3", "not a number"), ("--5", "not a number"), ("5-", "not a number"),
        ("1/0", "by zero"),
        ("1e", "not a number"), ("5²", "not a number"), ("1,500e3", "1.5e3 or 1500e3"),
        ("9" * 50, "too long"), (".", "not a number"),
    ],
)
def test_numbers_that_are_refused(text: str, says: str) -> None:
    with pytest.raises(UnitError, match=says):
        number(text)


def test_a_comma_before_three_digits_is_settled_only_by_the_workshop() -> None:
    assert number("1,500", COMMA) == 1.5
    for prefs in (Preferences(), POINT):
        with pytest.raises(UnitError) as refused:
            number("1,500", prefs)
        assert refused.value.readings == ("1.5", "1500")
    # where decimal commas are the habit, a point before three digits may part thousands
    with pytest.raises(UnitError) as refused:
        number("1.500", COMMA)
    assert refused.value.readings == ("1.5", "1500")
    assert number("1.5", COMMA) == 1.5
    assert number("1.1789", COMMA) == 1.1789


@pytest.mark.parametrize("prefs", [Preferences(), COMMA, POINT])
def test_a_tenfold_dose_never_happens(prefs: Preferences) -> None:
    assert understand("1,5 g/L", "concentration", prefs).value == 1.5
    assert understand("21,5g/L", "concentration", prefs).echo == "21.5 g/L"


@given(st.integers(0, 9999), st.integers(0, 99), st.sampled_from(".,"), st.sampled_from([Preferences(), COMMA, POINT]))
def test_a_decimal_sign_is_a_decimal_sign(whole: int, hundredths: int, sign: str, prefs: Preferences) -> None:
    assert number(f"{whole}{sign}{hundredths:02}", prefs) == float(f"{whole}.{hundredths:02}")


@given(st.text(alphabet="0123456789.,' _eE+-/½\u00a0", max_size=12), st.sampled_from([Preferences(), COMMA, POINT]))
def test_whatever_is_read_is_what_python_reads_after_the_comma_is_turned(text: str, prefs: Preferences) -> None:
    try:
        value = number(text, prefs)
    except UnitError:
        return
    if "/" not in text and "½" not in text:
        assert value == float(text.strip().replace(",", ".").replace("\u00a0", "").replace("+ ", "").replace("- ", "-"))
