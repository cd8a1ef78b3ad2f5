"""Whether a plated steel part needs a relief bake, how long and how hot, by the rule set that the keeper names.

The program decides nothing of its own: it looks up the named rule, says what it read, and gives no verdict on parts whose
failure could hurt someone. Between and beyond the printed rows it says so.
"""

from __future__ import annotations

import math
import re
from collections.abc import Iterable, Mapping
from datetime import UTC, datetime, timedelta

import msgspec

from bathkeeper.catalogue.loader import plain_name
from bathkeeper.catalogue.schema import Status
from bathkeeper.catalogue.typed import near
from bathkeeper.safety.loader import load
from bathkeeper.safety.schema import (
    AXIS_UNITS,
    Axis,
    BakeBand,
    BakeRule,
    FastenerClass,
    Needed,
    Range,
    SafetyError,
)
from bathkeeper.units.numerals import tidy

STATUS_ORDER: tuple[Status, ...] = ("seen", "derived", "memory", "practice")
SEVERITY: tuple[Needed, ...] = ("no", "verify", "yes", "no verdict")
PLATER = "A qualified plater has to judge this part; there is no verdict from us."


class Bake(msgspec.Struct, frozen=True, kw_only=True):
    """What a named rule says of a part. ``hours`` are the least; None where the rule's hours were not read or do not apply.

    ``hours_if_hardest``: what the rule asks if the part is as hard as its class allows, when that is more.
    ``start_within_h`` counts from the end of plating. ``verdict_withheld``: we decline, whatever the rule says.
    """

    needed: Needed
    hours: float | None = None
    hours_if_hardest: float | None = None
    temperature_c: tuple[float, float] | None = None
    start_within_h: float | None = None
    start_status: Status | None = None
    start_source: str = ""
    rule: str
    edition: str
    date: str
    why: str
    cautions: tuple[str, ...] = ()
    source: str
    status: Status
    verdict_withheld: bool = False


class _Measure(msgspec.Struct, frozen=True):
    """One known quantity of the part: on which axis, how much, and how we know."""

    axis: Axis
    value: float
    said: str
    status: Status
    source: str


class _Found(msgspec.Struct, frozen=True):
    """What a rule's rows say of one measure."""

    needed: Needed
    why: str
    band: BakeBand | None = None


def bake(
    *,
    rule: str,
    strength_mpa: float | None = None,
    property_class: str | None = None,
    hardness_hv: float | None = None,
    hardness_hrc: float | None = None,
    thickness_mm: float | None = None,
    in_tension: bool = True,
    safety_critical: bool = False,
    own: Mapping[str, BakeRule] | None = None,
) -> Bake:
    """What a rule set says of a part's relief bake.

    Args:
        rule: the rule set by name (``ASTM B850``, ``ISO 4042:2018``, ``ASTM F1941``, ``older ISO route``), the name of one in
            ``own``, or ``own`` when there is just one of the keeper's own.
        strength_mpa: tensile strength, MPa. Stands before what the class would give.
        property_class: ISO 898-1 class such as ``10.9``, or an SAE grade such as ``grade 8``.
        hardness_hv, hardness_hrc: greatest specified (else measured) hardness, Vickers or Rockwell C.
        thickness_mm: greatest cross-section, mm; only the older ISO route goes by it.
        in_tension: False for parts that carry no tension, such as set screws; ISO 4042 exempts them.
        safety_critical: brake, suspension, lifting, pressure: no verdict.
        own: the keeper's own rules by name (see :func:`bathkeeper.safety.loader.own_rule`).

    Raises:
        SafetyError: an unknown rule or class, an impossible number, or nothing given to go by.
    """
    chosen = named_rule(rule, own)
    for name, value in (("strength", strength_mpa), ("Vickers hardness", hardness_hv), ("thickness", thickness_mm)):
        _positive(name, value)
    _positive("Rockwell C hardness", hardness_hrc)
    fastener = fastener_class(property_class) if property_class is not None else None
    measures = _measures(strength_mpa, fastener, hardness_hv, hardness_hrc)
    usable = [m for m in measures if m.axis in chosen.axes]
    found = [(m, _look_up(chosen, m, thickness_mm)) for m in _firm(usable, fastener)]
    printed = max(found, key=_strictness, default=None)
    cautions = _cautions(measures, fastener, strength_mpa)
    withheld = _withheld(fastener, safety_critical)
    if withheld:
        return _no_verdict(chosen, f"{withheld} {_printed_all(chosen, printed)}".strip(), cautions, withheld=True)
    if not measures:
        raise SafetyError("give the strength (for example 1040 MPa), the property class (10.9) or the hardness (350 HV)")
    if not in_tension and chosen.not_in_tension_exempt:
        why = f"{chosen.edition} exempts parts that carry no tension, such as set screws."
        return _made(chosen, "no", why, cautions, chosen.status, chosen.source)
    if printed is None:
        wanted = " or ".join(_asked(a) for a in chosen.axes)
        said = ", ".join(m.said for m in measures)
        why = f"{chosen.edition} goes by {wanted}; {said} does not say that. Give the {wanted}."
        return _no_verdict(chosen, why, cautions)
    measure, result = printed
    why = f"{result.why} {chosen.about} {chosen.newer}".strip()
    if result.band is None or result.needed == "no verdict":
        return _no_verdict(chosen, why, cautions, withheld=result.band is not None, band=result.band)
    status = max(result.band.status, measure.status, key=STATUS_ORDER.index)
    source = "; ".join(dict.fromkeys(s for s in (result.band.source, measure.source) if s))
    made = _made(chosen, result.needed, why, cautions, status, source)
    if result.needed != "yes":
        return made
    return _with_hours(made, chosen, result.band, _hardest(chosen, usable, result.band, thickness_mm))


