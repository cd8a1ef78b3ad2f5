"""The disposal plan of one container: what it is, what it would take on paper, what to ask and whom to hand it to.

It is arithmetic for understanding. It never allows anything, names no code as final, and ends with the local authority or a
licensed contractor.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from datetime import datetime

import msgspec

from bathkeeper.entries import WasteKind
from bathkeeper.findings import Estimate
from bathkeeper.refusals import shorten
from bathkeeper.waste.allowing import AllowanceUse, months_for
from bathkeeper.waste.base_need import BaseNeed, base_need
from bathkeeper.waste.saying import origins_said, ph_said, plain, quantity_said
from bathkeeper.waste.spreads import sound
from bathkeeper.waste.stream import Origin, Stream
from bathkeeper.waste.treatment_data import load, note_lines
from bathkeeper.waste.treatment_sums import ShelfBase, TreatmentSums, treatment_sums

HOUSEHOLD = ("household", "hobby", "private", "home")
BUSINESS = ("business", "company", "trade")

LONGEST_CODE = 12
VISIT_FROM_L = 20.0
"""Litres from which most single-visit limits are exceeded; councils publish from 5 L a month to 20 L a material."""


class Held(msgspec.Struct, frozen=True, kw_only=True):
    """One content: how much of it there is, and in a litre (None where the litres are unknown)."""

    species: str
    title: str
    amount: Estimate
    concentration: Estimate | None


class RecordField(msgspec.Struct, frozen=True, kw_only=True):
    """A line of what a hand-over record asks for: what is known already, empty where it is to be filled in."""

    field: str
    known: str = ""


class DisposalPlan(msgspec.Struct, frozen=True, kw_only=True):
    """All that is told of a container. ``months``: at the council's allowance, None where nobody told it (ask) or the litres
    are unknown; ``months_high``: by the high end of the litres. ``last_step`` closes every plan; ``entries`` put the contents
    on record. ``use``: the allowance with what is used up of it, where it is on record.
    """

    container: str
    at: datetime
    rule_set_title: str
    rule_set_date: str
    since: datetime | None
    kinds: tuple[WasteKind, ...]
    origins: tuple[Origin, ...]
    volume_l: Estimate | None
    mass_kg: Estimate | None
    ph: Estimate | None
    complete: bool
    contents: tuple[Held, ...]
    candidates: tuple[str, ...]
    must_not_touch: tuple[str, ...]
    need: BaseNeed
    sums: TreatmentSums
    home_treatment: tuple[str, ...]
    allowance_l_per_month: float | None
    months: int | None
    months_high: int | None
    notes: tuple[str, ...]
    questions: tuple[str, ...]
    hand_over: tuple[RecordField, ...]
    last_step: str
    entries: tuple[str, ...] = ()
    empty: bool = False
    use: AllowanceUse | None = None


def disposal_plan(
    stream: Stream,
    *,
    rule_set_title: str,
    rule_set_date: str,
    authority: str,
    candidates: Sequence[str],
    must_not_touch: Sequence[str],
    keeper: str,
    treatment: Sequence[str],
    allowance_l_per_month: float | None,
    shelf: Sequence[ShelfBase],
    now: datetime,
    ph: float = 9.5,
    need: BaseNeed | None = None,
    known: Mapping[str, str] | None = None,
    use: AllowanceUse | None = None,
) -> DisposalPlan:
    """The plan.

    Args:
        authority: whom to ask; the local authority in general where empty.
        candidates: codes that may fit, each a line of text; never final.
        must_not_touch: what must not meet it, each a line of text.
        keeper: ``household`` or ``business``; anything else is asked about.
        treatment: why treating may be unlawful under this rule set, each a line with its mark and source
            (``treatment_data.note_lines``); the general reason where empty.
        allowance_l_per_month: what the council takes from one household in a month, L.
        shelf: of ``treatment_sums.bases_on_shelf``.
        need: where it was worked out before, with a pickle's second road; else by ``ph``.
        known: what the book knows for the hand-over record, by ``who``, ``site``, ``codes``, ``hazards``, ``containers`` and
            ``stood`` (where, how long); what is not among them is taken from the stream or left to be filled in.
        use: the allowance with what is used up of it; it stands for ``allowance_l_per_month``, and may be in kg.

    Raises:
        ValueError: a pH outside 0 to 14.
    """
    wanted = need if need is not None else base_need(stream, ph)
    volume = sound(stream.volume_l) if stream.volume_l is not None else None
    allowance = allowance_l_per_month
    if allowance is not None and not (math.isfinite(allowance) and allowance > 0):
        allowance = None
    amount = volume if use is None or use.unit == "L" else sound(stream.mass_kg) if stream.mass_kg is not None else None
    return DisposalPlan(
        container=stream.name,
        at=now,
        rule_set_title=rule_set_title,
        rule_set_date=rule_set_date,
        since=stream.since,
        kinds=stream.kinds,
        origins=stream.origins,
        volume_l=volume,
        mass_kg=sound(stream.mass_kg) if stream.mass_kg is not None else None,
        ph=sound(stream.ph) if stream.ph is not None else None,
        complete=stream.complete,
        contents=_contents(stream),
        candidates=tuple(candidates),
        must_not_touch=tuple(must_not_touch),
        need=wanted,
        sums=treatment_sums(stream, wanted, shelf),
        home_treatment=_home_treatment(treatment),
        allowance_l_per_month=allowance,
        months=_months(amount.value, allowance, use) if amount is not None else None,
        months_high=_months(amount.high, allowance, use) if amount is not None else None,
        notes=_notes(stream, volume, wanted, keeper) if not stream.empty else (),
        questions=_questions(stream, wanted, keeper, use is None and allowance is None),
        hand_over=_hand_over(stream, volume, candidates, keeper, known or {}),
        last_step=_last_step(authority, rule_set_title, rule_set_date),
        entries=stream.entries,
        empty=stream.empty,
        use=use,
    )


def _months(amount: float, allowance_l_per_month: float | None, use: AllowanceUse | None) -> int | None:
    if use is not None:
        return months_for(use, amount)
    return months_needed(amount, allowance_l_per_month) if allowance_l_per_month is not None else None


def months_needed(litres: float, allowance_l_per_month: float) -> int:
    """Whole months for so many litres at so many litres a month; a last visit that is not full counts as one."""
    return max(math.ceil(litres / allowance_l_per_month - 1e-9), 0)


def _contents(stream: Stream) -> tuple[Held, ...]:
    held = []
    for name, amount in stream.amounts.items():
        known = sound(amount)
        if known is None:
            continue
        species = stream.species.get(name)
        try:
            each = stream.concentration(name)
        except ArithmeticError:
            each = None
        title = species.title if species is not None and species.title else name
        in_a_litre = sound(each) if each is not None else None
        held.append(Held(species=name, title=title, amount=known, concentration=in_a_litre))
    return tuple(sorted(held, key=lambda h: (-h.amount.value, h.species)))


def _home_treatment(notes: Sequence[str]) -> tuple[str, ...]:
    told = [n for n in notes if n.strip()] or [*note_lines([load().notes["other"]])]
    told.append(
        "Do not mix it with anything, water included: in many places dilution counts as mixing hazardous waste (Directive "
        "2008/98/EC article 18, for one), and it takes options away."
    )
    told.append("The sums are for understanding and for whoever takes it. They are not leave to treat it or to pour it away.")
    return tuple(told)


def _notes(stream: Stream, volume: Estimate | None, need: BaseNeed, keeper: str) -> tuple[str, ...]:
    told = []
    if not stream.complete:
        told.append("Something unknown went in: what is told of its contents is the least that is there. Say so at hand-over.")
    if volume is None and stream.mass_kg is None:
        told.append("Neither litres nor kilograms are known: measure the level or weigh it; write which of the two it was.")
    if volume is not None and volume.high >= VISIT_FROM_L:
        told.append(
            "From 20 L on it is more than most councils take in one visit (published examples run from 5 L a month to 20 L of "
            "a material): ask first, perhaps over several visits. No promise that it is taken."
        )
    if need.unknown:
        names = ", ".join(shorten(u) for u in need.unknown)
        told.append(f"Not known what it takes or holds: {names}. Their data sheets belong with it.")
    who = _keeper(keeper)
    if who == "household":
        told.append(
            "As a household: collection points take what homes usually throw away, and a plating bath may not be that. Plating "
            "for payment is a business. Ask before you bring it."
        )
    elif who == "business":
        told.append(
            "As a business: household collections are not for this; whoever carries and takes it must be licensed for it."
        )
    else:
        told.append(
            "Whether this is household or business waste is not on record, and much depends on it: plating for payment is a "
            "business."
        )
    return tuple(told)


def _keeper(text: str) -> str:
    word = text.strip().casefold()
    if any(w in word for w in BUSINESS):
        return "business"
    return "household" if any(w in word for w in HOUSEHOLD) else ""


def _questions(stream: Stream, need: BaseNeed, keeper: str, untold: bool) -> tuple[str, ...]:
    asked = ["Do you take this, from me, as described? In which containers, how full, labelled how?"]
    if untold:
        asked.append("How many litres or kilograms do you take in a visit and in a month?")
    if _keeper(keeper) != "business":
        asked.append("Does waste of a hobby plating bath count as household waste with you?")
    asked += [
        "Which code and which papers do you want, and who fills in what?",
        "May I treat any of it here, under which permit or exemption? If not, do you want it as it stands?",
        "Is there anything that you want tested first, and by whom?",
    ]
    if need.ammonium_mol.high > 0 or need.complexants:
        asked.append("It holds ammonium or what keeps metals in solution: do you take it as a liquid, apart from the rest?")
    if "sludge" in stream.kinds:
        asked.append("Do you want the sludge wet, drained or pressed?")
    asked.append("How long may it stand here until then, and what does it cost?")
    return tuple(asked)


def _hand_over(
    stream: Stream, volume: Estimate | None, candidates: Sequence[str], keeper: str, told: Mapping[str, str]
) -> tuple[RecordField, ...]:
    mass = sound(stream.mass_kg) if stream.mass_kg is not None else None
    form = "liquid" if volume is not None and volume.value > 0 else ""
    ph = sound(stream.ph) if stream.ph is not None else None
    rows = [
        ("who hands over: name, address, phone, email, trade code if a business", told.get("who") or _keeper(keeper)),
        ("site or premises number, where one is needed", told.get("site", "")),
        ("what made it: process, tank, batch, why it was dumped", origins_said(stream.origins)),
        ("waste codes (candidates; the one who takes it confirms)", told.get("codes") or _bare_codes(candidates)),
        ("hazard properties and their basis", told.get("hazards", "")),
        (
            "components with their share, pH, density, form, colour",
            ", ".join(w for w in (form, _ph(ph), _density(stream)) if w),
        ),
        ("quantity, and whether estimated or weighed", quantity_said(volume, mass)),
        ("containers: number, type, size, sealed", told.get("containers", "")),
        ("start date, where it stood, days held", "; ".join(w for w in (_day(stream.since), told.get("stood", "")) if w)),
        ("transport: UN number, name, class, packing group", ""),
        ("persistent organic pollutants in it or not, where asked", ""),
        ("carrier: name, registration, vehicle", ""),
        ("where it goes: name, permit, recovery or disposal code", ""),
        ("consignment or manifest number", ""),
        ("dates, signatures; a rejected load; the returned copy", ""),
        ("statement on the waste hierarchy, where asked", ""),
        ("copies kept: 3 years as a simple rule, 6 if unsure (practice); longer where the rules say so", ""),
    ]
    return tuple(RecordField(field=f, known=k) for f, k in rows)


def _bare_codes(candidates: Sequence[str]) -> str:
    """The codes alone, of lines that begin with one: ``11 01 05*: spent pickling acids ...``."""
    heads = [line.partition(": ") for line in candidates]
    return ", ".join(dict.fromkeys(code for code, colon, _ in heads if colon and len(code) <= LONGEST_CODE))


def _ph(ph: Estimate | None) -> str:
    return ph_said(ph) if ph is not None else ""


def _density(stream: Stream) -> str:
    if stream.density_g_ml is None or stream.volume_l is None or not 0.5 < stream.density_g_ml < 3:
        return ""
    return f"about {stream.density_g_ml:.3g} g/mL"


def _day(moment: datetime | None) -> str:
    return f"{moment:%Y-%m-%d}" if moment is not None else ""


def _last_step(authority: str, title: str, date: str) -> str:
    whom = plain(authority, 120) or "council or sewer company"
    named = "; ".join(w for w in (plain(title, 120), plain(date, 200)) if w)
    rules = f"Rules read here: {named}. " if plain(title) else ""
    return (
        f"{rules}Before treating it or letting any of it go, ask with this sheet ({whom}). What they say wins over every line "
        "here. Hand it over to the local authority or a licensed contractor."
    )
