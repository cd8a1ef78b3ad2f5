"""Limits of time, amount and paper: generator size, how long a container may stand, how long papers are kept."""

from __future__ import annotations

import calendar
import math
from collections.abc import Sequence
from datetime import datetime, time, timedelta
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
FAR = " far"
"""How a storage line is named, after the line that it stands in for, when what takes the waste lies far away."""
ELSEWHERE = "elsewhere"


class GeneratorSize(msgspec.Struct, frozen=True, kw_only=True):
    """The federal size of a generator. ``clock``: whether what stands on site set a clock of 180 days for all of it;
    ``clock_since`` is the day on which that came about, where it is known. ``ceiling_kg`` is the most that may stand there at
    all, None where there is none; ``over_ceiling`` that it is passed."""

    size: Size
    why: str
    clock: bool
    over_ceiling: bool
    ceiling_kg: float | None
    storage_of: str
    status: str
    source: str
    clock_since: datetime | None = None


class Storage(msgspec.Struct, frozen=True, kw_only=True):
    """How long a container stood and may stand. ``stood_days`` None where its first day is not known; ``limit_days`` None where
    no limit in days is known. ``counted_from``: the moment from which the limit counts, which is not always the container's
    own first day, and ``counted_days`` how many those are; ``by``: the moment at which the limit is reached."""

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
    counted_from: datetime | None = None
    counted_days: float | None = None

    @property
    def told(self) -> str:
        """The limit in words, with the mark of what was not read anywhere; the keeper's own word needs none."""
        return self.text if self.own else f"{self.text} {mark(self.status)}".strip()


class Kept(msgspec.Struct, frozen=True, kw_only=True):
    """A paper and until when it is kept; ``until`` None where no number or no first day is known."""

    paper: Paper
    until: datetime | None
    text: str


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
    site_since: datetime | None = None,
) -> Storage:
    """How long a container stood since ``since``, and how long it may. All moments bear an offset.

    The keeper's own storage limit wins: one that names the container before one for all, the shortest of equals. Else the rule
    set's line for ``of`` (a size such as ``SQG``, or ``elsewhere``), in the United States that of a small generator while the
    size is not told; the keeper's word that a container stands elsewhere, or that the receiver lies far away, chooses the line
    for that where the rule set has one. A line whose clock is the site's counts from ``site_since``, the day on which the site
    passed its limit, whatever the container's own first day. Months are the calendar's: 1 February to 1 May, 30 November to
    the end of February. The level is ``now`` from the limit on (day 365 of 365), ``soon`` from the warning, ``later`` before.
    """
    stood = None if since is None else max((now - since) / timedelta(days=1), 0.0)
    line, start, said = _line_here(since, now, rules, own, container, of, site_since)
    mine = [w for w in own if w.what == "storage" and w.days is not None and _about(w, container)]
    if mine:
        w = min(mine, key=lambda m: (not m.containers, m.days or 0.0))
        days = w.days or 0.0
        theirs = _days(line, start) if line is not None else None
        text = f"{figures(days)} days by {_own_word(w)}"
        if theirs is not None and days > theirs:
            text += f"; longer than the {figures(theirs)} days of the rule set {rules.title}"
        return _stored(
            since, now, stood=stood, days=days, warn=WARN_SHARE * days, text=text, starts="as your limit says",
            status="practice", source=_whose(w), own=True,
        )  # fmt: skip
    if line is None:
        return _stored(
            since, now, stood=stood, days=None, warn=None, starts="", status="practice", source="",
            text="; ".join(["no limit in days is known for this place: ask", *said]),
        )  # fmt: skip
    if rules.system == "us" and not of:
        said.append("counted as a small generator until your size is known")
    return _stored(
        start, now, stood=stood, days=_days(line, start), warn=line.warn_days, text="; ".join([line.text, *said]),
        starts=line.starts, status=line.status, source=_source(line), limited=line.days is not None or line.months is not None,
    )  # fmt: skip


def months_on(moment: datetime, months: int) -> datetime | None:
    """The same day so many calendar months later, the last day of a month that has no such day; None past the calendar."""
    year, month = divmod(moment.year * 12 + moment.month - 1 + months, 12)
    if year > 9998:
        return None
    return moment.replace(year=year, month=month + 1, day=min(moment.day, calendar.monthrange(year, month + 1)[1]))