def start_by(end_of_plating: datetime, bake: Bake) -> datetime:
    """The latest moment at which the bake may start, in the time zone of ``end_of_plating``; hours are real hours, also on
    the night when clocks change.

    Raises:
        SafetyError: no time zone on the moment, or the rule as read names no delay (or asks for no bake).
    """
    if end_of_plating.utcoffset() is None:
        raise SafetyError("the end of plating needs its time zone, for example 2024-05-01T14:30+02:00")
    if bake.start_within_h is None:
        said = "asks for no bake here" if bake.needed == "no" else "as read here names no delay"
        raise SafetyError(f"{bake.rule} {said}, so there is no latest start")
    return (end_of_plating.astimezone(UTC) + timedelta(hours=bake.start_within_h)).astimezone(end_of_plating.tzinfo)


def named_rule(name: str, own: Mapping[str, BakeRule] | None = None) -> BakeRule:
    """A rule set by name or alias; the keeper's own stand before ours. Raises SafetyError with the near misses."""
    mine = dict(own or {})
    word = plain_name(name)
    for known in (mine, load().rules):
        for rule in known.values():
            if word in {plain_name(n) for n in (rule.name, rule.edition, *rule.aliases)}:
                return rule
    if word == "own":
        if len(mine) == 1:
            return next(iter(mine.values()))
        raise SafetyError(
            f"there are several rules of your own; name one of {', '.join(mine)}"
            if mine
            else "there is no rule of your own in the book; define one (of `limit`) with its bands, temperature and edition"
        )
    names = [*mine, *load().rules]
    raise SafetyError(f"no baking rule `{name}`{near(name, names)} There are {', '.join(names)}, own")


def fastener_class(text: str) -> FastenerClass:
    """A property class or grade by name.

    An ISO class that is not in the table counts by its name alone: the first number times 100 MPa.

    Raises:
        SafetyError: it names no class.
    """
    classes = load().classes
    word = plain_name(text.replace(",", ".")).removeprefix("property ").removeprefix("class ").strip()
    for known in classes.values():
        if word in {plain_name(n) for n in (known.name, *known.aliases)}:
            return known
    made = re.fullmatch(r"([1-9][0-9]?)\.([4-9])", word)
    if made and 3 <= int(made[1]) <= 19:
        return FastenerClass(
            name=word,
            strength_mpa=100.0 * int(made[1]),
            above_threshold=int(made[1]) > load().limits["no_verdict_class"].value,
            status="derived",
            source="naming of ISO 898-1: the first number times 100 MPa",
        )
    known_names = ", ".join(classes)
    raise SafetyError(
        f"`{text}` names no property class{near(word, list(classes))} Known are {known_names}; or give the strength in MPa"
    )


def _positive(name: str, value: float | None) -> None:
    if value is not None and not (math.isfinite(value) and value > 0):
        raise SafetyError(f"{name} {value:g} cannot be; it is a number above 0")


