"""What the ledger's answers come in, in the shape of ``waste status --json``."""

from __future__ import annotations

from datetime import datetime
from typing import Literal

import msgspec

from bathkeeper.accounts.grams import AroseGrams
from bathkeeper.accounts.litres import Litres
from bathkeeper.findings import Estimate
from bathkeeper.waste.allowing import AllowanceUse
from bathkeeper.waste.limits import GeneratorSize, Kept, Storage
from bathkeeper.waste.schema import Candidate, Property
from bathkeeper.waste.stream import Origin

Answer = Literal["yes", "no", "not looked at"]


class Check(msgspec.Struct, frozen=True, kw_only=True):
    """One point of a container's checklist; ``at`` and ``entry`` tell when it was last looked at."""

    point: str
    question: str
    answer: Answer
    at: datetime | None = None
    entry: str | None = None


class Held(msgspec.Struct, frozen=True, kw_only=True):
    """One container as it stands. ``contents``: g/L (mL/L) by species; ``amounts``: g (mL). ``storage_days_left``: None where
    no limit in days is known or it is empty. ``form`` is the vessel's, ``physical_form`` that of what is in it; ``why``: why
    that became waste. Both, and ``colour``, only as far as the keeper said so. ``treated``: what treatments put in, by the
    day, whatever became of it."""

    container: str
    opened: datetime | None
    since: datetime | None
    form: str | None
    size_l: float | None
    place: str | None
    why: tuple[str, ...]
    physical_form: str | None
    colour: str | None
    volume_l: Estimate | None
    mass_kg: Estimate | None
    solids_kg: float
    pieces: int
    kinds: tuple[str, ...]
    origins: tuple[Origin, ...]
    contents: dict[str, Estimate]
    amounts: dict[str, Estimate]
    ph: Estimate | None
    complete: bool
    storage: Storage
    storage_days_left: float | None
    candidates: tuple[Candidate, ...]
    candidate_codes: tuple[str, ...]
    properties: tuple[Property, ...]
    codes: tuple[str, ...]
    hazards: tuple[str, ...]
    checks: tuple[Check, ...]
    entries: tuple[str, ...]
    treated: tuple[str, ...] = ()

    @property
    def empty(self) -> bool:
        """Whether nothing is in it."""
        return not self.origins


class HandOver(msgspec.Struct, frozen=True, kw_only=True):
    """Something that was handed over. ``retention``: the papers that belong to it, each with until when it is kept;
    ``refused``: why it was refused, so that it is in the container still or again; ``on_record`` is False where no entry tells
    what had gone into the container."""

    entry: str
    at: datetime
    container: str
    to: str
    litres: Estimate | None
    mass_kg: float | None
    weighed: bool
    amounts: dict[str, Estimate]
    kinds: tuple[str, ...]
    origins: tuple[Origin, ...]
    codes: tuple[str, ...]
    hazards: tuple[str, ...]
    why: tuple[str, ...]
    physical_form: str | None
    colour: str | None
    papers: dict[str, str | bool]
    reference: str | None
    receipt: str | None
    receipt_at: datetime | None
    complete: bool
    stood_days: float | None
    retention: tuple[Kept, ...]
    refused: str | None = None
    refused_at: datetime | None = None
    on_record: bool = True

    @property
    def waits(self) -> bool:
        """Whether its receipt is still to come."""
        return self.receipt is None and self.refused is None


class MissingGrams(msgspec.Struct, frozen=True, kw_only=True):
    """What is unaccounted for of one species, in g (mL of an additive), with its 95 % interval (below zero: more than the
    entries tell); ``arose``: the vessels, the most first."""

    species: str
    grams: Estimate
    arose: tuple[AroseGrams, ...] = ()


class WasteStatus(msgspec.Struct, frozen=True, kw_only=True):
    """Containers, hand-overs and the account, under the rule set that holds here. ``unaccounted_g``: of the metals."""

    book: str
    workshop: str
    as_of: datetime
    rule_set: str
    rule_set_title: str
    rule_set_date: str
    rule_set_chosen: str
    generator: GeneratorSize | None
    keeper: str
    containers: tuple[Held, ...]
    handed_over: tuple[HandOver, ...]
    account: Litres
    unaccounted_g: tuple[MissingGrams, ...]
    ask_first: str
    allowances: tuple[AllowanceUse, ...] = ()