def retention(papers: Sequence[Paper], since: datetime | None = None, unsure: bool = False) -> tuple[Kept, ...]:
    """Until when each paper is kept, counted from ``since`` (the hand-over, or the day that the paper names).

    ``unsure``: nobody knows which law holds here, so that a paper's longer time for that case counts (6 years: common
    practice, as in rules/other.toml).
    """
    made = []
    for p in papers:
        years = p.unsure_years if unsure and p.unsure_years is not None else p.keep_years
        until = _years_on(since, years) if years is not None and since is not None else None
        if years is None:
            text = "no time was read for how long it is kept: keep 3 years as a simple rule, 6 if unsure (common practice)"
        elif years != p.keep_years:
            text = (
                f"keep {figures(years)} years from {p.since}, since it is not known which law holds here; "
                f"{figures(p.keep_years or 0.0)} is the simple rule (common practice)"
            )
        else:
            text = f"keep {figures(years)} years from {p.since}"
        made.append(Kept(paper=p, until=until, text=text))
    return tuple(made)


def hand_over_papers(rules: RuleSet, keeper: str = "") -> tuple[Paper, ...]:
    """The papers that go with a hand-over of this keeper (``household``, ``business``, all where it is not told), and always
    the keeper's own record of it: where the rule set has none, as in common practice."""
    theirs = [p for p in rules.papers if p.of == "hand-over" and (p.keeper is None or not keeper or p.keeper == keeper)]
    own = [p for p in load().rules[FALLBACK].papers if p.name not in {t.name for t in theirs}]
    return (*theirs, *own)


def _line_here(
    since: datetime | None, now: datetime, rules: RuleSet, own: Sequence[WasteLimit], container: str, of: str,
    site_since: datetime | None,
) -> tuple[StorageLimit | None, datetime | None, list[str]]:  # fmt: skip
    """The rule set's line for a container, the moment from which it counts, and what is to be said beside it."""
    said: list[str] = []
    away = [w for w in own if w.what == ELSEWHERE and _about(w, container)]
    if away:
        of = ELSEWHERE
        if not any(line.of == ELSEWHERE for line in rules.storage):
            said.append("it stands at another place of yours: how long it may there was not read for this place: ask")
            of = ""
    wanted = of or ("SQG" if rules.system == "us" else "")
    if any(w.what == "far" and _about(w, container) for w in own):
        wanted = next((line.of for line in rules.storage if line.of == f"{wanted}{FAR}"), wanted)
    line = _line(rules, wanted)
    start = since
    if line is not None and line.clock == "site" and site_since is not None:
        start = site_since
    elif line is not None and line.of == ELSEWHERE and since is not None:
        came = max((w.since_day for w in away if w.since_day is not None), default=None)
        if came is not None:
            start = max(since, datetime.combine(came, time.min, now.tzinfo))
        else:
            said.append("the day on which it came there is not told: counted from the first drop in the container")
    if line is not None and start is not None and (start != since or (line.clock == "site" and site_since is not None)):
        said.append(f"counted from {line.starts}: {start:%Y-%m-%d}")
    return line, start, said


def _line(rules: RuleSet, of: str) -> StorageLimit | None:
    return next((line for line in rules.storage if line.of == of), None) or next(
        (line for line in rules.storage if not line.of), None
    )


def _about(limit: WasteLimit, container: str) -> bool:
    return not limit.containers or container in limit.containers


def _days(line: StorageLimit, start: datetime | None) -> float | None:
    """The limit in days from a moment; None where there is none, or where months have no first day to count from."""
    if line.months is None:
        return line.days
    until = months_on(start, line.months) if start is not None else None
    return (until - start) / timedelta(days=1) if until is not None and start is not None else None


def _stored(
    start: datetime | None, now: datetime, *, stood: float | None, days: float | None, warn: float | None, text: str,
    starts: str, status: str, source: str, own: bool = False, limited: bool | None = None,
) -> Storage:  # fmt: skip
    counted = None if start is None else max((now - start) / timedelta(days=1), 0.0)
    left = None if counted is None or days is None else days - counted
    level: Level | None = None
    by = None
    if left is not None and counted is not None:
        level = "now" if left <= 0 else "soon" if warn is not None and counted >= warn else "later"
    if start is not None and days is not None:
        try:
            by = start + timedelta(days=days)
        except OverflowError:  # an own limit of a million days ends in no calendar
            by = None
    if start is None and (days is not None or limited):
        text += "; the day on which it began is not known: write it on the container and in the book"
    return Storage(
        stood_days=stood, limit_days=days, left_days=left, level=level, by=by, text=text, starts=starts, status=status,
        source=source, own=own, counted_from=start, counted_days=counted,
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
