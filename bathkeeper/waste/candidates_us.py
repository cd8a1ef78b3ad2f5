"""The federal codes of the United States that come into question: characteristics by the numbers, F006 by the source."""

from __future__ import annotations

import math
from collections.abc import Iterator

from bathkeeper.findings import Estimate
from bathkeeper.units.numerals import figures
from bathkeeper.waste.content import LIQUID, equivalents, grams, is_metal, may_hold, metal, oxidiser, said, times
from bathkeeper.waste.loader import load
from bathkeeper.waste.schema import Candidate, RuleSet, Strength, Threshold
from bathkeeper.waste.stream import Stream

TOXIC = (("D007", "d007", "chromium"), ("D006", "d006", "cadmium"), ("D008", "d008", "lead"))
_EXTRACT = "the test is made on an extract; a liquid with less than 0.5 % solids is its own extract"
_ZINC_ONLY = "zinc plating on carbon steel, on a segregated basis"


def federal(stream: Stream, rules: RuleSet) -> Iterator[Candidate]:
    """Candidates of the federal list; at least one row, the last resort without a code. Cyanide codes (F007 to F009) never
    come, because no bath here holds cyanide."""
    found = (*_sludge(stream), *_toxic(stream, rules), *_corrosive(stream, rules), *_oxidising(stream))
    yield from found
    if all(c.strength == "question" for c in found):
        yield Candidate(
            code="",
            title="no federal code suggests itself",
            why="from what is known here; that is no verdict. Nickel, zinc and cobalt have no federal extract limit, but may"
            " have one in your state",
            strength="question",
            status=rules.threshold("d007").status,
            source=_source(rules.threshold("d007")),
            note="the determination is yours to make, with the state or a licensed contractor; sludge that falls out later may"
            " be F006",
        )


def _sludge(stream: Stream) -> Iterator[Candidate]:
    if "sludge" not in stream.kinds:
        return
    code = load().codes["F006"]
    roles = {o.role for o in stream.origins}
    plated = bool(roles & {"plate", "rinse", ""}) or not stream.origins
    why = "sludge from a plating line: listed by its source, whatever its analysis"
    if _plain_zinc(stream):
        note = (
            f"a question to ask the state: {_ZINC_ONLY}, is among the exclusions; it asks for a zinc stream kept and treated"
            " apart from every other listed one"
        )
    elif may_hold(stream, "nickel") or _nickel_line(stream):
        note = (
            f"the exclusions name {_ZINC_ONLY}; zinc-nickel is not named, and nickel is a reason for the listing: count it as"
            " F006 unless the state says otherwise"
        )
    else:
        note = "sludge of mixed streams is F006 as soon as one of them is"
    yield Candidate(
        code=code.code,
        title=code.title,
        why=why,
        strength="first" if plated else "also",
        status=code.status,
        source=f"{code.citation} ({code.edition}): {code.source}",
        entry=code.entry,
        note=note,
    )


def _plain_zinc(stream: Stream) -> bool:
    """Whether all that is known of it is zinc plating: every origin a zinc bath, and no metal of another stream in it."""
    if not stream.complete or not stream.origins or not may_hold(stream, "zinc"):
        return False
    named = all(o.role == "plate" and "zinc" in (o.recipe or "") and "nickel" not in (o.recipe or "") for o in stream.origins)
    others = ("nickel", "cobalt", "chromium", "cadmium")
    return named and not any(is_metal(key, m) for key in (*stream.amounts, *stream.species) for m in others)


def _nickel_line(stream: Stream) -> bool:
    return any("nickel" in (o.recipe or "") for o in stream.origins)


def _toxic(stream: Stream, rules: RuleSet) -> Iterator[Candidate]:
    for code_name, number, name in TOXIC:
        limit = rules.threshold(number)
        code = load().codes[code_name]
        c = metal(stream, name)
        strength: Strength
        if c is not None and limit.tripped(_lifted(c.high)):
            strength = "first" if limit.tripped(_lifted(c.value)) else "also"
            why = f"{name} {said(c)}: {_against(c, limit)}"
        elif c is None and may_hold(stream, name):
            amount = grams(stream, name)
            strength = "also"
            in_all = f", {said(amount)} in all" if amount else ""
            why = f"{name} is in it{in_all}{_in_mass(stream, amount)}; the volume is not known"
        elif name == "chromium" and "passivate" in stream.roles and (c is None or not stream.complete):
            strength, why = "also", "it came from a chromium passivate, and how much chromium it holds is not known"
        elif name == "cadmium" and not stream.complete and any(is_metal(key, name) for key in stream.species):
            strength, why = "question", "what went in is not all known, and stripped coatings may be cadmium"
        else:
            continue
        yield Candidate(
            code=code_name, title=code.title, why=why + ("; trivalent chromium counts too" if name == "chromium" else ""),
            strength=strength, status=limit.status, source=_source(limit), entry=code.entry, note=_EXTRACT,
        )  # fmt: skip


