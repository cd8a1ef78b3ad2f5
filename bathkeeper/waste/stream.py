"""A waste stream as rules and plans see it: what stands in one container (or still in a tank), with how sure that is."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import datetime

import msgspec

from bathkeeper.catalogue.schema import Species
from bathkeeper.entries import WasteKind
from bathkeeper.findings import Estimate


class Origin(msgspec.Struct, frozen=True, kw_only=True):
    """Where some of it came from: ``litres`` (or ``mass_kg`` of solids) of a tank, by the entry that says so. ``tank`` and
    ``role`` are empty for what came from no tank; ``recipe`` is None where the tank has none. ``by``: the containers that it
    went through on its way here; ``name`` and ``note``: what a left-over chemical is called, and what was noted of it."""

    at: datetime
    entry: str
    what: WasteKind
    tank: str = ""
    role: str = ""
    recipe: str | None = None
    litres: float = 0.0
    mass_kg: float = 0.0
    by: tuple[str, ...] = ()
    name: str = ""
    note: str = ""


class Stream(msgspec.Struct, frozen=True, kw_only=True):
    """What one vessel of waste holds.

    ``amounts``: by species as recipes name them (``zinc``, ``free acid``, ``boric acid``, ``carrier`` ...), in g, or in mL for
    additives; ``species`` tells the formula, kind and equivalents of each, where the catalogue knows it. ``complete``: whether
    all that it holds is known by estimate; False as soon as something unknown went in. ``ph`` only where it was measured;
    ``ph_stands``: nothing was put in or done to it since. ``base_mol``: base that treatments put in beyond what the free acid
    took, mol of OH-; below zero acid. ``treated_with``: reagents by name that treatments put into it.
    """

    name: str
    since: datetime | None
    origins: tuple[Origin, ...]
    amounts: Mapping[str, Estimate]
    species: Mapping[str, Species]
    volume_l: Estimate | None = None
    mass_kg: Estimate | None = None
    ph: Estimate | None = None
    density_g_ml: float | None = None
    complete: bool = True
    entries: tuple[str, ...] = ()
    ph_stands: bool = True
    base_mol: Estimate | None = None
    treated_with: tuple[str, ...] = ()

    @property
    def empty(self) -> bool:
        """Whether nothing that anybody knows of is in it."""
        return not self.origins and not self.amounts and self.volume_l is None and self.mass_kg is None

    @property
    def kinds(self) -> tuple[WasteKind, ...]:
        """The kinds of waste in it, in the order in which they came."""
        return tuple(dict.fromkeys(o.what for o in self.origins))

    @property
    def roles(self) -> tuple[str, ...]:
        """The roles of the tanks that it came from, in the order in which they came."""
        return tuple(dict.fromkeys(o.role for o in self.origins if o.role))

    def concentration(self, species: str) -> Estimate | None:
        """g/L (mL/L of an additive); None where neither the amount nor the volume is known. The range is the amount's over the
        middle volume: both come from one dump, so that their errors go together."""
        amount = self.amounts.get(species)
        if amount is None or self.volume_l is None or self.volume_l.value <= 1e-9:
            return None
        litres = self.volume_l.value
        unit = "mL/L" if amount.unit == "mL" else "g/L"
        return Estimate(amount.value / litres, amount.low / litres, amount.high / litres, unit)
