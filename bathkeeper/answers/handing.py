"""What is asked or refused about hand-overs: a paper used twice, a receipt that fits none, a fill that a paper rests on."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from datetime import datetime

from bathkeeper.answers.shapes import NotFound
from bathkeeper.entries import AnyEntry, Container
from bathkeeper.estimate.containers import VOLUME, Handed
from bathkeeper.estimate.handing import is_meant, meant, waiting
from bathkeeper.estimate.world import World
from bathkeeper.refusals import shorten
from bathkeeper.units.numerals import figures

MOST = 8
LEAST_G = 1.0
CONTENTS = 0.05  # of the grams of a hand-over, in the same way
CHANGED = 0.02  # of the litres of a hand-over: less is rounding [practice]


def handing_doubts(entry: AnyEntry, world: World, latest: World) -> list[str]:
    """Clauses about a hand-over; ``world`` stands at its moment, before it; ``latest`` after the last entry.

    Raises:
        NotFound: it is a receipt or a refusal for which there is no hand-over by then; says which wait for theirs.
    """
    if not isinstance(entry, Container) or entry.action != "handed over":
        return []
    if not entry.hands_over:
        _refuse_what_fits_none(entry, world, latest)
        return []
    held = world.containers.get(entry.container)
    same = [h for h in held.handed if h.reference == entry.reference and h.refused is None] if held is not None else []
    same = same if entry.reference else []
    paper = shorten(entry.reference or "")
    return [f"{shorten(h.container)} was handed over under {paper} already, on {h.at:%Y-%m-%d}" for h in same[-1:]]


def _refuse_what_fits_none(entry: Container, world: World, latest: World) -> None:
    held = world.containers.get(entry.container)
    found_one = meant(held, entry) if held is not None else None
    what = "receipt" if entry.receipt is not None else "refusal"
    if found_one is not None:
        if entry.receipt_at is not None and entry.receipt_at.date() < found_one.at.date():
            raise NotFound(_older(what, entry.receipt_at, found_one))
        return
    name = shorten(entry.container)
    later = latest.containers.get(entry.container)
    after = [h for h in later.handed if h.at > entry.at and is_meant(h, entry)] if later is not None else []
    if after:
        raise NotFound(_older(what, entry.at, after[0]))
    told = entry.reference or entry.of
    here = [h for h in held.handed if h.refused is None] if held is not None else []
    if told is None and len(waiting(here)) > 1:
        raise NotFound(f"{name} has several hand-overs that wait: say which by reference= or of=; {_open(waiting(here))}")
    found = f"nothing of {name} was handed over" + (f" under {shorten(told)}" if told is not None else " that waits for it")
    raise NotFound(f"the {what} fits no hand-over: {found}; {_open(_all_waiting(world))}")


def _older(what: str, at: datetime, one: Handed) -> str:
    days = f"a {what} of {at:%Y-%m-%d %H:%M} is older than its hand-over of {one.at:%Y-%m-%d %H:%M}"
    return f"{days}: {_said(one)}; give its own day"


def _all_waiting(world: World) -> list[Handed]:
    return waiting(h for c in world.containers.values() for h in c.handed)


def _open(found: list[Handed]) -> str:
    if not found:
        return "no hand-over waits for its receipt"
    more = f" and {len(found) - MOST} more" if len(found) > MOST else ""
    return f"open are {', '.join(_said(h) for h in found[-MOST:])}{more}"


def _said(handed: Handed) -> str:
    """``R1 (d1, 2026-11-20)``; one without a reference goes by its entry."""
    which = shorten(handed.reference) if handed.reference else f"of={handed.entry}"
    return f"{which} ({shorten(handed.container)}, {handed.at:%Y-%m-%d})"


def _other_contents(one: Handed, now: Handed) -> bool:
    there = {n: a for n, (a, _) in now.amounts.items()}
    masses = {n: a for n, (a, _) in one.amounts.items() if n.startswith("mass:")}
    return any(abs(a - there.get(n, 0.0)) > CONTENTS * a + LEAST_G for n, a in masses.items())


def papers_shaken(before: World, after: World, mended: str) -> list[str]:
    """Clauses about hand-overs that no longer rest on what the book tells once an entry (``mended``, its id) is withdrawn or
    put right: of these somebody else holds a paper with the old words on it."""
    now = {h.entry: h for h in _handed(after)}
    held = [h for h in _handed(before) if h.entry != mended and h.refused is None]
    return [text for h in held for text in _shaken(h, now.get(h.entry))]


def _handed(world: World) -> Iterable[Handed]:
    return [h for c in world.containers.values() for h in c.handed]


def _shaken(one: Handed, now: Handed | None) -> Iterator[str]:
    name = f"{shorten(one.container)} to {shorten(one.to)}" + (f" under {shorten(one.reference)}" if one.reference else "")
    signed = f"{name} was handed over on {one.at:%Y-%m-%d}"
    if now is None:
        yield f"{signed}: it would no longer be listed"
    elif one.on_record and not now.on_record:
        yield f"{signed}: what went in would no longer be on record, whatever its paper says"
    elif one.on_record:
        was, will = one.amounts.get(VOLUME, (0.0, 0.0))[0], now.amounts.get(VOLUME, (0.0, 0.0))[0]
        if abs(was - will) > CHANGED * was + 0.05:
            yield f"{signed}: it would then be {figures(will)} L instead of {figures(was)} L, whatever its paper says"
        elif _other_contents(one, now):
            yield f"{signed}: other contents of it would be told than then"


