"""What a stream holds beside discharge limits: how many times above, for contractor and authority; never a permission."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import Literal

import msgspec

from bathkeeper.catalogue.own_waste import WasteLimit
from bathkeeper.findings import Estimate
from bathkeeper.refusals import shorten
from bathkeeper.units.numerals import figures
from bathkeeper.waste.content import LIQUID, SYMBOLS, is_metal, metal, said, times
from bathkeeper.waste.schema import Discharge, RuleSet
from bathkeeper.waste.stream import Stream

Standing = Literal["within", "may be above", "above", "not known"]
_WORST_FIRST = ("above", "may be above", "within", "not known")
ONLY_COMPARED = "a comparison, no permission: the authority or the sewer's operator decides"


class Compared(msgspec.Struct, frozen=True, kw_only=True):
    """One parameter beside one limit. ``found`` in ``unit`` (mg/L or pH), None where it is not known. ``times``: found over
    limit with its range, None for a pH. ``above``: whether the high end lies above the limit (or a pH outside of it), None
    where nothing is known. ``standing``: ``above`` where the middle of the range is, ``may be above`` where only an end of it
    is, else ``within`` (of a pH: outside); ``not known``. ``own``: the limit is the keeper's."""

    of: str
    unit: str
    found: Estimate | None
    limit: float | None
    low: float | None
    high: float | None
    times: Estimate | None
    above: bool | None
    text: str
    table: str
    applies: str
    status: str
    source: str
    own: bool = False
    standing: Standing = "not known"


def compare(stream: Stream, rules: RuleSet, own: Sequence[WasteLimit] = ()) -> tuple[Compared, ...]:
    """The stream's parameters beside discharge limits, the keeper's own in the place of the rule set's; the most above first.

    None for solids: rags meet no sewer. Limits of what no bath here is known to hold (silver, cyanide ...) are left out unless
    the keeper entered them. Every row says that it permits nothing.
    """
    if stream.kinds and not any(kind in LIQUID for kind in stream.kinds):
        return ()
    mine = [w for w in own if w.what == "discharge" and (not w.containers or stream.name in w.containers)]
    told = {_parameter(w.of) for w in mine}
    rows = [_own(w, stream) for w in mine]
    for d in rules.discharge:
        if d.compared and d.of not in told and (d.of == "ph" or _among(stream, d.of)):
            rows.append(_theirs(d, stream))
    rows.sort(key=lambda r: (_WORST_FIRST.index(r.standing), -(r.times.value if r.times else 1.0), not r.own))
    return tuple(rows)


def period(limit: Discharge) -> str:
    """Over which time a limit's average runs: ``a calendar month``, ``4 days``."""
    return limit.average_of if limit.average_of[:1].isdigit() else f"a {limit.average_of}"


def _own(w: WasteLimit, stream: Stream) -> Compared:
    of = _parameter(w.of)
    applies = ", ".join(shorten(t) for t in (w.authority, w.reference) if t)
    return _row(stream, of, w.mg_l, w.low, w.high, "your limit", applies, "practice", applies, True, ())


def _theirs(d: Discharge, stream: Stream) -> Compared:
    limit = d.max_mg_l if d.max_mg_l is not None else d.average_mg_l
    extra = []
    if d.max_mg_l is not None and d.average_mg_l is not None:
        extra.append(f"average over {period(d)} {d.average_mg_l:g} mg/L")
    if d.about:
        extra.append(d.about)
    source = f"{d.citation} ({d.edition}): {d.source}"
    return _row(stream, d.of, limit, d.low, d.high, d.table, d.applies, d.status, source, False, tuple(extra))


