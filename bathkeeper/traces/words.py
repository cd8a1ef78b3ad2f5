"""What a column's header says: the quantity, the unit, and whether it is a set value, an extreme, or not for us at all."""

from __future__ import annotations

import re
import unicodedata
from dataclasses import dataclass

# Words that loggers, supplies and meters write over their columns, in some of the languages that they are sold in
# [memory: seen in public log files; general words of the trade].
_QUANTITY = {
    "current": "current curr i amp amps ampere amperes amperage strom stromstärke courant corriente corrente "
    "电流 电流值 iout imeas idc",
    "voltage": "voltage volt volts v u spannung tension voltaje tensione 电压 电压值 vout vmeas vdc",
    "temperature": "temperature temp temps tc thermocouple temperatur température temperatura 温度",
    "ph": "ph phwert 酸碱度",
    "conductivity": "conductivity cond ec leitfähigkeit conductivité conductividad conducibilità 电导率",
    "time": "time zeit date datum fecha data clock timestamp datetime uhrzeit zeitstempel elapsed heure temps hora "
    "tempo ts epoch 时间 日期 runtime seconds second secs sec millis milliseconds ms minutes hours elapsedtime",
    "counter": "q ah mah capacity kapazität ladung charge coulombs 容量 amphours ampere-hours amperehours amphrs",
    "power": "power leistung puissance potencia potenza watt watts w 功率",
    "state": "state status mode zustand modus steptype 状态 polarity richtung direction",
}
_WORDS = {word: quantity for quantity, words in _QUANTITY.items() for word in words.split()}


def _set(words: str) -> frozenset[str]:
    return frozenset(words.split())


_SET = _set(
    "set setpoint sp soll sollwert nominal target limit preset setting programmed prog iset vset uset isoll usoll ovp ocp "
    "protect "
    "consigne vorgabe setvalue demand cmd command 设定 设置"
)
_EXTREME = _set("max min peak std stdev deviation hi lo maximum minimum rms ripple error err")
_STEP = _set("step schritt cycle segment lap interval delta dt")
_INDEX = _set("index no nr num number record sample samples point row id count line rec 序号 seq entry scan")
_OTHER = _set(
    "energy resistance ohm ohms wh mwh impedance humidity pressure frequency duty ramp fan flow orp redox tds salinity "
    "level dew shunt "
    "rh altitude ir offset gain factor ambient board internal heatsink energie widerstand range unit units"
)
_NEVER = _set("density stromdichte densité densidad densità primary mains netz primär")  # not what flows in the tank
_PER_AREA = re.compile(r"/\s*(?:dm|cm|m|in|ft)\s*\^?[2²]|\b(?:asd|asf|ASD|ASF)\b")
_UNIT = {
    "a": ("current", "A"), "adc": ("current", "A"), "ma": ("current", "mA"), "µa": ("current", "uA"), "ua": ("current", "uA"),
    "ka": ("current", "kA"), "amp": ("current", "A"), "amps": ("current", "A"), "ampere": ("current", "A"),
    "amperes": ("current", "A"), "milliamps": ("current", "mA"), "milliamp": ("current", "mA"), "milliamperes": ("current",
    "mA"),
    "v": ("voltage", "V"), "vdc": ("voltage", "V"), "mv": ("voltage", "mV"), "µv": ("voltage", "uV"), "uv": ("voltage", "uV"),
    "volt": ("voltage", "V"), "volts": ("voltage", "V"), "millivolts": ("voltage", "mV"), "kv": ("voltage", "kV"),
    "°c": ("temperature", "degC"), "c": ("temperature", "degC"), "degc": ("temperature", "degC"), "celsius": ("temperature",
    "degC"),
    "deg c": ("temperature", "degC"), "oc": ("temperature", "degC"), "°f": ("temperature", "degF"), "f": ("temperature",
    "degF"),
    "degf": ("temperature", "degF"), "deg f": ("temperature", "degF"), "fahrenheit": ("temperature", "degF"),
    "k": ("temperature", "K"), "kelvin": ("temperature", "K"), "℉": ("temperature", "degF"),
    "ph": ("ph", "pH"),
    "ms/cm": ("conductivity", "mS/cm"), "µs/cm": ("conductivity", "uS/cm"), "us/cm": ("conductivity", "uS/cm"),
    "s/m": ("conductivity", "S/m"), "s/cm": ("conductivity", "S/cm"), "ms/m": ("conductivity", "mS/m"),
    "µs": ("conductivity", "uS/cm"), "us/m": ("conductivity", "uS/m"),
    "ah": ("counter", "Ah"), "mah": ("counter", "mAh"), "a·h": ("counter", "Ah"), "a.h": ("counter", "Ah"), "as": ("counter",
    "As"),
    "coulomb": ("counter", "As"), "coulombs": ("counter", "As"), "amphours": ("counter", "Ah"),
    "w": ("power", "W"), "mw": ("power", "mW"), "watt": ("power", "W"), "watts": ("power", "W"),
    "s": ("time", "s"), "sec": ("time", "s"), "secs": ("time", "s"), "second": ("time", "s"), "seconds": ("time", "s"),
    "sek": ("time", "s"), "ms": ("time", "ms"), "msec": ("time", "ms"), "millis": ("time", "ms"), "milliseconds": ("time",
    "ms"),
    "min": ("time", "min"), "mins": ("time", "min"), "minutes": ("time", "min"), "minute": ("time", "min"), "h": ("time", "h"),
    "hr": ("time", "h"), "hrs": ("time", "h"), "hours": ("time", "h"), "hour": ("time", "h"), "std": ("time", "h"),
    "d": ("time", "d"), "days": ("time", "d"), "µsec": ("time", "us"), "usec": ("time", "us"), "microseconds": ("time", "us"),
    "秒": ("time", "s"), "毫秒": ("time", "ms"), "安": ("current", "A"), "毫安": ("current", "mA"), "伏": ("voltage", "V"),
}  # fmt: skip
FACTORS = {
    "A": 1.0, "mA": 1e-3, "uA": 1e-6, "kA": 1e3, "V": 1.0, "mV": 1e-3, "uV": 1e-6, "kV": 1e3, "pH": 1.0, "mS/cm": 1.0,
    "uS/cm": 1e-3, "S/m": 10.0, "S/cm": 1e3, "mS/m": 0.01, "uS/m": 1e-5, "Ah": 1.0, "mAh": 1e-3, "As": 1 / 3600, "W": 1.0,
    "mW": 1e-3, "degC": 1.0, "degF": 5 / 9, "K": 1.0,
}  # fmt: skip
ZEROS = {"degF": -32 * 5 / 9, "K": -273.15}
"""Added after the factor, to come to degrees Celsius."""
UNITS_OF = {
    "current": ("A", "mA", "uA", "kA"), "voltage": ("V", "mV", "uV", "kV"), "temperature": ("degC", "degF", "K"), "ph": ("pH",),
    "conductivity": ("mS/cm", "uS/cm", "S/m", "S/cm", "mS/m"), "counter": ("Ah", "mAh", "As"), "power": ("W", "mW"),
    "time": ("s", "ms", "us", "min", "h", "d"),
}  # fmt: skip


