"""Hazardous properties that come into question in the European Union and the United Kingdom, by the arithmetic of Annex III."""

from __future__ import annotations

from collections.abc import Iterable, Iterator

import msgspec

from bathkeeper.findings import Estimate
from bathkeeper.units.numerals import figures
from bathkeeper.waste.composition import Composition, Part, composition
from bathkeeper.waste.content import said
from bathkeeper.waste.loader import WasteData, load
from bathkeeper.waste.schema import Property, Threshold, Trigger
from bathkeeper.waste.stream import Stream

HP_ORDER = tuple(f"HP {n}" for n in range(1, 16))
NOT_JUDGED = ("HP 1", "HP 3", "HP 9", "HP 15")
"""Properties that no arithmetic on these contents speaks of: a test, or whoever knows the waste, does."""
_SURE = {"likely": 0, "possible": 1, "ask": 2, "measure": 3}


def properties(stream: Stream) -> tuple[Property, ...]:
    """The hazardous properties that come into question, by number; never empty. What is not listed is not thereby ruled out.

    ``likely`` when the middle of the range reaches a trigger, ``possible`` when its high end does. HP 4 falls away where HP 8
    is likely, and is said to where HP 8 is possible. Without a mass or a volume there is one row that says what to measure.
    """
    made = composition(stream)
    data = load()
    found: list[Property] = []
    if made.mass_kg is None:
        found.append(_measure(made))
    else:
        found += _reached(made, data)
    found += _by_ph(stream, data, {p.hp for p in found if p.verdict == "likely"})
    found += _open(stream, made)
    return _settled(found) or (_none_reached(made),)


def _reached(made: Composition, data: WasteData) -> Iterator[Property]:
    for trigger in data.triggers:
        if trigger.way == "present":
            yield from _present(trigger, made, data)
            continue
        percent, parts = _against(trigger, made.parts)
        if percent is None or trigger.percent is None or not _at(percent.high, trigger.percent):
            continue
        likely = _at(percent.value, trigger.percent) and (trigger.name != "HP 4 irritant" or _both(trigger, made.parts))
        yield Property(
            hp=trigger.hp,
            title=data.titles[trigger.hp].title,
            verdict="likely" if likely else "possible",
            why=_why(trigger, percent, parts, likely),
            status=trigger.status,
            source=_source(trigger),
            percent=percent,
            trigger=trigger.percent,
            substances=tuple(p.substance.name for p in parts),
            assumed=made.assumed,
        )


def _against(trigger: Trigger, parts: Iterable[Part]) -> tuple[Estimate | None, tuple[Part, ...]]:
    """What is set against a trigger: the weighted sum of what lies at or above its cut-off, or the greatest substance."""
    chosen = [p for p in parts if any(p.substance.carries(h) for h in trigger.hazards)]
    if not chosen:
        return None, ()
    if trigger.way == "single":
        most = max(chosen, key=lambda p: (p.percent.high, p.percent.value))
        return most.percent, (most,)
    ends = [sum(_counted(trigger, p, end) for p in chosen) for end in ("value", "low", "high")]
    used = tuple(p for p in chosen if _counted(trigger, p, "high") > 0)
    return Estimate(ends[0], ends[1], ends[2], "%"), used


def _counted(trigger: Trigger, part: Part, end: str) -> float:
    """What one substance adds to a sum at one end of its range; with several hazards, the heaviest of those it carries."""
    percent: float = getattr(part.percent, end)
    added = 0.0
    for n, hazard in enumerate(trigger.hazards):
        cut = trigger.cut_off[n] if trigger.cut_off else 0.0
        if part.substance.carries(hazard) and _at(percent, cut):
            added = max(added, percent * (trigger.weights[n] if trigger.weights else 1.0))
    return added


def _both(trigger: Trigger, parts: tuple[Part, ...]) -> bool:
    """Whether the substances that carry every one of the hazards reach the trigger by themselves. The law says "and": read
    narrowly it means these alone, read widely all that carry either; the wide reading makes a property possible, no more."""
    narrow = [p for p in parts if all(p.substance.carries(h) for h in trigger.hazards)]
    return trigger.percent is not None and _at(sum(_counted(trigger, p, "value") for p in narrow), trigger.percent)


def _at(percent: float, limit: float) -> bool:
    """At or above a limit; a rounding of the last bit does not lift a sum over or under the edge."""
    return percent >= limit * (1 - 1e-12)


