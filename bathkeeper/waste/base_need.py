"""How much base a vessel of waste would take on paper: free acid, dissolved metals, weak acids, less the alkali already there.

Arithmetic for understanding and for the contractor who takes the waste; the local authority decides what may be done with it.
"""

from __future__ import annotations

from collections.abc import Mapping

import msgspec

from bathkeeper.calculators.substances import Substance
from bathkeeper.chemistry import neutralising
from bathkeeper.findings import Estimate
from bathkeeper.refusals import shorten
from bathkeeper.units.numerals import figures
from bathkeeper.waste.holding import Content, content_of, is_solid
from bathkeeper.waste.spreads import added, product, sound, times, volume_share
from bathkeeper.waste.stream import Stream

IRON_OF_PICKLES = Estimate(2.4, 2.0, 3.0, "mol/mol")
"""Acid that a mole of iron took in a pickle, and so the base that it takes: 2 for metal, 3 for rust by the reactions; the
mixture is practice."""

IRON_ELSEWHERE = Estimate(2.0, 2.0, 3.0, "mol/mol")
"""Iron dissolved as metal takes 2; that air turns it into iron(III) afterwards uses acid and changes no total."""

ROADS_APART = 0.03
"""By how much of the acid made up two roads without stated spreads may differ and still meet (practice)."""

PKA_CARBONATE = 10.33
PKA_CARBONIC = 6.35
"""25 degC, dilute (memory)."""


class Need(msgspec.Struct, frozen=True, kw_only=True):
    """What one species takes. ``kind``: free acid, metal, weak acid, ammonium or alkali (negative). ``charge``: base per mol.
    ``substance``: the dissolved metal as the table of substances names it."""

    species: str
    kind: str
    mol: Estimate
    charge: float
    equivalents: Estimate
    substance: str = ""


class SecondRoad(msgspec.Struct, frozen=True, kw_only=True):
    """The same total of a spent pickle by its acid, mol: made up less dragged out less the base that treatments put in
    (``put_in``, all of it; None where there were none). ``difference``: contents less this road. ``agree``: whether zero lies
    in the range of the difference, give or take 3 % of the acid made up."""

    made_up: Estimate
    dragged_out: Estimate
    equivalents: Estimate
    difference: Estimate
    agree: bool
    put_in: Estimate | None = None


class BaseNeed(msgspec.Struct, frozen=True, kw_only=True):
    """Base on paper, in equivalents (mol of OH-), to bring a vessel's content to ``ph``; below zero it would take acid.

    ``free_acid`` to ``alkali`` are its parts (``metals`` by species); ``needs`` the same, species by species. ``unknown``: what
    is in it and takes base or may, nobody knows how much. ``partial``: something unknown went in; only the known is counted.
    ``ammonium``: mol of ammonium in all. ``complexants``: what holds metals in solution. ``chromium_vi``: what may be it.
    """

    ph: float
    equivalents: Estimate
    free_acid: Estimate
    metals: Mapping[str, Estimate]
    boric_acid: Estimate
    ammonium: Estimate
    alkali: Estimate
    needs: tuple[Need, ...]
    ammonium_mol: Estimate
    alkaline: bool
    partial: bool
    unknown: tuple[str, ...] = ()
    complexants: tuple[str, ...] = ()
    chromium_vi: tuple[str, ...] = ()
    assumptions: tuple[str, ...] = ()
    second_road: SecondRoad | None = None