@dataclass(frozen=True)
class Meaning:
    """What a header says. ``quantity`` and ``unit`` are empty where it does not; ``clash``: the word says another quantity."""

    quantity: str = ""
    unit: str = ""
    is_set: bool = False
    extreme: bool = False
    of_step: bool = False
    is_index: bool = False
    clash: str = ""


def unit_named(text: str, quantity: str = "") -> tuple[str, str] | None:
    """(quantity, unit) of a unit as written; ``quantity`` decides where it could be of two (``ms``: time or conductance)."""
    raw = unicodedata.normalize("NFKC", text).replace("μ", "µ").strip().strip("[](){}<>").strip()
    raw = raw.replace("°c", "°C").replace("⁰", "°").replace("º", "°").replace("° ", "°")
    plain = raw.casefold().replace("μ", "µ")
    if raw == "mS" or (plain == "ms" and quantity == "conductivity"):
        return ("conductivity", "mS/cm")
    if plain in ("s", "c") and raw == "C" and quantity == "counter":
        return ("counter", "As")
    if raw in ("MA", "MV") and not quantity:
        return _UNIT[plain]
    found = _UNIT.get(plain)
    return found if found is not None and (not quantity or found[0] == quantity) else None


_SCALED = re.compile(
    r"(?<![A-Za-z0-9.,])\d+(?:[.,]\d+)?\s*(?:[µμumk]?A[hs]?|[µm]?V|m?s|min|h)\b|[x×*]\s*\d|/\s*\d|(?<![A-Za-z])[dch]A(?![a-z])|"
    r"\b(?:per|pro|par|por)\b",
    re.I,
)


def is_scaled(name: str, unit_text: str = "") -> bool:
    """Whether a header tells of a factor beside its unit (``Current/10mA``, ``I (A) x10``), or of a share (``per anode``)."""
    return _SCALED.search(unicodedata.normalize("NFKC", f"{name} {unit_text}")) is not None


