"""Asking a calculator: texts in, an answer or one clear sentence out; a gallon that cancels out is not asked about."""

from __future__ import annotations

import contextlib
import math
from dataclasses import replace

from bathkeeper.calculators.given import Given, OpenMeasure, missing
from bathkeeper.calculators.model import Answer, CalcError, Calculator, Texts, Value
from bathkeeper.catalogue.loader import Catalogue, load
from bathkeeper.units.door import Preferences

FIGURES = 12
"""Kept of every number: hides the last bits of binary arithmetic, as the units do."""

SAME = 1e-9
"""Relative difference below which two readings of a text come to the same."""


def ask(
    calculator: Calculator,
    texts: Texts,
    prefs: Preferences = Preferences(),  # noqa: B008  frozen
    catalogue: Catalogue | None = None,
) -> Answer:
    """The answer to a question; ``texts``: by input name what was typed, several of a repeated input.

    A bare gallon or ounce is refused unless the workshop settles it or it cancels out: then the ratios that
    ``calculator.without_measures`` names are answered, the rest is None, and ``open`` says why.

    Raises:
        CalcError: what was wrong, and what would be right; names the input.
    """
    known = catalogue if catalogue is not None else load()
    given = {name: text for name, text in texts.items() if text not in ("", ())}
    for one in calculator.inputs:
        if one.required and one.name not in given:
            raise CalcError(missing(one), one.name)
    try:
        return _once(calculator, given, prefs, known)
    except OpenMeasure as problem:
        if not problem.readings or not calculator.without_measures:
            raise
        found = _whatever_is_meant(calculator, given, prefs, known)
        if found is None:
            raise
        return found


def _once(calculator: Calculator, texts: Texts, prefs: Preferences, catalogue: Catalogue) -> Answer:
    given = Given(calculator, texts, prefs, catalogue)
    try:
        answer = calculator.answer(given)
    except CalcError:
        raise
    except (ValueError, OverflowError) as problem:  # the formulas' own range checks, the catalogue's near misses
        raise CalcError(str(problem)) from None
    unused = given.unused()
    if unused:
        rest = ", ".join(n for n in texts if n not in unused)
        raise CalcError(f"{', '.join(unused)}: not used together with {rest}; leave it out, or see the examples", unused[0])
    if set(answer.values) != set(calculator.keys):
        raise AssertionError(f"{calculator.name} answers {sorted(answer.values)}, its keys are {sorted(calculator.keys)}")
    return replace(
        answer,
        values={key: _tidied(value) for key, value in answer.values.items()},
        inputs_understood=tuple(dict.fromkeys(given.understood)),
        sources=tuple(dict.fromkeys((*answer.sources, *calculator.sources))),
        cautions=tuple(dict.fromkeys(answer.cautions)),
    )


def _tidied(value: Value) -> Value:
    if isinstance(value, float):
        if not math.isfinite(value):
            raise CalcError("these numbers come to more than can be worked with; check the units")
        return float(f"{value:.{FIGURES}g}")
    if isinstance(value, list):
        return [_tidied(v) for v in value]
    if isinstance(value, dict):
        return {k: _tidied(v) for k, v in value.items()}
    return value


def _whatever_is_meant(calculator: Calculator, texts: Texts, prefs: Preferences, catalogue: Catalogue) -> Answer | None:
    """The answer for every measure that can be meant, as far as all agree; None when not one of its ratios is the same."""
    answers: list[tuple[Preferences, Answer]] = []
    for ounces in ((prefs.ounce,), ("avoirdupois", "troy")):  # an ounce is only doubted when the gallon was not the trouble
        for meant in (replace(p, ounce=ounce) for p in _gallons(prefs) for ounce in ounces):
            with contextlib.suppress(CalcError):
                answers.append((meant, _once(calculator, texts, meant, catalogue)))
        if answers:
            break
    if len(answers) < 2:
        return None
    first = answers[0][1]
    same = {k for k in calculator.without_measures if _all_same([a.values[k] for _, a in answers])}
    if not any(first.values[k] is not None for k in same):
        return None
    waits = [k for k, v in first.values.items() if k not in same and v is not None]
    return replace(
        first,
        values={k: v if k in same else None for k, v in first.values.items()},
        lines=_lines(calculator, first, sorted(same, key=list(first.values).index)),
        inputs_understood=("units of measure cancel out here, so they are left open",),
        open=tuple(_open(k, calculator.keys[k], [(m, a.values[k]) for m, a in answers]) for k in waits),
        measured=(),
    )


def _gallons(prefs: Preferences) -> list[Preferences]:
    return [prefs] if prefs.gallon else [replace(prefs, gallon="us"), replace(prefs, gallon="imperial")]


def _all_same(values: list[Value]) -> bool:
    first = values[0]
    if isinstance(first, float | int) and not isinstance(first, bool):
        return all(isinstance(v, float | int) and math.isclose(v, first, rel_tol=SAME) for v in values)
    return all(v == first for v in values)


def _lines(calculator: Calculator, answer: Answer, keys: list[str]) -> tuple[str, ...]:
    return tuple(f"{k} ({calculator.keys[k]}): {v:.4g}" for k in keys if isinstance(v := answer.values[k], float | int))


def _open(key: str, meaning: str, readings: list[tuple[Preferences, Value]]) -> str:
    """``swap_l (litres to replace) is open: 336.4 with the US gallon, 404.1 with the imperial gallon``."""
    seen: dict[str, str] = {}
    for prefs, value in readings:
        text = f"{value:.4g}" if isinstance(value, float | int) else str(value)
        gallon = "US" if prefs.gallon == "us" else "imperial"
        seen.setdefault(text, f"{text} with the {gallon} gallon" + (" and the troy ounce" if prefs.ounce == "troy" else ""))
    return f"{key} ({meaning}) is open: {', '.join(seen.values())}; write the one you mean"