def base_need(
    stream: Stream,
    ph: float = 9.5,
    *,
    iron_charge: Estimate | None = None,
    acid_made_up_mol: Estimate | None = None,
    acid_dragged_out_mol: Estimate | None = None,
    base_put_in_mol: Estimate | None = None,
) -> BaseNeed:
    """The base that a vessel's content takes on paper.

    Every amount's spread is carried: the share that the volume alone makes moves with all the others, the rest is independent.

    Args:
        ph: where the weak acids are counted.
        iron_charge: base per mol of iron, as the pickle taught it (mol H+ per mol Fe); else 2.4 (2-3) where a pickle is among
            the origins and 2 (2-3) elsewhere. Iron named (II) or (III) takes 2 or 3.
        acid_made_up_mol, acid_dragged_out_mol: the second road of a spent pickle: what went in as acid in its life, and what
            parts carried out of it, as acid or as its salts.
        base_put_in_mol: what treatments of the container put in since, all together; what of it is left beyond the free acid
            is ``stream.base_mol``, which counts on both roads.

    Raises:
        ValueError: a pH outside 0 to 14.
    """
    neutralising.weak_acid_equivalents(0.0, ph, neutralising.PKA_AMMONIUM)  # refuses a pH that cannot be
    contents = [content_of(name, amount, stream.species.get(name)) for name, amount in stream.amounts.items()]
    assumptions: list[str] = []
    acid = [_need(c, "free acid", times(c.mol, c.equivalents, "mol"), c.equivalents) for c in contents if c.is_ == "acid"]
    alkali = _alkali(contents, ph, bool(acid), assumptions)
    put_in = _put_in(stream, assumptions)
    by_ph = _strong_by_ph(stream, bool(acid or alkali or put_in), assumptions)
    if by_ph is not None:
        (acid if by_ph.equivalents.value >= 0 else alkali).append(by_ph)
    alkaline = -sum(n.equivalents.value for n in alkali) > sum(n.equivalents.value for n in acid)
    metals = _metals(stream, contents, alkaline, iron_charge, assumptions)
    weak = [_weak(c, ph) for c in contents if c.is_ in ("boric acid", "ammonium")]
    needs = [*acid, *metals, *weak, *alkali, *put_in]
    shared = volume_share(stream.volume_l)
    total = added([n.equivalents for n in needs], shared, "mol")
    if acid and any(n.substance.startswith("iron") and n.mol.high > 0 for n in metals):
        assumptions.append(
            "A titration of free acid takes iron(III) for acid too: where it was titrated, iron may count twice."
        )
    return BaseNeed(
        ph=ph,
        equivalents=total,
        free_acid=_sum(needs, "free acid", shared),
        metals={n.species: n.equivalents for n in metals},
        boric_acid=_sum(needs, "weak acid", shared),
        ammonium=_sum(needs, "ammonium", shared),
        alkali=_sum(needs, "alkali", shared),
        needs=tuple(needs),
        ammonium_mol=added([n.mol for n in needs if n.kind == "ammonium"], shared, "mol"),
        alkaline=total.value < 0,
        partial=not stream.complete or not stream.amounts,
        unknown=tuple(c.name for c in contents if c.is_ == "unknown"),
        complexants=tuple(c.name for c in contents if c.complexing),
        chromium_vi=tuple(c.name for c in contents if c.is_ == "chromium(VI)"),
        assumptions=tuple(dict.fromkeys(assumptions)),
        second_road=_second_road(needs, shared, acid_made_up_mol, acid_dragged_out_mol, base_put_in_mol),
    )


def _need(content: Content, kind: str, equivalents: Estimate, charge: float, metal: Substance | None = None) -> Need:
    return Need(
        species=content.name,
        kind=kind,
        mol=content.mol,
        charge=charge,
        equivalents=equivalents,
        substance=metal.name if metal is not None else "",
    )


def _sum(needs: list[Need], kind: str, shared: float) -> Estimate:
    return added([n.equivalents for n in needs if n.kind == kind], shared, "mol")


