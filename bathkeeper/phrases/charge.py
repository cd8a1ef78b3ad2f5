"""Charge as people say it: 6.5A*45min, 240mA..210mA*8h, 12.4Ah..17.3Ah, 2A*10min+6A*30min, 4.9Ah, or only 2min."""

from __future__ import annotations

import re
from dataclasses import dataclass
from typing import Any

from bathkeeper.phrases.words import Form, PhraseError, split_spread
from bathkeeper.refusals import shorten
from bathkeeper.units.door import Understood, UnitError, figures, understand, understand_spread

EXAMPLES = "6.5A*45min, 4.9Ah, 240mA..210mA*8h, 2A*10min+6A*30min, 12.4Ah..17.3Ah or 2min"
_PLUS = re.compile(r"(?<![eE])\s*\+\s*(?=[0-9.])")
_TIMES = re.compile(r"\s*[*×·]\s*(?=[0-9.½¼¾])|\s+[xX]\s+(?=[0-9.])|\s+for\s+")
_TO = re.compile(r"\s*(?:\.\.\.?|…|\s+to\s+)\s*")


@dataclass(frozen=True)
class Passed:
    """What a step was told: the charge as the entry keeps it (None for time alone), and how long it took."""

    charge: dict[str, Any] | None
    minutes: float | None
    echo: str


def charge(form: Form, key: str, text: str, area_dm2: float | None) -> Passed:
    """Reads one step's or branch's charge; ``area_dm2`` lets a current density be a current.

    Raises:
        PhraseError: what was wrong, and how a charge is written.
    """
    main, spread_text = split_spread(text)
    if not main:
        raise PhraseError(f"{key}= has nothing behind it; write {EXAMPLES}")
    form.typed[key] = text
    try:
        terms = _PLUS.split(main)
        passed = _stretches(form, key, terms, area_dm2) if len(terms) > 1 else _one(form, key, main, area_dm2)
        return _with_spread(form, key, passed, main, spread_text) if spread_text else passed
    except UnitError as problem:
        raise PhraseError(f"{key}: {problem}") from problem


def _one(form: Form, key: str, text: str, area_dm2: float | None) -> Passed:
    first, *rest = _TIMES.split(text)
    if len(rest) > 1:
        raise PhraseError(f"{key}: `{shorten(text)}` multiplies more than twice; write {EXAMPLES}")
    minutes = understand(rest[0], "time", form.prefs) if rest else None
    ends = _TO.split(first)
    if len(ends) > 2:
        raise PhraseError(f"{key}: `{shorten(first)}` has more than two ends; write {EXAMPLES}")
    if len(ends) == 2:
        return _between(form, key, ends, minutes)
    value = understand(first, ("current", "charge", "time", "current_density"), form.prefs)
    if value.kind == "time":
        if minutes is not None:
            raise PhraseError(f"{key}: `{shorten(text)}` is a time and another time; write {EXAMPLES}")
        return Passed(None, value.value, value.echo)
    took = minutes.value if minutes else None
    if value.kind == "charge":
        return Passed({"charge_ah": value.value}, took, value.echo + (f" in {minutes.echo}" if minutes else ""))
    amperes = _amperes(key, value, area_dm2)
    if minutes is None:
        raise PhraseError(f"{key}: `{shorten(text)}` is a current without a time; write for example {text.strip()}*45min")
    return Passed({"current_a": amperes}, took, _at_current(value, amperes, minutes))


def _at_current(value: Understood, amperes: float, minutes: Understood) -> str:
    said = value.echo if value.kind == "current" else f"{figures(amperes)} A ({value.echo})"
    return f"{said} for {minutes.echo} = {figures(amperes * minutes.value / 60)} Ah"


def _amperes(key: str, value: Understood, area_dm2: float | None) -> float:
    if value.kind == "current":
        return value.value
    if not area_dm2:
        raise PhraseError(
            f"{key}: {value.echo} needs the area of the load to become a current; add area=…, or write the current in A"
        )
    return float(f"{value.value * area_dm2:.12g}")