def _row(
    stream: Stream, of: str, limit: float | None, low: float | None, high: float | None, table: str, applies: str, status: str,
    source: str, own: bool, extra: tuple[str, ...],
) -> Compared:  # fmt: skip
    ph = of == "ph"
    found = stream.ph if ph else _found(stream, of)
    ratio: Estimate | None = None
    above: bool | None = None
    if found is not None and ph:
        above = (low is not None and found.low < low) or (high is not None and found.high > high)
    elif found is not None and limit is not None:
        above = found.high > limit
        if limit > 0:
            ratio = Estimate(found.value / limit, found.low / limit, found.high / limit, "times")
    standing = _standing(found, low if ph else None, high if ph else limit)
    words = _in_words(of, found, limit, low, high, ratio, above, standing)
    return Compared(
        of=of, unit="pH" if ph else "mg/L", found=found, limit=limit, low=low, high=high, times=ratio, above=above,
        text="; ".join([words, *extra, ONLY_COMPARED]), table=table, applies=applies, status=status, source=source, own=own,
        standing=standing,
    )  # fmt: skip


def _standing(found: Estimate | None, low: float | None, high: float | None) -> Standing:
    if found is None or (low is None and high is None):
        return "not known"
    if (low is not None and found.value < low) or (high is not None and found.value > high):
        return "above"
    if (low is not None and found.low < low) or (high is not None and found.high > high):
        return "may be above"
    return "within"


def _in_words(
    of: str, found: Estimate | None, limit: float | None, low: float | None, high: float | None, ratio: Estimate | None,
    above: bool | None, standing: Standing,
) -> str:  # fmt: skip
    if of == "ph":
        both = f"{low:g} to {high:g}" if low is not None and high is not None else ""
        edge = both or (f"{low:g} at least" if low is not None else f"{high or 0.0:g} at most")
        if found is None:
            return f"pH not measured; the limit is pH {edge}"
        where = {"above": "lies outside", "may be above": "may lie outside"}.get(standing, "does not lie outside")
        return f"pH {said(found).replace(' pH', '')} {where} the limit of pH {edge}"
    name = shorten(of)
    if found is None or limit is None:
        return f"{name}: how much it holds is not known; have it measured. The limit is {figures(limit or 0.0)} mg/L"
    if found.high <= 0:
        return f"{name}: none booked into it, which is no measurement. The limit is {figures(limit)} mg/L"
    told = f"{name} {said(found)}"
    if ratio is None:
        return f"{told}; the limit is none at all"
    if ratio.value >= 1:
        return f"{told}: {times(ratio.value)} times the limit of {limit:g} mg/L"
    if above:
        return f"{told}: the high end of the range is {times(ratio.high)} times the limit of {limit:g} mg/L"
    return f"{told}: this figure alone lies under the limit of {limit:g} mg/L, by estimate and not by a sample"


def _found(stream: Stream, of: str) -> Estimate | None:
    """mg/L of a parameter: a metal by all its species, anything else by its own name. Of a stream with unknown contents the
    number is what the known part comes to, and none is given when that is nothing."""
    c = metal(stream, of) if of in SYMBOLS else _by_name(stream, of)
    if c is not None and not stream.complete and c.high <= 0:
        return None
    return c


def _by_name(stream: Stream, of: str) -> Estimate | None:
    for key in stream.amounts:
        if key.casefold() == of.casefold():
            c = stream.concentration(key)
            if c is not None and c.unit == "g/L":
                return Estimate(c.value * 1e3, c.low * 1e3, c.high * 1e3, "mg/L")
    return None


def _among(stream: Stream, of: str) -> bool:
    """Whether a parameter belongs to what this stream holds, or may hold since something unknown went in."""
    return any(is_metal(key, of) or key.casefold() == of.casefold() for key in _keys(stream)) or (
        not stream.complete and of in ("nickel", "zinc", "chromium", "copper", "cadmium", "lead")
    )


def _keys(stream: Stream) -> Iterator[str]:
    yield from stream.amounts
    yield from stream.species


def _parameter(of: str) -> str:
    """The name that limits and contents share: ``Zn`` and ``Zinc`` are ``zinc``, ``pH`` is ``ph``."""
    plain = of.casefold().strip()
    return next((name for name in SYMBOLS if is_metal(plain, name) and "(" not in plain), plain)