def _metals(
    stream: Stream, contents: list[Content], alkaline: bool, iron_charge: Estimate | None, assumptions: list[str]
) -> list[Need]:
    """Metals by their charge; in an alkaline liquid less the hydroxide that they hold, and nothing for what lies there as
    hydroxide already."""
    fallen = is_solid(stream)
    learned = sound(iron_charge) if iron_charge is not None else None
    made = []
    for content in contents:
        metal = content.metal
        if metal is None:
            continue
        charge = Estimate(metal.charge, metal.charge, metal.charge, "mol/mol")
        held, name = content.hydroxide_held, _begun(content.name)
        if fallen or (alkaline and content.contaminant and not held):
            charge = Estimate(0.0, 0.0, 0.0, "mol/mol")
            why = "this is solid waste" if fallen else "the liquid is alkaline"
            assumptions.append(f"{name} is taken to have fallen out already, because {why}: it takes none.")
        elif alkaline and held:
            charge = Estimate(charge.value - held, charge.low - held, charge.high - held, "mol/mol")
            assumptions.append(f"{name} lets go of {held:g} hydroxide as the pH falls, and keeps {metal.charge}.")
        elif held:
            assumptions.append(f"{name} is counted as in acid; what came from an alkaline bath takes less.")
        elif content.iron_of_no_stated_charge:
            charge, where = _iron_charge(stream, learned)
            assumptions.append(
                f"Iron is counted at {_told(charge.value, charge)} base to one iron ({_told(charge.low, charge)} to "
                f"{_told(charge.high, charge)}; {where}): "
                "2 for iron(II), 3 for iron(III)."
            )
        if charge.low >= 0:
            equivalents = product(content.mol, charge, "mol")
        else:
            equivalents = times(content.mol, charge.value, "mol")
        made.append(_need(content, "metal", equivalents, charge.value, metal))
    return made


def _told(value: float, of: Estimate) -> str:
    """A number to the figures that its spread leaves."""
    return figures(value, of.spread)


def _begun(name: str) -> str:
    """A species at the beginning of a sentence."""
    short = shorten(name)
    return short[:1].upper() + short[1:]


def _iron_charge(stream: Stream, learned: Estimate | None) -> tuple[Estimate, str]:
    if learned is not None:
        return learned, "as this pickle has taught"
    if "pickle" in stream.roles:
        return IRON_OF_PICKLES, "of a pickle, practice"
    return IRON_ELSEWHERE, "dissolved as metal"


def _weak(content: Content, ph: float) -> Need:
    boric = content.is_ == "boric acid"
    pka = neutralising.PKA_BORIC_ACID if boric else neutralising.PKA_AMMONIUM
    share = neutralising.weak_acid_equivalents(1.0, ph, pka)
    return _need(content, "weak acid" if boric else "ammonium", times(content.mol, share, "mol"), share)


def _alkali(contents: list[Content], ph: float, acid: bool, assumptions: list[str]) -> list[Need]:
    """Alkali as a negative need. A total alkali, titrated on to a low pH, holds the free alkali and the carbonate too."""
    total = [c for c in contents if c.is_ == "alkali" and c.counts_weak]
    strong = [c for c in contents if c.is_ == "alkali" and not c.counts_weak]
    carbonate = [c for c in contents if c.is_ == "carbonate"]
    if total:
        greatest = max(total, key=lambda c: c.mol.value * c.equivalents)
        free = max((c.mol.low * c.equivalents for c in strong), default=0.0)
        whole = times(greatest.mol, -greatest.equivalents, "mol")
        if strong or carbonate:
            assumptions.append(f"{_begun(greatest.name)} is taken to hold the free alkali and the carbonate too.")
        found = Estimate(whole.value, whole.low, max(whole.high, -free), "mol")
        return [_need(greatest, "alkali", found, -greatest.equivalents)]
    made = [_need(c, "alkali", times(c.mol, -c.equivalents, "mol"), -c.equivalents) for c in strong]
    return made + [_carbonate(c, ph, acid, assumptions) for c in carbonate]


