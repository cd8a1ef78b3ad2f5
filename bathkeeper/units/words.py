"""How units are spelled: every word that is understood, which kinds of value it belongs to, and what to say when it is not.

Data for ``door.py`` only. Names on the left of :data:`ATOMS` are those of ``units.txt``.
"""

from __future__ import annotations

FIXED_EXPR = {
    "volume": "litre", "mass": "gram", "area": "square_decimetre", "charge": "ampere_hour", "current": "ampere",
    "current_density": "ampere/square_decimetre", "temperature": "degC", "time": "minute", "thickness": "micrometre",
    "length": "millimetre", "concentration": "gram/litre", "additive": "millilitre/litre", "strength": "megapascal",
    "ph": "ph", "gravity": "gram/millilitre", "voltage": "volt", "conductivity": "millisiemens/centimetre",
    "fraction": "fraction", "areal_mass": "gram/square_decimetre", "flow": "litre/hour",
}
LABELS = {
    "dm2": "dm²", "A/dm2": "A/dm²", "degC": "°C", "um": "µm", "g/cm3": "g/cm³", "g/dm2": "g/dm²",
}
KNOWN = {
    "volume": "L, mL, US gal, imp gal, US pt, imp pt, US qt, imp qt, US fl oz, imp fl oz, cm3, in3, ft3",
    "mass": "g, kg, mg, t, lb, oz avdp, troy oz",
    "area": "dm2, cm2, m2, mm2, in2 (sq in), ft2 (sq ft)",
    "charge": "Ah, mAh, kAh, A·min, C",
    "current": "A, mA",
    "current_density": "A/dm2, A/ft2 (ASF), A/in2, mA/in2, mA/cm2, A/m2",
    "temperature": "°C, °F, K",
    "time": "min, h, s, d, or 1h30",
    "thickness": "um, mil (thou), in, mm, nm, or g/m2 and oz/ft2 of a known metal",
    "length": "mm, cm, m, um, in, ft, mil",
    "concentration": "g/L, mg/L, ppm, oz/US gal, oz/imp gal, lb/US gal, kg/m3, % w/v, % w/w, mol/L (M), N (eq/L)",
    "additive": "mL/L, % v/v, L/m3, US fl oz/US gal",
    "strength": "MPa, N/mm2, GPa, ksi, psi",
    "ph": "pH, as in pH 5.4",
    "gravity": "g/cm3, SG, kg/m3, degBe",
    "voltage": "V, mV",
    "conductivity": "mS/cm, uS/cm, S/m",
    "fraction": "%, or a plain number from 0 to 1",
    "areal_mass": "g/dm2, g/m2, mg/cm2, oz/ft2",
    "flow": "L/h, L/min, US gal/h, imp gal/h, m3/h",
}
EXAMPLE = {
    "volume": "40 L", "mass": "120 g", "area": "3.2 dm2", "charge": "4.9 Ah", "current": "6.5 A",
    "current_density": "1.5 A/dm2",
    "temperature": "35 °C", "time": "45 min", "thickness": "8 um", "length": "30 mm", "concentration": "32 g/L",
    "additive": "2 mL/L", "strength": "1040 MPa", "ph": "5.4", "gravity": "1.18 g/cm3", "voltage": "3.2 V",
    "conductivity": "1.2 mS/cm", "fraction": "13 %", "areal_mass": "0.6 g/dm2", "flow": "3 L/h",
}
CALLED = {
    "ph": "a pH", "area": "an area", "additive": "an additive", "areal_mass": "a mass per area", "gravity": "a density",
    "current_density": "a current density",
}

