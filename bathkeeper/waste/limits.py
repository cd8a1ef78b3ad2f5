"""Limits of time, amount and paper: generator size, how long a container may stand, how long papers are kept, allowances."""

from __future__ import annotations

import math
from collections.abc import Sequence
from datetime import datetime, timedelta
from typing import Literal

import msgspec

from bathkeeper.catalogue.own_waste import WasteLimit
from bathkeeper.findings import Level
from bathkeeper.refusals import shorten
from bathkeeper.units.numerals import figures
from bathkeeper.waste.loader import FALLBACK, load
from bathkeeper.waste.picking import mark
from bathkeeper.waste.schema import Paper, RuleSet, StorageLimit, Threshold

Size = Literal["VSQG", "SQG", "LQG"]
DAYS_A_MONTH = 30.0
WARN_SHARE = 0.75
"""A keeper's own storage limit warns from three quarters of it: common practice."""
DAYS_A_YEAR = 365.25


class GeneratorSize(msgspec.Struct, frozen=True, kw_only=True):
    """The federal size of a generator. ``clock``: whether what stands on site set a clock of 180 days for all of it;
    ``ceiling_kg`` is the most that may stand there at all, None where there is none; ``over_ceiling`` that it is passed."""

    size: Size
    why: str
    clock: bool
    over_ceiling: bool
    ceiling_kg: float | None
    storage_of: str
    status: str
    source: str


class Storage(msgspec.Struct, frozen=True, kw_only=True):
    """How long a container stood and may stand. ``stood_days`` None where its first day is not known; ``limit_days`` None where
    no limit in days is known. ``by``: the moment at which the limit is reached."""

    stood_days: float | None
    limit_days: float | None
    left_days: float | None
    level: Level | None
    by: datetime | None
    text: str
    starts: str
    status: str
    source: str
    own: bool = False

    @property
    def told(self) -> str:
        """The limit in words, with the mark of what was not read anywhere; the keeper's own word needs none."""
        return self.text if self.own else f"{self.text} {mark(self.status)}".strip()


class Kept(msgspec.Struct, frozen=True, kw_only=True):
    """A paper and until when it is kept; ``until`` None where no number or no first day is known."""

    paper: Paper
    until: datetime | None
    text: str


class Allowed(msgspec.Struct, frozen=True, kw_only=True):
    """What the authority takes: ``volume_l`` or ``mass_kg`` in ``per_days``, in whose word."""

    volume_l: float | None
    mass_kg: float | None
    per_days: float
    text: str
    source: str
    containers: tuple[str, ...] = ()


def generator_size(month_kg: float, acute_kg: float = 0.0, on_site_kg: float = 0.0) -> GeneratorSize:
    """The federal size by what a calendar month made (kg, and kg of acute waste) and what stands on site (kg).

    Edges as the law has them: up to and with 100 kg very small, below 1,000 kg small, from 1,000 kg (or above 1 kg acute)
    large. On site 1,000 kg and more sets a clock for a very small generator without changing its size.
    Source: 40 CFR 262.13, 262.14(a)(3) and (4), 262.16(b)(1), as in rules/us-federal.toml.

    Raises:
        ValueError: an amount is negative or no number.
    """
    for name, kg in (("month_kg", month_kg), ("acute_kg", acute_kg), ("on_site_kg", on_site_kg)):
        if not math.isfinite(kg) or kg < 0:
            raise ValueError(f"{name} has to be a number of kg, 0 or more, got {kg}")
    rules = load().rules["us-federal"]
    small, large, acute, site, ceiling = (
        rules.threshold(n) for n in ("month-small", "month-large", "month-acute", "on-site", "ceiling")
    )
    size: Size
    if large.tripped(month_kg):
        size, why, by = "LQG", f"{figures(month_kg)} kg in a month: {figures(large.value)} kg and more is large", large
    elif acute.tripped(acute_kg):
        why = f"{figures(acute_kg)} kg of acute waste in a month: more than {figures(acute.value)} kg is large"
        size, by = "LQG", acute
    elif small.tripped(month_kg):
        size, why, by = "SQG", f"{figures(month_kg)} kg in a month: more than {figures(small.value)} kg is small", small
    else:
        size, why, by = "VSQG", f"{figures(month_kg)} kg in a month: up to {figures(small.value)} kg is very small", small
    clock = size == "VSQG" and site.tripped(on_site_kg)
    if clock:
        why += f"; {figures(on_site_kg)} kg on site: {site.text}"
    over = size != "LQG" and ceiling.tripped(on_site_kg)
    if over:
        why += f"; above the ceiling of {figures(ceiling.value)} kg on site: ask the state at once"
    storage_of = "VSQG over 1000 kg" if clock else size
    return GeneratorSize(
        size=size,
        why=why,
        clock=clock,
        over_ceiling=over,
        ceiling_kg=None if size == "LQG" else ceiling.value,
        storage_of=storage_of,
        status=by.status,
        source=_source(by),
    )