def _between(form: Form, key: str, ends: list[str], minutes: Understood | None) -> Passed:
    """A ramp of current over a time, or a counter read before and after."""
    last = understand(ends[1], ("current", "charge"), form.prefs)
    first_text = ends[0] if re.search(r"[A-Za-zµμ]", ends[0]) else ends[0] + (re.search(r"[A-Za-zµμ].*$", ends[1]) or [""])[0]
    first = understand(first_text, last.kind, form.prefs)
    took = minutes.value if minutes else None
    if last.kind == "charge":
        said = f"counter {first.echo} to {last.echo}"
        if last.value >= first.value:
            said += f" = {figures(last.value - first.value)} Ah"
        else:
            said += f", taken as reset: {figures(last.value)} Ah or more"
        return Passed({"counter": {"start_ah": first.value, "end_ah": last.value}}, took, said)
    if minutes is None:
        raise PhraseError(f"{key}: from {first.echo} to {last.echo} needs a time; write for example 240mA..210mA*8h")
    ramp = {"from_a": first.value, "to_a": last.value, "minutes": minutes.value}
    said = f"{first.echo} to {last.echo} over {minutes.echo} = {figures(_ah({'ramp': ramp}, took))} Ah"
    return Passed({"ramp": ramp}, took, said)


def _stretches(form: Form, key: str, terms: list[str], area_dm2: float | None) -> Passed:
    stretches = []
    for term in terms:
        part = _one(form, key, term, area_dm2)
        if part.charge is None or "current_a" not in part.charge:
            raise PhraseError(
                f"{key}: every stretch is a current for a time, as in 2A*10min+6A*30min; `{shorten(term)}` is not"
            )
        stretches.append({"current_a": part.charge["current_a"], "minutes": part.minutes})
    total = _ah({"stretches": stretches}, None)
    took = sum(s["minutes"] for s in stretches)
    said = " + ".join(f"{figures(s['current_a'])} A for {figures(s['minutes'])} min" for s in stretches)
    return Passed({"stretches": stretches}, took, f"{said} = {figures(total)} Ah")


def _ah(told: dict[str, Any], minutes: float | None) -> float:
    """Ampere-hours of a charge as told; what a counter that was reset shows is its last reading."""
    if "charge_ah" in told:
        return float(told["charge_ah"])
    if "current_a" in told:
        return float(told["current_a"]) * (minutes or 0.0) / 60
    if "ramp" in told:
        return float(told["ramp"]["from_a"] + told["ramp"]["to_a"]) / 2 * float(told["ramp"]["minutes"]) / 60
    if "counter" in told:
        start, end = told["counter"]["start_ah"], told["counter"]["end_ah"]
        return float(end - start if end >= start else end)
    return float(sum(s["current_a"] * s["minutes"] for s in told["stretches"]) / 60)


def _with_spread(form: Form, key: str, passed: Passed, main: str, text: str) -> Passed:
    """Entries keep it in A beside a plain current, else in Ah."""
    if passed.charge is None:
        raise PhraseError(f"{key}: a spread belongs to a charge, not to a time; write for example 6.5A*45min±3%")
    steady = "current_a" in passed.charge
    of, kind = (passed.charge["current_a"], "current") if steady else (_ah(passed.charge, passed.minutes), "charge")
    unit = "A" if steady else "Ah"
    if steady or "charge_ah" in passed.charge:
        first = _TIMES.split(main)[0]
        spread = (
            of * understand_spread(text, "1 " + unit, kind, form.prefs)
            if text.endswith("%")
            else understand_spread(
                text,
                first if understand(first, ("current", "charge", "current_density"), form.prefs).kind == kind else f"1 {unit}",
                kind,
                form.prefs,
            )
        )
    elif text.endswith("%"):
        spread = of * understand_spread(text, "1 Ah", kind, form.prefs)
    elif re.search(r"[A-Za-z]", text):
        spread = understand_spread(text, "1 Ah", kind, form.prefs)
    else:
        raise PhraseError(f"{key}: is ±{shorten(text)} in Ah or in percent? Write ±{text}Ah or ±{text}%")
    charge = {**passed.charge, "spread": float(f"{spread:.12g}")}
    return Passed(charge, passed.minutes, f"{passed.echo} ± {figures(spread)} {unit}")