def _in_mass(stream: Stream, amount: Estimate | None) -> str:
    kg = stream.mass_kg.value if stream.mass_kg is not None else 0.0
    return f" ({figures(float(f'{amount.value * 1e3 / kg:.2g}'))} mg/kg)" if amount is not None and kg > 1e-9 else ""


def _against(c: Estimate, limit: Threshold) -> str:
    over = c.value / limit.value
    what = f"{limit.value:g} {limit.unit} in the extract"
    if over >= 10:
        return f"far above {what} ({times(over)} times)"
    if limit.tripped(_lifted(c.low)):
        return f"at or above {what}"
    return f"the range reaches {what}"


def _lifted(mg_l: float) -> float:
    """A concentration whose last bit was lost in dividing by litres does not fall below the edge that it stands on."""
    return mg_l * (1 + 1e-12)


def _corrosive(stream: Stream, rules: RuleSet) -> Iterator[Candidate]:
    if not any(kind in LIQUID for kind in stream.kinds) and (stream.kinds or stream.volume_l is None):
        return
    acid, alkaline = rules.threshold("d002-acid"), rules.threshold("d002-alkaline")
    code = load().codes["D002"]
    strength: Strength
    if stream.ph is not None:
        ph = stream.ph
        if acid.tripped(ph.low) or alkaline.tripped(ph.high):
            sure = acid.tripped(ph.value) or alkaline.tripped(ph.value)
            strength = "first" if sure else "also"
            edge = acid if acid.tripped(ph.low) else alkaline
            side = "at or below" if edge is acid else "at or above"
            why = f"pH {said(ph).replace(' pH', '')} measured: {side} {edge.value:g}" + ("" if sure else " within its range")
            note = "by the pH of the waste as it stands"
        else:
            return
    else:
        hint, strength = _hint(stream, acid, alkaline)
        why = f"pH not measured; {hint}"
        note = f"measure pH: at or below {acid.value:g} or at or above {alkaline.value:g} it is D002"
    yield Candidate(
        code=code.code, title=code.title, why=why, strength=strength, status=code.status, source=_source(acid),
        entry=code.entry, note=note,
    )  # fmt: skip


def _hint(stream: Stream, acid: Threshold, alkaline: Threshold) -> tuple[str, Strength]:
    """What the free acid or alkali by the estimate lets expect, as strong ones: a hint, not a pH."""
    little = []
    for kind, edge, at in (("acid", acid, 10**-acid.value), ("alkali", alkaline, 10 ** (alkaline.value - 14))):
        eq = equivalents(stream, kind)
        if eq is not None and eq.high < at:
            little.append(f"free {kind} up to {eq.high:.2g} eq/L by the estimate, which alone would not bring it there")
        if eq is not None and eq.high >= at:
            likely = eq.value >= at
            ph = -math.log10(max(eq.value, 1e-12)) if kind == "acid" else 14 + math.log10(max(eq.value, 1e-12))
            side = "below" if kind == "acid" else "above"
            about = "a pH near 0" if ph < 0.5 else "a pH near 14" if ph > 13.5 else f"about pH {ph:.1f}"
            told = f"free {kind} {said(eq)} by the estimate, where a strong {kind} would show {about}"
            return f"{told}: {'expect it' if likely else 'it may be'} {side} {edge.value:g}", "also"
    return "; ".join(little) or "nothing is known of free acid or alkali in it", "question"


def _oxidising(stream: Stream) -> Iterator[Candidate]:
    found = oxidiser(stream)
    if not found:
        return
    code = load().codes["D001"]
    acid = equivalents(stream, "acid")
    how_much = f"; acid {said(acid)}" if acid is not None else ""
    yield Candidate(
        code=code.code,
        title=code.title,
        why=f"it holds an oxidiser ({', '.join(found[:3])}{how_much})",
        strength="also" if "chemicals" in stream.kinds else "question",
        status=code.status,
        source=f"{code.citation} ({code.edition}): {code.source}",
        entry=code.entry,
        note="whether so weak or strong a solution feeds a fire is a matter of judgement or test: ask",
    )


def _source(t: Threshold) -> str:
    return f"{t.citation} ({t.edition}): {t.source}" if t.source else t.citation
