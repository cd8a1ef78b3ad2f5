"""What was filled in, read on demand: texts become numbers in fixed units, and every refusal names the input."""

from __future__ import annotations

import re
from collections.abc import Iterable

from bathkeeper.calculators.model import CalcError, Calculator, Input, Texts
from bathkeeper.catalogue.loader import Catalogue
from bathkeeper.refusals import near, shorten
from bathkeeper.units.door import KINDS, Preferences, UnitError, figures, number, show, understand
from bathkeeper.units.meanings import fixed_label

# the least and the most that is believed, in the fixed unit of the kind: far beyond any workshop, so that honest work does not
# meet them and a slipped unit or decimal point does (practice)
BELIEVED: dict[str, tuple[float, float]] = {
    "volume": (1e-7, 1e6),
    "mass": (1e-7, 1e7),
    "area": (1e-7, 1e6),
    "charge": (1e-9, 1e7),
    "current": (1e-7, 1e5),
    "current_density": (1e-5, 1e3),
    "temperature": (-50.0, 250.0),
    "time": (1e-4, 1e7),
    "thickness": (1e-4, 1e4),
    "length": (1e-3, 1e6),
    "concentration": (1e-7, 3000.0),
    "strength": (50.0, 5000.0),
    "gravity": (0.5, 3.0),
    "ph": (0.0, 15.0),
    "fraction": (0.0, 1.0),
    "flow": (1e-6, 1e7),
    "number": (1e-6, 1e9),
    "count": (1.0, 1e7),
    "metal density": (0.5, 25.0),
}
MOST_TEXTS = 200
LONGEST = 200


class Given:
    """The inputs of one question. Reading notes what was understood, in the order of asking; what is never read was given in
    vain, and :meth:`unused` tells."""

    def __init__(self, calculator: Calculator, texts: Texts, prefs: Preferences, catalogue: Catalogue) -> None:
        self.prefs = prefs
        self.catalogue = catalogue
        self.understood: list[str] = []
        self._calculator = calculator
        self._texts = {name: _listed(text) for name, text in texts.items()}
        self._read: set[str] = set()
        for name, listed in self._texts.items():
            one = calculator.input(name)
            if len(listed) > 1 and not one.repeated:
                raise CalcError(f"{name}: is there {len(listed)} times; give it once", name)
            if any(len(text) > LONGEST for text in listed):
                raise CalcError(f"{name}: is too long to be meant; write for example {one.example}", name)
            if len(listed) > MOST_TEXTS:
                raise CalcError(f"{name}: is there {len(listed)} times; at most {MOST_TEXTS} can be taken", name)

    def has(self, name: str) -> bool:
        """Whether it was filled in; a default does not count."""
        return bool(self._texts.get(name))

    def have(self, *names: str) -> list[str]:
        """Those of the names that were filled in."""
        return [n for n in names if self.has(n)]

    def value(self, name: str, **context: float | None) -> float:
        """The number in the fixed unit of the input's kind. Raises CalcError when it is missing or cannot be used."""
        return self.value_and_kind(name, **context)[0]

    def value_and_kind(self, name: str, **context: float | None) -> tuple[float, str]:
        """The same with the kind of value that the unit told, of an input that takes several."""
        text = self.text(name)
        return self._number(self._calculator.input(name), text, context)

    def maybe(self, name: str, **context: float | None) -> float | None:
        """The same, or None where neither a text nor a default is there."""
        return self.value(name, **context) if self.has(name) or self._calculator.input(name).default else None

    def values(self, name: str, **context: float | None) -> list[float]:
        """Every number of a repeated input; at least one. Raises CalcError."""
        one = self._calculator.input(name)
        return [self._number(one, text, context)[0] for text in self.texts(name)]

    def count(self, name: str) -> int:
        """A whole number of 1 or more. Raises CalcError."""
        return round(self.value(name))

    def text(self, name: str) -> str:
        """The text as typed, or the default. Raises CalcError when there is none."""
        return self.texts(name)[0]

    def texts(self, name: str) -> tuple[str, ...]:
        """Every text of an input. Raises CalcError when there is none."""
        one = self._calculator.input(name)
        self._read.add(name)
        found = self._texts.get(name) or ((one.default,) if one.default else ())
        if not found:
            raise CalcError(missing(one), name)
        if any(not t.strip() for t in found):
            raise CalcError(f"{name}: there is nothing in it; write for example {one.example}", name)
        if one.kind == "choice":
            return tuple(_chosen(one, t) for t in found)
        return found

    def note(self, line: str) -> None:
        """Something understood that is no plain number."""
        self.understood.append(line)

    def skip(self, *names: str) -> None:
        """Counts inputs as read: they were looked at in another way."""
        self._read.update(names)

    def unused(self) -> list[str]:
        """Inputs that were filled in and did not count."""
        return [n for n in self._texts if n not in self._read and self._texts[n]]

    def _number(self, one: Input, text: str, context: dict[str, float | None]) -> tuple[float, str]:
        try:
            if one.kind == "metal density":
                value, echo, kind = _metal_density(text, self.prefs)
            elif one.kind in ("number", "count"):
                value, kind = number(text, self.prefs), one.kind
                echo = figures(value)
            else:
                kinds = (one.kind,) if isinstance(one.kind, str) else one.kind
                understood = understand(text, kinds, self.prefs, **context)
                value, echo, kind = understood.value, understood.echo, understood.kind
        except UnitError as problem:
            raise OpenMeasure(f"{one.name}: {problem}", one.name, problem.readings) from None
        self._believe(one, text, value, str(kind))
        assumed = "" if self.has(one.name) else " (taken, as nothing else was said)"
        self.understood.append(f"{one.label} {echo}{assumed}")
        return value, str(kind)

    def _believe(self, one: Input, text: str, value: float, kind: str) -> None:
        low, high = BELIEVED[kind]
        example = f"write for example {one.example}"
        if value == 0 and kind != "temperature" and not one.zero:
            raise CalcError(f"{one.name}: `{shorten(text)}` is zero, and it has to be above zero; {example}", one.name)
        if value < 0 and kind != "temperature":
            raise CalcError(f"{one.name}: `{shorten(text)}` is below zero, and that cannot be; {example}", one.name)
        if kind == "count" and value != int(value):
            raise CalcError(f"{one.name}: `{shorten(text)}` is no whole number; {example}", one.name)
        if value != 0 and not low <= value <= high:
            which, edge = ("at most", high) if value > high else ("at least", low)
            unit = fixed_label(kind) if kind in KINDS else "g/cm³" if kind == "metal density" else ""
            edge_text = f"{edge:g} {unit}".rstrip()
            raise CalcError(f"{one.name}: `{shorten(text)}` cannot be meant, {which} {edge_text} is taken; {example}", one.name)