def storage(
    since: datetime | None,
    now: datetime,
    rules: RuleSet,
    own: Sequence[WasteLimit] = (),
    container: str = "",
    of: str = "",
) -> Storage:
    """How long a container stood since ``since``, and how long it may. Both moments bear an offset.

    The keeper's own storage limit wins: one that names the container before one for all, the shortest of equals. Else the rule
    set's line for ``of`` (a size such as ``SQG``, or ``elsewhere``), in the United States that of a small generator while the
    size is not told. The level is ``now`` from the limit on (day 365 of 365), ``soon`` from the warning, ``later`` before.
    """
    stood = None if since is None else max((now - since) / timedelta(days=1), 0.0)
    mine = [w for w in own if w.what == "storage" and w.days is not None and (not w.containers or container in w.containers)]
    if mine:
        w = min(mine, key=lambda m: (not m.containers, m.days or 0.0))
        days = w.days or 0.0
        theirs = _line(rules, of)
        longer = theirs is not None and theirs.days is not None and days > theirs.days
        text = f"{figures(days)} days by {_own_word(w)}" + (
            f"; longer than the {figures(theirs.days or 0.0)} days of the rule set {rules.title}" if longer and theirs else ""
        )
        return _stored(since, stood, days, WARN_SHARE * days, text, "as your limit says", "practice", _whose(w), True)
    line = _line(rules, of)
    if line is None:
        return _stored(since, stood, None, None, "no limit in days is known for this place: ask", "", "practice", "", False)
    text = line.text
    if rules.system == "us" and not of:
        text += "; counted as a small generator until your size is known"
    return _stored(since, stood, line.days, line.warn_days, text, line.starts, line.status, _source(line), False)


def retention(papers: Sequence[Paper], since: datetime | None = None) -> tuple[Kept, ...]:
    """Until when each paper is kept, counted from ``since`` (the hand-over, or the day that the paper names)."""
    made = []
    for p in papers:
        until = None
        if p.keep_years is not None and since is not None:
            until = _years_on(since, p.keep_years)
        if p.keep_years is None:
            text = "no time was read for how long it is kept: keep 3 years as a simple rule (common practice)"
        else:
            text = f"keep {figures(p.keep_years)} years from {p.since}"
        made.append(Kept(paper=p, until=until, text=text))
    return tuple(made)


def hand_over_papers(rules: RuleSet, keeper: str = "") -> tuple[Paper, ...]:
    """The papers that go with a hand-over of this keeper (``household``, ``business``, all where it is not told), and always
    the keeper's own record of it: where the rule set has none, as in common practice."""
    theirs = [p for p in rules.papers if p.of == "hand-over" and (p.keeper is None or not keeper or p.keeper == keeper)]
    own = [p for p in load().rules[FALLBACK].papers if p.name not in {t.name for t in theirs}]
    return (*theirs, *own)


def allowance(own: Sequence[WasteLimit], rules: RuleSet, container: str = "") -> Allowed | None:
    """What the authority of this keeper takes; None where the keeper has entered none. What a rule set tells of other places
    (``rules.allowances``) is an example and never used in its stead."""
    mine = [w for w in own if w.what == "allowance" and (not w.containers or not container or container in w.containers)]
    if not mine:
        return None
    w = min(mine, key=lambda m: (not m.containers, (m.volume_l or m.mass_kg or 0.0) / m.per_days))
    amount = f"{figures(w.volume_l)} L" if w.volume_l is not None else f"{figures(w.mass_kg or 0.0)} kg"
    return Allowed(
        volume_l=w.volume_l,
        mass_kg=w.mass_kg,
        per_days=w.per_days,
        text=f"{amount} in {figures(w.per_days)} days by {_whose(w)}; ask before each visit, under the rules of: {rules.title}",
        source=_whose(w),
        containers=w.containers,
    )


def months_needed(allowed: Allowed, litres: float | None = None, mass_kg: float | None = None) -> int | None:
    """Months (of 30 days) until all of it is taken at an allowance, whole visits counted, rounded up; None where the allowance
    is in the other unit. 0 of nothing.

    Raises:
        ValueError: an amount is negative or no number.
    """
    amount, per = (litres, allowed.volume_l) if allowed.volume_l is not None else (mass_kg, allowed.mass_kg)
    if amount is None or per is None:
        return None
    if not math.isfinite(amount) or amount < 0:
        raise ValueError(f"an amount of waste has to be a number, 0 or more, got {amount}")
    visits = math.ceil(round(amount / per, 9))
    return math.ceil(round(visits * allowed.per_days / DAYS_A_MONTH, 9))


def _line(rules: RuleSet, of: str) -> StorageLimit | None:
    wanted = of or ("SQG" if rules.system == "us" else "")
    return next((line for line in rules.storage if line.of == wanted), None) or next(
        (line for line in rules.storage if not line.of), None
    )


def _stored(
    since: datetime | None, stood: float | None, days: float | None, warn: float | None, text: str, starts: str, status: str,
    source: str, own: bool,
) -> Storage:  # fmt: skip
    left = None if stood is None or days is None else days - stood
    level: Level | None = None
    by = None
    if left is not None and stood is not None:
        level = "now" if left <= 0 else "soon" if warn is not None and stood >= warn else "later"
    if since is not None and days is not None:
        try:
            by = since + timedelta(days=days)
        except OverflowError:  # an own limit of a million days ends in no calendar
            by = None
    if since is None and days is not None:
        text += "; the day on which it began is not known: write it on the container and in the book"
    return Storage(
        stood_days=stood, limit_days=days, left_days=left, level=level, by=by, text=text, starts=starts, status=status,
        source=source, own=own,
    )  # fmt: skip


def _years_on(day: datetime, years: float) -> datetime | None:
    whole = int(years)
    if whole != years:
        return day + timedelta(days=years * DAYS_A_YEAR)
    try:
        return day.replace(year=day.year + whole)
    except ValueError:  # 29 February, or the end of the calendar
        return day.replace(year=day.year + whole, month=3, day=1) if day.year + whole < 9999 else None


def _whose(w: WasteLimit) -> str:
    said = ", ".join(shorten(t) for t in (w.authority, w.reference) if t)
    return said or "your own limit"


def _own_word(w: WasteLimit) -> str:
    whose = _whose(w)
    return whose if whose == "your own limit" else f"your own limit, {whose}"


def _source(line: StorageLimit | Threshold) -> str:
    return f"{line.citation} ({line.edition}): {line.source}" if line.source else line.citation
