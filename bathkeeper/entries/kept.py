"""What a keeper keeps beside the tanks: the shelf, accepted plans, things put off."""

from __future__ import annotations

from typing import Annotated, Literal, get_args

import msgspec
from msgspec import Meta

from bathkeeper.entries.base import Entry
from bathkeeper.entries.words import ItemUnit, Moment, Name, NotNegative, PlanAction, PlanNumber, Positive, Text


class Stock(Entry, frozen=True, kw_only=True, tag="stock"):
    """Something on the shelf bought, counted or thrown out. ``what`` is a reagent, a metal hung as anode, or a titrant;
    ``price`` is for the whole amount, in the workshop's currency; a count says what is there (of a lot, if one is named)."""

    reagent: Name
    action: Literal["bought", "counted", "discarded"]
    amount: NotNegative
    unit: ItemUnit
    what: Literal["reagent", "anode", "titrant"] = "reagent"
    price: NotNegative | None = None
    lot: Name | None = None
    purity: Annotated[float, Meta(gt=0, le=1)] | None = None
    spread: Positive | None = None

    def __post_init__(self) -> None:
        Entry.__post_init__(self)
        if self.action != "counted" and self.amount == 0:
            raise ValueError(f"{self.reagent}: nothing {self.action} is nothing to log; only a count can be 0")
        if self.price is not None and self.action != "bought":
            raise ValueError("a price belongs to what was bought")


Purpose = Literal["dose", "make up", "refresh", "treat", "lay up", "wake up"]
PURPOSES: tuple[Purpose, ...] = get_args(Purpose)


class PlanStep(msgspec.Struct, frozen=True, kw_only=True, forbid_unknown_fields=True, omit_defaults=True):
    """One step of an accepted plan, in order from 1. ``add`` needs reagent, amount and unit; ``remove`` an amount in L."""

    step: PlanNumber
    action: PlanAction
    reagent: Name | None = None
    amount: Positive | None = None
    unit: ItemUnit | Literal["Ah", "min", "h", "A"] | None = None
    of: str | None = None
    why: Text = ""
    caution: Text = ""

    def __post_init__(self) -> None:
        if self.action == "add" and (self.reagent is None or self.amount is None or self.unit not in get_args(ItemUnit)):
            raise ValueError("a step that adds needs reagent, amount and a unit of g, mL or L")
        if self.action == "remove" and (self.amount is None or self.unit != "L"):
            raise ValueError("a step that removes needs an amount in L")


class Plan(Entry, frozen=True, kw_only=True, tag="plan"):
    """A plan that the keeper accepted for a tank; entries that name it in ``plan`` and ``step`` do it, step by step.

    ``dropped`` names an earlier plan that is given up (then it may have no steps)."""

    tank: Name
    purpose: Purpose
    steps: tuple[PlanStep, ...] = ()
    dropped: str | None = None

    def __post_init__(self) -> None:
        Entry.__post_init__(self)
        if not self.steps and self.dropped is None:
            raise ValueError("a plan needs at least one step")
        if [s.step for s in self.steps] != list(range(1, len(self.steps) + 1)):
            raise ValueError("the steps of a plan are numbered 1, 2, 3 ... in order")


class Snooze(Entry, frozen=True, kw_only=True, tag="snooze"):
    """Something due that the keeper puts off: ``finding`` is its id, ``until`` when it may speak again, ``reason`` why."""

    finding: Name
    until: Moment
    reason: Annotated[str, Meta(min_length=1, max_length=20_000)]

    def __post_init__(self) -> None:
        Entry.__post_init__(self)
        if self.until <= self.at:
            raise ValueError("`until` has to be later than the entry itself")