class OpenMeasure(CalcError):
    """A number that could not be read; ``readings`` when it could mean more than one thing (which gallon, which ounce)."""

    def __init__(self, message: str, input: str, readings: Iterable[str]) -> None:
        super().__init__(message, input)
        self.readings = tuple(readings)


def missing(one: Input) -> str:
    """The sentence about an input that is needed and not there."""
    return f"{one.name} is missing: {one.help[0].lower()}{one.help[1:].rstrip('.')}; write for example {one.example}"


def show_volume(volume_l: float, prefs: Preferences) -> str:
    """A volume in the workshop's unit, or in mL where it is a small one."""
    if volume_l < 0.5 and not prefs.shown.get("volume"):
        return f"{figures(1000 * volume_l)} mL"
    return show(volume_l, "volume", prefs)


def _listed(text: str | tuple[str, ...]) -> tuple[str, ...]:
    """Texts without control signs, so that no message carries one."""
    texts = (text,) if isinstance(text, str) else tuple(text)
    return tuple("".join(c if c.isprintable() else " " for c in t) for t in texts)


def _chosen(one: Input, text: str) -> str:
    word = " ".join(text.casefold().split())
    for choice in one.choices:
        if choice.casefold() == word:
            return choice
    raise CalcError(f"{one.name}: there is no `{shorten(text)}`{near(text, one.choices)}", one.name)


def _metal_density(text: str, prefs: Preferences) -> tuple[float, str, str]:
    """``7.13``, ``7.13 g/cm3`` or ``7130 kg/m3``; the units of solutions end at 3 g/cm3, metals do not."""
    match = re.fullmatch(r"\s*([-+0-9.,eE]+)\s*(g/cm3|g/cm³|g/cc|g/mL|kg/m3|kg/m³|)\s*", text)
    if not match:
        raise UnitError(f"`{shorten(text)}` is no density of a metal; write for example 7.14 g/cm3")
    value = number(match[1], prefs) / (1000.0 if match[2].startswith("kg") else 1.0)
    return value, f"{figures(value)} g/cm³", "metal density"
