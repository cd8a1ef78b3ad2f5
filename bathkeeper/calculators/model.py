"""What a calculator is made of: its inputs, its function, and the answer with its inputs, formula, sources and cautions."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING, TypeAlias

if TYPE_CHECKING:
    from bathkeeper.calculators.given import Given

Value: TypeAlias = "float | int | str | bool | list[Value] | dict[str, Value] | None"
Texts: TypeAlias = Mapping[str, "str | tuple[str, ...]"]


class CalcError(ValueError):
    """A question that cannot be answered: what was wrong, and what would be right. ``input``: the name of the input that a form
    would mark, or empty."""

    def __init__(self, message: str, input: str = "") -> None:
        super().__init__(message)
        self.input = input


@dataclass(frozen=True)
class Input:
    """One thing to fill in.

    ``kind``: a kind of value of ``units.KINDS`` or several of them (the unit typed decides); or ``number`` (no unit), ``count``
    (a whole number), ``text``, ``choice`` (one of ``choices``), ``metal density`` (g/cm3). ``default``: text taken when nothing
    is given. ``zero``: 0 is a possible value. ``positional``: stands without an option name on the command line.
    """

    name: str
    kind: str | tuple[str, ...]
    label: str
    help: str
    example: str
    required: bool = False
    repeated: bool = False
    default: str = ""
    positional: bool = False
    zero: bool = False
    choices: tuple[str, ...] = ()

    @property
    def optional(self) -> bool:
        return not self.required


@dataclass(frozen=True)
class Measured:
    """A part of an answer that can go into the book as a reading. ``formula``: what the grams are grams of."""

    of: str
    value: float
    unit: str
    spread: float | None = None
    method: str | None = None
    formula: str = ""


@dataclass(frozen=True)
class Answer:
    """``values``: by JSON key, fixed units in the keys, None where a value does not follow from what was given. ``lines``: the
    same for people. ``inputs_understood`` is filled in by :meth:`Calculator.ask`. ``open``: what could not be said and why."""

    values: dict[str, Value]
    lines: tuple[str, ...]
    formula: str
    sources: tuple[str, ...] = ()
    cautions: tuple[str, ...] = ()
    inputs_understood: tuple[str, ...] = ()
    open: tuple[str, ...] = ()
    measured: tuple[Measured, ...] = ()


@dataclass(frozen=True)
class Calculator:
    """A question with its inputs. ``keys``: every key of ``values`` with its meaning. ``examples``: inputs that run as they
    stand. ``without_measures``: keys that are pure ratios, and so may be answered while a gallon or ounce is left open.
    ``logs``: whether answers can go into the book as a reading."""

    name: str
    title: str
    help: str
    inputs: tuple[Input, ...]
    answer: Callable[[Given], Answer]
    keys: Mapping[str, str]
    examples: tuple[Texts, ...]
    sources: tuple[str, ...] = ()
    without_measures: tuple[str, ...] = ()
    logs: bool = False

    def input(self, name: str) -> Input:
        """An input by name. Raises CalcError with the names there are."""
        for one in self.inputs:
            if one.name == name:
                return one
        raise CalcError(f"{self.name} has no input `{name}`; it has {', '.join(i.name for i in self.inputs)}")