def _measures(strength: float | None, fastener: FastenerClass | None, hv: float | None, hrc: float | None) -> list[_Measure]:
    """Everything known of the part: what was given, then what its class allows and nothing given says."""
    given: list[tuple[Axis, float | None]] = [("strength_mpa", strength), ("hardness_hv", hv), ("hardness_hrc", hrc)]
    made = [_Measure(a, v, f"{tidy(v)} {AXIS_UNITS[a]} as given", "seen", "") for a, v in given if v is not None]
    if fastener is None:
        return made
    allowed: list[tuple[Axis, float | None, str]] = [
        ("strength_mpa", fastener.strength_mpa, "least"),
        ("hardness_hv", fastener.hardness_hv_max, "greatest"),
        ("hardness_hrc", fastener.hardness_hrc_max, "greatest"),
    ]
    hardness_given = hv is not None or hrc is not None
    for axis, value, which in allowed:
        told = strength is not None if axis == "strength_mpa" else hardness_given
        if value is not None and not told:
            said = f"{value:g} {AXIS_UNITS[axis]}, the {which} of class {fastener.name}"
            made.append(_Measure(axis, value, said, fastener.status, fastener.source))
    return made


def _firm(usable: list[_Measure], fastener: FastenerClass | None) -> list[_Measure]:
    """The measures a verdict rests on: all that were given; of a class, its strength where the rule goes by strength (its
    greatest hardness then only says how much more it could be)."""
    given = [m for m in usable if m.said.endswith("as given")]
    if given or fastener is None:
        return given
    strength = [m for m in usable if m.axis == "strength_mpa"]
    return strength or usable


def _look_up(rule: BakeRule, measure: _Measure, thickness_mm: float | None) -> _Found:
    """The row of a rule for one measure; where rows share an edge the longer, in a gap of the print the next one."""
    unit = AXIS_UNITS[measure.axis]
    rows = sorted(((_range(b, measure.axis), b) for b in rule.bands if getattr(b, measure.axis)), key=lambda r: r[0].low)
    inside = [(r, b) for r, b in rows if r.holds(measure.value)]
    if inside:
        return _of_rows(rule, measure, inside, thickness_mm, "")
    weaker = [(r, b) for r, b in rows if r.high <= measure.value]
    stronger = [(r, b) for r, b in rows if r.low >= measure.value]
    if not stronger:
        end = max(r.high for r, _ in rows)
        return _Found("no verdict", f"{rule.edition} ends at {end:g} {unit}; {measure.said} lies beyond its rows.")
    if not weaker:
        start = min(r.low for r, _ in rows)
        return _Found("no verdict", f"{rule.edition} begins at {start:g} {unit}; {measure.said} lies below its rows.")
    below, above = max(weaker, key=lambda r: r[0].high), [(r, b) for r, b in stronger if r.low == stronger[0][0].low]
    gap = f"{measure.said} falls between the printed rows {below[0].said(unit)} and {above[0][0].said(unit)}"
    if below[1].needed == "yes" and all(b.needed == "yes" for _, b in above):
        return _of_rows(rule, measure, above, thickness_mm, f"{gap}; the longer is shown.")
    if below[1].needed == "no" and all(b.needed in ("yes", "verify") for _, b in above):
        row = msgspec.structs.replace(above[0][1], needed="verify", hours=None)
        return _Found("verify", f"{gap}; {rule.edition} does not say which. Ask whoever named the rule.", row)
    return _Found("no verdict", f"{gap}; {rule.edition} says nothing of it.")


def _of_rows(
    rule: BakeRule, measure: _Measure, rows: list[tuple[Range, BakeBand]], thickness_mm: float | None, remark: str
) -> _Found:
    """The strictest of the rows that fit the cross-section too."""
    unit = AXIS_UNITS[measure.axis]
    if thickness_mm is None and all(b.thickness_mm is not None for _, b in rows):
        hours = sorted(b.hours for _, b in rows if b.hours is not None)
        listed = f" ({hours[0]:g} to {hours[-1]:g} h)" if hours else ""
        return _Found("no verdict", f"{rule.edition} goes by the cross-section too{listed}; give the greatest thickness in mm.")
    thick = thickness_mm or 0.0
    fitting = [(r, b) for r, b in rows if b.thickness_mm is None or b.thickness_mm.holds(thick)]
    if not fitting:
        ends = max(b.thickness_mm.high for _, b in rows if b.thickness_mm is not None)
        where = f"{ends:g} mm for {rows[-1][0].said(unit)}"
        return _Found("no verdict", f"{rule.edition} ends at {where}; {thick:g} mm lies beyond its rows.")
    span, band = max(fitting, key=lambda r: (SEVERITY.index(r[1].needed), r[1].hours or 0.0))
    if len(fitting) > 1:
        remark = f"{remark} It is printed in {len(fitting)} rows; the strictest is shown.".strip()
    stretch = span.said(unit)
    joined = stretch if stretch.startswith(("below", "above", "from")) else f"for {stretch}"
    why = f"{rule.edition} {_says(band)} {joined}{_of_thickness(band)}; this part: {measure.said}."
    return _Found(band.needed, f"{why} {remark} {band.about}".replace("  ", " ").strip(), band)