def _carbonate(content: Content, ph: float, acid: bool, assumptions: list[str]) -> Need:
    """What carbonate binds on the way to a pH; where acid is there too its gas may go, and then it has bound all it can."""
    to_bicarbonate = neutralising.weak_acid_equivalents(1.0, PKA_CARBONATE, ph)
    to_gas = neutralising.weak_acid_equivalents(1.0, PKA_CARBONIC, ph)
    each = (to_bicarbonate if content.equivalents > 1 else 0.0) + to_gas
    likely = times(content.mol, -each, "mol")
    if acid:
        assumptions.append(f"{_begun(content.name)} binds more acid where its gas has gone: the low end counts that.")
    return _need(
        content,
        "alkali",
        Estimate(likely.value, -content.mol.high * content.equivalents if acid else likely.low, likely.high, "mol"),
        -each,
    )


def _put_in(stream: Stream, assumptions: list[str]) -> list[Need]:
    """Base that treatments put in beyond the free acid, which works on the metals next; below zero acid that they put in."""
    left = stream.base_mol
    if left is None:
        return []
    base = left.value > 0
    what = "base" if base else "acid"
    assumptions.append(f"The {what} that treatments put in counts as logged: a test after stirring tells whether it worked.")
    kind = "alkali" if base else "free acid"
    mol = left if base else times(left, -1.0, "mol")
    sign = -1.0 if base else 1.0
    return [Need(species=f"{what} put in", kind=kind, mol=mol, charge=sign, equivalents=times(mol, sign, "mol"))]


def _strong_by_ph(stream: Stream, known: bool, assumptions: list[str]) -> Need | None:
    """Where neither acid nor alkali is on record: what the measured pH alone tells, 10^-pH (or 10^(pH-14)) mol in a litre."""
    volume = sound(stream.volume_l) if stream.volume_l is not None else None
    ph = sound(stream.ph) if stream.ph is not None else None
    if known:
        return None
    if is_solid(stream) and (volume is None or ph is None):
        return None
    if volume is None or ph is None or ph.high > 14:
        assumptions.append(
            "No free acid or alkali is on record, nor a pH with litres to tell it from: measure the pH; acid counts on top."
        )
        return None
    ends = [_strong_mol_l(p) for p in (ph.high, ph.value, ph.low)]
    low, value, high = (m * volume.value for m in ends)
    assumptions.append(
        "Acid or alkali is counted from the pH alone, as of a strong one: a bisulfate, buffered or metal-rich liquid holds "
        "much more; titrate it."
    )
    mol = Estimate(abs(value), min(abs(low), abs(value), abs(high)), max(abs(low), abs(value), abs(high)), "mol")
    return Need(
        species="by its pH",
        kind="free acid" if value >= 0 else "alkali",
        mol=mol,
        charge=1.0 if value >= 0 else -1.0,
        equivalents=Estimate(value, low, high, "mol"),
    )


def _strong_mol_l(ph: float) -> float:
    """mol/L of strong acid (negative: alkali), dilute, 25 degC: H+ less OH-."""
    return float(10.0**-ph - 10.0 ** (ph - 14.0))


def _second_road(
    needs: list[Need], shared: float, made_up: Estimate | None, dragged: Estimate | None, put_in: Estimate | None
) -> SecondRoad | None:
    made = sound(made_up) if made_up is not None else None
    if made is None:
        return None
    out = (sound(dragged) if dragged is not None else None) or Estimate(0.0, 0.0, 0.0, "mol")
    less = [times(out, -1.0, "mol"), *([times(put_in, -1.0, "mol")] if put_in is not None else [])]
    road = added([made, *less], 0.0, "mol")
    contents = added([n.equivalents for n in needs if n.kind in ("free acid", "metal", "alkali")], shared, "mol")
    difference = added([contents, times(road, -1.0, "mol")], 0.0, "mol")
    slack = ROADS_APART * made.value
    agree = difference.low - slack <= 0 <= difference.high + slack
    return SecondRoad(made_up=made, dragged_out=out, equivalents=road, difference=difference, agree=agree, put_in=put_in)
