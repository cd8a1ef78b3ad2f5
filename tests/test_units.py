"""Units against published factors, there and back, and never a guess about which gallon or ounce."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

import pint
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from bathkeeper.units import door as units
from bathkeeper.units.door import KINDS, Preferences, UnitError, figures, in_unit, show, understand
from bathkeeper.units.words import ATOMS, KNOWN, MEASURES, SHAPES, SYSTEMS

NONE = Preferences()
US = Preferences(gallon="us")
IMPERIAL = Preferences(gallon="imperial")
CONTEXT = {"molar_mass_g_mol": 98.079, "equivalents_per_mol": 2.0, "density_g_ml": 1.07, "thickness_density_g_cm3": 7.14}


def value(text: str, kind: str | tuple[str, ...], prefs: Preferences = NONE, **context: float) -> float:
    return understand(text, kind, prefs, **context).value


# factors of NIST SP 811 (2008), appendix B.8: "inch 2.54 E-02 m", "mil 2.54 E-05 m", "gallon (U.S.) 3.785412 E-03 m3" ...
NIST_SP_811 = [
    ("1 in", "length", 25.4, 1e-9),
    ("1 ft", "length", 304.8, 1e-9),
    ("1 mil", "thickness", 25.4, 1e-9),
    ("1 micron", "thickness", 1.0, 1e-9),
    ("1 in2", "area", 6.4516e-2, 1e-9),
    ("1 ft2", "area", 9.290304, 1e-9),
    ("1 US gal", "volume", 3.785412, 1e-6),
    ("1 imp gal", "volume", 4.54609, 1e-9),
    ("1 US qt", "volume", 0.9463529, 1e-6),
    ("1 US pt", "volume", 0.4731765, 1e-6),
    ("1 US fl oz", "volume", 2.957353e-2, 1e-6),
    ("1 imp fl oz", "volume", 2.841306e-2, 1e-6),
    ("1 ft3", "volume", 28.31685, 1e-6),
    ("1 in3", "volume", 1.638706e-2, 1e-6),
    ("1 lb", "mass", 453.59237, 1e-9),
    ("1 oz avdp", "mass", 28.34952, 1e-6),
    ("1 troy oz", "mass", 31.10348, 1e-6),
    ("1 t", "mass", 1e6, 1e-12),
    ("1 oz/US gal", "concentration", 7.489152, 1e-6),
    ("1 oz/imp gal", "concentration", 6.236023, 1e-6),
    ("1 lb/US gal", "concentration", 119.8264, 1e-6),
    ("1 lb/imp gal", "concentration", 99.77637, 1e-6),
    ("1 psi", "strength", 6.894757e-3, 1e-6),
    ("1 ksi", "strength", 6.894757, 1e-6),
    ("1 A/in2", "current_density", 15.50003, 1e-6),
    ("1 Ah", "charge", 1.0, 0),
    ("3600 C", "charge", 1.0, 1e-12),
    ("60 A·min", "charge", 1.0, 1e-12),
    ("1 oz/ft2", "areal_mass", 3.051517, 1e-6),
    ("212 °F", "temperature", 100.0, 1e-12),
    ("32 °F", "temperature", 0.0, 0),
    ("273.15 K", "temperature", 0.0, 0),
]

# trade figures; °Bé: SG = modulus/(modulus - °Bé) for liquids heavier than water, worked by hand from the four moduli in use
WORKED = [
    ("1 oz/US gal", "concentration", 7.4892, 1e-5),
    ("1 oz/imp gal", "concentration", 6.2360, 1e-5),
    ("1 A/ft2", "current_density", 0.107639, 1e-5),
    ("1 ASF", "current_density", 0.107639, 1e-5),
    ("100 mA/in2", "current_density", 1.5500, 1e-5),
    ("14.4 A/ft2", "current_density", 1.5500, 1e-4),
    ("10 mA/cm2", "current_density", 1.0, 1e-12),
    ("20 degBe", "gravity", 1.1600, 5e-5),
    ("20 degBe (145)", "gravity", 1.1600, 5e-5),
    ("20 °Bé modulus 144", "gravity", 1.1613, 5e-5),
    ("20 °Bé (144.38)", "gravity", 1.1608, 5e-5),
    ("20 Be mod 146.78", "gravity", 1.1577, 5e-5),
    ("22 °Bé", "gravity", 1.1789, 5e-5),
    ("605.9 US gal", "volume", 2293.7, 1e-4),  # a tank of 3.0 x 6.0 x 4.5 ft
    ("81 ft3", "volume", 2293.7, 1e-4),
    ("20 oz/US gal", "concentration", 149.8, 5e-4),
    ("50.5 in2", "area", 3.259, 1e-3),
    ("0.351 ft2", "area", 3.259, 1e-3),
    ("1 % w/v", "concentration", 10.0, 1e-12),
    ("37 mg/L", "concentration", 0.037, 1e-12),
    ("25 ppm", "concentration", 0.025, 1e-12),
    ("1 % v/v", "additive", 10.0, 1e-12),
    ("1 US fl oz/US gal", "additive", 1000 / 128, 1e-12),
    ("1 imp fl oz/imp gal", "additive", 1000 / 160, 1e-12),
    ("1.18 SG", "gravity", 1.18, 0),
    ("1180 kg/m3", "gravity", 1.18, 1e-12),
    ("1 N/mm2", "strength", 1.0, 0),
    ("1h30", "time", 90.0, 0),
    ("1h 30min", "time", 90.0, 0),
    ("1:30 h", "time", 90.0, 0),
    ("0:45:30", "time", 45.5, 0),
    ("90 s", "time", 1.5, 1e-12),
    ("2 d", "time", 2880.0, 0),
    ("13 %", "fraction", 0.13, 1e-12),
    ("0.13", "fraction", 0.13, 0),
    ("3 L/min", "flow", 180.0, 1e-12),
    ("1200 µS/cm", "conductivity", 1.2, 1e-12),
    ("60 g/m2", "areal_mass", 0.6, 1e-12),
    ("6 mg/cm2", "areal_mass", 0.6, 1e-12),
]


@pytest.mark.parametrize(("text", "kind", "expected", "relative"), NIST_SP_811 + WORKED)
def test_published_factors(text: str, kind: str, expected: float, relative: float) -> None:
    assert value(text, kind) == pytest.approx(expected, rel=relative, abs=1e-12)


def test_our_definitions_agree_with_the_full_pint_registry() -> None:
    reference = pint.UnitRegistry()
    names = {
        "avoirdupois_ounce": "ounce", "us_gallon": "gallon", "us_quart": "quart", "us_pint": "pint",
        "us_fluid_ounce": "fluid_ounce", "imperial_fluid_ounce": "imperial_fluid_ounce",
        "square_metre": "meter**2", "cubic_metre": "meter**3", "mil": "thou",
        "square_decimetre": "decimeter**2", "square_centimetre": "centimeter**2", "square_millimetre": "millimeter**2",
        "square_inch": "inch**2", "square_foot": "foot**2", "cubic_inch": "inch**3", "cubic_foot": "foot**3",
        "tonne": "metric_ton",
        "ampere_minute": "ampere*minute", "milliampere_minute": "milliampere*minute", "milliampere_hour": "milliampere*hour",
        "kiloampere_hour": "kiloampere*hour", "psi": "psi", "imperial_gallon": "imperial_gallon",
    }
    ours = pint.UnitRegistry(str(Path(units.__file__).with_name("units.txt")))
    checked = 0
    for dimension, atoms in ATOMS.items():
        if dimension in ("temperature", "equivalents"):
            continue
        measures = [f"{s}_{m}" for s in SYSTEMS for m in MEASURES] if dimension == "volume" else []
        for name in [*atoms, *measures]:
            here = ours.Quantity(1.0, name).to_base_units().magnitude
            there = reference.Quantity(1.0, names.get(name, name)).to_base_units()
            grams = 1000.0 if dimension == "mass" and "gram" in str(there.units) and "kilogram" not in str(there.units) else 1.0
            assert here == pytest.approx(there.magnitude / grams, rel=1e-9), name
            checked += 1
    assert checked > 60


def _every_unit() -> list[tuple[str, str]]:
    found = []
    for kind, listed in KNOWN.items():
        for text in listed.replace("(", ", ").replace(")", "").replace(" of a known metal", "").replace("or ", "").split(", "):
            for word in (w.strip() for w in text.split(" and ")):
                if word and not word.startswith(("1h30", "a plain", "as in")):
                    found.append((kind, word))
    spelled = {(kind, w) for kind, shapes in SHAPES.items() for top, bottom in shapes if not bottom
               for name in ATOMS[top] for w in ATOMS[top][name].split()}
    return sorted(set(found) | spelled)


@pytest.mark.parametrize(("kind", "unit"), _every_unit())
def test_every_unit_there_and_back(kind: str, unit: str) -> None:
    @settings(max_examples=12, deadline=None)
    @given(st.floats(0.001, 80.0))
    def there_and_back(amount: float) -> None:
        typed = repr(round(amount, 6))
        if kind == "gravity" and unit != "degBe":
            typed = "1000" if unit == "kg/m3" else "1.25"
        if kind == "ph":
            typed = "5.4"
        understood = understand(f"{typed} {unit}", kind, US, **CONTEXT)
        assert understood.unit == KINDS[kind] and understood.kind == kind
        back, _ = in_unit(understood.value, kind, unit, US, **CONTEXT)
        assert back == pytest.approx(float(typed), rel=1e-9, abs=1e-9)

    there_and_back()


@pytest.mark.parametrize(
    "spelling", ["usgal", "US gal", "U.S. gallons", "gal US", "galUS", "USGAL", "us gallon", "gal (US)", "us-gal"]
)
def test_spellings_of_the_us_gallon(spelling: str) -> None:
    assert value(f"2 {spelling}", "volume") == pytest.approx(7.570823568)
    assert value(f"2.9oz/{spelling}", "concentration") == pytest.approx(2.9 * 7.489152, rel=1e-6)


@pytest.mark.parametrize("spelling", ["impgal", "imp gal", "imp. gal.", "gal imp", "UK gallon", "imperial gallons", "Imp Gal"])
def test_spellings_of_the_imperial_gallon(spelling: str) -> None:
    assert value(f"2 {spelling}", "volume") == pytest.approx(9.09218)


@pytest.mark.parametrize(
    ("text", "kind", "readings"),
    [
        ("4.5 oz/gal", "concentration", ("33.70 g/L", "28.06 g/L")),
        ("2 gal", "volume", ("7.571 L", "9.092 L")),
        ("1 fl oz", "volume", ("0.02957 L", "0.02841 L")),
        ("3 pt", "volume", ("1.420 L", "1.705 L")),
        ("5 oz", "mass", ("141.7 g", "155.5 g")),
        ("1 gph", "flow", ("3.785 L/h", "4.546 L/h")),
        ("1 fl oz/gal", "additive", ("7.812 mL/L", "6.250 mL/L")),
        ("5 %", "concentration", ("5 % w/v = 50 g/L", "w/w")),
    ],
)
def test_gallons_ounces_and_percent_are_not_guessed(text: str, kind: str, readings: tuple[str, str]) -> None:
    with pytest.raises(UnitError) as refused:
        value(text, kind)
    assert len(refused.value.readings) == 2
    for shown, reading in zip(refused.value.readings, readings, strict=True):
        assert reading in shown and shown in str(refused.value)


def test_a_preference_settles_gallon_and_ounce_and_is_echoed() -> None:
    assert understand("4.5 oz/gal", "concentration", US).echo == "33.7 g/L (4.5 oz/US gal)"
    assert understand("4.5 oz/gal", "concentration", IMPERIAL).echo == "28.1 g/L (4.5 oz/imp gal)"
    assert understand("5 oz", "mass", Preferences(ounce="troy")).echo == "156 g (5 troy oz)"
    assert understand("5 oz", "mass", Preferences(ounce="avoirdupois")).echo == "142 g (5 oz avdp)"
    assert understand("5 oz", ("mass", "volume"), Preferences(gallon="us", ounce="fluid")).unit == "L"
    assert value("1 oz/US gal", "concentration", Preferences(ounce="troy")) == pytest.approx(31.1034768 / 3.785411784)


def test_a_bare_ounce_of_anything_shows_mass_and_volume() -> None:
    with pytest.raises(UnitError, match="ounce") as refused:
        value("5 oz", ("mass", "volume"))
    assert len(refused.value.readings) == 4
    with pytest.raises(UnitError, match="fluid in this workshop"):
        value("5 oz", "mass", Preferences(ounce="fluid"))


def test_chemistry_that_a_unit_needs_is_asked_for_not_assumed() -> None:
    # 0.5 mol/L of zinc (65.38 g/mol, IUPAC 2021) is 32.69 g/L; 1 N sulfuric acid (98.079 g/mol, two equivalents) is 49.04 g/L
    assert value("0.5 M", "concentration", molar_mass_g_mol=65.38) == pytest.approx(32.69)
    assert value("500 mmol/L", "concentration", molar_mass_g_mol=65.38) == pytest.approx(32.69)
    assert value("1 N", "concentration", molar_mass_g_mol=98.079, equivalents_per_mol=2) == pytest.approx(49.0395)
    assert value("10 % w/w", "concentration", density_g_ml=1.05) == pytest.approx(105.0)
    for text, missing in (("0.5 M", "molar mass"), ("1 N", "molar mass"), ("10 % w/w", "density of the solution"),
                          ("10 % v/v", "density of the pure liquid")):
        with pytest.raises(UnitError, match=missing):
            value(text, "concentration")
    with pytest.raises(UnitError, match="equivalents"):
        value("1 N", "concentration", molar_mass_g_mol=98.079)
    with pytest.raises(UnitError, match="density of the coating"):
        value("60 g/m2", "thickness")
    assert value("71.4 g/m2", "thickness", thickness_density_g_cm3=7.14) == pytest.approx(10.0)  # 1 g/m2 at 1 g/cm3 is 1 um


def test_one_letter_is_not_another() -> None:
    assert value("240mA", "current") == pytest.approx(0.24)
    for text, kind, right in (("240 MA", "current", "mA"), ("5 Mg", "mass", "mg"), ("1040 mPa", "strength", "MPa"),
                              ("20 ML", "volume", "mL"), ("4 MAh", "charge", "mAh"), ("5 MS/cm", "conductivity", "mS/cm")):
        with pytest.raises(UnitError, match=f"Did you mean {right}"):
            value(text, kind)
    with pytest.raises(UnitError, match="unit of length"):
        value("0.5 m", "concentration", molar_mass_g_mol=65.38)
    with pytest.raises(UnitError, match="unit of concentration, and a strength"):
        value("5 N", "strength")
    assert value("5.4 pH", "ph") == value("pH 5.4", "ph") == 5.4
    assert value("3 mil", "thickness") == pytest.approx(76.2)


@pytest.mark.parametrize(
    ("text", "kind", "says"),
    [
        ("5 L", "concentration", "unit of volume"),
        ("32", "concentration", "has no unit"),
        ("g/L", "concentration", "no number"),
        ("", "concentration", "no number"),
        ("nan g/L", "concentration", "no number"),
        ("inf g", "mass", "no number"),
        ("1e999 g", "mass", "too large"),
        ("-3 g", "mass", "below zero"),
        ("-0.1", "ph", "below zero"),
        ("54", "ph", "off the pH scale"),
        ("-300 °C", "temperature", "absolute zero"),
        ("-460 F", "temperature", "absolute zero"),
        ("-1 K", "temperature", "absolute zero"),
        ("13", "fraction", "write for example 13 %"),
        ("150 %", "fraction", "more than the whole"),
        ("150 degBe", "gravity", "off the scale"),
        ("20 degBe (100)", "gravity", "not a Baumé modulus"),
        ("12", "gravity", "cannot be the density"),
        ("3 foo", "volume", "known are L, mL"),
        ("3 litrs", "volume", "Did you mean L"),
        ("3 zoll", "length", "known are mm"),
        ("3 pH", "concentration", "unit of ph"),
        ("9**9**9 g", "mass", "not a number"),
        ("0x10 g", "mass", "not a known unit"),
        ("5 g/L/L", "concentration", "not a known unit"),
        ("5 /L", "concentration", "not a number|not a known unit"),
        ("1:30", "time", "1 h 30 min or 1 min 30 s"),
        ("1:75 h", "time", "more than 59"),
        ("1.5h30", "time", "not a time"),
        ("30min1h", "time", "not a time"),
        ("5" * 300, "mass", "too long"),
    ],
)
def test_what_cannot_be_is_refused_with_what_would_be_right(text: str, kind: str, says: str) -> None:
    with pytest.raises(UnitError, match=says):
        value(text, kind)


@given(st.text(max_size=60), st.sampled_from(sorted(KINDS)))
def test_any_text_is_understood_or_refused_in_one_line(text: str, kind: str) -> None:
    try:
        understood = understand(text, kind, US)
    except UnitError as refused:
        assert "\n" not in str(refused) and len(str(refused)) < 600
    else:
        assert understood.typed == text


def test_the_unit_decides_between_kinds() -> None:
    kinds = ("mass", "volume", "concentration")
    assert [understand(t, kinds).kind for t in ("3.9 kg", "20 mL", "32 g/L")] == ["mass", "volume", "concentration"]
    assert understand("20 mL", kinds).value == pytest.approx(0.02)


@pytest.mark.parametrize(
    ("text", "kind", "echo"),
    [
        ("32g/L", "concentration", "32 g/L"),
        ("2.9oz/usgal", "concentration", "21.7 g/L (2.9 oz/US gal)"),
        ("25 ppm", "concentration", "0.025 g/L (25 ppm, taken as mg/L in water)"),
        ("95F", "temperature", "35 °C (95 °F)"),
        ("5,4", "ph", "pH 5.4"),
        ("0.3 thou", "thickness", "7.62 µm (0.3 mil)"),
        ("22Be", "gravity", "1.18 g/cm³ (22 °Bé, modulus 145, heavier than water)"),
        ("13%", "fraction", "13 %"),
        ("150000 psi", "strength", "1034 MPa (150000 psi)"),
    ],
)
def test_echo_shows_what_was_understood(text: str, kind: str, echo: str) -> None:
    assert understand(text, kind).echo == echo


@pytest.mark.parametrize(
    ("amount", "spread", "text"),
    [
        (31.237, 1.3, "31.2"), (31.237, None, "31.24"), (31.237, 12, "31"), (31.237, 0.5, "31.2"), (31.237, 0.05, "31.24"),
        (0.005, None, "0.005"), (0.005, 0.3, "0.005"), (0.0149, 0.3, "0.015"), (40.0, None, "40"), (39.96, 0.5, "40"),
        (12345.6, None, "12346"), (12345.6, 300, "12350"), (0.0, None, "0"), (-0.0, 0.1, "0"), (1e-7, None, "1e-7"),
        (-5.25, 0.1, "-5.25"), (2.5e30, None, "2.5e+30"), (float("nan"), None, "unknown"),
    ],
)
def test_figures_by_spread(amount: float, spread: float | None, text: str) -> None:
    assert figures(amount, spread) == text


@given(st.floats(1e-5, 1e6), st.one_of(st.none(), st.floats(1e-4, 1e4)))
def test_figures_never_move_a_value_by_more_than_its_spread_or_five_percent(amount: float, spread: float | None) -> None:
    error = abs(float(figures(amount, spread)) - amount)
    assert error <= (0.051 if spread else 5.1e-4) * amount
    assert spread is None or error <= max(spread, 1e-9 * amount)


def test_show_in_the_workshops_units() -> None:
    assert show(31.237, "concentration", spread=1.3) == "31.2 g/L"
    assert show(40, "volume", Preferences(shown={"volume": "usgal"}), spread=1) == "10.57 US gal"
    assert show(35, "temperature", Preferences(shown={"temperature": "°F"}), spread=1) == "95 °F"
    assert show(21.7185, "concentration", Preferences(gallon="us", shown={"concentration": "oz/gal"})) == "2.9 oz/US gal"
    assert show(5.43, "ph", spread=0.2) == "pH 5.43"
    assert show(0.1312, "fraction", spread=0.004) == "13.1 %"
    assert show(1.5, "current_density") == "1.5 A/dm²"
    with pytest.raises(UnitError):
        show(40, "volume", Preferences(shown={"volume": "gal"}))


def test_showing_fixed_units_does_not_import_pint() -> None:
    code = (
        "import sys\nfrom bathkeeper.units.door import KINDS, show, understand\n"
        "for kind in KINDS: show(1.0, kind, spread=0.1)\n"
        "understand('32 g/L', 'concentration'); understand('1h30', 'time')\n"
        "assert 'pint' not in sys.modules, 'pint came in'\n"
        "understand('2.9 oz/usgal', 'concentration')\nassert 'pint' in sys.modules\n"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=False)
    assert done.returncode == 0, done.stderr