def _says(band: BakeBand) -> str:
    if band.needed == "yes":
        return f"asks for at least {band.hours:g} h" if band.hours is not None else "asks for a bake"
    return {"no": "asks for no bake", "verify": "leaves it to verification", "no verdict": "speaks against plating"}[
        band.needed
    ]


def _of_thickness(band: BakeBand) -> str:
    return f", {band.thickness_mm.said('mm')} thick" if band.thickness_mm is not None else ""


def _range(band: BakeBand, axis: Axis) -> Range:
    found: Range = getattr(band, axis)
    return found


def _strictness(item: tuple[_Measure, _Found]) -> tuple[int, float]:
    found = item[1]
    return SEVERITY.index(found.needed), found.band.hours or 0.0 if found.band is not None else 0.0


def _hardest(rule: BakeRule, usable: list[_Measure], band: BakeBand, thickness_mm: float | None) -> float | None:
    """Hours of the row that a class's greatest hardness reaches, where that is more than ``band`` asks."""
    if band.hours is None:
        return None
    classed = [m for m in usable if "greatest of class" in m.said]
    rows = [f.band for f in (_look_up(rule, m, thickness_mm) for m in classed) if f.band is not None]
    more = max((b.hours for b in rows if b.hours is not None), default=0.0)
    return more if more > band.hours else None


def _with_hours(made: Bake, rule: BakeRule, band: BakeBand, hardest: float | None) -> Bake:
    own_start = band.start_within_h is not None
    why = made.why
    if hardest is not None:
        why += f" As hard as its class allows, it would want up to {hardest:g} h: measure the hardness, or take the longer."
    return msgspec.structs.replace(
        made,
        hours=band.hours,
        hours_if_hardest=hardest,
        temperature_c=rule.temperature_c,
        start_within_h=band.start_within_h if own_start else rule.start_within_h,
        start_status=band.start_status if own_start else rule.start_status,
        start_source=band.source if own_start and band.start_status == "seen" else rule.start_source,
        why=why,
    )


def _made(rule: BakeRule, needed: Needed, why: str, cautions: Iterable[str], status: Status, source: str) -> Bake:
    return Bake(
        needed=needed,
        rule=rule.name,
        edition=rule.edition,
        date=rule.date,
        why=why,
        cautions=tuple(cautions),
        source=source,
        status=status,
    )


def _no_verdict(
    rule: BakeRule, why: str, cautions: Iterable[str], *, withheld: bool = False, band: BakeBand | None = None
) -> Bake:
    of = band or rule
    made = _made(rule, "no verdict", why, (*(() if PLATER in why else (PLATER,)), *cautions), of.status, of.source)
    return msgspec.structs.replace(made, verdict_withheld=withheld)


def _withheld(fastener: FastenerClass | None, safety_critical: bool) -> str:
    """Why no verdict is given at all, or nothing."""
    if safety_critical:
        return f"The part is marked as one whose failure could hurt someone. {PLATER}"
    if fastener is not None and fastener.above_threshold:
        limit = load().limits["no_verdict_class"]
        return f"{limit.text} This is class {fastener.name}. {PLATER}"
    return ""


def _printed_all(rule: BakeRule, printed: tuple[_Measure, _Found] | None) -> str:
    """What the rule prints all the same, for whoever will judge: their starting point, not an answer."""
    return f"For whoever judges it: {printed[1].why}" if printed is not None else f"The rule named is {rule.edition}."


def _asked(axis: Axis) -> str:
    return {"strength_mpa": "strength in MPa", "hardness_hv": "hardness in HV", "hardness_hrc": "hardness in HRC"}[axis]


def _cautions(measures: list[_Measure], fastener: FastenerClass | None, strength_mpa: float | None) -> list[str]:
    limits = load().limits
    strength = max((m.value for m in measures if m.axis == "strength_mpa"), default=0.0)
    said = [
        f"{limits[name].text} ({limits[name].status}: {limits[name].source})"
        for name in ("qualified_plater", "sensitive_from", "stress_relief")
        if strength >= limits[name].value
    ]
    if fastener is not None and strength_mpa is not None and strength_mpa < fastener.strength_mpa:
        said.append(
            f"{tidy(strength_mpa)} MPa is below the {fastener.strength_mpa:g} MPa that class {fastener.name} stands for: "
            "one of the two is wrong."
        )
    return said
