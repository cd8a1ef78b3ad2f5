"""Every calculator, in the order of the help: the one list that the command line, JSON, forms and help are made from."""

from __future__ import annotations

import shlex
from collections.abc import Mapping

from bathkeeper.calculators.anodes import ANODES
from bathkeeper.calculators.area import AREA
from bathkeeper.calculators.asking import ask
from bathkeeper.calculators.bake import BAKE
from bathkeeper.calculators.convert import CONVERT
from bathkeeper.calculators.deposit import DEPOSIT
from bathkeeper.calculators.electric import CURRENT, HULL, HYDROGEN
from bathkeeper.calculators.model import Answer, CalcError, Calculator, Input, Measured, Texts
from bathkeeper.calculators.neutralise import NEUTRALISE
from bathkeeper.calculators.rinse import RINSE
from bathkeeper.calculators.solutions import ADD, DILUTE
from bathkeeper.calculators.strength import DENSITY, JAR
from bathkeeper.calculators.thread import THREAD
from bathkeeper.calculators.titrate import TITRATE
from bathkeeper.refusals import near

__all__ = [
    "CALCULATORS",
    "Answer",
    "CalcError",
    "Calculator",
    "Input",
    "Measured",
    "Texts",
    "ask",
    "calculator",
    "command_line",
]

CALCULATORS: Mapping[str, Calculator] = {
    c.name: c
    for c in (
        AREA,
        CURRENT,
        DEPOSIT,
        ADD,
        DILUTE,
        TITRATE,
        DENSITY,
        JAR,
        HULL,
        RINSE,
        ANODES,
        NEUTRALISE,
        BAKE,
        THREAD,
        HYDROGEN,
        CONVERT,
    )
}


def calculator(name: str) -> Calculator:
    """A calculator by name. Raises CalcError with the near misses."""
    found = CALCULATORS.get(name.strip().casefold())
    if found is None:
        raise CalcError(f"there is no calculator `{name.strip()[:40]}`{near(name, CALCULATORS)}")
    return found


def command_line(one: Calculator, texts: Texts) -> str:
    """An example as it is typed in a shell."""
    words = ["bathkeeper", "calc", one.name]
    for name, text in texts.items():
        positional = one.input(name).positional
        for each in (text,) if isinstance(text, str) else text:
            words += [shlex.quote(each)] if positional else [f"--{name}", shlex.quote(each)]
    return " ".join(words)