def scaled_unit(text: str, quantity: str) -> tuple[str, float] | None:
    """(unit, how many of it a value of 1 is) of a unit as a person writes it: ``mA``, ``10mA``, ``0.5 A``."""
    match = re.fullmatch(r"\s*(\d+(?:\.\d+)?)?\s*[x×*]?\s*(\D.*?)\s*", text)
    found = unit_named(match[2], quantity) if match is not None else None
    if match is None or found is None:
        return None
    times = float(match[1]) if match[1] else 1.0
    return (found[1], times) if times > 0 else None


def meaning_of(name: str, unit_text: str = "") -> Meaning:
    """What a header's name and the unit under it say."""
    text = unicodedata.normalize("NFKC", name).replace("μ", "µ")
    bracketed = re.findall(r"[(\[{<]\s*([^)\]}>]{1,12})\s*[)\]}>]", text)
    if "%" in f"{text} {unit_text}":
        return Meaning("other")  # a share of something, not an amount; what 1 % is can be told: --unit current=0.5A
    bare = re.sub(r"[(\[{<][^)\]}>]*[)\]}>]", " ", text)
    bare = re.sub(r"([a-zäöü])([A-Z][a-zäöü])", r"\1 \2", bare)
    words = [w.casefold() for w in re.findall(r"[^\W\d_]+(?:/[^\W\d_]+)?|℃|°\s?[CF]", bare)]
    flags = set(words)
    parts = [p for w in words for p in w.split("/")]
    said = [_WORDS[w] for w in dict.fromkeys([*words, *parts]) if w in _WORDS]
    unit = _unit_of(bare, bracketed, unit_text, said)
    is_set = bool(flags & _SET) or bool(re.search(r"\b[IUV]_?(?:set|soll)\b", bare, re.I))
    if flags & _NEVER or _PER_AREA.search(f"{text} {unit_text}"):
        return Meaning("other", unit[1] if unit else "")
    if flags & _OTHER and not (unit and unit[0] in ("current", "counter", "ph", "conductivity")):
        return Meaning("other", unit[1] if unit else "")
    in_minutes = bool(unit and unit[1] == "min" and "min" in flags and "time" in said)
    extreme = bool(flags & _EXTREME) and "min" not in bracketed and not in_minutes
    of_step = bool(flags & _STEP)
    if not unit and flags & _INDEX and not set(said) - {"time"}:
        return Meaning(is_index=True)
    if not said and not unit:
        return Meaning(is_set=is_set, extreme=extreme, of_step=of_step, is_index=name.strip() in ("#", "№"))
    quantity = _quantity(said, unit)
    clash = ""
    if unit and quantity != unit[0]:
        clash = unit[0]
    return Meaning(quantity, unit[1] if unit and not clash else "", is_set, extreme, of_step, clash=clash)


def _quantity(said: list[str], unit: tuple[str, str] | None) -> str:
    """The quantity: words that only name a unit (``V``, ``A``) give way to those that name a thing."""
    strong = list(dict.fromkeys(said))
    if unit is not None and unit[0] in strong:
        return unit[0]
    if unit is not None and strong in (["time"], ["state"], []):
        # `Temps (°C)` and `Charge current`: the unit knows
        return unit[0]
    if len(strong) > 1 and "counter" in strong and "current" in strong:
        return "current"
    if strong:
        return next((q for q in strong if q != "time"), strong[0])
    return unit[0] if unit is not None else ""


def _unit_of(bare: str, bracketed: list[str], below: str, said: list[str]) -> tuple[str, str] | None:
    hint = next((q for q in said if q != "time"), "time" if said else "")
    for text in (below, *reversed(bracketed)):
        found = (unit_named(text, hint) or unit_named(text)) if text else None
        if found is not None:
            return found
    degree = re.search(r"°\s?[CF]\b", bare)
    if degree is not None:
        return unit_named(degree[0])
    tail = re.split(r"[\s_,:;.-]+", bare.strip())
    last = tail[-1] if tail else ""
    slashed = bare.rpartition("/")[2].strip() if "/" in bare else ""
    spelled = re.sub(r"(?<=[a-z])(?=[A-Z])", " ", last).split()
    for text in (bare.strip(), last, slashed, spelled[-1] if len(spelled) > 1 else ""):
        # a lone letter that is also a name (`I`, `U`, `T`) is no unit; those that are units are in the table
        if not text or (text in ("C", "F", "K", "c", "f", "k", "d", "D", "H", "h", "S") and not said):
            continue
        found = (unit_named(text, hint) if hint else None) or unit_named(text)
        if found is not None and not (text == "min" and "time" not in said and not re.match(r"\s*t\s*[/ ]", bare)):
            return found
    return None
