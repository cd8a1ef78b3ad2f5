"""Asking calculators in tests as a person would: inputs as keyword arguments, hyphens written as underscores."""

from __future__ import annotations

from typing import Any

from bathkeeper.calculators.registry import Answer, ask, calculator
from bathkeeper.units.numerals import Preferences


def answer(name: str, prefs: Preferences = Preferences(), **texts: Any) -> Answer:  # noqa: B008  frozen
    """The whole answer; ``from_`` and ``class_`` stand for the words that Python keeps for itself."""
    return ask(calculator(name), {k.rstrip("_").replace("_", "-"): v for k, v in texts.items()}, prefs)


def values(name: str, **texts: Any) -> dict[str, Any]:
    """The values of an answer."""
    return answer(name, **texts).values