# dimension -> name in units.txt -> label, then the other ways to write it (without spaces, dots, hyphens and carets).
# Plurals in -s of words of four letters and more are understood without being listed.
ATOMS: dict[str, dict[str, str]] = {
    "length": {
        "metre": "m metre meter", "decimetre": "dm decimetre decimeter", "centimetre": "cm centimetre centimeter",
        "millimetre": "mm millimetre millimeter", "micrometre": "um micron micrometre micrometer mu",
        "nanometre": "nm nanometre nanometer", "inch": "in inch inches \"", "foot": "ft foot feet '",
        "mil": "mil mils thou thous",
    },
    "area": {
        "square_metre": "m2 sqm squaremetre squaremeter qm", "square_decimetre": "dm2 sqdm squaredecimetre squaredecimeter",
        "square_centimetre": "cm2 sqcm squarecentimetre squarecentimeter",
        "square_millimetre": "mm2 sqmm squaremillimetre squaremillimeter",
        "square_inch": "in2 sqin sqinch sqinches squareinch squareinches insq inch2 inches2",
        "square_foot": "ft2 sqft sqfeet squarefoot squarefeet ftsq foot2 feet2",
    },
    "volume": {
        "litre": "L l litre liter ltr lt",
        "millilitre": "mL ml millilitre milliliter cm3 cc ccm cubiccentimetre cubiccentimeter",
        "microlitre": "uL ul microlitre microliter", "centilitre": "cL cl centilitre centiliter",
        "decilitre": "dL dl decilitre deciliter dm3", "cubic_metre": "m3 cubicmetre cubicmeter cbm",
        "cubic_inch": "in3 cuin cubicinch cubicinches inch3", "cubic_foot": "ft3 cuft cubicfoot cubicfeet cf foot3 feet3",
    },
    "mass": {
        "gram": "g gram gramme gm grm", "kilogram": "kg kilogram kilo kilos", "milligram": "mg milligram",
        "microgram": "ug microgram", "tonne": "t tonne", "pound": "lb lbs pound",
        "avoirdupois_ounce": "oz_avdp ozavdp ozav avdpoz avoirdupoisounce ozavoirdupois avoirdupoisoz ounceavoirdupois",
        "troy_ounce": "troy_oz troyoz oztroy ozt troyounce ozt",
    },
    "time": {
        "second": "s sec second secs", "minute": "min minute mins", "hour": "h hr hour hrs", "day": "d day", "week": "wk week",
    },
    "current": {
        "ampere": "A amp ampere amps", "milliampere": "mA milliamp milliampere milliamps",
        "microampere": "uA microamp microampere",
        "kiloampere": "kA kiloamp kiloampere",
    },
    "charge": {
        "ampere_hour": "Ah amphour amperehour amph amphr ahr", "milliampere_hour": "mAh milliamphour milliamperehour",
        "kiloampere_hour": "kAh kiloamphour kiloamperehour", "ampere_minute": "A·min Amin ampminute ampmin ampereminute",
        "milliampere_minute": "mA·min mAmin milliampminute", "coulomb": "C coulomb As ampsecond amperesecond",
        "kilocoulomb": "kC kilocoulomb",
    },
    "voltage": {"volt": "V volt", "millivolt": "mV millivolt"},
    "pressure": {
        "megapascal": "MPa megapascal", "gigapascal": "GPa gigapascal", "kilopascal": "kPa kilopascal", "psi": "psi lbf/in2",
        "ksi": "ksi",
    },
    "force": {"newton": "N newton"},
    "conductance": {
        "millisiemens": "mS millisiemens", "microsiemens": "uS microsiemens", "siemens": "S siemens",
    },
    "amount": {"mole": "mol mole", "millimole": "mmol millimole"},
    "equivalents": {
        "equivalent": "eq equivalent val equiv", "milliequivalent": "meq milliequivalent mval",
    },
    "temperature": {
        "degC": "°C degC C celsius degcelsius centigrade degreesc degreescelsius degreec", "kelvin": "K kelvin degK",
        "degF": "°F degF F fahrenheit degfahrenheit degreesf degreesfahrenheit degreef",
    },
}
MEASURES = {"gallon": ("gal", "gallon gall g"), "quart": ("qt", "quart"), "pint": ("pt", "pint"),
             "fluid_ounce": ("fl_oz", "fluidounce floz fluidoz")}
SYSTEMS = {"us": ("US", "us usa american usliquid"), "imperial": ("imp", "imp imperial uk british")}

# whole units that stand for a compound one
COMPOUND = {
    "asf": "A/ft2", "asd": "A/dm2", "asi": "A/in2", "masi": "mA/in2", "gph": "gal/h", "gpm": "gal/min", "lph": "L/h",
    "lpm": "L/min",
    "opg": "oz/gal", "gpl": "g/L", "M": "mol/L", "mM": "mmol/L", "molar": "mol/L", "N": "eq/L", "normal": "eq/L", "mN": "meq/L",
    "N/mm2": "MPa", "lbf/in2": "psi", "lb/in2": "psi",
}
COMPOUND_FOR = {
    "current_density": {"asf", "asd", "asi", "masi"}, "flow": {"gph", "gpm", "lph", "lpm"},
    "concentration": {"opg", "gpl", "M", "mM", "molar", "N", "normal", "mN"}, "strength": {"N/mm2", "lbf/in2", "lb/in2"},
}
SHAPES: dict[str, tuple[tuple[str, str], ...]] = {
    "volume": (("volume", ""),), "mass": (("mass", ""),), "area": (("area", ""),), "charge": (("charge", ""),),
    "current": (("current", ""),), "current_density": (("current", "area"),), "temperature": (("temperature", ""),),
    "time": (("time", ""),), "thickness": (("length", ""), ("mass", "area")), "length": (("length", ""),),
    "concentration": (("mass", "volume"), ("amount", "volume"), ("equivalents", "volume")), "additive": (("volume", "volume"),),
    "strength": (("pressure", ""),), "gravity": (("mass", "volume"),), "voltage": (("voltage", ""),),
    "conductivity": (("conductance", "length"),), "areal_mass": (("mass", "area"),), "flow": (("volume", "time"),),
    "ph": (), "fraction": (),
}
PERCENT = {
    "w/v": {"%w/v", "w/v%", "%wv", "%m/v", "%wt/vol", "g/100ml", "%wt/v"},
    "w/w": {"%w/w", "w/w%", "%ww", "%m/m", "wt%", "%wt", "%wt/wt", "w%", "%byweight", "%bymass", "%w"},
    "v/v": {"%v/v", "v/v%", "%vv", "vol%", "%vol", "%vol/vol", "v%", "%byvolume", "%v"},
}

OUNCES = frozenset({"oz", "ozs", "ounce", "ounces"})
"""The bare ounce, case folded: avoirdupois, troy or fluid, which only the workshop can know."""