def _why(trigger: Trigger, percent: Estimate, parts: tuple[Part, ...], likely: bool) -> str:
    names = ", ".join(f"{p.substance.name} {said(p.percent)}" for p in parts[:4])
    hazards = " or ".join(trigger.hazards)
    how = f"one substance of {hazards}" if trigger.way == "single" else f"the sum of {hazards}"
    if trigger.weights:
        how = "the sum " + " + ".join(f"{w:g} x {h}" for w, h in zip(trigger.weights, trigger.hazards, strict=True))
    end = "" if likely else ", reached at the high end of the range"
    if not likely and _at(percent.value, trigger.percent or 0.0):
        end = f", reached if what bears {hazards} counts, not only what bears both"
    counted, under = _told(trigger, percent, parts)
    return f"{names}: {how} is {said(counted)}{under}, the trigger is {figures(trigger.percent or 0.0)} %{end}"


def _told(trigger: Trigger, percent: Estimate, parts: tuple[Part, ...]) -> tuple[Estimate, str]:
    """The sum with its range as that of its parts, and that its low end does not count where it lies under a cut-off: one range
    is not told in two ways."""
    if trigger.way == "single" or not trigger.cut_off:
        return percent, ""
    whole = sum(_counted(msgspec.structs.replace(trigger, cut_off=()), p, "low") for p in parts)
    if percent.low >= whole * (1 - 1e-9):
        return percent, ""
    cuts = " or ".join(dict.fromkeys(f"{figures(c)} %" for c in trigger.cut_off))
    least = min(whole, percent.value)
    return Estimate(percent.value, least, percent.high, percent.unit), f" (what lies under {cuts} does not count)"


def _present(trigger: Trigger, made: Composition, data: WasteData) -> Iterator[Property]:
    parts = [p for p in made.parts if any(p.substance.carries(h) for h in trigger.hazards)]
    if parts:
        names = ", ".join(f"{p.substance.name} {said(p.percent)}" for p in parts[:4])
        yield Property(
            hp=trigger.hp,
            title=data.titles[trigger.hp].title,
            verdict="ask",
            why=f"it holds {names}, whose entry bears {' or '.join(trigger.hazards)}: only a test or the guidance decides",
            status=trigger.status,
            source=_source(trigger),
            substances=tuple(p.substance.name for p in parts),
            assumed=made.assumed,
        )


def _by_ph(stream: Stream, data: WasteData, likely: set[str]) -> Iterator[Property]:
    if stream.ph is None or "HP 8" in likely:
        return
    for edge in data.reserve.values():
        if edge.tripped(stream.ph.low) or edge.tripped(stream.ph.high):
            yield Property(
                hp="HP 8",
                title=data.titles["HP 8"].title,
                verdict="possible",
                why=f"pH {said(stream.ph).replace(' pH', '')} measured, {edge.trips} {edge.value:g}: {edge.text}",
                status=edge.status,
                source=edge.citation,
            )


def _measure(made: Composition) -> Property:
    return Property(
        hp="",
        title="cannot be reckoned yet",
        verdict="measure",
        why="neither its mass nor its volume is known: weigh the container, or read its litres and measure the density",
        status="derived",
        source="the triggers are percent by mass (Directive 2008/98/EC, Annex III)",
        assumed=made.assumed,
    )


def _none_reached(made: Composition) -> Property:
    return Property(
        hp="",
        title="no trigger reached by this arithmetic",
        verdict="ask",
        why=f"by what is known here, which is no verdict: {', '.join(NOT_JUDGED)} are not judged at all; a test may say more",
        status="derived",
        source="the triggers are percent by mass (Directive 2008/98/EC, Annex III)",
        assumed=made.assumed,
    )


def _open(stream: Stream, made: Composition) -> Iterator[Property]:
    reasons = list(made.uncounted)
    if not stream.complete:
        reasons.insert(0, "something unknown went in as well: have it analysed or tell what it was")
    elif not stream.amounts:
        reasons.insert(0, "its contents are not known in numbers")
    if reasons:
        yield Property(
            hp="",
            title="not counted above",
            verdict="ask",
            why="; ".join(reasons[:8]),
            status="derived",
            source="what the stream holds beside what the harmonised entries cover",
        )


def _settled(found: list[Property]) -> tuple[Property, ...]:
    """One row for each property, the surest; HP 4 gone where HP 8 is likely."""
    best: dict[str, Property] = {}
    loose: list[Property] = []
    for p in found:
        if not p.hp:
            loose.append(p)
        elif p.hp not in best or _SURE[p.verdict] < _SURE[best[p.hp].verdict]:
            best[p.hp] = p
    eight = best.get("HP 8")
    if eight is not None and "HP 4" in best:
        if eight.verdict == "likely":
            del best["HP 4"]
        else:
            best["HP 4"] = msgspec.structs.replace(best["HP 4"], why=best["HP 4"].why + "; it falls away if HP 8 holds")
    return (*(best[hp] for hp in HP_ORDER if hp in best), *loose)


def _source(trigger: Trigger | Threshold) -> str:
    return f"{trigger.citation} ({trigger.edition}): {trigger.source}"
